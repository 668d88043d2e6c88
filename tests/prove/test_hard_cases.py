"""Cases in which an explorer is easily wrong: parts that move each other, a second burn-out, hands that come first.

Rules: common practice, no source; their ids stand beside each test.
"""

from __future__ import annotations

from typing import Any

import pytest

from circuitcheck.checks import run
from circuitcheck.checks.outcome import Outcome, Verdict
from circuitcheck.engine.step import run_game_tick
from circuitcheck.language.load import load_text
from circuitcheck.prove.meter import Limits
from circuitcheck.prove.prover import Prover

from .plain import explored


def proved(text: str) -> Outcome:
    """What comes of the one claim of a text."""
    loaded = load_text(text)
    assert loaded.diagnostics == ()
    (study,) = loaded.studies
    return Prover(study, Limits(50_000)).prove(study.claims[0])


def plainly_broken_at(text: str) -> int | None:
    """The same by the explorer that leaves nothing out."""
    (study,) = load_text(text).studies
    return explored(study.circuit, study.claims[0].body, study.assumptions).broken_at


# O3: by hand a piston starts in the next gt and travels 1.5t: out at gt 4 if thrown in gt 0.
@pytest.mark.parametrize(
    "text",
    [
        'lever pond\npiston bolt from pond\nalways "follows" bolt follows pond, settled within 10gt\n',
        "lever pond\npiston bolt from pond\nbutton bell short\nassume at most 1 changes within 30gt\n"
        'always "rings" when bolt rises then bell within 1gt\n',
        "setting outside_first yes\nlever pond\npiston bolt from pond\nassume pond stable for 10gt\n"
        'always "in time" when pond rises then bolt within 2gt\n',
    ],
    ids=["follows", "beside a button", "hands first"],
)
def test_a_piston_whose_block_nobody_asks_of_moves_it_and_nothing_else(text: str) -> None:
    outcome = proved(text)
    broken = plainly_broken_at(text)
    assert broken is not None
    assert outcome.verdict is Verdict.FAILS
    assert outcome.failure is not None
    assert outcome.failure.at == broken


# T5, T4: a torch that powers its own block burns out at gt 30 for good, and only then lets the second one flutter.
SECOND = "torch first from first starts on\nrepeater held from first delay 4t\n"


def test_a_torch_that_burns_only_after_another_has_is_not_called_safe() -> None:
    text = SECOND + 'torch second from second, held starts on\nnever "burns" second burnt\n'
    assert proved(text).verdict is Verdict.UNDECIDED


# T6: under the older rules a ring of three burns out; which of its torches does is for the simulator to say.
def test_a_way_to_burn_a_torch_out_is_shown_only_if_the_simulator_burns_it() -> None:
    ring = "rules older\ntorch a from c starts on\ntorch b from a starts off\ntorch c from b starts on\n"
    verdicts = {name: proved(ring + f'never "burns" {name} burnt\n').verdict for name in "abc"}
    assert Verdict.PROVED not in verdicts.values()
    assert Verdict.FAILS in verdicts.values()


# T4: what is not possible while the first torch flickers is so for ever once it has burnt out.
def test_what_only_a_burn_out_makes_possible_is_not_called_impossible() -> None:
    text = "rules older\n" + SECOND + 'torch second from held starts on\nalways "on" possible second\n'
    assert proved(text).verdict is Verdict.UNDECIDED


# T2: a torch that starts dark waits, and comes on unless its lever is on by then; that lever is felt nowhere else.
def test_of_several_ways_into_one_state_the_one_that_breaks_is_reported() -> None:
    text = (
        "lever pond\nlever race\ntorch feeler from pond starts off\ndetector bell watches race\n"
        "repeater slow from feeler, bell delay 2t\n"
        'always "follows" slow follows pond, settled within 3gt\n'
    )
    outcome = proved(text)
    assert outcome.failure is not None
    assert outcome.failure.at == plainly_broken_at(text)


# T5, C5: six torches called by one that flutters for ever; their orders soon lead to more states than a run follows.
FLUTTER = "lever rope\nrepeater winch from rope delay 4t\ntorch weir.1 from weir.1\n"


def test_a_way_whose_run_could_not_be_followed_is_said_to_be_that(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(run, "MOST_WORK", 100_000)
    followers = "".join(f"torch weir.{number} from weir.1\n" for number in range(2, 7))
    outcome = proved(FLUTTER + followers + 'never "the winch never turns" winch\n')
    assert outcome.verdict is Verdict.UNDECIDED
    assert "could not be followed" in outcome.detail
    assert "burns" not in outcome.detail


# C6: the budget may run out on finding a way, and showing the way then costs what it costs.
@pytest.mark.parametrize(
    "text",
    [
        'analogue rope\nalways "short" every gap of rope lasts at most 2t\n',
        'lever other\ntorch winch from other\nalways "it rests" possible rest\n',
        'lever rope\nrepeater winch from rope delay 2t\nalways "it turns back" possible winch off\n',
    ],
)
def test_no_budget_ends_in_anything_but_a_verdict(text: str) -> None:
    (study,) = load_text(text).studies
    verdicts = {Prover(study, Limits(states)).prove(study.claims[0]).verdict for states in range(1, 700, 3)}
    assert len(verdicts - {Verdict.UNDECIDED}) == 1


def test_a_long_claim_that_breaks_soon_is_not_run_to_its_end(monkeypatch: pytest.MonkeyPatch) -> None:
    """T5 (common practice, no source): the torch flutters, so that every gt of the day claimed would have to be run."""
    ticks = []

    def counted(*words: Any) -> Any:
        ticks.append(1)
        return run_game_tick(*words)

    monkeypatch.setattr("circuitcheck.checks.run.run_game_tick", counted)
    text = 'lever ready\ntorch weir from weir\nalways "a day" when not weir then ready stable for 86400s\n'
    # It flutters from either start, and is broken from each.
    assert proved(text).verdict is Verdict.FAILS
    assert len(ticks) < 20_000
    ticks.clear()
    assert proved(text.replace("from weir\n", "from weir starts on\n")).verdict is Verdict.FAILS
    assert len(ticks) < 100
