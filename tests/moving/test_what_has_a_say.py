"""What is left out of a proof about a machine in which things move has no say in the rest, on random boxes and a demo.

`CIRCUITCHECK_BOXES=10000 python -m pytest tests/moving/test_what_has_a_say.py` compares so many boxes instead of a few.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path

import pytest

from circuitcheck.checks.outcome import Outcome, Verdict
from circuitcheck.engine.program import Program
from circuitcheck.engine.refused import RunRefused
from circuitcheck.engine.simulator import Simulator
from circuitcheck.engine.start import the_start
from circuitcheck.engine.step import Action, merge, run_game_tick
from circuitcheck.engine.work import Undecided
from circuitcheck.language.load import load_file, load_text
from circuitcheck.prove.few import NONE_BY_FEW
from circuitcheck.prove.influence import Influence, until_wide_enough
from circuitcheck.prove.meter import Limits
from circuitcheck.prove.prover import Prover
from circuitcheck.space import wirings

from .engine_runs import Unread, circuit_of
from .plain.boxes import Case, cases
from .plain.things import Settings
from .weirwatch import weirwatch

CIRCUITS = Path(__file__).resolve().parents[2] / "circuits"
BOXES = int(os.environ.get("CIRCUITCHECK_BOXES", "48"))
BATCHES = 4

Seen = list[set[tuple[int, ...]]]
"""In each gt, the levels of some parts in all that can be."""


def seen(
    program: Program, levels: bytes, names: Sequence[str], acts: Sequence[tuple[int, str, str]], until: int
) -> Seen:
    simulators, shown = Simulator(program, 0, levels).tell_everyone(), Seen()
    for gt in range(1, until + 1):
        for simulator in simulators:
            simulator.now = gt
        worked = [Action(program.number[name], verb) for at, name, verb in acts if at == gt and name in program.number]
        simulators = merge(run_game_tick(simulators, worked))
        shown.append({tuple(each.levels[program.number[name]] for name in names) for each in simulators})
    return shown


def left_out(case: Case) -> int:
    """How many devices were left out in all, of a box of which each device was run with all that has a say in it."""
    circuit = circuit_of(case.box, Settings())
    program, drawing = Program(circuit), circuit.drawing
    if program.motion is None:
        return 0
    assert drawing is not None
    called = {thing.name: drawing.name(place) for place, thing in case.box.things.items()}
    acts = [(action.gt, called[action.name], "on" if action.level else "off") for action in case.actions]
    levels, influence, count = the_start(program).levels, Influence(program), 0
    whole = seen(program, levels, program.names, acts, case.until)
    for device in range(len(program.devices)):

        def alone(device: int = device) -> tuple[tuple[int, ...], Seen]:
            inside = influence.cone((device,))
            names = [program.names[each] for each in inside]
            part = influence.alone(inside)
            return inside, seen(part, bytes(levels[each] for each in inside), names, acts, case.until)

        inside, shown = until_wide_enough(alone)
        count += len(program.devices) - len(inside)
        assert shown == [{tuple(each[number] for number in inside) for each in all_} for all_ in whole], device
    return count


@pytest.mark.parametrize("batch", range(BATCHES))
def test_a_part_runs_alone_as_it_does_among_all_that_has_no_say_in_it(batch: int) -> None:
    compared = left = 0
    for case in cases(700 + batch, BOXES // BATCHES):
        try:
            left += left_out(case)
        except (Unread, RunRefused, Undecided):
            continue
        compared += 1
    assert compared > BOXES // BATCHES // 3
    assert left > 0


KEEPER = load_file(CIRCUITS / "turfwatch.circuit").studies[0]


def keeper(*claims: str, assumed: bool, states: int = 250_000) -> list[Outcome]:
    """The verdicts on claims of the drawn keeper, its cells changing at any time or at the pace that it assumes."""
    study = KEEPER if assumed else KEEPER._replace(assumptions=())
    prover = Prover(study, Limits(states), solving=False)
    return [prover.prove(claim) for claim in study.claims if claim.title in claims]


def test_a_row_of_the_keeper_depends_on_its_own_cells_and_pistons_alone() -> None:
    program = Program(KEEPER.circuit)
    inside = {program.names[each] for each in Influence(program).cone((program.number["morning"],))}
    moved = {f"{name}.{cell}" for name in ("dawn_turf", "dawn_stir") for cell in range(1, 7)}
    embers = {f"ember.{cell}" for cell in range(1, 7)}
    assert inside == moved | embers | {"dawn_ready", "dawn_arm", "morning"}


def test_water_that_nobody_feels_has_no_say_in_the_pistons_that_cut_it() -> None:
    program = Program(load_text(weirwatch(3, "")).studies[0].circuit)
    assert program.motion is not None
    water = program.motion.flow.place_of.keys()
    assert water
    assert water == program.motion.unfelt
    influence = Influence(program)
    assert water.isdisjoint(influence.cone((program.number["sluice.1"], program.number["weir.2"])))
    assert set(influence.cone((min(water),))) > {*water, program.number["sluice.1"], program.number["weir.2"]}


def test_claims_of_the_keeper_are_proved_with_cells_that_change_at_a_pace() -> None:
    outcomes = keeper("the latch is never asked for both at once", "a stir at dawn is long enough", assumed=True)
    assert [outcome.verdict for outcome in outcomes] == [Verdict.PROVED, Verdict.PROVED]
    assert [outcome.proof and outcome.proof.states < 1_000 for outcome in outcomes] == [True, True]


def test_a_claim_of_the_keeper_is_broken_by_two_changes_where_cells_may_change_at_any_time() -> None:
    (outcome,) = keeper("the latch is never asked for both at once", assumed=False)
    assert outcome.verdict is Verdict.FAILS
    assert outcome.proof is not None
    assert len(outcome.proof.trace) == 2
    assert not outcome.proof.shortest


def test_where_two_changes_break_nothing_three_are_tried_one_after_the_other() -> None:
    """The third makes a stir of a second piston come just as the row goes dark: the repeater of R4 swallows the gap."""
    (outcome,) = keeper("a stir at dawn is long enough", assumed=False)
    assert outcome.verdict is Verdict.FAILS
    assert outcome.proof is not None
    assert len({act.at for act in outcome.proof.trace}) == len(outcome.proof.trace) == 3
    assert {act.name.partition(".")[0] for act in outcome.proof.trace} == {"dawn_turf"}


def test_what_stays_open_says_that_few_changes_break_nothing_and_what_would_help() -> None:
    (outcome,) = keeper("a stir at dawn is long enough", assumed=False, states=3_000)
    assert outcome.verdict is Verdict.UNDECIDED
    assert outcome.proof is not None
    assert NONE_BY_FEW in outcome.detail
    assert any("assume at most" in hint for hint in outcome.proof.hints)


def test_past_the_most_wirings_a_claim_stays_open_with_the_place_the_stroke_and_the_trace(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(wirings, "MOST_WIRINGS", 2)
    study = load_file(CIRCUITS / "watchpair.circuit").studies[0]
    claim = next(claim for claim in study.claims if claim.title == "a stir is long enough")
    outcome = Prover(study, Limits(), solving=False).prove(claim)
    assert outcome.verdict is Verdict.UNDECIDED
    assert outcome.refusal is not None
    assert (outcome.refusal.rule, outcome.refusal.part, outcome.refusal.place) == ("M9", "dusk_stir", (2, 3, 6))
    assert "dusk_stir" in outcome.refusal.stroke
    assert [act.name for act in outcome.refusal.acts] == ["dusk_turf"]
