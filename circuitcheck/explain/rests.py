"""Every rest of a machine that moves: where it stands and what is on when nothing waits any more.

From its start, each input is changed by itself, and the machine is left alone until it comes to rest: what it is then,
it is changed from again. So this is the flow table of a sequential circuit in its fundamental mode (D. A. Huffman, "The
synthesis of sequential switching circuits", 1954); what differs is that inputs may be pulses, that a rest holds where
blocks are, and that open orders (rule C5) may lead from one change to several rests.

An input counts only if it may have a say: if it is read or heard, over any number of parts, by the signals asked for,
by a piston, or by water, in some wiring that was reached. Of cells that others only feel change, rests that differ by
their levels are one.

Afterwards a second change is made at each gt before the machine rests (`Hurried`): two changes that follow each other
faster may leave it as no slow ones do.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator, Sequence
from dataclasses import dataclass

from circuitcheck.engine import work
from circuitcheck.engine.motion import Motion
from circuitcheck.engine.orders import TooManyOrders
from circuitcheck.engine.program import Program, read
from circuitcheck.engine.refused import RunRefused
from circuitcheck.engine.simulator import Simulator, restore
from circuitcheck.engine.start import starts
from circuitcheck.engine.state import State
from circuitcheck.engine.step import Action, merge, run_game_tick
from circuitcheck.explain.say import Say
from circuitcheck.model.rules import FULL_POWER
from circuitcheck.space.configuration import Configuration

MOST_RESTS = 256
"""How many rests are changed from."""
LONGEST = 4_000
"""How many gt a machine is left alone to come to rest."""
MOST_MOMENTS = 400
"""In how many gt something may happen before that; what goes on longer is taken for a clock."""
MOST_HURRIED = 2_000
"""How many second changes are tried before a machine rests."""
APART = 20
"""Changes of a run that is shown come at multiples of so many gt."""


@dataclass(frozen=True, slots=True)
class InputChange:
    """A change of one input, and how it is made."""

    input: str
    verb: str
    level: int = 0


@dataclass(frozen=True, slots=True)
class Rest:
    """One rest: the levels of all devices, and what is not where it is drawn."""

    levels: bytes
    configuration: Configuration
    start: bytes
    """The levels of the start from which it was reached."""
    reached_by: tuple[tuple[int, InputChange], ...]
    """The changes that lead there from the start, each made at rest, by the gt in which they are made."""
    settled_at: int
    """The gt in which it is reached by them."""

    @property
    def next_change_at(self) -> int:
        """The gt in which a run that is shown makes its next change: when it is at rest."""
        return (self.settled_at // APART + 1) * APART


@dataclass(frozen=True, slots=True)
class Passage:
    """What a change at rest leads to: from which rest to which, by their numbers."""

    before: int
    change: InputChange
    after: int | None
    """None where the machine does not come to rest."""
    changes: tuple[int, ...]
    """How often each signal asked for changed on the way."""
    lasts: int
    """How many gt it takes at most."""
    why: str = ""
    """Why it was followed no further, where it was not."""


@dataclass(frozen=True, slots=True)
class Hurried:
    """A rest to which no slow changes lead: a second change came before the machine had come to rest from the first."""

    before: int
    first: InputChange
    second: InputChange
    later: int
    """How many gt after the first."""
    levels: bytes
    configuration: Configuration


@dataclass(frozen=True, slots=True)
class Rests:
    """Every rest that was reached, and every passage between them."""

    inputs: tuple[str, ...]
    """Those that may have a say."""
    only_felt: frozenset[str]
    """Cells among them of which nobody reads more than that they change."""
    rests: tuple[Rest, ...]
    passages: tuple[Passage, ...]
    hurried: tuple[Hurried, ...]
    ended: str = ""
    """Why not all were followed; empty if all were."""
    hurried_ended: str = ""
    """The same of changes that follow each other faster."""


def every_rest(program: Program, signals: Sequence[str], most: int, hurried: bool = True) -> Rests:
    """Every rest that single changes lead to, within a bound of work. Raises work.Undecided, and OpenStart.

    Faster changes are tried only if the `hurried` are asked for, within as much work again.
    """
    assert program.motion is not None
    search = _Search(program, program.motion, signals)
    try:
        with work.bounded(most):
            search.run()
    except work.OutOfWork:
        if not search.found:
            raise
        search.ended = f"more work than is done for it, after {len(search.found)} rests"
    if hurried and not search.ended:
        search.hurry(most)
    return search.result()


class _Search:
    """The search for every rest, breadth first."""

    def __init__(self, program: Program, motion: Motion, signals: Sequence[str]) -> None:
        self._program = program
        self._motion = motion
        self._feeds = [program.probe(name) for name in signals]
        self._say = Say(program, motion, signals)
        self._begin()

    def _begin(self) -> None:
        self.inputs = self._with_a_say()
        self._felt = self._only_felt()
        self.found: list[Rest] = []
        self._states: list[State] = []
        self._numbers: dict[Hashable, int] = {}
        self.passages: list[Passage] = []
        self.hurried: dict[Hashable, Hurried] = {}
        self.ended = self.hurried_ended = ""

    def _with_a_say(self) -> tuple[str, ...]:
        return tuple(part.name for part in self._program.circuit.inputs if part.name in self._say.upstream)

    def _only_felt(self) -> frozenset[int]:
        """The cells of which nobody reads more than that they change, in any wiring that was reached."""
        program = self._program
        cells = (program.number[name] for name in self.inputs if name not in self._say.read_anew)
        return frozenset(cell for cell in cells if program.devices[cell].drawn and program.only_felt(cell))

    def result(self) -> Rests:
        felt = frozenset(self._program.names[cell] for cell in self._felt)
        hurried = tuple(self.hurried.values())
        return Rests(
            self.inputs, felt, tuple(self.found), tuple(self.passages), hurried, self.ended, self.hurried_ended
        )

    def run(self) -> None:
        """Searches, and again whenever an input turns out to have a say that was taken to have none."""
        while not self._all_found():
            self._begin()

    def _all_found(self) -> bool:
        for start in starts(self._program):
            first = merge(Simulator(self._program, 0, start.levels).tell_everyone())
            left = _LeftAlone(first)
            for simulator in left.at_rest:
                self._number(simulator, start.levels, (), left.now)
        before = 0
        while before < len(self.found):
            if before >= MOST_RESTS:
                self.ended = f"the first {MOST_RESTS} rests were followed, and there are more"
                break
            if self._say.learn(self._motion, self.found[before].configuration) and self._has_news():
                return False
            for change in self._changes(self.found[before].levels):
                self._pass(before, change)
            before += 1
        return True

    def _has_news(self) -> bool:
        return self._with_a_say() != self.inputs or self._only_felt() != self._felt

    def _changes(self, levels: Sequence[int]) -> Iterator[InputChange]:
        """The changes of each input from where it is: on or off, pressed, or to full power or none."""
        for name in self.inputs:
            number = self._program.number[name]
            verbs = self._program.devices[number].part.verbs
            turned = "off" if levels[number] else "on"
            if turned in verbs:
                yield InputChange(name, turned)
            elif "press" in verbs:
                yield InputChange(name, "press")
            elif "is" in verbs:
                yield InputChange(name, "is", 0 if levels[number] else FULL_POWER)

    def _action(self, change: InputChange) -> Action:
        return Action(self._program.number[change.input], change.verb, change.level)

    def _begun(self, before: int, change: InputChange) -> list[Simulator]:
        """A rest in which a change was just made, in gt 1."""
        simulator = restore(self._program, self._states[before], 0)
        simulator.now = 1
        return merge(run_game_tick([simulator], [self._action(change)]))

    def _pass(self, before: int, change: InputChange) -> None:
        was = self.found[before]
        seen = [[read(feeds, was.levels) > 0, 0] for feeds in self._feeds]

        def look(levels: Sequence[int]) -> None:
            for each, feeds in zip(seen, self._feeds, strict=True):
                now = read(feeds, levels) > 0
                each[1] += now is not each[0]
                each[0] = now

        try:
            left = _LeftAlone(self._begun(before, change), look)
        except (RunRefused, work.TooManyStates, TooManyOrders) as undecided:
            self.passages.append(Passage(before, change, None, tuple(count for _, count in seen), 0, str(undecided)))
            return
        at = was.next_change_at
        by = (*was.reached_by, (at, change))
        after: list[int | None] = [self._number(each, was.start, by, at + left.now) for each in left.at_rest]
        if left.restless:
            after.append(None)
        for number in dict.fromkeys(after):
            self.passages.append(Passage(before, change, number, tuple(count for _, count in seen), left.now))

    def _number(
        self, simulator: Simulator, start: bytes, by: tuple[tuple[int, InputChange], ...], settled_at: int
    ) -> int:
        """The number of the rest in which a simulator stands, found now or before."""
        state = self._rested(simulator)
        key = self._key(state)
        number = self._numbers.get(key)
        if number is None:
            assert state.configuration is not None
            number = self._numbers[key] = len(self.found)
            self.found.append(Rest(state.levels, state.configuration, start, by, settled_at))
            self._states.append(state)
        return number

    def _rested(self, simulator: Simulator) -> State:
        """The state of a simulator that has rested for so long that no torch remembers an off (rule T4)."""
        simulator.now += self._program.rules.burn_out_window + 1
        return simulator.snapshot()

    def _key(self, state: State) -> Hashable:
        levels = bytearray(state.levels)
        for device in self._felt:
            levels[device] = 0
        return bytes(levels), state.device_state, state.configuration

    def hurry(self, most: int) -> None:
        """Makes a second change at each gt before the machine rests, as long as that is not too often."""
        tries = sum(each.lasts for each in self.passages) * len(self.inputs)
        if tries > MOST_HURRIED:
            self.hurried_ended = f"that would take {tries} runs, and {MOST_HURRIED} are made"
            return
        try:
            with work.bounded(most):
                for passage in {(each.before, each.change): each for each in self.passages}.values():
                    self._hurry(passage)
        except (work.Undecided, TooManyOrders) as undecided:
            self.hurried_ended = str(undecided)

    def _hurry(self, passage: Passage) -> None:
        running = self._begun(passage.before, passage.change)
        for later in range(1, passage.lasts):
            for second in {change for each in running for change in self._changes(each.levels)}:
                copies = [each.copy() for each in running]
                for each in copies:
                    each.now = 1 + later
                for each in _LeftAlone(merge(run_game_tick(copies, [self._action(second)]))).at_rest:
                    self._hurried_to(each, Hurried(passage.before, passage.change, second, later, b"", Configuration()))
            for each in running:
                each.now = 1 + later
            running = merge(run_game_tick(running, []))

    def _hurried_to(self, simulator: Simulator, by: Hurried) -> None:
        state = self._rested(simulator)
        key = self._key(state)
        if key not in self._numbers and key not in self.hurried:
            assert state.configuration is not None
            found = Hurried(by.before, by.first, by.second, by.later, state.levels, state.configuration)
            self.hurried[key] = found


class _LeftAlone:
    """Simulators left alone until they rest; `look` is shown the levels gt by gt, as long as only one is followed."""

    def __init__(self, simulators: list[Simulator], look: Callable[[Sequence[int]], None] | None = None) -> None:
        self.at_rest: list[Simulator] = []
        self.restless = True
        self.now = max(each.now for each in simulators)
        running = simulators
        for _ in range(MOST_MOMENTS):
            if look is not None and len(running) == 1:
                look(running[0].levels)
            self.at_rest += [each for each in running if each.next_due() is None]
            running = [each for each in running if each.next_due() is not None]
            if not running:
                self.restless = False
                return
            at = min(due for each in running if (due := each.next_due()) is not None)
            if at > LONGEST:
                return
            self.now = at
            for each in running:
                each.now = at
            running = merge(run_game_tick(running, []))
