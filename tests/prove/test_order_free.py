"""The formula that keeps no order allows each run of the engine, and what it proves the explorer finds unbroken.

The runs are of random circuits under random actions. `CIRCUITCHECK_RANDOM=10000 python -m pytest
tests/prove/test_order_free.py` compares so many circuits instead of a few; `-s` shows the numbers.
"""

from __future__ import annotations

import os
import random
from collections.abc import Iterator, Sequence
from functools import cache

import pytest

from circuitcheck.engine.orders import TooManyOrders
from circuitcheck.engine.program import Program
from circuitcheck.engine.start import TooManyStarts
from circuitcheck.engine.state import State
from circuitcheck.engine.step import Action, TooManyStates, step
from circuitcheck.model.claims import RateLimit, Study
from circuitcheck.prove.compose import PieceTooLarge
from circuitcheck.prove.cut import cut
from circuitcheck.prove.explore import Exploration, Result
from circuitcheck.prove.interleavings import TooMuch
from circuitcheck.prove.meter import Meter, OverBudget
from circuitcheck.prove.space import Setting
from circuitcheck.prove.symbolic.alone import Wait
from circuitcheck.prove.symbolic.decide import (
    Around,
    Decided,
    deadline_at_rest,
    decide,
    fed_by,
    proved_at_rest,
    proved_of_little,
)
from circuitcheck.prove.symbolic.invariants import invariants
from circuitcheck.prove.symbolic.local import Local
from circuitcheck.prove.symbolic.reachability import Search
from circuitcheck.prove.symbolic.sat import Sat
from circuitcheck.prove.symbolic.system import LeftFree, System
from circuitcheck.prove.symbolic.watched import assumed, claimed

from .plain import quiet
from .random_circuits import FEW_STATES, SMALL, Size, sluice, study_of
from .test_engines import Hands, begun

CIRCUITS = int(os.environ.get("CIRCUITCHECK_RANDOM", "0")) or 30
RUNS_OF = Size(3, 3, FEW_STATES)
LENGTH = 40
"""How many gt of each circuit are run."""
BUDGET = 20_000
TOO_LARGE = (PieceTooLarge, TooMuch, TooManyStarts, TooManyOrders, TooManyStates, OverBudget)


@cache
def explored(seed: int) -> Result | None:
    """What exploring finds of a random circuit's claim; None where it is too large for it."""
    study = sluice(seed, SMALL).study()
    try:
        setting = Setting(Program(quiet(study.circuit)), study.assumptions, cut, Meter(BUDGET))
        return Exploration(setting, study.claims[0].body).run()
    except TOO_LARGE:
        return None


class Following:
    """Asks of a system whether it allows a step of the engine."""

    def __init__(self, program: Program, around: Around | None = None) -> None:
        inside, left_free = around or (range(len(program.devices)), ())
        self.system = System(program, inside, Meter(10**9), left_free)
        self._numbers = [*left_free, *inside]
        self._sat = Sat(self.system.formula.clauses, Meter(10**9))

    def allows(self, before: list[int], hand: Sequence[Action], after: State) -> list[int] | None:
        """The state after a step, by literals, if the system allows the step."""
        system = self.system
        worked = {action.device for action in hand}
        asked = [*before, system.allowed, system.valid]
        asked += [
            part.driven if number in worked else -part.driven
            for number, part in zip(self._numbers, system.parts, strict=True)
            if part.verbs
        ]
        return self._solved(asked, after)

    def _solved(self, asked: list[int], after: State) -> list[int] | None:
        """The state after, where a wait's length is whatever the system makes it."""
        system = self.system
        place = 0
        guards = []
        for number, part in zip(self._numbers, system.parts, strict=True):
            if isinstance(part, LeftFree):
                place += 1
                guards.append(part.then_on if after.levels[number] else -part.then_on)
                continue
            then = system.following[place : place + len(part.now)]
            place += len(part.now)
            any_of = []
            for local in part.states:
                if _fits(local, number, after):
                    guard = system.formula.fresh()
                    any_of.append(guard)
                    for literal, bit in zip(then, part.bits(local), strict=True):
                        self._sat.add(-guard, literal if bit else -literal)
            some = system.formula.fresh()
            self._sat.add(-some, *any_of)
            guards.append(some)
        if not self._sat.ask([*asked, *guards]):
            return None
        model = self._sat.model()
        return [
            variable if literal in model else -variable
            for variable, literal in zip(system.state, system.following, strict=True)
        ]


def _fits(local: Local, number: int, state: State) -> bool:
    """Whether a device is in this state, as far as the engine says."""
    wait = next(((to_go, kind) for to_go, kind, devices in state.waits if number in devices), None)
    held: Wait | None = local.wait
    return (
        local.on is (state.levels[number] > 0)
        and local.mark == state.device_state[number]
        and (None if held is None else (held.to_go, held.order_class)) == wait
    )


def some_of(program: Program, seed: int) -> Around:
    """Some devices of a program, and those that feed them and are left free."""
    inside = random.Random(seed).sample(range(len(program.devices)), max(len(program.devices) // 2, 1))
    return Around(tuple(inside), tuple(fed_by(program, inside)))


def runs(study: Study, seed: int, whole: bool = True) -> Iterator[tuple[int, str]]:
    """Runs a circuit, and says where the system does not allow what the engine does; and how many gt were run."""
    program = Program(quiet(study.circuit))
    following = Following(program, None if whole else some_of(program, seed))
    hands = Hands(program, seed)
    starts = [
        [variable if bit else -variable for variable, bit in zip(following.system.state, start, strict=True)]
        for start in following.system.starts
    ]
    front: list[tuple[list[int], State]] = []
    for levels, state in begun(program, ()):
        del levels
        known = [after for start in starts if (after := following.allows(start, (), state)) is not None]
        if not known:
            yield 0, "the start is not allowed"
            return
        front.append((known[0], state))
    for at in range(1, LENGTH):
        before, state = front[0]
        hand = hands.next(state)
        front = []
        for outcome in step(program, state, hand):
            after = following.allows(before, hand, outcome.state)
            if after is None:
                yield at, f"not allowed: {hand}"
                return
            front.append((after, outcome.state))
    yield LENGTH, ""


@pytest.mark.parametrize("whole", [True, False], ids=["of all", "of some"])
def test_each_step_of_the_engine_is_a_step_of_the_formula(whole: bool) -> None:
    compared = 0
    wrong = []
    for seed in range(CIRCUITS):
        try:
            for at, words in runs(sluice(seed, RUNS_OF).study(), seed, whole):
                compared += at
                if words:
                    wrong.append(f"seed {seed}, gt {at}: {words}\n{sluice(seed, RUNS_OF).text}")
        except TOO_LARGE:
            continue
    print(f"\n{compared} gt compared")
    assert wrong == []
    assert compared > CIRCUITS * LENGTH // 4


@pytest.mark.parametrize("first", ["", "setting outside_first yes\n"], ids=["last", "first"])
@pytest.mark.parametrize("seed", range(4))
def test_cells_that_are_drawn_come_between_waits_and_hands(first: str, seed: int) -> None:
    """Common practice, no source; rule C2. Beside them a button held for long, and a torch that reads all of them."""
    parts = (
        "sensor bed cells 2 becomes on chance 1/3 starts off",
        "detector m.* watches bed.*",
        "lever rope",
        "button pull long",
        "junction row joins m.*, rope, pull",
        "torch dark from row",
        "repeater late from row delay 3t",
        "lamp lit from dark, late",
    )
    told = list(runs(study_of("\n".join(parts) + "\n" + first), seed))
    assert told == [(LENGTH, "")]


def test_a_formula_too_large_for_the_budget_is_not_written() -> None:
    links = "".join(f"torch t.{number} from t.{number - 1}\n" for number in range(2, 400))
    program = Program(study_of("lever rope\ntorch t.1 from rope\n" + links).circuit)
    meter = Meter(500)
    with pytest.raises(OverBudget):
        System(program, range(len(program.devices)), meter)
    assert meter.steps < 600


def test_what_has_an_invariant_no_exploring_breaks() -> None:
    """The search for an invariant alone, without the induction that decides most claims before it."""
    proved = broken = 0
    wrong = []
    for seed in range(CIRCUITS):
        study, exact = sluice(seed, SMALL).study(), explored(seed)
        body, program = study.claims[0].body, Program(quiet(study.circuit))
        if exact is None or (not exact.complete and exact.counterexample is None):
            continue
        try:
            system = System(program, range(len(program.devices)), Meter(10**9))
            assumed(system, study.assumptions)
            found = Search(system, claimed(system, body), (), Meter(BUDGET)).run()
        except TOO_LARGE:
            continue
        proved += found.run is None
        broken += found.run is not None
        if found.run is None and exact.counterexample is not None:
            wrong.append(f"seed {seed}: {found}")
    print(f"\n{proved} with an invariant, {broken} broken in the formula")
    assert wrong == []
    assert min(proved, broken) > 0


def test_what_the_formula_proves_no_exploring_breaks() -> None:
    proved = broken = no_run = 0
    wrong = []
    for seed in range(CIRCUITS):
        drawn = sluice(seed, SMALL)
        study = drawn.study()
        claim = study.claims[0]
        program, exact = Program(quiet(study.circuit)), explored(seed)
        if exact is None or (not exact.complete and exact.counterexample is None):
            continue
        try:
            found: Decided = decide(program, claim.body, study.assumptions, Meter(BUDGET))
        except TOO_LARGE:
            continue
        if exact.counterexample is None:
            proved += found.proved
            no_run += found.run is not None
        else:
            broken += 1
            if found.proved or found.run is None or len(found.run) > len(exact.counterexample):
                wrong.append(f"seed {seed}: {found}\n{drawn.text}")
    print(f"\n{proved} proved by both, {broken} broken in both, {no_run} broken in the formula alone")
    assert wrong == []
    assert min(proved, broken) > 0


def test_what_is_proved_of_little_no_exploring_breaks() -> None:
    proved, wrong = 0, []
    for seed in range(CIRCUITS):
        study = sluice(seed, SMALL).study()
        body, program = study.claims[0].body, Program(quiet(study.circuit))
        try:
            found = proved_of_little(program, body, study.assumptions, Meter(BUDGET))
        except TOO_LARGE:
            continue
        exact = explored(seed) if found is not None else None
        if exact is None:
            continue
        proved += exact.complete
        if exact.counterexample is not None:
            wrong.append(f"seed {seed}: {found}")
    print(f"\n{proved} proved of little")
    assert wrong == []
    assert proved > 0


def test_what_is_proved_at_rest_no_exploring_breaks() -> None:
    proved, wrong = 0, []
    for seed in range(0, CIRCUITS, 4):
        study = sluice(seed, SMALL).study()
        body, program = study.claims[0].body, Program(quiet(study.circuit))
        pace = (RateLimit(1, 12 + seed % 20, ""),)
        try:
            found = proved_at_rest(program, body, pace, Meter(BUDGET))
            if found is None:
                continue
            exact = Exploration(Setting(program, pace, cut, Meter(BUDGET)), body).run()
        except TOO_LARGE:
            continue
        proved += exact.complete
        if exact.counterexample is not None:
            wrong.append(f"seed {seed}: {found}")
    print(f"\n{proved} proved at rest")
    assert wrong == []
    assert proved > 0


def test_what_is_known_at_rest_holds_wherever_the_engine_comes_to() -> None:
    """A torch of a lever is called only right after a throw, and the lever is not thrown again so soon."""
    study = study_of("lever rope\ntorch slack from rope\nassume at most 1 changes within 6t\n"
                     'always "it" when rope then slack off within 1t unless rope off\n')  # fmt: skip
    program = Program(quiet(study.circuit))
    system = System(program, range(2), Meter(BUDGET))
    assumed(system, study.assumptions)
    known = set(invariants(system, Meter(BUDGET)))
    recent = [now for now, _ in system.paces]
    for waits, after in zip((now for now, _ in system.waiting), (recent[-2], recent[-1]), strict=True):
        assert (-waits, after) in known


# Source: the full adder; M. Morris Mano, Digital Design, chapter 4; from memory.
ADDER = (
    "lever corn\nlever rye\nlever oats\ntorch nc from corn\ntorch nr from rye\ntorch both from nc, nr\n"
    "torch none from corn, rye\ntorch one from both, none\ntorch even from one\ntorch bare from oats\n"
    "torch odd from even, bare\ntorch neither from one, oats\ntorch sum from odd, neither\n"
    "assume at most 1 changes within 20t\n"
)


def test_a_sum_is_proved_right_over_one_gt_since_it_is_asked_for_at_rest() -> None:
    one = "((corn and rye off) or (corn off and rye))"
    odd = f"(({one} and oats off) or (not {one} and oats))"
    study = study_of(f'{ADDER}always "it" when {odd} then sum within 16t unless not {odd}\n')
    found = proved_at_rest(Program(quiet(study.circuit)), study.claims[0].body, study.assumptions, Meter(BUDGET))
    assert found is not None
    assert (found.proved, found.depth) == (True, 1)


def test_what_sets_no_deadline_is_not_asked_of_the_circuit_at_rest() -> None:
    study = study_of(f'{ADDER}always "it" when corn changes then sum stable for 1t\n')
    meter = Meter(BUDGET)
    assert deadline_at_rest(Program(quiet(study.circuit)), study.claims[0].body, study.assumptions, meter) is None
    assert meter.steps == 0


ROW = (
    "lever pond.1 to pond.40\nrepeater float.* from pond.* delay 1t\njunction row joins float.*\n"
    "repeater winch from row delay 2t\nlatch gate set winch reset spill starts reset\nlever spill\n"
)


# Source: R3, a repeater keeps each pulse as long as its delay; common practice, no source.
def test_a_claim_of_one_part_is_proved_of_it_whatever_forty_do_that_feed_it() -> None:
    study = study_of(ROW + 'always "it"  every pulse of winch lasts at least 2t\n')
    meter = Meter(BUDGET)
    found = proved_of_little(Program(quiet(study.circuit)), study.claims[0].body, (), meter)
    assert found is not None
    assert (found.proved, found.parts) == (True, 1)
    assert meter.steps < BUDGET // 2


def test_a_claim_that_needs_what_feeds_a_part_is_not_proved_of_little() -> None:
    study = study_of(ROW + 'never "it"  winch rises and spill rises\n')
    assert proved_of_little(Program(quiet(study.circuit)), study.claims[0].body, (), Meter(10 * BUDGET)) is None


FADING = (
    "lever near\nrepeater far from back starts on\nrepeater back from far starts on\ndust row from far length 5\n"
    "junction spot joins near, row\ndetector ripple watches spot\n"
)


# Source: D1 with P3, a detector feels every level of dust; common practice, no source.
@pytest.mark.parametrize("claim", ["ripple on", "ripple on and near on"])
def test_a_level_that_changes_while_there_is_power_is_felt(claim: str) -> None:
    study = study_of(f'{FADING}never "it"  {claim}\n')
    found = decide(Program(quiet(study.circuit)), study.claims[0].body, (), Meter(BUDGET))
    assert not found.proved
    assert found.run is not None
