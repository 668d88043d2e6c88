"""The rules of certificates allow each step of the engine: a rule that changes in one place alone fails here.

The runs are of random circuits under random actions. `CIRCUITCHECK_RANDOM=10000 python -m pytest
tests/certificate/test_second_encoding.py` compares so many circuits instead of a few; `-s` shows the numbers.
"""

from __future__ import annotations

import os
import random
from collections.abc import Iterator, Sequence

import pytest
from prove.plain import quiet
from prove.random_circuits import FEW_STATES, Size, sluice, study_of
from prove.test_engines import Hands, begun
from pysat.solvers import Solver

from circuitcheck.certificate import part_rules
from circuitcheck.certificate.claim_rules import assume
from circuitcheck.certificate.gates import NO, Model
from circuitcheck.certificate.three_questions import question
from circuitcheck.certificate.transition import Transition, Wired
from circuitcheck.certificate.turns import HANDS_LAST
from circuitcheck.certificate.uncertified import Uncertified
from circuitcheck.engine.orders import TooManyOrders
from circuitcheck.engine.program import Program
from circuitcheck.engine.start import TooManyStarts
from circuitcheck.engine.state import State
from circuitcheck.engine.step import Action, TooManyStates, step
from circuitcheck.model.claims import Study
from circuitcheck.model.parts.waits import CALLED

CIRCUITS = int(os.environ.get("CIRCUITCHECK_RANDOM", "0")) or 12
RUNS_OF = Size(3, 3, FEW_STATES)
LENGTH = 40
"""How many gt of each circuit are run."""
TOO_LARGE = (TooManyStarts, TooManyOrders, TooManyStates)
GOING_OFF = 2


class Following:
    """Asks of a system whether it allows a step of the engine."""

    def __init__(self, program: Program, inside: Sequence[str]) -> None:
        self.program = program
        self.system = Transition(Wired(program.circuit), inside)
        assume(self.system, ())
        self.model: Model = self.system.numbered(NO)
        self._solver = Solver(name="glucose4", bootstrap_with=self._clauses())

    def _clauses(self) -> list[tuple[int, ...]]:
        """What a step is: the gates and the constraints; the state after it is asked about by its literals."""
        model = self.model
        following = [(latch.literal >> 1, latch.then) for latch in model.latches]
        some = [(number,) for number, _ in following]
        clauses = question(model, some, "step")
        return [each for each in clauses if len(each) > 1 and not self._is_asked(each)]

    def _is_asked(self, clause: tuple[int, ...]) -> bool:
        return any(abs(each) > self.model.most for each in clause)

    def bits(self, state: State) -> dict[str, int]:
        """The engine's state in the names of the system's latches."""
        number = self.program.number
        waits = {
            device: (to_go, kind)
            for to_go, kind, devices in state.waits
            for device in devices
            if kind != CALLED  # a piston that is called does not travel yet
        }
        found = {"nothing has been yet": 0}
        for name in self.system.parts:
            device = number[name]
            to_go, kind = waits.get(device, (0, 0))
            found |= gives(name, state.levels[device])
            found[f"{name} is called"] = int(state.device_state[device] == 1)
            found[f"somebody stands on {name}"] = state.device_state[device]
            found[f"{name} waits again"] = int(kind == GOING_OFF)
            found |= {f"{name} waits {gt} gt or more": int(to_go >= gt) for gt in range(1, 61)}
        return found

    def begins(self, levels: bytes) -> dict[str, int] | None:
        """The state before gt 0 with these levels, if the system has it among its starts."""
        number = self.program.number
        found = {latch.name: 0 for latch in self.model.latches}
        found |= {"nothing has been yet": 1}
        for name in self.system.parts:
            found |= gives(name, levels[number[name]])
        wrong = [latch for latch in self.model.latches if latch.reset not in (None, found[latch.name])]
        return None if wrong else found

    def allows(self, before: dict[str, int], hand: Sequence[Action], after: State) -> bool:
        """Whether the step from a state to one of the engine's is one of the system."""
        model = self.model
        worked = {self.program.names[action.device] for action in hand}
        asked = [_numbered(latch.literal ^ 1 ^ before[latch.name]) for latch in model.latches]
        inputs = {f"{name} is worked": int(name in worked) for name in self.system.parts}
        for place, name in enumerate(model.inputs, 1):
            if name in inputs:
                asked.append(place if inputs[name] else -place)
        then = self.bits(after)
        for latch in model.latches:
            if latch.then > 1:
                asked.append(_numbered(latch.then ^ 1 ^ then[latch.name]))
            elif latch.then != then[latch.name]:
                return False
        asked += [_numbered(each) for each in model.constraints if each > 1]
        return bool(self._solver.solve(assumptions=asked))


def gives(name: str, level: int) -> dict[str, int]:
    """A part's level in the names of the system's latches."""
    steps = {f"{name} gives {step} or more": int(level >= step) for step in range(16)}
    return {f"{name} is on": int(level > 0), **steps}


def _numbered(literal: int) -> int:
    return -(literal >> 1) if literal & 1 else literal >> 1


def runs(study: Study, seed: int, whole: bool = True) -> Iterator[tuple[int, str]]:
    """Runs a circuit, and says where the system does not allow what the engine does; and how many gt were run."""
    program = Program(quiet(study.circuit))
    names = list(program.names)
    inside = names if whole else random.Random(seed).sample(names, max(len(names) // 2, 1))
    following = Following(program, inside)
    hands = Hands(program, seed)
    front: State | None = None
    for levels, state in begun(program, ()):
        before = following.begins(levels)
        if before is None or not following.allows(before, (), state):
            yield 0, f"the start is not allowed: {levels!r}"
            return
        front = state
    for at in range(1, LENGTH):
        assert front is not None
        before, hand = following.bits(front), hands.next(front)
        last = None
        for outcome in step(program, front, hand):
            if not following.allows(before, hand, outcome.state):
                yield at, f"not allowed: {hand}"
                return
            last = outcome.state
        front = last
    yield LENGTH, ""


@pytest.mark.parametrize("whole", [True, False], ids=["of all", "of some"])
def test_each_step_of_the_engine_is_one_of_the_second_encoding(whole: bool) -> None:
    compared = 0
    wrong = []
    for seed in range(CIRCUITS):
        drawn = sluice(seed, RUNS_OF)
        try:
            for at, words in runs(drawn.study(), seed, whole):
                compared += at
                if words:
                    wrong.append(f"seed {seed}, gt {at}: {words}\n{drawn.text}")
        except (*TOO_LARGE, Uncertified):
            continue
    print(f"\n{compared} gt compared")
    assert wrong == []
    assert compared > CIRCUITS * LENGTH // 4


def differs(text: str, seeds: int = 6) -> bool:
    """Whether some run of a circuit is none of the second encoding."""
    return any(words for seed in range(seeds) for _, words in runs(study_of(text), seed))


LINE = (
    "lever rope\ntorch dark from rope\nrepeater late from dark delay 2t\nlamp lit from late\ndetector eye watches lit\n"
)


def test_runs_of_every_kind_of_part_are_followed() -> None:
    parts = (
        "lever rope",
        "button pull short",
        "plate sill",
        "sensor bed cells 2 becomes on chance 1/3 starts off",
        "detector feel.* watches bed.*",
        "junction row joins feel.*, rope, pull, sill",
        "torch dark from row",
        "latch gate set row reset dark starts reset",
        "repeater lock from rope",
        "repeater kept from gate delay 2t locked by lock",
        "lamp lit from kept, dark",
        "detector eye watches lit rearm 1t",
    )
    for first in ("", "setting outside_first yes\n"):
        assert not differs("\n".join(parts) + "\n" + first)


@pytest.mark.parametrize(
    ("name", "value"), [("TORCH_WAITS", 3), ("LAMP_WAITS", 3), ("HANDS_LAST", 0), ("GOING_OFF", 5)]
)
def test_a_rule_that_is_changed_in_one_place_alone_is_noticed(
    monkeypatch: pytest.MonkeyPatch, name: str, value: int
) -> None:
    monkeypatch.setattr(part_rules, name, value)
    monkeypatch.setattr(part_rules.LeverRule, "moments", (HANDS_LAST if name != "HANDS_LAST" else value, 0))
    assert differs(LINE) or differs("lever rope\nrepeater late from rope delay 1t\ntorch dark from late\n")


def test_dust_that_fades_is_felt_at_every_level() -> None:
    """What a detector watches may change its level while there is power all the time (rule D1)."""
    text = (
        "lever near\nlever far\ndust line from far length 4\njunction meet joins near, line\ndetector d watches meet\n"
    )
    assert not differs(text)
