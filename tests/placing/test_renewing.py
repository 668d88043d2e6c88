"""Repeaters put into a circuit while it is laid out: where they are put, what is told of them, and what keeps them out.

That the drawing is the circuit with the repeaters in it, and that its checks hold, is asked of `verify`.
"""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest

from circuitcheck.checks.outcome import GOOD
from circuitcheck.language.load import load_text
from circuitcheck.placing.bounds import Bounds
from circuitcheck.placing.holding import Holding
from circuitcheck.placing.pieces import in_pieces, long_ways
from circuitcheck.placing.pieces.in_pieces import PieceSearch
from circuitcheck.placing.pieces.long_ways import Way, feels_no_level
from circuitcheck.placing.pieces.tools import PLAIN
from circuitcheck.placing.problem import Problem
from circuitcheck.placing.renewed_text import Renewed, renewed
from circuitcheck.placing.renewing import Renewing
from circuitcheck.placing.smallest_box import Found
from circuitcheck.placing.task import Task, task_of
from circuitcheck.report.lines import plain
from circuitcheck.report.terminal.repeater_lines import in_a_row, repeater_lines
from circuitcheck.verify import FileReport, report_on

from .test_draw import called

ROPE = """\
rules newer
lever   rope
torch   shut    from rope
torch   barred  from rope
lamp    sign    from shut
lamp    lantern from barred

check "the rope lets both down"
  from 0t to 9t  expect sign and lantern
  at 10t         rope on
  {when}
end
"""
BOTH = """\
rules newer
use "gates.circuit"
lever rope
lever bar
and_gate both (a rope, b bar)
lamp sign from both.out
"""
CIRCUITS = str(Path(__file__).parents[2] / "circuits")
LONG = "CIRCUITCHECK_PIECES" in os.environ
"""Whether a circuit of 129 parts is laid out too, without repeaters and with them: a minute of the processor."""
EARLY, LATE = "at 13t expect not lantern", "at 20t expect not lantern and not sign"


def text_with(text: str, sources: list[str], readers: list[str], of: str = "") -> str:
    """A text with a repeater on a way, which is the only one."""
    loaded = load_text(text, folder=CIRCUITS)
    study = next(each for each in loaded.studies if each.label == of)
    after, made = renewed(text, "mill.circuit", of, study.circuit, sources, readers)
    assert len(made) == 1
    assert load_text(after, folder=CIRCUITS).diagnostics == ()
    return after


def lines_added(before: str, after: str) -> list[str]:
    """The lines of a text that another has not, with single blanks."""
    known = [" ".join(each.split()) for each in before.splitlines()]
    return [line for line in (" ".join(each.split()) for each in after.splitlines()) if line not in known]


def task(text: str) -> Task:
    made = task_of(text, "mill.circuit", CIRCUITS)
    assert isinstance(made, Task)
    return made


def way(problem: Problem, source: str, *readers: str) -> Way:
    ports = (number for number, port in enumerate(problem.ports) if port.part >= 0)
    wanted = tuple(number for number in ports if problem.names[problem.ports[number].part] in readers)
    return Way((problem.names.index(source),), wanted)


def test_only_those_that_are_farther_read_the_repeater() -> None:
    after = text_with(ROPE.format(when=LATE), ["rope"], ["barred"])
    assert lines_added(ROPE, after)[:2] == ["repeater rope_renewed from rope", "torch barred from rope_renewed"]
    assert "torch shut from rope" in [" ".join(each.split()) for each in after.splitlines()]


def test_what_else_a_part_reads_it_reads_still() -> None:
    text = "rules newer\nlever rope\nlever bar\nlever pin\ntorch shut from bar, rope, pin\nlamp sign from shut\n"
    after = text_with(text, ["rope"], ["shut"])
    assert lines_added(text, after) == ["repeater rope_renewed from rope", "torch shut from bar, rope_renewed, pin"]


def test_dust_is_put_between_where_two_repeaters_would_stand_behind_one_another() -> None:
    """Straight behind one another they would be two ticks of one class (rule C3), and no way would be shorter."""
    text = "rules newer\nlever rope\nrepeater slow from rope\nrepeater slower from slow\nlamp sign from slower, slow\n"
    after = text_with(text, ["slow"], ["slower"])
    assert lines_added(text, after) == [
        "dust slow_led from slow",
        "repeater slow_renewed from slow_led",
        "dust slow_led_2 from slow_renewed",
        "repeater slower from slow_led_2",
    ]
    problem = task(after).problem
    assert not any(problem.straight)


def test_an_instance_is_wired_to_the_repeater() -> None:
    after = text_with(BOTH, ["rope"], ["both.no.1"])
    assert lines_added(BOTH, after) == ["repeater rope_renewed from rope", "and_gate both (a rope_renewed, b bar)"]


def test_no_repeater_is_put_into_a_definition_that_is_used() -> None:
    circuit = load_text(BOTH, folder=CIRCUITS).studies[0].circuit
    assert renewed(BOTH, "mill.circuit", "", circuit, ["both.no.1"], ["both.out"]) == (BOTH, [])


def test_a_repeater_after_which_a_check_would_fail_is_kept_out() -> None:
    """Torch and lamp go off 3t after the rope together; with a repeater before them it is 4t (rules T2, R1, O2)."""
    early = task(ROPE.format(when=EARLY))
    renewing = Renewing(early, Holding(early))
    assert renewing.renew([way(early.problem, "rope", "barred")]) is None
    assert (renewing.kept_out, renewing.put_in, renewing.task) == (1, [], early)
    late = task(ROPE.format(when=LATE))
    renewing = Renewing(late, Holding(late))
    problem = renewing.renew([way(late.problem, "rope", "barred")])
    assert problem is not None
    assert "rope_renewed" in problem.names
    assert [each.name for each in renewing.put_in] == ["rope_renewed"]


def test_of_several_those_that_may_be_are_put_in() -> None:
    early = task(ROPE.format(when=EARLY))
    renewing = Renewing(early, Holding(early))
    ways = [way(early.problem, "rope", "barred"), way(early.problem, "rope", "shut")]
    problem = renewing.renew(ways)
    assert problem is not None
    assert [each.readers for each in renewing.put_in] == [("shut",)]
    assert renewing.kept_out == 2


def sluices(gates: int) -> str:
    """One rope lets down all gates of the weir, and each shows a lamp while it is up."""
    lines = ["rules newer", "lever rope"]
    lines += [f"torch gate{gate} from rope" for gate in range(gates)]
    lines += [f"lamp lamp{gate} from gate{gate}" for gate in range(gates)]
    lines += ['check "the rope lets all down"', "at 9t rope on"]
    lines += [f"from 0t to 9t expect lamp{gate}" for gate in range(gates)]
    lines += [f"at 5s expect not lamp{gate}" for gate in range(gates)]
    return "\n".join([*lines, "end", ""])


def holds(text: str) -> list[str]:
    """What a file says of itself, all of which has to hold."""
    report = task_report(text)
    assert all(outcome.verdict in GOOD for outcome in report.outcomes)
    return [outcome.title for outcome in report.outcomes]


def task_report(text: str) -> FileReport:
    return report_on(load_text(text, "mill.circuit", CIRCUITS))


def test_what_is_laid_out_then_is_the_circuit_with_the_repeaters(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nets are led only once repeaters are in: until then no attempt comes to anything, and any way counts as long."""
    monkeypatch.setattr(in_pieces, "TURNS", 0)
    monkeypatch.setattr(long_ways, "LONG", 1)
    one = task(sluices(3))
    renewing = Renewing(one, Holding(one))

    def renews(ways: list[Way]) -> Problem | None:
        monkeypatch.setattr(in_pieces, "TURNS", 60)
        return renewing.renew(ways)

    search = PieceSearch(one.problem, Bounds(), PLAIN, 60_000, renews=renews)
    found = search.run()
    assert found.drawing is not None
    assert found.too_long
    assert renewing.put_in
    text = renewing.task.with_drawing(found.drawing)
    for each in renewing.put_in:
        assert each.name in found.drawing.names.values()
        assert f"repeater  {each.name}  from" in text or f"repeater {each.name} from" in text
    assert holds(text) == ["the rope lets all down", "the drawing is the circuit"]


def test_where_ways_are_too_long_the_option_is_named_and_nothing_is_put_in(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "weir.circuit"
    path.write_text(sluices(30))
    assert called("draw", str(path), "--moves", "1500") == 1
    said = " ".join(capsys.readouterr().out.split())
    assert "hint: with --add-repeaters ways of dust may have repeaters of 1t, if what holds still holds" in said
    assert called("draw", str(path), "--moves", "1500", "--json") == 1
    data = json.loads(capsys.readouterr().out)["draw"]
    assert data["too_long"]
    assert (data["repeaters"], data["kept_out"]) == ([], 0)


def test_a_circuit_that_is_not_laid_out_in_pieces_gets_no_repeaters(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "weir.circuit"
    path.write_text(sluices(2))
    assert called("draw", str(path), "--add-repeaters") == 2
    assert "repeaters are put in only where more than 25 parts are laid out" in " ".join(
        capsys.readouterr().err.split()
    )


if LONG:

    def test_one_rope_lets_down_sixty_four_gates(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
        """129 parts, and the rope is read by more than stand within the reach of one dust."""
        path, drawn = tmp_path / "weir.circuit", tmp_path / "drawn.circuit"
        path.write_text(sluices(64))
        assert called("draw", str(path), "--moves", "7000000") == 1
        capsys.readouterr()
        assert called("draw", str(path), "--moves", "7000000", "--add-repeaters", "--json", "--write", str(drawn)) == 0
        data = json.loads(capsys.readouterr().out)["draw"]
        assert data["repeaters"]
        assert data["parts"] == 129 + len(data["repeaters"])
        assert holds(drawn.read_text()) == ["the rope lets all down", "the drawing is the circuit"]


FELT = """\
rules newer
lever rope
lever bar
lever dam
comparator level   from rope  side bar
repeater   first   from rope
repeater   kept    from bar  locked by first
detector   rise    watches rope  pulse 2t
torch      turned  from rope
lamp       sign    from rope, kept
lamp       lantern from level, rise, turned
"""


def test_only_where_power_or_none_counts_may_a_repeater_be_put_in() -> None:
    """Levels are compared (K1), a repeater is locked by what is directed (R5), a detector sees what it watches (D1).

    Which ports these are is common practice, no source; the rules' ids are those of the law.
    """
    problem = task(FELT).problem
    may = {problem.names[port.part] for number, port in enumerate(problem.ports) if feels_no_level(problem, number)}
    assert may == {"first", "kept", "turned", "sign", "lantern"}
    of_kept = [number for number, port in enumerate(problem.ports) if problem.names[port.part] == "kept"]
    assert [feels_no_level(problem, number) for number in of_kept] == [True, False]


def test_repeaters_one_after_the_other_are_told_with_the_delay_of_all() -> None:
    first = Renewed("first", ("rope",), ("second", "shut"))
    second = Renewed("second", ("rope",), ("barred",))
    third = Renewed("third", ("second",), ("sign",))
    apart = Renewed("apart", ("bar",), ("lantern",))
    every = [third, second, apart, first]
    assert [in_a_row(each, every) for each in every] == [3, 2, 1, 1]
    said = plain(repeater_lines(Found(repeaters=every), 200))
    assert "'third': 1t later, 3t with those before it" in said
    assert "'apart': 1t later" in said
    assert "'apart': 1t later," not in said
