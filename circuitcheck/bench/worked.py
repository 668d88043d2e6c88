"""A circuit worked by hand, gt by gt: forwards, back, and along another branch.

The engine's own `step` answers for every gt. Where it gives more than one outcome, an order is open (rule C5): the run
stands before that gt until one of them is chosen. What was done and chosen is kept by its gt, so that a run can always
be gone again; states are kept beside that, some of them, so that going back costs little. Looking back changes nothing:
what was done later is gone again on the way forward. Only what is *done* earlier begins a branch.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple, Protocol

from circuitcheck.diagnostics import did_you_mean, either
from circuitcheck.engine.orders import TooManyOrders
from circuitcheck.engine.program import Program
from circuitcheck.engine.record import Recording, record
from circuitcheck.engine.refused import RunRefused
from circuitcheck.engine.simulator import Simulator
from circuitcheck.engine.start import Start
from circuitcheck.engine.state import Order, State
from circuitcheck.engine.step import Action, Outcome, choices, merge, step
from circuitcheck.engine.work import Undecided
from circuitcheck.model.rules import FULL_POWER

MOST_KEPT_BYTES = 64_000_000
"""How much the kept states of one run may come to."""
MOST_BRANCHES = 20
"""How many branches that were left are kept; the oldest goes first."""
MOST_RECORDED = 20_000
"""How many gt of a run are gone again, at most, to see what caused what."""
MOST_RECORDED_WORK = 2_000_000
"""The same in gt times devices, for large circuits."""
MOST_AT_ONCE, MOST_WORK_AT_ONCE = 2_000, 500_000
"""How many gt pass at once, at most, and the same in gt times devices; the rest passes while others can ask as well."""


class Stopped(Exception):
    """What was asked for can't be done; the text says why, and what can."""


@dataclass(frozen=True, slots=True)
class Script:
    """What was done to a run and chosen in it, by gt, up to its end."""

    start: int = 0
    """Which of the ways to start."""
    acts: Mapping[int, tuple[Action, ...]] = field(default_factory=dict)
    orders: Mapping[int, tuple[Order, ...]] = field(default_factory=dict)
    """The choice made in each gt in which an order was open."""
    end: int = 0

    def up_to(self, at: int) -> Script:
        """The same, ended at a gt."""
        acts = {each: acts for each, acts in self.acts.items() if each <= at}
        return Script(self.start, acts, {each: made for each, made in self.orders.items() if each <= at}, at)

    def parts_from(self, other: Script) -> int:
        """The first gt in which two scripts differ, or in which one has ended; -1 where they start otherwise."""
        if self.start != other.start:
            return -1
        differ = [at for at in {*self.acts, *other.acts} if self.acts.get(at) != other.acts.get(at)]
        differ += [at for at in {*self.orders, *other.orders} if self.orders.get(at) != other.orders.get(at)]
        return min([*differ, min(self.end, other.end) + 1])


class Kept(NamedTuple):
    """The state at the end of a gt."""

    at: int
    state: State


class Open(NamedTuple):
    """The gt in which an order is open, and every outcome."""

    at: int
    outcomes: tuple[Outcome, ...]


class Listener(Protocol):
    """Who follows how a run goes."""

    def back_at(self, at: int, state: State) -> None:
        """The run stands at the end of a gt again: what came after that no longer holds."""

    def gone(self, at: int, before: State, after: State) -> None:
        """A gt has passed."""


class Worked:
    """A run that is worked by hand. Raises Stopped where it can't go on."""

    def __init__(self, program: Program, ways: Sequence[Start], listener: Listener) -> None:
        self.circuit = program.circuit
        self.program = program
        self._listener = listener
        self.ways = tuple(ways)
        self.branches: list[Script] = []
        self.refused = ""
        """Why the run can't go on from here, where it can't."""
        self._script = Script()
        self._queued: list[Action] = []
        self._kept: list[Kept] = []
        self._now = Kept(0, self._begun())
        self._recorded: tuple[Script, Recording] | None = None
        self.at_once = max(10, min(MOST_AT_ONCE, MOST_WORK_AT_ONCE // len(program.names)))
        """How many gt pass at once."""
        self.heading = 0
        """The gt that the run is to go on to, along what was done: time passes until it is there."""

    # Where it stands.

    @property
    def now(self) -> int:
        """The gt at whose end the run stands."""
        return self._now.at

    @property
    def end(self) -> int:
        """How far what was done and chosen goes: up to there, forwards goes the same way again."""
        return self._script.end

    @property
    def state(self) -> State:
        """The state that it stands in."""
        return self._now.state

    @property
    def script(self) -> Script:
        """What was done and chosen so far, and what is about to be done."""
        if not self._queued:
            return self._script
        return Script(
            self._script.start,
            {**self._script.acts, self.now + 1: tuple(self._queued)},
            self._script.orders,
            self._script.end,
        )

    @property
    def queued(self) -> list[Action]:
        """What is done in the next gt."""
        return self._queued[:]

    # Hands.

    def act(self, name: str, verb: str, level: int = 0) -> None:
        """Works an input in the next gt; what lay ahead becomes a branch. Raises Stopped."""
        part = self.circuit.by_name.get(name)
        if part is None or not part.verbs:
            near = did_you_mean(name, [each.name for each in self.circuit.inputs])
            raise Stopped(f"'{name}' is no input{near and '; '}{near}")
        if verb not in part.verbs:
            raise Stopped(f"'{name}' can't be worked so: it takes {either(part.verbs)}")
        if not 0 <= level <= FULL_POWER:
            raise Stopped(f"{level} is no level: it takes 0 to {FULL_POWER}")
        number = self.program.number[name]
        if any(action.device == number for action in self._queued):
            raise Stopped(f"'{name}' is worked in the next gt already: let a gt pass first")
        self.leave_ahead()
        self._queued.append(Action(number, verb, level))

    def take_back(self) -> None:
        """Takes back what was to be done in the next gt."""
        self._queued.clear()

    # Time.

    def step(self) -> Open | None:
        """Lets one gt pass; what is open in it, if it has to be chosen first. Raises Stopped."""
        at = self.now + 1
        ahead = at <= self.end and not self._queued
        acts = self._script.acts.get(at, ()) if ahead else tuple(self._queued)
        orders = self._script.orders.get(at) if ahead else None
        outcomes = self._outcomes(self.state, acts, orders)
        if len(outcomes) > 1:
            return Open(at, outcomes)
        self._go(at, acts, outcomes[0], orders or ())
        return None

    def choose(self, number: int) -> None:
        """Lets one gt pass whose order is open, in the way of this number. Raises Stopped."""
        acts, at = tuple(self._queued), self.now + 1
        outcomes = self._outcomes(self.state, acts, None)
        if not 0 <= number < len(outcomes) or len(outcomes) == 1:
            raise Stopped("no order is open there")
        chosen = outcomes[number]
        self._go(at, acts, chosen, chosen.orders)

    def back_to(self, at: int) -> None:
        """Heads for the end of an earlier or later gt of what was done; `go_on` goes what is left. Raises Stopped."""
        if not 0 <= at <= self.end:
            raise Stopped(f"{at}gt is not in this run: it goes from 0gt to {self.end}gt")
        self._queued.clear()
        self.refused = ""
        near = bisect_right(self._kept, at, key=lambda kept: kept.at) - 1
        self._now = self._kept[near]
        self._listener.back_at(*self._now)
        self.heading = at
        self.go_on(self.at_once)

    def go_on(self, most: int) -> Open | None:
        """Goes on to where the run is heading, by at most so many gt; what is open on the way. Raises Stopped."""
        for _ in range(min(most, self.heading - self.now)):
            found = self.step()
            if found is not None:
                return found
        return None

    # Branches.

    def restart(self, way: int = 0) -> None:
        """Starts again, from one of the ways to start; what was done becomes a branch. Raises Stopped."""
        if not 0 <= way < len(self.ways):
            raise Stopped(f"there are {len(self.ways)} ways to start")
        self._keep_branch(self._script)
        self._take(Script(way))

    def branch(self, number: int) -> None:
        """Goes along a branch that was left, to its end; where the run stands becomes a branch. Raises Stopped."""
        if not 0 <= number < len(self.branches):
            raise Stopped(f"there is no branch {number + 1}")
        script = self.branches.pop(number)
        self._keep_branch(self._script)
        self._take(script)

    # What caused what.

    def recording(self) -> Recording:
        """The run up to now, with the cause of every change. Raises Stopped."""
        most = max(100, min(MOST_RECORDED, MOST_RECORDED_WORK // len(self.program.names)))
        if self.now > most:
            raise Stopped(f"causes are looked for in the first {most:,}gt of a run only")
        script = self._script.up_to(self.now)
        if self._recorded is None or self._recorded[0] != script:
            acts = [(at, each) for at, acts in sorted(script.acts.items()) for each in acts]
            made = [order.devices for _, orders in sorted(script.orders.items()) for order in orders]
            start = self.ways[script.start].levels
            self._recorded = (script, record(self.program, start, acts, made, self.now))
        return self._recorded[1]

    # Inside.

    def _begun(self) -> State:
        """The state at the end of gt 0. Where its orders are open, the first is taken, and kept as chosen."""
        begun = Simulator(self.program, 0, self.ways[self._script.start].levels)
        try:
            first = merge(begun.tell_everyone())[0]
        except RunRefused as refused:
            raise Stopped(f"the run ends as it starts: {refused}") from refused
        except (TooManyOrders, Undecided) as given_up:
            raise Stopped(f"the start can't be followed: {given_up}") from given_up
        made = choices(first.log)
        if made:
            self._script = Script(self._script.start, self._script.acts, {**self._script.orders, 0: made})
        state = first.snapshot()
        self._kept = [Kept(0, state)]
        self._listener.back_at(0, state)
        return state

    def _outcomes(
        self, state: State, acts: tuple[Action, ...], orders: tuple[Order, ...] | None
    ) -> tuple[Outcome, ...]:
        made = None if orders is None else [order.devices for order in orders]
        try:
            return step(self.program, state, acts, made)
        except RunRefused as refused:
            self.refused = f"the run ends in the next gt: {refused}"
        except (TooManyOrders, Undecided) as given_up:
            self.refused = f"the next gt can't be followed: {given_up}"
        raise Stopped(self.refused)

    def _go(self, at: int, acts: tuple[Action, ...], outcome: Outcome, orders: tuple[Order, ...]) -> None:
        before = self.state
        self._queued.clear()
        self._now = Kept(at, outcome.state)
        if at > self.end or acts != self._script.acts.get(at, ()) or orders != self._script.orders.get(at, ()):
            script = self._script.up_to(at - 1)
            self._script = Script(
                script.start,
                {**script.acts, at: acts} if acts else script.acts,
                {**script.orders, at: orders} if orders else script.orders,
                at,
            )
        self._listener.gone(at, before, outcome.state)
        if at > self._kept[-1].at and (outcome.state.levels != before.levels or acts):
            self._kept.append(self._now)
            self._thin(outcome.state)

    def _thin(self, state: State) -> None:
        """Lets every second of the older states go where they come to too much; the gt between are gone again."""
        size = len(state.levels) + len(state.device_state) + len(state.readings) + 200
        if len(self._kept) * size > MOST_KEPT_BYTES:
            half = len(self._kept) // 2
            self._kept[1:half] = self._kept[2:half:2]

    def leave_ahead(self) -> None:
        """What lies ahead becomes a branch, since something else is to be done or chosen from here on."""
        if self.now == self.end:
            return
        self.heading = self.now
        self._keep_branch(self._script)
        self._script = self._script.up_to(self.now)
        self._kept = [kept for kept in self._kept if kept.at <= self.now]

    def go_along(self, script: Script) -> None:
        """Does what another run did, from the beginning. Raises Stopped."""
        made = self._script.orders.get(0, ()) if script.start == self._script.start else ()
        self._take(Script(script.start, script.acts, {**script.orders, 0: made} if made else script.orders, script.end))

    def _keep_branch(self, script: Script) -> None:
        if script.acts or script.orders:
            self.branches = [*self.branches, script][-MOST_BRANCHES:]

    def _take(self, script: Script) -> None:
        """Goes along a script, from the last state that it shares with the present one."""
        shared = self._script.parts_from(script) - 1
        self._queued.clear()
        self.refused = ""
        self._script = script
        self._kept = [kept for kept in self._kept if kept.at <= shared]
        if not self._kept:
            self._now = Kept(0, self._begun())
            self._script = Script(script.start, script.acts, {**self._script.orders, **script.orders}, script.end)
        self.back_to(script.end)
