"""Questions before each event of a run: what they ask is what the run answers, and nobody is asked what hands do.

No source: the questions are ours. The answers are held against the levels of the recording, gt by gt.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from circuitcheck.explain.predicting import Question, questions
from circuitcheck.language.load import load_file, load_text
from circuitcheck.runs_on_drawings import plans_of
from circuitcheck.runs_shown import run_of
from circuitcheck.scenes import MOST_MOMENTS, scene_of

CIRCUITS = sorted((Path(__file__).parents[2] / "circuits").glob("*.circuit"))
LINE = """language 1
lever rope
repeater winch from rope delay 2t
torch calm from winch
lamp bell from calm
check "it is pulled"
  at 5t   rope on
  at 20t  rope off
  until 40t
end
"""


def asked(text: str) -> list[Question]:
    study = load_text(text, "mill.circuit", ".").studies[0]
    ran = run_of(study, study.checks[0])
    assert ran.recording is not None
    return list(questions(ran.recording, ran.signals))


@pytest.mark.parametrize("path", [each for each in CIRCUITS if each.stem in ("sluice", "ripple", "paddles", "latches")])
def test_each_answer_is_what_the_signal_does_in_that_gt(path: Path) -> None:
    studies = load_file(path).studies
    ran = run_of(studies[0], studies[0].checks[0])
    assert ran.recording is not None
    found = list(questions(ran.recording, ran.signals))
    assert found
    for each in found:
        levels = ran.recording.levels_of(each.name, each.at - 1, each.at)
        assert [each.before, each.after] == levels, each


def test_there_is_one_question_for_each_gt_in_which_something_happens_of_itself() -> None:
    """R1, T2, O1, O2: rope 10; winch 14; calm 16; bell 20; and back from 40."""
    found = asked(LINE)
    times = [each.at for each in found]
    assert times == sorted(set(times))
    assert not {10, 40} & set(times)  # the lever alone is worked then
    assert {14, 16} <= set(times)
    assert all(each.name != "rope" for each in found)


def test_some_questions_ask_about_a_signal_that_stays_as_it_is() -> None:
    found = asked(LINE)
    assert any(each.before == each.after for each in found)
    assert any(each.before != each.after for each in found)


def test_where_nothing_that_is_drawn_changes_the_question_is_about_what_does() -> None:
    study = load_text(LINE, "mill.circuit", ".").studies[0]
    recording = run_of(study, study.checks[0]).recording
    assert recording is not None
    assert {each.name for each in questions(recording, [])} == {"winch", "calm", "bell"}


def test_nothing_is_asked_behind_the_last_moment_that_can_be_chosen() -> None:
    """R1, T2: a ring of a torch and a repeater turns over every 5t: 6,000t have more moments than are shown."""
    ring = (
        'language 1\ntorch wheel from axle\nrepeater axle from wheel delay 4t\ncheck "it turns"\n  until 6000t\nend\n'
    )
    study = load_text(ring, "mill.circuit", ".").studies[0]
    (plan,) = plans_of([study], [run_of(study, study.checks[0])])
    for choice in scene_of(plan).choices:
        assert choice.cut
        assert len(choice.moments) == MOST_MOMENTS
        assert {each.at for each in choice.questions} <= {each.at for each in choice.moments}
