"""Certificates from end to end: written by `prove`, and accepted or refused by `certified`."""

from __future__ import annotations

import errno
import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import dratify
import pytest
from pysat.solvers import Solver
from report.schemas import faults

from circuitcheck.certificate import part_rules
from circuitcheck.certificate.cases import case_of
from circuitcheck.certificate.checking import drat_checker
from circuitcheck.certificate.folder_files import folder_name, invariant_of, listed, proof_files
from circuitcheck.certificate.three_questions import QUESTIONS, question
from circuitcheck.cli import main
from circuitcheck.language.load import load_file

CIRCUIT = """lever pond
lever rope
latch gate set pond reset rope starts reset
torch dark from gate
always "never both sides"  not (gate and gate.inverse)
always "../it/opens at once"  when pond rises then gate on within 2t
always "it comes to rest"  possible rest
"""
PROVED, BROKEN = "1-never-both-sides", "2-it-opens-at-once"


def code_of(*words: object) -> int:
    """The exit code of a call."""
    with pytest.raises(SystemExit) as ended:
        main([str(word) for word in words])
    assert isinstance(ended.value.code, int)
    return ended.value.code


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder of two files: a circuit, and its certificate."""
    folder = tmp_path_factory.mktemp("mill")
    (folder / "mill.circuit").write_text(CIRCUIT)
    assert code_of("prove", "--only-claims", "--certificate", folder / "proofs", folder / "mill.circuit") == 1
    return folder


@pytest.fixture
def proofs(written: Path, tmp_path: Path) -> Path:
    """A copy of the certificate, to be tampered with."""
    return Path(shutil.copytree(written / "proofs", tmp_path / "proofs"))


def names(folder: Path) -> list[str]:
    """The files of a folder by their paths in it."""
    return sorted(str(each.relative_to(folder)) for each in folder.rglob("*") if each.is_file())


def told(capsys: pytest.CaptureFixture[str], *words: object) -> tuple[int, str]:
    """The exit code of a call, and all that it says."""
    capsys.readouterr()
    code = code_of(*words)
    said = capsys.readouterr()
    return code, said.out + said.err


def test_a_certificate_is_accepted(written: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, said = told(capsys, "certified", written / "proofs")
    assert (code, [line.split("  ")[1] for line in said.splitlines()[:2]]) == (0, ["proved", "broken"])
    assert "may have more" in " ".join(said.split())


def test_what_is_not_certified_is_named_with_why(written: Path, capsys: pytest.CaptureFixture[str]) -> None:
    _, said = told(capsys, "certified", written / "proofs")
    assert "it comes to rest" in said
    assert "not certified" in said
    last = json.loads((written / "proofs" / "certificate.json").read_text())["claims"][2]
    assert (last["kind"], bool(last["why"]), last["folder"]) == ("not certified", True, "")
    assert last["why"] in (written / "proofs" / "README.txt").read_text()


def test_the_circuit_that_was_proved_may_be_given(written: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert told(capsys, "certified", written / "proofs", "--file", written / "mill.circuit")[0] == 0


def test_each_file_that_is_tampered_with_is_named(proofs: Path, capsys: pytest.CaptureFixture[str]) -> None:
    unnoticed = []
    for name in names(proofs):
        path = proofs / name
        whole = path.read_bytes()
        for place in {0, len(whole) // 2, len(whole) - 2}:
            path.write_bytes(whole[:place] + bytes([whole[place] ^ 1]) + whole[place + 1 :])
            code, said = told(capsys, "certified", proofs)
            if code == 0 or (name != "certificate.json" and name not in said):
                unnoticed.append((name, place, said))
        path.write_bytes(whole)
    assert not unnoticed


def test_each_file_that_is_missing_is_named(proofs: Path, capsys: pytest.CaptureFixture[str]) -> None:
    unnoticed = []
    for name in names(proofs):
        path = proofs / name
        whole = path.read_bytes()
        path.unlink()
        code, said = told(capsys, "certified", proofs)
        if code == 0 or name not in said:
            unnoticed.append((name, said))
        path.write_bytes(whole)
    assert not unnoticed


def test_a_file_that_belongs_to_nothing_is_named(proofs: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (proofs / "note.txt").write_text("all is well\n")
    code, said = told(capsys, "certified", proofs)
    assert (code, "note.txt" in said) == (1, True)


def test_a_folder_that_a_link_leads_to_belongs_to_nothing(
    proofs: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "elsewhere").mkdir()
    (proofs / "more").symlink_to(tmp_path / "elsewhere")
    code, said = told(capsys, "certified", proofs)
    assert (code, "more" in said) == (1, True)


def test_an_invariant_without_one_of_its_clauses_is_refused_though_all_else_is_made_to_match(
    proofs: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """What is left of an invariant is asked of a solver, which the check does without."""
    study = next(iter(load_file(proofs / "circuit" / "mill.circuit").studies))
    entry = listed((proofs / "certificate.json").read_text()).entries[0]
    case = case_of(study, study.claims[0], entry.inside)
    whole = invariant_of((proofs / PROVED / "invariant.cnf").read_text(), case.model)
    refused = 0
    for place in range(len(whole)):
        rest = (*whole[:place], *whole[place + 1 :])
        for name, text in proof_files(case, rest).items():
            (proofs / PROVED / name).write_text(text)
        false = [which for which in QUESTIONS if Solver(bootstrap_with=question(case.model, rest, which)).solve()]
        code, said = told(capsys, "certified", proofs)
        assert not (false and code == 0), (place, false)
        assert all(f"{which}.drat" in said for which in false)
        refused += bool(false)
    assert refused


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("reset rope starts reset", "reset rope starts set"),
        ("torch dark from gate", "repeater dark from gate delay 2t"),
        ("latch gate set pond reset rope", "latch gate set rope reset pond"),
    ],
)
def test_another_circuit_is_found_out(
    written: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], old: str, new: str
) -> None:
    other = tmp_path / "other.circuit"
    other.write_text(CIRCUIT.replace(old, new))
    code, said = told(capsys, "certified", written / "proofs", "--file", other)
    same = "dark" in old  # the latch's claims don't depend on what reads it
    assert (code, "system.aag" in said) == ((0, False) if same else (1, True))


def test_a_claim_that_the_list_leaves_out_is_missed(proofs: Path, capsys: pytest.CaptureFixture[str]) -> None:
    data = json.loads((proofs / "certificate.json").read_text())
    left_out = data["claims"].pop(2)["words"]
    (proofs / "certificate.json").write_text(json.dumps(data))
    code, said = told(capsys, "certified", proofs)
    assert (code, left_out in said) == (1, True)


def test_a_broken_claim_called_proved_is_found_out(proofs: Path, capsys: pytest.CaptureFixture[str]) -> None:
    data = json.loads((proofs / "certificate.json").read_text())
    data["claims"][1]["kind"] = "proved"
    (proofs / "certificate.json").write_text(json.dumps(data))
    assert told(capsys, "certified", proofs)[0] == 1


def test_a_system_without_what_the_claim_is_about_is_no_certificate(
    proofs: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    data = json.loads((proofs / "certificate.json").read_text())
    data["claims"][0]["inside"].remove("gate")
    (proofs / "certificate.json").write_text(json.dumps(data))
    code, said = told(capsys, "certified", proofs)
    assert (code, "'gate'" in said) == (1, True)


def test_a_rule_that_is_broken_in_the_second_encoding_certifies_nothing(
    written: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(part_rules, "TORCH_WAITS", 3)
    assert told(capsys, "certified", written / "proofs")[0] == 1


def test_checking_has_no_part_of_what_found_the_proof(written: Path) -> None:
    script = (
        "import sys\nfrom circuitcheck.cli import main\n"
        "try:\n    main(sys.argv[1:])\nexcept SystemExit as ended:\n    code = ended.code\n"
        "ours = ('circuitcheck.engine', 'circuitcheck.prove', 'circuitcheck.checks', 'pysat')\n"
        "print(code, [name for name in sys.modules if name.startswith(ours)])\n"
    )
    words = [sys.executable, "-c", script, "certified", str(written / "proofs")]
    run = subprocess.run(words, capture_output=True, text=True, check=True)
    assert run.stdout.splitlines()[-1] == "0 []"


def test_without_the_extra_it_is_said_how_to_get_it(
    written: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert dratify.__name__ in sys.modules
    monkeypatch.setitem(sys.modules, "dratify", None)
    code, said = told(capsys, "certified", written / "proofs")
    assert (code, "circuitcheck[certificate]" in said) == (2, True)


def test_a_proof_that_takes_back_what_has_forced_something_shows_nothing() -> None:
    """By hand: with 1 and 2 both false the clauses hold, so that no proof may be accepted."""
    clauses = "p cnf 2 2\n2 -1 0\n-2 0\n"
    proof = "-2 -1 -3 0\nd 2 -1 0\n-1 -2 0\n-3 1 0\n1 0\n0\n"
    assert not drat_checker()(clauses, proof)
    assert drat_checker()(clauses + "1 0\n", "d 1 0\n0\n")


# Folders


@pytest.mark.parametrize("kind", ["full", "file", "nowhere"])
def test_a_folder_that_can_not_be_written_is_refused_before_anything_is_proved(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], kind: str
) -> None:
    (tmp_path / "mill.circuit").write_text(CIRCUIT)
    target = tmp_path / "proofs"
    if kind == "full":
        target.mkdir()
        (target / "mine.txt").write_text("mine")
    elif kind == "file":
        target.write_text("mine")
    else:
        target = tmp_path / "no" / "such"
    before = names(tmp_path)
    code, said = told(capsys, "prove", "--certificate", target, tmp_path / "mill.circuit")
    assert (code, str(target) in said, "proved" in said) == (2, True, False)
    assert names(tmp_path) == before


def test_an_empty_folder_is_filled(tmp_path: Path) -> None:
    (tmp_path / "mill.circuit").write_text(CIRCUIT)
    (tmp_path / "proofs").mkdir()
    code_of("prove", "--only-claims", "--certificate", tmp_path / "proofs", tmp_path / "mill.circuit")
    assert "certificate.json" in names(tmp_path / "proofs")


def test_a_full_disk_leaves_nothing_behind(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def full(number: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    (tmp_path / "mill.circuit").write_text(CIRCUIT)
    monkeypatch.setattr(os, "fsync", full)
    words = ("prove", "--only-claims", "--certificate", tmp_path / "proofs", tmp_path / "mill.circuit")
    code, said = told(capsys, *words)
    assert (code, "no space left" in said) == (2, True)
    assert names(tmp_path) == ["mill.circuit"]


@pytest.mark.parametrize("what", ["nothing", "file", "list", "version"])
def test_what_is_no_certificate_is_refused(
    proofs: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], what: str
) -> None:
    folder = proofs
    if what == "nothing":
        folder = tmp_path / "empty"
        folder.mkdir()
    elif what == "file":
        folder = proofs / "README.txt"
    else:
        (proofs / "certificate.json").write_text("[" * 9 if what == "list" else '{"certificate": 99}')
    code, said = told(capsys, "certified", folder)
    assert (code, str(folder) in said, "Traceback" in said) == (2, True, False)


@pytest.mark.parametrize("title", ["../../etc/passwd", "", "..", "a\x1b[31m\nb", "é" * 300, "CON", "x" * 999])
def test_titles_make_names_that_are_safe(title: str) -> None:
    name = folder_name(7, title)
    assert name.startswith("7")
    assert len(name) < 50
    assert set(name) <= set("abcdefghijklmnopqrstuvwxyz0123456789-")


def test_a_certificate_of_hostile_titles_is_kept_within_its_folder(written: Path) -> None:
    assert {name.split("/")[0] for name in names(written / "proofs")} == {
        PROVED, BROKEN, "circuit", "README.txt", "certificate.json",
    }  # fmt: skip


# As JSON


def test_json_says_of_each_claim_where_its_certificate_stands_or_why_there_is_none(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "mill.circuit").write_text(CIRCUIT)
    capsys.readouterr()
    words = ("prove", "--only-claims", "--json", "--certificate", tmp_path / "proofs", tmp_path / "mill.circuit")
    assert code_of(*words) == 1
    data = json.loads(capsys.readouterr().out)
    assert faults("prove", data) == []
    listed_claims = json.loads((tmp_path / "proofs" / "certificate.json").read_text())["claims"]
    said = data["certificate"]
    assert said["folder"] == str(tmp_path / "proofs")
    assert [each["words"] for each in said["claims"]] == [each["words"] for each in listed_claims]
    assert [(each["kind"], each["folder"], bool(each["why"])) for each in said["claims"]] == [
        ("proved", PROVED, False),
        ("broken", BROKEN, False),
        ("not certified", None, True),
    ]
    assert all((tmp_path / "proofs" / each["folder"]).is_dir() for each in said["claims"] if each["folder"])


def test_json_says_nothing_of_a_certificate_that_nobody_asked_for(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "mill.circuit").write_text(CIRCUIT)
    capsys.readouterr()
    code_of("prove", "--only-claims", "--json", tmp_path / "mill.circuit")
    data = json.loads(capsys.readouterr().out)
    assert (faults("prove", data), "certificate" in data) == ([], False)
