"""The one step: a state, the outside actions of one gt, and every state that can follow (rules C2, C5).

`Front` and `step` are two doors to the same code: `step` is pure and takes and gives states; a front keeps moments
thawed from gt to gt, which is cheaper for a long run. All that goes on in them is `Moment.run` and
`Moment.act_outside`.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from circuitcheck.model.rules import FULL_POWER

from . import work
from .machine import Machine
from .moment import Moment, thaw
from .state import Log, Notes, Order, State, ignore
from .work import TooManyStates as TooManyStates

MOST_STATES = 10_000
"""How many different states one run carries side by side before it gives up as undecided."""


@dataclass(frozen=True, slots=True)
class Action:
    """One outside action: a device is thrown, pressed, stood on, left, or set to a level."""

    device: int
    verb: str
    level: int = 0


@dataclass(frozen=True, slots=True)
class Outcome:
    """One state that a step can lead to, with the choices that led there (rule C5), oldest first."""

    state: State
    orders: tuple[Order, ...]


def step(
    machine: Machine,
    state: State,
    actions: Sequence[Action] = (),
    orders: Sequence[tuple[int, ...]] | None = None,
    notes: Notes = ignore,
) -> tuple[Outcome, ...]:
    """Everything that can follow one gt after `state`, equal states merged.

    `orders` makes the open choices instead of exploring them: the orders, in turn, that an outcome of this very step
    named. Raises TooManyOrders and TooManyStates.
    """
    moment = thaw(machine, state, 0, notes)
    moment.now = 1
    if orders is not None:
        moment.script = list(orders)
    after = merge(run_game_tick([moment], actions))
    return tuple(Outcome(each.freeze(), choices(each.log)) for each in after)


def choices(log: Log | None) -> tuple[Order, ...]:
    """The choices of a log, oldest first."""
    found = []
    while log is not None:
        found.append(log.order)
        log = log.before
    return tuple(reversed(found))


def run_game_tick(moments: Iterable[Moment], actions: Sequence[Action]) -> list[Moment]:
    """Runs one gt, the one that the moments stand in, from its beginning to its end.

    What chance does to cells comes behind the waits that are over (rule C2). It may come behind called pistons too,
    which rule C2 puts last: a cell gives no power, and a stuck piston that hears one starts a gt later.
    """
    moments = list(moments)
    devices = moments[0].machine.devices if moments else []
    work.count(len(moments) * (len(devices) + work.OVERHEAD))
    drawn = [action for action in actions if devices[action.device].drawn]
    hands = [action for action in actions if not devices[action.device].drawn] if drawn else actions
    first = bool(moments) and moments[0].machine.rules.outside_first
    if first:
        moments = act(moments, hands)
    moments = act([later for moment in moments for later in moment.run(moment.now)], drawn)
    return moments if first else act(moments, hands)


def act(moments: list[Moment], actions: Sequence[Action]) -> list[Moment]:
    """Carries out the outside actions of one gt in every order that can matter (rule C5a)."""
    if not actions:
        return moments
    if len(actions) == 1:
        only = actions[0]
        return [later for moment in moments for later in moment.act_outside(only.device, only.verb, only.level)]
    return [later for moment in moments for later in _in_every_order(moment, tuple(actions))]


def _in_every_order(moment: Moment, actions: tuple[Action, ...]) -> list[Moment]:
    """Goes through the orders set by set: what is left to do and where one stands say all that is to come."""
    front: dict[tuple[tuple[Action, ...], State | None], Moment] = {(actions, None): moment}
    for _ in actions:
        later: dict[tuple[tuple[Action, ...], State | None], Moment] = {}
        for (rest, _state), current in front.items():
            candidates = _next(current, rest)
            for next_action in _scripted(current, candidates):
                remaining = tuple(action for action in rest if action is not next_action)
                branch = current.copy()
                if len(candidates) > 1:
                    branch.log = Log(_order_of(current, next_action, candidates), current.log)
                for after in branch.act_outside(next_action.device, next_action.verb, next_action.level):
                    later.setdefault((remaining, after.freeze()), after)
        work.count(len(later) * (len(moment.levels) + work.OVERHEAD))
        if len(later) > MOST_STATES:
            raise TooManyStates
        front = later
    return list(front.values())


def _order_of(moment: Moment, chosen: Action, candidates: tuple[Action, ...]) -> Order:
    others = tuple(action.device for action in candidates if action is not chosen)
    return Order(moment.now, (chosen.device, *others))


def _scripted(moment: Moment, candidates: tuple[Action, ...]) -> tuple[Action, ...]:
    """All candidates; the one that a known way took here; or the first, where somebody writes down one way."""
    if len(candidates) == 1:
        return candidates
    if not moment.script:
        return candidates[:1] if moment.one_way else candidates
    wanted = moment.script.pop(0)[0]
    return tuple(action for action in candidates if action.device == wanted)


def _next(moment: Moment, rest: tuple[Action, ...]) -> tuple[Action, ...]:
    """Which of the actions left may come next: one alone where its place among the others can't matter."""
    for action in rest:
        if not any(_matter(moment, action, other) for other in rest if other is not action):
            return (action,)
    return rest


def _matter(moment: Moment, one: Action, other: Action) -> bool:
    if one.device == other.device:
        return True
    directions = (_direction(moment, one), _direction(moment, other))
    if 0 in directions:
        return False  # an action that changes nothing comes to the same anywhere
    return moment.machine.orders.matter(one.device, directions[0] > 0, other.device, directions[1] > 0)


def _direction(moment: Moment, action: Action) -> int:
    """1 if the action switches its part on, -1 if off, 0 if it changes nothing."""
    before = moment.levels[action.device]
    after = {
        "on": FULL_POWER,
        "press": FULL_POWER,
        "off": 0,
        "throw": FULL_POWER - before,
        "is": action.level,
    }[action.verb]
    return (after > before) - (after < before)


def merge(moments: Iterable[Moment]) -> list[Moment]:
    """One moment for each different state; the first found stands for its equals. Raises TooManyStates."""
    moments = list(moments)
    if len(moments) < 2:
        return moments
    kept: dict[State, Moment] = {}
    for moment in moments:
        kept.setdefault(moment.freeze(), moment)
    if len(kept) > MOST_STATES:
        raise TooManyStates
    return list(kept.values())
