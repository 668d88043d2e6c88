"""Certificates that no smaller circuit will do: written by `least`, and accepted or refused by `certified`."""

from __future__ import annotations

import itertools
import json
import os
import shutil
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

import pytest
from pysat.formula import CNF
from pysat.solvers import Solver
from report.schemas import faults

from circuitcheck.certificate import part_rules
from circuitcheck.certificate.folder_files import sum_of
from circuitcheck.checks.outcome import FAILING
from circuitcheck.commands.printing import INTERRUPTED
from circuitcheck.designing.exclusion_files import about_all, kinds_files
from circuitcheck.designing.exclusion_list import Alone, ExclusionList, exclusion_list, folder_of
from circuitcheck.designing.exclusion_proofs import proofs
from circuitcheck.designing.fewest_parts import Search, asked_of
from circuitcheck.designing.frame import Frame
from circuitcheck.designing.netlist import DELAYS, Kind, Netlist
from circuitcheck.designing.open_netlists import OpenNetlists
from circuitcheck.designing.open_system import Bit
from circuitcheck.judging.door import judged_until_failing
from circuitcheck.prove.meter import LOOKS_EVERY, OverBudget

from .test_least import LATCH, LIMITS, asked, called, edge_pulse, framed
from .test_least_nors import inputs, text_for

DELAY = asked(
    'always "on"  from rope rises to out rises takes 2t', 'always "off"  from rope falls to out falls takes 2t'
)
OR = asked(
    'always "neither"  a or b or out off',
    'always "a"  a off or out',
    'always "b"  b off or out',
    inputs="lever a, lever b",
)
WRITTEN = {"delay": DELAY, "latch": LATCH}


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder of circuits, and of the certificate of each."""
    folder = tmp_path_factory.mktemp("mill")
    for name, text in WRITTEN.items():
        (folder / f"{name}.circuit").write_text(text)
        assert called("least", str(folder / f"{name}.circuit"), "--certificate", str(folder / name)) == 0
    return folder


@pytest.fixture
def copied(written: Path, tmp_path: Path) -> Path:
    """Copies of them, to be tampered with."""
    return Path(shutil.copytree(written, tmp_path / "copied"))


def told(capsys: pytest.CaptureFixture[str], *words: object) -> tuple[int, str]:
    """The exit code of a call, and all that it says, as one line."""
    capsys.readouterr()
    code = called(*map(str, words))
    said = capsys.readouterr()
    return code, " ".join((said.out + said.err).split())


def listed(folder: Path) -> ExclusionList:
    return exclusion_list((folder / "certificate.json").read_text())


def rewritten(folder: Path, listing: ExclusionList, frame: Frame) -> None:
    """Has all files of a folder say what a list says, but for the proofs."""
    for name, text in about_all(listing).items():
        (folder / name).write_text(text)
    for place, kinds in enumerate(listing.kinds, 1):
        netlists = OpenNetlists(frame, kinds.words, asked_of(frame))
        for name, text in kinds_files(kinds, netlists, frame).items():
            (folder / folder_of(place, kinds.words) / name).write_text(text)


@pytest.mark.parametrize("name", WRITTEN)
def test_a_certificate_is_accepted(written: Path, name: str, capsys: pytest.CaptureFixture[str]) -> None:
    code, said = told(capsys, "certified", written / name, "--file", written / f"{name}.circuit")
    assert (code, "wrong" in said) == (0, False)
    least = {"delay": "without a torch or a repeater will do", "latch": "of fewer than 2 torches and repeaters"}
    assert least[name].removesuffix(" will do") in said


if "CIRCUITCHECK_LEAST" in os.environ:  # up to minutes, each
    A, B = inputs(2)

    @pytest.mark.parametrize(
        "text",
        [text_for(2, A & B), text_for(2, A ^ B), *(edge_pulse(length) for length in ("1t", "2t", "3t"))],
        ids=["and", "xor", "edge of 1t", "edge of 2t", "edge of 3t"],
    )
    def test_what_takes_three_parts_is_certified_to_take_no_fewer(
        text: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        (tmp_path / "mill.circuit").write_text(text)
        assert called("least", str(tmp_path / "mill.circuit"), "--certificate", str(tmp_path / "proofs")) == 0
        code, said = told(capsys, "certified", tmp_path / "proofs")
        assert (code, "no circuit of fewer than 3 torches and repeaters keeps" in said) == (0, True)


def test_it_says_what_was_proved_and_what_the_prover_said(written: Path, capsys: pytest.CaptureFixture[str]) -> None:
    alone = sum(len(each.alone) for each in listed(written / "latch").kinds)
    _, said = told(capsys, "certified", written / "latch")
    assert alone
    assert f"of {alone} netlist" in said
    assert f"Netlists that no run here excludes: {alone} " in (written / "latch" / "README.txt").read_text()


@pytest.mark.parametrize("name", WRITTEN)
def test_another_solver_finds_no_answer_to_any_of_the_questions_either(written: Path, name: str) -> None:
    """CaDiCaL, of A. Biere and others: it has found none of the proofs."""
    questions = sorted((written / name).rglob("*.cnf"))
    assert len(questions) > 5
    for each in questions:
        with Solver(name="cadical153", bootstrap_with=CNF(from_file=str(each))) as solver:
            assert not solver.solve(), each


def test_no_netlist_that_the_prover_excludes_holds_under_verify(written: Path) -> None:
    """It fails, or it is open: a claim whose trigger never comes."""
    circuits = sorted((written / "latch").rglob("alone-*.circuit"))
    assert circuits
    assert {called("verify", str(each)) for each in circuits} <= {1, 3}


# What it says, against every netlist there is


def sets_of(names: Iterable[str]) -> list[tuple[str, ...]]:
    names = list(names)
    return [some for count in range(1, len(names) + 1) for some in itertools.combinations(names, count)]


def all_of_one_part(word: str, delays: Iterable[int]) -> Iterator[Netlist]:
    """Every netlist of one part between 'rope' and 'out', of which something reads it."""
    for delay, own, out in itertools.product(delays, sets_of(["rope", "part1"]), sets_of(["rope", "part1"])):
        if "part1" in out:
            yield Netlist((("part1", Kind(word, delay)),), (("part1", own), ("out", out)))


def test_every_netlist_of_one_part_has_a_core_and_fails(written: Path) -> None:
    """Each is gone through by the engine and the prover, which have nothing of the clauses."""
    frame, kinds = framed(DELAY), {tuple(each.words.values()): each for each in listed(written / "delay").kinds}
    netlists = [*all_of_one_part("torch", [1]), *all_of_one_part("repeater", DELAYS)]
    for each in netlists:
        has: set[Bit] = {(reader, source) for reader, sources in each.sources for source in sources}
        has |= {("part1", each.ticks)}
        own = kinds[each.kinds[0][1].word,]
        fails = any(
            outcome.verdict in FAILING
            for outcome in judged_until_failing(frame.study_with(each), LIMITS, LIMITS.meter())
        )
        if own.ticks is None or each.ticks <= own.ticks:
            cores = [core for run in own.runs for core in run.cores]
            excluded = any(all((bit in has) == so for bit, so in core) for core in cores)
            assert (excluded, fails) == (True, True), each
    assert len(netlists) == 6 * 5


# Tampering


def test_each_file_that_is_tampered_with_is_named(copied: Path, capsys: pytest.CaptureFixture[str]) -> None:
    unnoticed: list[tuple[str, int | str, str]] = []
    for path in sorted(each for each in (copied / "delay").rglob("*") if each.is_file()):
        name = str(path.relative_to(copied / "delay"))
        whole = path.read_bytes()
        for place in {len(whole) // 2, len(whole) - 2}:
            path.write_bytes(whole[:place] + bytes([whole[place] ^ 1]) + whole[place + 1 :])
            code, said = told(capsys, "certified", copied / "delay")
            if code == 0 or (name != "certificate.json" and name not in said):
                unnoticed.append((name, place, said))
        path.unlink()
        code, said = told(capsys, "certified", copied / "delay")
        if code == 0 or name not in said:
            unnoticed.append((name, "missing", said))
        path.write_bytes(whole)
    assert not unnoticed
    (copied / "delay" / "note.txt").write_text("all is well\n")
    code, said = told(capsys, "certified", copied / "delay")
    assert (code, "note.txt: it belongs to nothing" in said) == (1, True)


def test_kinds_that_are_left_out_are_named_though_all_else_is_made_to_match(
    copied: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    frame, listing = framed(DELAY), listed(copied / "delay")
    last = folder_of(len(listing.kinds), listing.kinds[-1].words)
    shutil.rmtree(copied / "delay" / last)
    rewritten(copied / "delay", listing._replace(kinds=listing.kinds[:-1]), frame)
    code, said = told(capsys, "certified", copied / "delay")
    assert (code, "certificate.json: it leaves out repeater" in said) == (1, True)


def test_a_certificate_says_no_more_than_it_has(copied: Path, capsys: pytest.CaptureFixture[str]) -> None:
    frame, listing = framed(DELAY), listed(copied / "delay")
    for below in (listing.below._replace(ticks=3), listing.below._replace(parts=2), listing.below._replace(parts=9)):
        rewritten(copied / "delay", listing._replace(below=below), frame)
        code, said = told(capsys, "certified", copied / "delay")
        assert (code, "it leaves out" in said) == (1, True), below


def test_a_core_with_a_bit_less_is_refused_though_all_else_is_made_to_match(
    copied: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Some netlist with the fewer bits keeps what is asked in the run, as a solver finds, so no proof can be there."""
    frame, listing = framed(LATCH), listed(copied / "latch")
    kinds = listing.kinds[-1]
    for number, run in enumerate(kinds.runs, 1):
        fewer = run._replace(cores=tuple(core[1:] for core in run.cores))
        runs = (*kinds.runs[: number - 1], fewer, *kinds.runs[number:])
        rewritten(copied / "latch", listing._replace(kinds=(*listing.kinds[:-1], kinds._replace(runs=runs))), frame)
        name = f"{folder_of(len(listing.kinds), kinds.words)}/run-{number}"
        with Solver(bootstrap_with=CNF(from_file=str(copied / "latch" / f"{name}.cnf"))) as solver:
            assert solver.solve()
        code, said = told(capsys, "certified", copied / "latch")
        assert (code, f"{name}.drat: it does not prove" in said) == (1, True)


def test_a_run_in_which_nothing_happens_excludes_nothing(copied: Path, capsys: pytest.CaptureFixture[str]) -> None:
    frame, listing = framed(DELAY), listed(copied / "delay")
    first = listing.kinds[0]
    calm = first.runs[0]._replace(stimulus=first.runs[0].stimulus._replace(worked=frozenset()))
    rewritten(copied / "delay", listing._replace(kinds=(first._replace(runs=(calm,)), *listing.kinds[1:])), frame)
    code, said = told(capsys, "certified", copied / "delay")
    assert (code, "run-1.drat: it does not prove" in said) == (1, True)


def test_a_circuit_that_will_do_is_not_excluded_by_the_prover(copied: Path, capsys: pytest.CaptureFixture[str]) -> None:
    frame, listing = framed(DELAY), listed(copied / "delay")
    last = listing.kinds[-1]
    good = Netlist((("part1", Kind("repeater", 2)),), (("part1", ("rope",)), ("out", ("part1",))))
    with_good = last._replace(alone=(Alone(good, ()),))
    rewritten(copied / "delay", listing._replace(kinds=(*listing.kinds[:-1], with_good)), frame)
    code, said = told(capsys, "certified", copied / "delay")
    assert (code, "alone-1.circuit: the prover does not say that it fails" in said) == (1, True)


def test_a_torch_that_does_not_burn_out_excludes_nothing(copied: Path, capsys: pytest.CaptureFixture[str]) -> None:
    frame, listing = framed(DELAY), listed(copied / "delay")
    torch = listing.kinds[1]
    calm = Netlist((("part1", Kind("torch")),), (("part1", ("rope",)), ("out", ("part1",))))
    with_calm = torch._replace(alone=(Alone(calm, ("part1",)),))
    rewritten(copied / "delay", listing._replace(kinds=(listing.kinds[0], with_calm, listing.kinds[2])), frame)
    code, said = told(capsys, "certified", copied / "delay")
    assert (code, "alone-1.circuit: the prover does not say" in said) == (1, True)


# Bounds


def test_a_list_does_not_say_how_long_the_prover_may_look(copied: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """With fewer states than the list says, what they don't decide is undecided, and neither excluded nor wrong."""
    listing = listed(copied / "latch")
    assert (listing.states, sum(len(each.alone) for each in listing.kinds)) == (50_000, 1)
    code, said = told(capsys, "certified", copied / "latch", "--states", "1")
    assert (code, "alone-1.circuit: 1 states do not decide it; the list says 50,000" in said) == (3, True)
    assert "undecided 1 thing not checked within the bounds" in said
    assert "checked no circuit" not in said
    rewritten(copied / "latch", listing._replace(states=10**9), framed(LATCH))
    assert told(capsys, "certified", copied / "latch")[0] == 0


def test_all_netlists_of_a_folder_share_one_budget(
    written: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("circuitcheck.commands.certified_least.ALL", 0)
    code, said = told(capsys, "certified", written / "latch")
    assert (code, "alone-1.circuit: all that the prover may look at was used up" in said) == (3, True)
    assert told(capsys, "certified", written / "delay")[0] == 0  # it has none, and proofs take no states


def test_after_the_seconds_nothing_more_is_checked(
    copied: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("circuitcheck.commands.certified_least.seconds_from_now", lambda seconds: 1e-9)
    code, said = told(capsys, "certified", copied / "delay", "--seconds", "1")
    assert (code, said.count("the limit of seconds ran out")) == (3, len(listed(copied / "delay").kinds))
    (copied / "delay" / "note.txt").write_text("all is well\n")
    assert told(capsys, "certified", copied / "delay", "--seconds", "1")[0] == 1  # what is wrong is wrong all the same


def test_bounds_of_the_prover_are_refused_where_it_has_no_say(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    mill = tmp_path / "mill.circuit"
    mill.write_text('language 1\nlever rope\nlamp bell  from rope\nalways "rings"  rope off or bell\n')
    assert called("prove", str(mill), "--certificate", str(tmp_path / "proofs")) == 0
    code, said = told(capsys, "certified", tmp_path / "proofs", "--states", "9")
    assert (code, "--states and --seconds are for what the prover is asked" in said) == (2, True)


def test_the_certificate_of_one_file_is_none_of_another(copied: Path, capsys: pytest.CaptureFixture[str]) -> None:
    other = copied / "other.circuit"
    other.write_text(DELAY.replace("takes 2t", "takes 4t"))
    assert told(capsys, "certified", copied / "delay", "--file", other)[0] == 1
    (copied / "delay" / "circuit" / "delay.circuit").write_text(other.read_text())
    data = json.loads((copied / "delay" / "certificate.json").read_text())
    (copied / "delay" / "certificate.json").write_text(json.dumps({**data, "source": sum_of(other.read_text())}))
    assert told(capsys, "certified", copied / "delay")[0] == 1


def test_a_rule_that_is_broken_in_the_second_encoding_certifies_nothing(
    written: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(part_rules, "TORCH_WAITS", 3)
    assert told(capsys, "certified", written / "delay")[0] == 1


@pytest.mark.parametrize(
    "change",
    [
        {"states": 10**10}, {"below": {"parts": 10**9, "ticks": None}}, {"below": None}, {"excluded": 7},
        {"excluded": [{"kinds": {f"part{place}": "torch" for place in range(99)}}]},
        {"certificate": 99}, {"circuit": "../../mill.circuit"},
    ],
)  # fmt: skip
def test_a_list_that_is_none_is_refused(
    copied: Path, change: dict[str, Any], capsys: pytest.CaptureFixture[str]
) -> None:
    path = copied / "delay" / "certificate.json"
    path.write_text(json.dumps({**json.loads(path.read_text()), **change}))
    code, said = told(capsys, "certified", copied / "delay")
    assert (code, said.startswith(f"circuitcheck: {path}: ")) == (2, True)


@pytest.mark.parametrize(
    "change",
    [
        {"gt": 10**9}, {"check": 5}, {"worked": [[0, "nobody"]]}, {"start": ["nobody"]}, {"worked": [[-1, "rope"]]},
        {"cores": [[["nobody", "out", True]]]}, {"cores": [[["part1", 9, True]]]}, {"cores": 5},
    ],
)  # fmt: skip
def test_a_run_that_is_none_of_the_circuit_is_refused(
    copied: Path, change: dict[str, Any], capsys: pytest.CaptureFixture[str]
) -> None:
    path = copied / "delay" / "certificate.json"
    data = json.loads(path.read_text())
    data["excluded"][2]["runs"][0] |= change
    path.write_text(json.dumps(data))
    assert told(capsys, "certified", copied / "delay")[0] in (1, 2)


# What is asked for


def test_the_same_as_data_is_as_its_schema_says(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    mill = tmp_path / "mill.circuit"
    mill.write_text(DELAY)
    assert called("least", str(mill), "--certificate", str(tmp_path / "proofs"), "--json") == 0
    data = json.loads(capsys.readouterr().out)
    assert faults("least", data) == []
    assert data["certificate"]["below"] == {"parts": 1, "ticks": 2}
    assert [each["kinds"] for each in data["certificate"]["excluded"]] == [
        {},
        {"part1": "torch"},
        {"part1": "repeater"},
    ]


def test_where_nothing_smaller_can_be_there_is_nothing_to_certify(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    mill = tmp_path / "mill.circuit"
    mill.write_text(OR)
    code, said = told(capsys, "least", mill, "--certificate", tmp_path / "proofs")
    assert (code, "nothing to certify" in said, (tmp_path / "proofs").exists()) == (2, True, False)
    capsys.readouterr()
    assert called("least", str(mill), "--certificate", str(tmp_path / "proofs"), "--json") == 2
    data = json.loads(capsys.readouterr().out)
    assert (faults("least", data), data["certificate"]["folder"]) == ([], None)


def test_that_none_of_so_few_parts_will_do_is_certified_as_well(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    mill = tmp_path / "mill.circuit"
    mill.write_text(DELAY)
    code, said = told(capsys, "least", mill, "--most", "0", "--certificate", tmp_path / "proofs")
    assert (code, "no circuit without a torch or a repeater will do" in said) == (1, True)
    assert told(capsys, "certified", tmp_path / "proofs")[0] == 0


def test_a_search_that_its_budget_ends_certifies_what_it_has_excluded(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = Search._of_size

    def ends_at_one(search: Search, count: int) -> bool:
        if count == 1:
            raise OverBudget("spent")
        return whole(search, count)

    monkeypatch.setattr(Search, "_of_size", ends_at_one)
    mill = tmp_path / "mill.circuit"
    mill.write_text(DELAY)
    code, said = told(capsys, "least", mill, "--certificate", tmp_path / "proofs")
    assert (code, "no circuit without a torch or a repeater will do" in said) == (3, True)
    assert told(capsys, "certified", tmp_path / "proofs")[0] == 0
    monkeypatch.setattr(Search, "_of_size", lambda search, count: ends_at_one(search, 1))
    code, said = told(capsys, "least", mill, "--certificate", tmp_path / "none")
    assert (code, "nothing to certify" in said, (tmp_path / "none").exists()) == (3, True, False)


def test_the_seconds_of_a_search_are_not_those_of_its_certificate(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = Search._of_size

    def ends_late(search: Search, count: int) -> bool:
        found = whole(search, count)
        monkeypatch.setattr("circuitcheck.prove.meter.time.monotonic", lambda: 1e12)
        search._budget.count(LOOKS_EVERY)
        return found

    monkeypatch.setattr(Search, "_of_size", ends_late)
    mill = tmp_path / "mill.circuit"
    mill.write_text(DELAY)
    code, said = told(capsys, "least", mill, "--seconds", "1000", "--certificate", tmp_path / "proofs")
    assert (code, "no circuit without a torch or a repeater will do" in said) == (3, True), said


def test_what_was_not_decided_is_not_certified(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    mill = tmp_path / "mill.circuit"
    mill.write_text(LATCH)
    code, said = told(capsys, "least", mill, "--states", "1", "--most", "0", "--certificate", tmp_path / "proofs")
    assert code == 3
    assert "open: " in said
    assert "will do; circuitcheck" not in said


def test_stopped_while_it_is_written_it_holds_what_was_done(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def stopped(*given: Any) -> Iterator[Any]:
        yield next(proofs(*given))
        raise KeyboardInterrupt

    monkeypatch.setattr("circuitcheck.commands.least_certificate.proofs", stopped)
    mill = tmp_path / "mill.circuit"
    mill.write_text(DELAY)
    code, said = told(capsys, "least", mill, "--certificate", tmp_path / "proofs")
    assert (code, "not certified: it was stopped" in said) == (INTERRUPTED, True)
    code, said = told(capsys, "certified", tmp_path / "proofs")
    assert (code, "no circuit without a torch or a repeater keeps" in said) == (0, True)


@pytest.mark.parametrize("kind", ["full", "file", "nowhere", "by steps", "empty name"])
def test_what_can_not_be_certified_is_refused_before_anything_is_searched(
    tmp_path: Path, kind: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def searched(*given: object) -> None:
        raise AssertionError("it was searched")

    monkeypatch.setattr(Search, "run", searched)
    mill, proofs = tmp_path / "mill.circuit", tmp_path / "proofs"
    mill.write_text(DELAY)
    if kind == "full":
        proofs.mkdir()
        (proofs / "old").write_text("old")
    elif kind == "file":
        proofs.write_text("old")
    elif kind == "nowhere":
        proofs = tmp_path / "none" / "proofs"
    more = ["--by-steps"] if kind == "by steps" else []
    code, said = told(capsys, "least", mill, "--certificate", "" if kind == "empty name" else proofs, *more)
    assert (code, "certificate" in said or "can't be written" in said) == (2, True)
    assert kind in ("full", "file") or not proofs.exists()


def test_an_empty_folder_is_written_into(tmp_path: Path) -> None:
    mill, proofs = tmp_path / "mill.circuit", tmp_path / "proofs"
    mill.write_text(DELAY)
    proofs.mkdir()
    assert called("least", str(mill), "--certificate", str(proofs)) == 0
    assert (proofs / "certificate.json").exists()
