"""A certificate of all claims of a file: one budget, shared among them, and a folder that grows claim by claim."""

from __future__ import annotations

import errno
import json
import os
import signal
from collections.abc import Iterator
from pathlib import Path

import pytest
from prove.random_circuits import study_of
from report.schemas import faults

from circuitcheck.certificate.folder_files import NOT_CERTIFIED, PROVED, Entry
from circuitcheck.certificate.uncertified import Uncertified
from circuitcheck.cli import main
from circuitcheck.commands import prove
from circuitcheck.judging import certificates
from circuitcheck.judging.certificates import Done
from circuitcheck.judging.certificates import certificates as made
from circuitcheck.judging.door import proved, prover_of
from circuitcheck.prove.carried_over import CarriedOver
from circuitcheck.prove.certifying import certify
from circuitcheck.prove.meter import Limits, Meter, OverBudget
from circuitcheck.report import files

LATCH = "lever pond\nlever rope\nlatch gate set pond reset rope starts reset\n"
FIRST = 'always "first"  not (gate and gate.inverse)\n'
SECOND = 'never "second"  gate and gate.inverse\n'


def prove_into(folder: Path, claims: str) -> tuple[int, list[dict[str, str]]]:
    """The exit code of a call, and the list of the certificate that it wrote."""
    (folder / "mill.circuit").write_text(LATCH + claims)
    with pytest.raises(SystemExit) as ended:
        main(["prove", "--only-claims", "--certificate", str(folder / "proofs"), str(folder / "mill.circuit")])
    assert isinstance(ended.value.code, int)
    return ended.value.code, json.loads((folder / "proofs" / "certificate.json").read_text())["claims"]


def shares_of(monkeypatch: pytest.MonkeyPatch, costs: list[int], states: int) -> list[tuple[str, int]]:
    """In which order claims of these costs are certified, and out of how many states each."""
    study = study_of(
        LATCH + "".join(f'always "{number}" not (gate and gate.inverse)\n' for number in range(len(costs)))
    )
    limits = Limits(states)
    prover = prover_of(study, limits)
    outcomes = [proved(prover, study, claim, limits) for claim in study.claims]
    tried = []

    def costing(study: object, claim: object, outcome: object, folder: str, meter: Meter, carried: object) -> object:
        number = int(folder.partition("-")[0]) - 1
        tried.append((str(number), meter.left))
        meter.count(costs[number])
        return Entry("", PROVED, folder), {"proof": "whole"}

    monkeypatch.setattr(certificates, "_of_claim", costing)
    monkeypatch.setattr(certificates, "LEAST", 10)
    assert all(isinstance(each, Done) for each in made(study, outcomes, limits))
    return tried


def test_claims_share_one_budget_and_what_some_leave_over_goes_to_those_that_theirs_did_not_last_for(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    # A file has 8 times the states of a claim: 8,000 among three. The first runs out, and counting stops one past that.
    tried = shares_of(monkeypatch, [4_000, 100, 100], 1_000)
    assert tried == [("0", 2_666), ("1", 2_000), ("2", 3_900), ("0", 3_800)]


def test_a_claim_for_which_nothing_is_left_is_named_with_that(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Limits, "meter", lambda limits: Meter(0))
    study = study_of(LATCH + FIRST)
    limits = Limits(10_000)
    monkeypatch.undo()
    prover = prover_of(study, limits)
    outcomes = [proved(prover, study, study.claims[0], limits)]
    monkeypatch.setattr(Limits, "meter", lambda limits: Meter(0))
    (done,) = made(study, outcomes, limits)
    assert done.entry.kind == NOT_CERTIFIED
    assert "budget" in done.entry.why
    assert "--states" in done.entry.why


def test_a_claim_for_which_the_seconds_did_not_last_is_named_with_that() -> None:
    study = study_of(LATCH + FIRST)
    limits = Limits(10_000)
    outcomes = [proved(prover_of(study, limits), study, study.claims[0], limits)]
    (done,) = made(study, outcomes, limits._replace(until=1.0))  # a reading of the clock that is long past
    assert done.entry.kind == NOT_CERTIFIED
    assert "--seconds" in done.entry.why
    assert "--states" not in done.entry.why


def test_each_claim_stands_in_the_folder_as_soon_as_it_is_done(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    seen: list[list[str]] = []

    def watched(*words: object) -> Iterator[Done]:
        for done in made(*words):  # type: ignore[arg-type]
            yield done
            listing = json.loads((tmp_path / "proofs" / "certificate.json").read_text())
            seen.append([each["kind"] for each in listing["claims"]])
            assert (tmp_path / "proofs" / done.entry.folder / "step.drat").is_file()

    monkeypatch.setattr(prove, "certificates", watched)
    prove_into(tmp_path, FIRST + SECOND)
    assert seen == [[PROVED, NOT_CERTIFIED], [PROVED, PROVED]]


def test_what_was_certified_before_it_is_stopped_stands_and_is_a_certificate(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def stopped(*words: object) -> Iterator[Done]:
        yield next(made(*words))  # type: ignore[arg-type]
        raise KeyboardInterrupt

    monkeypatch.setattr(prove, "certificates", stopped)
    code, claims = prove_into(tmp_path, FIRST + SECOND)
    assert (code, [each["kind"] for each in claims]) == (130, [PROVED, NOT_CERTIFIED])
    assert claims[1]["why"] in capsys.readouterr().out
    with pytest.raises(SystemExit) as ended:
        main(["certified", str(tmp_path / "proofs")])
    assert ended.value.code == 0


def test_a_disk_that_fills_up_later_leaves_what_was_certified(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    whole, written = files._write_beside, []

    def fills(target: str, inside: dict[str, str]) -> None:
        written.append(target)
        if len(written) == 3:
            raise OSError(errno.ENOSPC, "No space left on device")
        whole(target, inside)

    monkeypatch.setattr(files, "_write_beside", fills)
    code, claims = prove_into(tmp_path, FIRST + SECOND)
    assert (code, [each["kind"] for each in claims]) == (2, [PROVED, NOT_CERTIFIED])
    assert "a certificate of 1 of 2 claims" in capsys.readouterr().out
    with pytest.raises(SystemExit) as ended:
        main(["certified", str(tmp_path / "proofs")])
    assert ended.value.code == 0


@pytest.mark.parametrize("last", [1, 2])
def test_as_json_verdicts_are_told_where_a_disk_fills_up_with_what_stands_of_the_certificate(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], last: int
) -> None:
    whole, written = files._write_beside, []

    def fills(target: str, inside: dict[str, str]) -> None:
        written.append(target)
        if len(written) == last:
            raise OSError(errno.ENOSPC, "No space left on device")
        whole(target, inside)

    monkeypatch.setattr(files, "_write_beside", fills)
    (tmp_path / "mill.circuit").write_text(LATCH + FIRST)
    words = ["prove", "--only-claims", "--json", "--certificate", str(tmp_path / "proofs")]
    with pytest.raises(SystemExit) as ended:
        main([*words, str(tmp_path / "mill.circuit")])
    data = json.loads(capsys.readouterr().out)
    assert (ended.value.code, len(data["claims"]), faults("prove", data)) == (2, 1, [])
    stands = (tmp_path / "proofs").exists()
    assert stands == ("certificate" in data) == (last > 1)
    if stands:
        assert [each["kind"] for each in data["certificate"]["claims"]] == [NOT_CERTIFIED]


def test_a_folder_that_can_not_grow_is_as_it_was_whatever_the_disk_had_no_room_for(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = files.GrowingFolder(str(tmp_path / "proofs"), {"README.txt": "one", "certificate.json": "one"})
    before = contents(tmp_path)
    grown = ("1-first", {"start.cnf": "p", "step.cnf": "p"}, {"README.txt": "two", "certificate.json": "two"})
    flushed: list[int] = []

    def full(number: int) -> None:
        flushed.append(number)
        if len(flushed) == place:
            raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    for place in range(1, 5):
        flushed.clear()
        with pytest.raises(files.CannotWrite):
            folder.grow(*grown)
        assert contents(tmp_path) == before, place
    place = 0
    folder.grow(*grown)
    assert set(contents(tmp_path).values()) == {"two", "p"}


@pytest.mark.parametrize("place", [12, 13, 14], ids=["a proof", "what it holds", "its list"])
def test_a_certificate_stopped_while_it_is_written_is_one_and_is_told_of_as_it_is(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], place: int
) -> None:
    flushed: list[int] = []

    def stopping(number: int) -> None:
        flushed.append(number)
        if len(flushed) == place:
            signal.raise_signal(signal.SIGINT)

    monkeypatch.setattr(os, "fsync", stopping)
    code, claims = prove_into(tmp_path, FIRST + SECOND)
    assert code == 130
    count = sum(each["kind"] == PROVED for each in claims)
    assert f"a certificate of {count} of 2 claims" in capsys.readouterr().out
    with pytest.raises(SystemExit) as ended:
        main(["certified", str(tmp_path / "proofs")])
    assert ended.value.code == 0


def contents(folder: Path) -> dict[str, str]:
    """What stands in each file of a folder."""
    return {str(each.relative_to(folder)): each.read_text() for each in folder.rglob("*") if each.is_file()}


def test_what_one_claim_took_to_prove_helps_the_next(monkeypatch: pytest.MonkeyPatch) -> None:
    study = study_of(LATCH + FIRST + SECOND)
    carried = CarriedOver()
    case = certify(study, study.claims[0], Meter(100_000), carried).case
    found = set(carried.about(case.model))
    assert found
    other = certify(study, study.claims[1], Meter(100_000)).case
    names = {latch.literal >> 1: latch.name for latch in other.model.latches}
    for clause in carried.about(other.model):
        assert all(abs(literal) in names for literal in clause)


def test_a_clause_that_does_not_hold_is_no_help_and_no_harm() -> None:
    study = study_of(LATCH + FIRST)
    carried = CarriedOver()
    whole = certify(study, study.claims[0], Meter(100_000))
    latch = next(each for each in whole.case.model.latches if each.name == "gate is on")
    wrong = (-(latch.literal >> 1),)  # the gate comes on
    carried.keep(whole.case.model, [wrong])
    made_so = certify(study, study.claims[0], Meter(100_000), carried)
    assert wrong not in made_so.invariant


def test_what_certificates_do_not_know_is_named() -> None:
    text = 'lever rope\ndetector weighs arming rope hears rope\nlamp lit from weighs\nnever "lit" lit\n'
    study = study_of(text)
    with pytest.raises(Uncertified, match=r"'weighs'.*detector"):
        certify(study, study.claims[0], Meter(100_000))


def test_no_budget_is_no_claim_certified(monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(OverBudget):
        certify(study_of(LATCH + FIRST), study_of(LATCH + FIRST).claims[0], Meter(10))


def test_claims_that_one_line_makes_of_several_parts_are_each_checked(tmp_path: Path) -> None:
    each = 'always "each"  for each pond:  when pond rises then pond stable for 1gt\n'
    text = "lever pond.1 to pond.3\nassume at most 1 changes within 8t\n" + each
    (tmp_path / "mill.circuit").write_text(text)
    with pytest.raises(SystemExit) as ended:
        main(["prove", "--only-claims", "--certificate", str(tmp_path / "proofs"), str(tmp_path / "mill.circuit")])
    assert ended.value.code == 0
    claims = json.loads((tmp_path / "proofs" / "certificate.json").read_text())["claims"]
    assert [claim["kind"] for claim in claims] == [PROVED] * 3
    assert len({claim["words"] for claim in claims}) == 1
    with pytest.raises(SystemExit) as ended:
        main(["certified", str(tmp_path / "proofs")])
    assert ended.value.code == 0
