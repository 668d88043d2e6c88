"""The one step: a state, the outside actions of one gt, and every state that can follow (rules C2, C5).

`step` is pure: it takes and gives states. `run_game_tick` takes and gives simulators, which is cheaper for a long run.
All that goes on in both is `Simulator.run` and `Simulator.act_outside`.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from circuitcheck.engine import work
from circuitcheck.engine.deciding import leave_open
from circuitcheck.engine.program import Program
from circuitcheck.engine.simulator import Simulator, restore
from circuitcheck.engine.state import Log, Notes, Order, State, ignore
from circuitcheck.engine.work import TooManyStates as TooManyStates
from circuitcheck.model.rules import FULL_POWER

MOST_STATES = 10_000
"""How many different states one run carries side by side before it gives up as undecided."""


@dataclass(frozen=True, slots=True)
class Action:
    """One outside action: a device is thrown, pressed, stood on, left, or set to a level."""

    device: int
    verb: str
    level: int = 0


class Outcome(NamedTuple):
    """One state that a step can lead to, with the choices that led there (rule C5), oldest first."""

    state: State
    orders: tuple[Order, ...]


def step(
    program: Program,
    state: State,
    actions: Sequence[Action] = (),
    orders: Sequence[tuple[int, ...]] | None = None,
    notes: Notes = ignore,
) -> tuple[Outcome, ...]:
    """Everything that can follow one gt after `state`, equal states merged.

    `orders` makes the open choices instead of exploring them: the orders, in turn, that an outcome of this very step
    named. Raises TooManyOrders and TooManyStates.
    """
    work.count(len(program.devices) + work.OVERHEAD)
    if not actions and state.idle:
        return (Outcome(state.later(program.rules.burn_out_window), ()),)
    simulator = restore(program, state, 0, notes, kept=False)
    simulator.now = 1
    if orders is not None:
        simulator.script = list(orders)
    after = merge(_one_game_tick([simulator], actions) if actions else simulator.run(1))
    return tuple([Outcome(each.snapshot(), choices(each.log)) for each in after])


def choices(log: Log | None) -> tuple[Order, ...]:
    """The choices of a log, oldest first."""
    if log is None:
        return ()
    found = []
    while log is not None:
        found.append(log.order)
        log = log.before
    return tuple(reversed(found))


def run_game_tick(simulators: Iterable[Simulator], actions: Sequence[Action]) -> list[Simulator]:
    """Runs one gt, the one that the simulators stand in, from its beginning to its end.

    What chance does to cells comes behind the waits that are over, and before pistons start (rule C2). Where nothing
    moves it may come behind those too: a cell gives no power.
    """
    simulators = list(simulators)
    if not simulators:
        return []
    work.count(len(simulators) * (len(simulators[0].levels) + work.OVERHEAD))
    return _one_game_tick(simulators, actions)


def _one_game_tick(simulators: list[Simulator], actions: Sequence[Action]) -> list[Simulator]:
    """The same of at least one simulator, whose work is counted."""
    program = simulators[0].program
    devices, first = program.devices, program.rules.outside_first
    drawn = [action for action in actions if devices[action.device].drawn]
    hands = [action for action in actions if not devices[action.device].drawn] if drawn else actions
    if first:
        simulators = act(simulators, hands)
    if drawn and program.moving:
        simulators = act([later for simulator in simulators for later in simulator.run_waits()], drawn)
        drawn = []
    simulators = act([later for simulator in simulators for later in simulator.run(simulator.now)], drawn)
    return simulators if first else act(simulators, hands)


def act(simulators: list[Simulator], actions: Sequence[Action]) -> list[Simulator]:
    """Carries out the outside actions of one gt in every order that can matter (rule C5a)."""
    if not actions:
        return simulators
    if len(actions) == 1:
        only = actions[0]
        return [
            later for simulator in simulators for later in simulator.act_outside(only.device, only.verb, only.level)
        ]
    return [later for simulator in simulators for later in _in_every_order(simulator, tuple(actions))]


def _in_every_order(simulator: Simulator, actions: tuple[Action, ...]) -> list[Simulator]:
    """Goes through the orders set by set: what is left to do and where one stands say all that is to come."""
    if simulator.program.moving and _can_stay_open(simulator, [action.device for action in actions]):
        return _left_open(simulator, actions)
    front: dict[tuple[tuple[Action, ...], State | None], Simulator] = {(actions, None): simulator}
    for _ in actions:
        later: dict[tuple[tuple[Action, ...], State | None], Simulator] = {}
        for (rest, _state), current in front.items():
            candidates = _next(current, rest)
            for next_action in _scripted(current, candidates):
                remaining = tuple(action for action in rest if action is not next_action)
                branch = current.copy()
                if len(candidates) > 1:
                    branch.log = Log(_order_of(current, next_action, candidates), current.log)
                for after in branch.act_outside(next_action.device, next_action.verb, next_action.level):
                    later.setdefault((remaining, after.snapshot()), after)
        work.count(len(later) * (len(simulator.levels) + work.OVERHEAD))
        if len(later) > MOST_STATES:
            raise TooManyStates
        front = later
    return list(front.values())


def _can_stay_open(simulator: Simulator, devices: Sequence[int]) -> bool:
    """Whether what devices do that are worked in one gt doesn't depend on their order, but for whom they call."""
    apart = len(set(devices)) == len(devices) and not any(simulator.waiting[device] for device in devices)
    orders = simulator.wiring.orders
    return apart and not any(
        orders.collide(one, other, simulator.levels, devices) for one, other in itertools.combinations(devices, 2)
    )


def _left_open(simulator: Simulator, actions: Sequence[Action]) -> list[Simulator]:
    """Carries out actions in one order, with the order of whom they call left open (`engine.ties`)."""
    leave_open(simulator, [action.device for action in actions])
    found = [simulator]
    for action in actions:
        found = [
            later
            for each in found
            for later in each.act_outside(action.device, action.verb, action.level, one_of_many=True)
        ]
    return found


def _order_of(simulator: Simulator, chosen: Action, candidates: tuple[Action, ...]) -> Order:
    others = tuple(action.device for action in candidates if action is not chosen)
    return Order(simulator.now, (chosen.device, *others))


def _scripted(simulator: Simulator, candidates: tuple[Action, ...]) -> tuple[Action, ...]:
    """All candidates; the one that a known way took here; or the first, where somebody writes down one way."""
    if len(candidates) == 1:
        return candidates
    if not simulator.script:
        return candidates[:1] if simulator.one_way else candidates
    wanted = simulator.script.pop(0)[0]
    return tuple(action for action in candidates if action.device == wanted)


def _next(simulator: Simulator, rest: tuple[Action, ...]) -> tuple[Action, ...]:
    """Which of the actions left may come next: one alone where its place among the others can't matter."""
    for action in rest:
        if not any(_matter(simulator, action, other) for other in rest if other is not action):
            return (action,)
    return rest


def _matter(simulator: Simulator, one: Action, other: Action) -> bool:
    if one.device == other.device:
        return True
    directions = (_direction(simulator, one), _direction(simulator, other))
    if 0 in directions:
        return False  # an action that changes nothing comes to the same anywhere
    return simulator.wiring.orders.matter(one.device, directions[0] > 0, other.device, directions[1] > 0)


def _direction(simulator: Simulator, action: Action) -> int:
    """1 if the action switches its part on, -1 if off, 0 if it changes nothing."""
    before = simulator.levels[action.device]
    after = {
        "on": FULL_POWER,
        "press": FULL_POWER,
        "off": 0,
        "throw": FULL_POWER - before,
        "is": action.level,
    }[action.verb]
    return (after > before) - (after < before)


def merge(simulators: Iterable[Simulator]) -> list[Simulator]:
    """One simulator for each different state; the first found stands for its equals. Raises TooManyStates."""
    simulators = simulators if isinstance(simulators, list) else list(simulators)
    if len(simulators) < 2:
        return simulators
    kept: dict[State, Simulator] = {}
    for simulator in simulators:
        kept.setdefault(simulator.snapshot(), simulator)
    if len(kept) > MOST_STATES:
        raise TooManyStates
    return list(kept.values())
