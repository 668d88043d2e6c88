"""Files made to cost time and memory get a diagnostic, counted in words, parts and connections, before they do."""

from __future__ import annotations

import difflib
from pathlib import Path

import pytest

from circuitcheck.checks import judge, run
from circuitcheck.diagnostics import Diagnostic
from circuitcheck.language import elaborate, parse
from circuitcheck.language.load import load_file, load_text
from circuitcheck.verify import Exit, verify_text

from .hostile import outside

ROPE = "lever rope\nlamp bell from rope\n"


def only(text: str) -> Diagnostic:
    """The one mistake of a text."""
    (mistake,) = load_text(text).diagnostics
    return mistake


@pytest.fixture
def built(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Every line of which parts are built from now on, once for each part."""
    built: list[str] = []
    real = elaborate.Elaboration._build

    def build(self: elaborate.Elaboration, line: elaborate._Line) -> object:
        built.append(line.name)
        return real(self, line)

    monkeypatch.setattr(elaborate.Elaboration, "_build", build)
    return built


def test_rows_that_join_rows_end_at_a_bound_of_connections(built: list[str]) -> None:
    """90 rows of 1,000, each joining 1,000: 3 kB of text, 90,000,000 connections."""
    rows = "".join(f"junction j{row}.1 to j{row}.1000 joins a.*\n" for row in range(90))
    mistake = only(f"lever a.1 to a.1000\n{rows}lamp bell from j1.1\n")
    assert (mistake.code, mistake.span.line) == ("CKT507", 2)
    assert len(built) == 1_000 + elaborate.MOST_CONNECTIONS // 1_000 + 1


def test_as_many_connections_as_are_allowed_are_made(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(elaborate, "MOST_CONNECTIONS", 100)
    assert load_text("lever a.1 to a.10\ntorch b.1 to b.10 from a.*\n").valid
    assert only("lever a.1 to a.10\ntorch b.1 to b.12 from a.*\ntorch c from a.1\n").code == "CKT507"


def chain(folder: Path, files: int) -> Path:
    for number in range(files):
        later = f'use "f{number + 1}.circuit"\n' if number < files - 1 else ""
        (folder / f"f{number}.circuit").write_text(f"{later}define d{number} (x) gives y\n  torch y from x\nend\n")
    path = folder / "a.circuit"
    path.write_text(f'use "f0.circuit"\n{ROPE}')
    return path


def test_a_chain_of_500_files_that_use_one_another_is_reported_at_its_place(tmp_path: Path) -> None:
    (mistake,) = load_file(chain(tmp_path, 500)).diagnostics
    assert (mistake.code, Path(mistake.span.file).name, mistake.span.line) == ("CKT504", "f49.circuit", 1)
    assert load_file(chain(tmp_path, 50)).valid


def test_a_chain_ends_neither_the_run_nor_the_verdicts_on_other_files(tmp_path: Path) -> None:
    chain(tmp_path, 500)
    (tmp_path / "z.circuit").write_text(ROPE)
    run = outside("verify", "a.circuit", "z.circuit", folder=tmp_path)
    assert (run.returncode, run.stderr) == (2, "")
    assert "z.circuit" in run.stdout


LARGE = {
    "150,000 terms": (ROPE + 'check "x"\n  at 2s expect ' + " and ".join(["bell"] * 150_000) + "\nend\n", 4),
    "600,000 commas": ("lever a\nlamp bell from a" + ", a" * 600_000 + "\n", 2),
    "commas alone": ("lever a\nlamp bell from a" + "," * 600_000 + "\n", 2),
    "70,000 torches": ("lever a\n" + "".join(f"torch t{each} from a\n" for each in range(70_000)), 40_001),
    "endless lines of nothing": ("lever a\n" + "x\n" * 900_000, 100_000),
}


@pytest.mark.parametrize("kind", LARGE)
def test_a_file_of_too_many_words_is_read_no_further_than_the_bound(kind: str) -> None:
    text, line = LARGE[kind]
    mistake = only(text)
    assert (mistake.code, mistake.span.line) == ("CKT503", line)


def test_the_words_of_used_files_count_as_well(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("circuitcheck.language.load.MOST_WORDS", 100)
    piece = "define {name} (x) gives y\n  torch y from x\nend\n"
    for name in ("one", "two", "three"):
        (tmp_path / f"{name}.circuit").write_text(piece.format(name=name) + f"# {name}\n" + "lever a\n" * 4)
    path = tmp_path / "a.circuit"
    path.write_text('use "one.circuit"\nuse "two.circuit"\n' + ROPE)
    assert load_file(path).valid
    path.write_text('use "one.circuit"\nuse "two.circuit"\nuse "three.circuit"\n' + ROPE * 2)
    (mistake, *_) = (each for each in load_file(path).diagnostics if each.code == "CKT503")
    assert Path(mistake.span.file).name == "three.circuit"


def test_files_with_mistakes_use_the_bound_up_too(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Otherwise many used files, each with one mistake at its end, would be read in full."""
    read: list[int] = []
    real = parse._Reading._read_line

    def counted(self: parse._Reading, line: list[object]) -> None:
        read.append(1)
        real(self, line)  # type: ignore[arg-type]

    monkeypatch.setattr(parse._Reading, "_read_line", counted)
    monkeypatch.setattr("circuitcheck.language.load.MOST_WORDS", 3_000)
    for number in range(20):
        (tmp_path / f"f{number}.circuit").write_text("lever a\n" * 500 + "torch\n")
    path = tmp_path / "a.circuit"
    path.write_text("".join(f'use "f{number}.circuit"\n' for number in range(20)) + ROPE)
    assert not load_file(path).valid
    assert len(read) < 1_500


@pytest.mark.parametrize("word", ["and", "or"])
def test_the_conditions_of_one_line_have_a_bound(word: str) -> None:
    def text(terms: int) -> str:
        return ROPE + 'check "x"\n  by 2s expect ' + f" {word} ".join(["bell"] * terms) + "\nend\n"

    assert load_text(text(parse.MOST_TERMS)).valid
    mistake = only(text(parse.MOST_TERMS + 1))
    assert (mistake.code, mistake.span.line) == ("CKT105", 4)


def test_no_more_mistakes_are_looked_for_once_there_are_enough(monkeypatch: pytest.MonkeyPatch) -> None:
    """20,000 names that nothing is called, each compared with 20,000 that something is called."""
    compared: list[int] = []
    real = difflib.get_close_matches

    def counted(word: str, known: list[str], n: int, cutoff: float) -> list[str]:
        compared.append(len(known))
        return real(word, known, n, cutoff)

    monkeypatch.setattr("difflib.get_close_matches", counted)
    found = load_text("lever a\n" + "".join(f"torch t{each} from u{each}\n" for each in range(20_000))).diagnostics
    assert [each.code for each in found] == ["CKT201"] * 20
    assert sum(compared) <= 100 * 2_000


CLOCK = (
    "repeater stroke from idle delay 4t starts off\ntorch idle from stroke\nlamp bell from idle\n"
    'check "long"\n  at 0t expect bell{level}\n  until {span}\nend\n'
)
"""A clock, looked at for so long."""


def test_a_day_of_one_clock_ends_at_a_bound_of_work_and_says_how_far_it_was_followed(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """24 hours of it are 864,000 gt in which something happens; the usual bound is a few seconds' worth."""
    assert run.MOST_WORK <= 3_000_000
    monkeypatch.setattr(run, "MOST_WORK", run.MOST_WORK // 10)
    report = verify_text(CLOCK.format(level="", span="86400s"), states=0)
    (outcome,) = report.outcomes
    assert report.exit is Exit.UNDECIDED
    assert "followed to" in outcome.detail


@pytest.mark.parametrize(("most", "done"), [(5_000, False), (100_000, True)])
def test_the_work_of_a_run_is_counted_and_not_timed(most: int, done: bool) -> None:
    from circuitcheck.engine.program import Program
    from circuitcheck.engine.start import starts

    (study,) = load_text(CLOCK.format(level="", span="1000t")).studies
    program = Program(study.circuit)
    runs = [run.run_check(program, starts(program), study.checks[0], (), run.Notebook(), most=most) for _ in range(2)]
    assert {(each.work, each.game_ticks, not each.limit) for each in runs} == {(runs[0].work, runs[0].game_ticks, done)}
    assert runs[0].work <= most + 100


def test_what_breaks_before_the_bound_fails_all_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(run, "MOST_WORK", 20_000)
    assert verify_text(CLOCK.format(level=" off", span="86400s"), states=0).exit is Exit.FAILS


def test_many_long_checks_of_all_circuits_of_a_file_share_what_they_may_do(monkeypatch: pytest.MonkeyPatch) -> None:
    done: list[int] = []
    real = run.run_check

    def counted(*words: object, **more: object) -> run.Run:
        made = real(*words, **more)  # type: ignore[arg-type]
        done.append(made.work)
        return made

    monkeypatch.setattr("circuitcheck.checks.judge.run_check", counted)
    monkeypatch.setattr(run, "MOST_WORK", 20_000)
    monkeypatch.setattr(run, "LEAST_WORK", 100)
    check = CLOCK[CLOCK.index("check") :].format(level="", span="86400s")
    text = CLOCK[: CLOCK.index("check")] + "".join(check.replace("long", f"long {each}") for each in range(25))
    (study,) = load_text(text).studies
    budget = run.RunBudget(60_000)
    outcomes = [outcome for each in (study, study) for outcome in judge.judge(each, budget=budget).outcomes]
    assert {each.verdict.name for each in outcomes} == {"UNDECIDED"}
    assert len(done) == 50
    assert sum(done) < 60_000 + 50 * 200
