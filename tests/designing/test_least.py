"""The least circuit: found, judged as `verify` does, and nothing smaller left out."""

from __future__ import annotations

import itertools
import json
import os
from pathlib import Path

import pytest

from circuitcheck import verify_text
from circuitcheck.checks.outcome import StudyResult
from circuitcheck.cli import main
from circuitcheck.designing.fewest_parts import Ended, Search, Searched, is_kept
from circuitcheck.designing.frame import CantDesign, Frame, frame_of
from circuitcheck.designing.netlist import DELAYS, Kind, Netlist
from circuitcheck.designing.proposing import Proposer
from circuitcheck.designing.unrolled import Asked, Stimulus
from circuitcheck.judging.door import judged_as_asked
from circuitcheck.prove.meter import Limits
from circuitcheck.report.lines import plain
from circuitcheck.report.terminal.least_lines import least_lines

LIMITS = Limits(20_000)


def framed(text: str) -> Frame:
    frame = frame_of(text, "mill.circuit", "")
    assert isinstance(frame, Frame), frame
    return frame


def searched(text: str, most: int) -> Searched:
    return Search(framed(text), LIMITS, LIMITS._replace(states=10**7).meter()).run(most)


def asked(*lines: str, inputs: str = "lever rope") -> str:
    return "\n".join(["language 1", *inputs.split(", "), "junction out", "assume at most 1 changes within 12t", *lines])


def test_an_inverter_is_one_torch() -> None:
    text = asked('always "inverse"  out inverts rope, settled within 1t')
    found = searched(text, 2)
    assert found.is_least
    assert found.netlist is not None
    assert found.netlist.kinds == (("part1", Kind("torch")),)
    assert [each.parts for each in found.without] == [0]
    assert verify_text(framed(text).written(found.netlist)).exit.name == "HOLDS"


def test_an_or_needs_wires_alone() -> None:
    text = asked(
        'always "neither"  a or b or out off',
        'always "a"  a off or out',
        'always "b"  b off or out',
        inputs="lever a, lever b",
    )
    found = searched(text, 1)
    assert found.netlist is not None
    assert found.netlist.parts == 0
    assert dict(found.netlist.sources) == {"out": ("a", "b")}


def test_a_nor_is_one_torch_on_both() -> None:
    text = asked(
        'always "neither"  when a off and b off then out within 1t unless a or b',
        'always "one"  when a or b then out off within 1t unless a off and b off',
        inputs="lever a, lever b",
    )
    found = searched(text, 1)
    assert found.netlist is not None
    assert dict(found.netlist.sources)["part1"] == ("a", "b")


def test_a_delay_of_two_ticks_is_one_repeater_and_not_two() -> None:
    text = """language 1
lever    rope
repeater first   from rope
repeater second  from first
lamp     bell    from second  # the bell
check "two ticks"
  at 10t           rope on
  from 0t to 12t   expect bell off
  from 12t to 20t  expect bell on
end
"""
    frame = framed(text)
    assert (frame.own.parts, frame.own.ticks) == (2, 2)
    found = searched(text, 2)
    assert found.is_least
    assert found.netlist is not None
    assert found.netlist.kinds == (("part1", Kind("repeater", 2)),)
    written = frame.written(found.netlist)
    assert "repeater first" not in written
    assert 'check "two ticks"' in written
    assert "# the bell" in written
    assert verify_text(written).exit.name == "HOLDS"


def test_what_is_skipped_asks_nothing() -> None:
    """A repeater delays both edges alike, so that nothing would do if the second claim counted."""
    skipped = 'always "off"  skipped because "not yet"  from rope falls to out falls takes 3t'
    found = searched(asked('always "on"  from rope rises to out rises takes 2t', skipped), 1)
    assert found.is_least
    assert found.netlist is not None
    assert found.netlist.kinds == (("part1", Kind("repeater", 2)),)


def test_a_torch_that_powers_itself_is_found_where_something_else_holds_it_off() -> None:
    """It ticks for as long as it is let go (rule T2); a button of 10t is over before it burns out (rules O1, T4)."""
    text = asked(
        'always "answers"  when rope rises then out within 4t',
        'always "short"    every pulse of out lasts 1t',
        inputs="button rope short",
    ).replace("12t", "40t")
    found = searched(text, 2)
    assert found.is_least
    assert found.netlist is not None
    assert any(name in sources for name, sources in found.netlist.sources)
    assert verify_text(framed(text).written(found.netlist)).exit.name == "HOLDS"


LATCH = asked(
    'always "set"      when raise then out within 3t unless lower or raise off',
    'always "cleared"  when lower then out off within 3t unless raise or lower off',
    'always "keeps on"   when raise falls and out then out until lower',
    'always "keeps off"  when lower falls and out off then out off until raise',
    inputs="lever raise, lever lower",
)


def test_a_latch_is_two_torches_each_of_which_powers_the_other() -> None:
    """Two cross-coupled NORs, as in any textbook: with one torch nothing remembers."""
    found = searched(LATCH, 2)
    assert found.is_least
    assert found.netlist is not None
    assert [kind.word for _, kind in found.netlist.kinds] == ["torch"] * 2
    sources = dict(found.netlist.sources)
    assert "part2" in sources["part1"]
    assert "part1" in sources["part2"]
    assert verify_text(framed(LATCH).written(found.netlist)).exit.name == "HOLDS"
    assert found.judged < 30


def test_a_longer_pulse_is_a_repeater_beside_its_input() -> None:
    """A button gives 10t (rule O1); a repeater of 3t beside it ends 3t later."""
    found = searched(
        asked(
            'always "answers"  when rope rises then out within 4t',
            'always "length"   every pulse of out lasts 13t',
            inputs="button rope short",
        ).replace("12t", "40t"),
        1,
    )
    assert found.is_least
    assert found.netlist is not None
    assert found.netlist.kinds == (("part1", Kind("repeater", 3)),)
    assert dict(found.netlist.sources)["out"] == ("rope", "part1")


def edge_pulse(length: str) -> str:
    return asked(
        'always "answers"  when rope rises then out within 8t',
        f'always "length"   every pulse of out lasts {length}',
        'always "once"     when out falls then out off until rope rises',
    ).replace("12t", "20t")


def proposed(text: str, *runs: Stimulus, **words: str) -> list[Netlist]:
    """All netlists of some kinds that are left by runs."""
    frame = framed(text)
    asked = Asked(frame.study.checks, frame.study.claims, frame.study.assumptions)
    proposer = Proposer(frame, words, asked, LIMITS.meter())
    for run in runs:
        proposer.add(run)
    return list(proposer)


def test_what_breaks_from_one_start_refutes_all_that_rest_so() -> None:
    """Two torches that power each other rest in two ways (rule C6); from one of them what is asked does not hold."""
    text = asked('always "lit"  out')
    kinds = {"part1": "torch", "part2": "torch"}
    crossed = [{"part1": ("part2",), "part2": ("part1",), "out": (out,)} for out in kinds]
    alone = {"part1": ("part2",), "part2": ("rope",), "out": ("part1", "part2")}
    run = Stimulus(frozenset(), 3, None)
    before = [dict(each.sources) for each in proposed(text, run, **kinds)]
    starting = [run._replace(start=frozenset({name})) for name in kinds]
    after = [dict(each.sources) for each in proposed(text, run, *starting, **kinds)]
    assert any(each in before for each in crossed)
    assert not any(each in after for each in crossed)
    assert alone in after, "it rests otherwise"


def test_a_run_that_no_netlist_of_some_kinds_can_keep_ends_them() -> None:
    """Repeaters turn nothing round."""
    text = asked('always "inverse"  out inverts rope, settled within 1t')
    run = Stimulus(frozenset({(6, "rope")}), 14, None)
    assert proposed(text, part1="repeater")
    assert not proposed(text, run, part1="repeater")


def test_what_a_claim_names_keeps_its_name_and_counts() -> None:
    text = asked(
        "torch idle  from rope",
        'always "idle"  idle inverts rope, settled within 1t',
        'always "out"  out follows rope, settled within 3t',
    ).replace("junction out", "lamp out")
    found = searched(text, 2)
    assert found.netlist is not None
    assert [name for name, _ in found.netlist.kinds] == ["idle"]


def test_of_equal_parts_those_of_least_delay_are_taken() -> None:
    found = searched(
        asked(
            'always "later"  when rope rises then out off within 0t unless rope off',
            'always "follows"  out follows rope, settled within 4t',
        ),
        1,
    )
    assert found.netlist is not None
    assert found.netlist.kinds == (("part1", Kind("repeater", 1)),)


def test_a_check_that_is_to_fail_refutes_nothing_by_failing() -> None:
    """T3: a torch sleeps through a pulse of 1t; whatever answers it would break what the file says of it."""
    text = """language 1
lever rope
lever lit starts on
junction out
check "a short pull goes by"  fails because T3
  at 10t  rope on
  at 21gt  rope off
  from 12t to 14t  expect out off
end
check "a long pull"
  at 10t  rope on
  at 9t   expect out
  at 13t  expect out off
end
"""
    found = searched(text, 1)
    assert found.netlist is not None
    assert found.netlist.kinds == (("part1", Kind("torch")),)


def test_a_claim_counts_only_in_checks_that_do_what_is_assumed() -> None:
    text = asked(
        'always "long"  every pulse of out lasts at least 3t',
        'check "a short pull"\n  at 10t  rope on\n  at 21gt  rope off\n  at 10t  expect out\nend',
    )
    found = searched(text, 0)
    assert found.netlist is not None
    assert dict(found.netlist.sources) == {"out": ("rope",)}


@pytest.mark.parametrize(
    "line", ["output dry  from idle", 'silence T3 for idle because "tried"', "torch spare  from idle,\n  rope"]
)
def test_what_else_a_file_says_of_its_parts_stays_true(line: str) -> None:
    text = asked("torch idle  from rope", line, 'always "late"  when rope rises then out off within 1t unless rope off')
    frame = framed(text)
    found = searched(text, 2)
    assert found.netlist is not None
    assert verify_text(frame.written(found.netlist)).exit.name == "HOLDS"


def test_what_may_burn_out_is_not_called_impossible() -> None:
    """A netlist that the prover leaves open is neither found nor excluded: no figure says that none will do."""
    text = asked('always "inverse"  out inverts rope, settled within 1t')
    few = Limits(3)
    found = Search(framed(text), few, few._replace(states=10**6).meter()).run(1)
    assert found.netlist is None
    assert sum(each.undecided for each in found.without) == found.undecided > 0
    told = " ".join(plain(least_lines(framed(text), found, 80)).split())
    assert "1 part or fewer: impossible" not in told
    assert "could not be decided" in told


class Shy(Search):
    """A search that can't decide on netlists of some delays in all (t)."""

    shuns: frozenset[int] = frozenset()

    def _learned(self, netlist: Netlist, proposer: Proposer) -> StudyResult | None:
        if netlist.ticks in self.shuns:
            self.found.undecided += 1
            return None
        return super()._learned(netlist, proposer)


@pytest.mark.parametrize("delay", [2, 3])
@pytest.mark.parametrize("shun", DELAYS)
def test_what_is_left_open_matters_only_where_it_is_smaller(shun: int, delay: int) -> None:
    """Of repeaters only that of 2t or that of 3t will do; one smaller that is left open may do as well."""
    found = shunning(f'always "late"  from rope rises to out rises takes {delay}t', shun)
    left = [ticks for each in found.excluded for ticks in each.undecided]
    assert set(left) <= {shun}
    if shun == delay:
        assert found.netlist is None
        assert found.undecided == len(left) > 0
    else:
        assert found.netlist is not None
        assert found.netlist.ticks == delay
        assert found.is_least is not (left and shun < delay)
        assert found.undecided == len(left) * (shun < delay)


def shunning(claim: str, shun: int) -> Searched:
    search = Shy(framed(asked(claim)), LIMITS, LIMITS._replace(states=10**6).meter())
    search.shuns = frozenset({shun})
    return search.run(1)


CLAIMS = (
    'always "a"  out follows rope, settled within 0t',
    'always "b"  out inverts rope, settled within 1t',
    'always "c"  from rope rises to out rises takes 3t',
    'always "d"  every pulse of out lasts at least 4t',
    'never "e"  out',
    'always "f"  when rope rises then out within 2t',
    'always "g"  every gap of out lasts at least 3t',
    'check "h"\n  at 10t  rope on\n  from 12t to 14t  expect out\nend',
    'check "i"\n  at 10t  rope on\n  by 13t  expect out off\n  at 20t  rope off\n  at 24t  expect out\nend',
)


EVERY = 1 if "CIRCUITCHECK_LEAST" in os.environ else 3
"""Of all pairs of claims each third one is tried in CI."""


@pytest.mark.parametrize("claims", list(itertools.combinations(CLAIMS, 2))[::EVERY])
def test_one_part_is_found_where_trying_all_of_them_finds_one(claims: tuple[str, str]) -> None:
    """Every netlist of one part judged, with no solver: the outside check of what the search excludes."""
    frame = framed(asked(*claims))
    found = searched(asked(*claims), 1)
    least = min(((each.parts, each.ticks) for each in of_one_part(frame)), default=None)
    assert not found.undecided
    assert (None if found.netlist is None else (found.netlist.parts, found.netlist.ticks)) == least


def of_one_part(frame: Frame) -> list[Netlist]:
    """All netlists of none or one part that keep what is asked, but those that never rest."""
    kept = []
    tried = [Netlist((), (("out", ("rope",)),))]
    for kind in (Kind("torch"), *(Kind("repeater", delay) for delay in DELAYS)):
        for mine in (("rope",), ("part1",), ("rope", "part1")):
            for out in (("part1",), ("rope", "part1")):
                if kind.word != "torch" or mine != ("part1",):
                    tried.append(Netlist((("part1", kind),), (("part1", mine), ("out", out))))
    for netlist in tried:
        if all(map(is_kept, judged_as_asked(frame.study_with(netlist), LIMITS).outcomes)):
            kept.append(netlist)
    return kept


if "CIRCUITCHECK_LEAST" in os.environ:  # up to minutes, each

    def test_an_edge_pulse_of_two_parts_is_excluded_by_a_few_runs() -> None:
        found = searched(edge_pulse("2t"), 2)
        assert found.netlist is None
        assert not found.undecided
        assert [each.parts for each in found.without] == [0, 1, 2]
        assert found.judged < 30

    @pytest.mark.parametrize("length", ["1t", "2t", "3t"])
    def test_an_edge_pulse_takes_three_parts(length: str) -> None:
        """A torch off what comes in, a late copy of it, and a torch off both; for 1t that last one off itself too."""
        found = searched(edge_pulse(length), 3)
        assert found.is_least
        assert found.netlist is not None
        assert found.netlist.parts == 3
        assert verify_text(framed(edge_pulse(length)).written(found.netlist)).exit.name == "HOLDS"

    def test_an_and_takes_three_torches() -> None:
        """As many NORs as L. Hellerman, "A catalog of three-variable Or-Invert and And-Invert logical circuits" (IEEE
        Transactions on Electronic Computers, 1963), has for it; the number is from memory."""
        text = asked(
            'always "on"   when a and b then out within 6t unless a off or b off',
            'always "off"  when a off or b off then out off within 6t unless a and b',
            inputs="lever a, lever b",
        ).replace("12t", "20t")
        found = searched(text, 3)
        assert found.netlist is not None
        assert [kind.word for _, kind in found.netlist.kinds] == ["torch"] * 3


@pytest.mark.parametrize(
    ("text", "why"),
    [
        (asked("legend\n  S  block\nend", "drawing\n  layer 1\n    S\n  end\nend", 'never "x"  out'), "drawn"),
        ("language 1\nlever rope\nlamp bell  from rope\n", "nothing is asked"),
        (asked("repeater bolt  from rope", "repeater hold  from rope  locked by bolt", 'never "x"  out'), "locked"),
        (asked("comparator weigh  from rope", 'never "x"  out'), "comparator"),
        (asked(*(f"torch t{each}  from rope" for each in range(300)), 'never "x"  out'), "300 are the most"),
    ],
)
def test_what_can_not_be_searched_is_refused(text: str, why: str) -> None:
    with pytest.raises(CantDesign) as refused:
        frame_of(text, "mill.circuit", "")
    assert why in " ".join(refused.value.args)


def test_a_file_that_uses_another_is_refused(tmp_path: Path) -> None:
    (tmp_path / "other.circuit").write_text("define hold (opens) gives out\n  repeater out from opens\nend\n")
    with pytest.raises(CantDesign):
        frame_of(asked('use "other.circuit"', 'never "x"  out'), str(tmp_path / "mill.circuit"), str(tmp_path))


def test_a_budget_that_ends_leaves_it_open() -> None:
    text = asked('always "later"  from rope rises to out rises takes 9t')
    found = Search(framed(text), LIMITS, LIMITS._replace(states=40).meter()).run(4)
    assert found.ended is Ended.OVER
    assert found.netlist is None


def called(*words: str) -> int:
    with pytest.raises(SystemExit) as ended:
        main([*words, "--quiet"])
    return int(str(ended.value.code))


def test_the_command_writes_what_it_found(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    mill, smaller = tmp_path / "mill.circuit", str(tmp_path / "smaller.circuit")
    mill.write_text(asked('always "inverse"  out inverts rope, settled within 1t'))
    assert called("least", str(mill), "--write", smaller, "--json") == 0
    least = json.loads(capsys.readouterr().out)["least"]
    assert least["found"]["parts"] == 1
    assert [each["parts"] for each in least["without"]] == [0]
    with pytest.raises(SystemExit) as ended:
        main(["verify", smaller])
    assert ended.value.code == 0
    assert called("least", str(mill), "--write", smaller) == 2
    assert called("least", str(mill), "--most", "0") == 1
    mill.write_text("lever rope\nlamp bell from winch\n")
    assert called("least", str(mill)) == 2


def test_a_file_that_can_not_be_read_is_told_with_its_place(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for words in ([], ["--by-steps"]):
        assert called("least", str(tmp_path / "mill.circuit"), *words, "--json") == 2
        (mistake,) = json.loads(capsys.readouterr().out)["diagnostics"]
        assert mistake["code"] == "CKT501"
        assert mistake["place"]["file"] == str(tmp_path / "mill.circuit")
        assert mistake["place"]["line"] == 1
