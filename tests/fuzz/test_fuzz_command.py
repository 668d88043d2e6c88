"""What the fuzzing command is made of finds what is broken on purpose; `with_fuzzer.py` runs the command itself."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from circuitcheck.language.load import Loaded, load_text
from circuitcheck.model.rules import SETTINGS
from circuitcheck.verify import FileReport, report_on

from . import checking, findings
from .forms import FORMS
from .mutating import Mutator, as_text
from .seeds import FOLDER, LONGEST, seeds

GOOD = 'lever rope\nlamp bell from rope\n\ncheck "ring"\n  at 1s rope on\n  by 2s expect bell\nend\n'


def broken_load(text: str, folder: Path) -> Loaded:
    """Raises for every text with both of two words in it."""
    if "lamp" in text and "rope" in text:
        raise KeyError("broken on purpose")
    return load_text(text, folder=folder)


def told_of(text: str, folder: Path) -> findings.Findings:
    """What is found when a text is examined three times."""
    found = findings.Findings(folder)
    for _ in range(3):
        with pytest.raises((Exception, checking.TooLong)) as failure:
            checking.check(text)
        found.add(text, failure.value)
    return found


def test_a_loader_that_raises_is_reported_once_and_made_smaller(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(checking, "load_text", broken_load)
    found = told_of(GOOD, tmp_path)
    assert list(found.met.values()) == [3]
    assert sorted((tmp_path / "finding-1.circuit").read_text().split()) == ["lamp", "rope"]
    assert len(list(tmp_path.iterdir())) == 2


def test_every_setting_stands_in_a_form() -> None:
    forms = " ".join(FORMS["part"])
    assert [name for name in SETTINGS if f"setting {name}" not in forms] == []


@pytest.mark.parametrize(
    "form",
    ["own_block 0gt", "hears {n} own_block {g}", "own_block {g} hears_itself", "own_block 2t head_hears"],
)
def test_a_stuck_piston_that_arms_itself_stands_in_a_form_for_each_of_its_behaviours(form: str) -> None:
    """Rule M12; a delay of 1t to 4t stands for two of them where it is not heard, and for two where it is."""
    assert any(each.startswith("detector") and form in each for each in FORMS["part"])


def test_a_wrong_exit_code_is_found(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def wrong(loaded: Loaded, states: int = 0) -> FileReport:
        report = report_on(loaded, states=states)
        return _WithExit(*(getattr(report, name) for name in report.__slots__)) if report.results else report

    monkeypatch.setattr(checking, "report_on", wrong)
    found = told_of(GOOD, tmp_path)
    assert list(found.met) == ["exit 3 where the outcomes make it 0"]


class _WithExit(FileReport):
    @property
    def exit(self) -> object:  # type: ignore[override]
        return 3


# Hypothesis has itself called back by the collector of garbage; what a signal raises just then is lost, with a warning.
LOST_IN_THE_COLLECTOR = pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")


@LOST_IN_THE_COLLECTOR
def test_a_stage_that_never_ends_is_found(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def endless(text: str, folder: Path) -> Loaded:
        while True:
            load_text(text, folder=folder)

    monkeypatch.setattr(checking, "MOST_SECONDS", 0.2)
    monkeypatch.setattr(checking, "AGAIN", 0.05)
    monkeypatch.setattr(checking, "load_text", endless)
    monkeypatch.setattr(sys, "unraisablehook", lambda lost: None)  # pytest's own is at work when the next signal comes
    found = told_of("lever rope", tmp_path)
    # Where the time runs out between two readings, nothing of the program is at work.
    assert any(each.startswith("reading takes more than") for each in found.met)


def test_seeds_are_mostly_good_files_and_short() -> None:
    good = [text for text in seeds() if load_text(text, folder=FOLDER).valid]
    assert len(good) > 100
    assert all(len(text.encode()) <= LONGEST for text in seeds())


def test_mutations_are_often_good_files() -> None:
    mutator = Mutator()
    made = [mutator.mutate(GOOD.encode(), LONGEST, seed) for seed in range(300)]
    assert all(len(each) <= LONGEST for each in made)
    assert len(set(made)) > 250
    good = sum(load_text(as_text(each), folder=FOLDER).valid for each in made)
    assert good > 60


@LOST_IN_THE_COLLECTOR
def test_a_stage_is_stopped_though_the_first_call_to_stop_is_lost(monkeypatch: pytest.MonkeyPatch) -> None:
    """Python drops what is raised in a callback of its collector; a signal may come just then."""
    lost: list[int] = []

    def deaf(text: str, folder: Path) -> Loaded:
        while True:
            try:
                while True:
                    load_text(text, folder=folder)
            except checking.TooLong:
                if lost:
                    raise
                lost.append(1)

    monkeypatch.setattr(sys, "unraisablehook", lambda lost: None)
    monkeypatch.setattr(checking, "MOST_SECONDS", 0.2)
    monkeypatch.setattr(checking, "AGAIN", 0.2)
    monkeypatch.setattr(checking, "load_text", deaf)
    with pytest.raises(checking.TooLong):
        checking.check("lever rope")
    assert lost
