"""A known way run again with everything written down: what changed, when, and what made it change."""

from __future__ import annotations

import itertools
from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING

from circuitcheck.engine.memory import ACTING, OUTSIDE, Memory
from circuitcheck.engine.program import PortDrivers, Program, read
from circuitcheck.engine.refused import RunRefused
from circuitcheck.engine.simulator import Simulator
from circuitcheck.engine.step import Action, run_game_tick
from circuitcheck.model.light import DEEPEST

if TYPE_CHECKING:
    from circuitcheck.model.drawing import At
    from circuitcheck.space.configuration import Configuration


@dataclass(frozen=True, slots=True)
class Change:
    """One change of one device's level."""

    number: int
    at: int
    """The gt in which it happened."""
    device: int
    before: int
    level: int
    cause: int | None
    """The number of the change that called the device; None for outside actions and for calls at the start."""
    began: int
    """The gt in which the wait began that ended in this change; `at` itself where there was no wait."""
    by_hand: bool
    stroke: tuple[str, str] | None = None
    """Where a piston starts to move, by which rule and what it does, in words: its level changes when it lands."""
    left: tuple[At, ...] = ()
    """The places that what it moves leaves."""
    reason: tuple[str, str] | None = None
    """By which rule and why, in words, where the part itself can't say it: what a stroke does to water."""


@dataclass(frozen=True, slots=True)
class Noted:
    """Something a device noted of itself: the rule says what."""

    at: int
    device: int
    rule: str


@dataclass(frozen=True, slots=True)
class Recording:
    """A whole run from gt 0 to `until`: every change with its cause, and what parts noted of themselves.

    >>> recording = failure.recording
    >>> recording.until, len(recording.changes)
    (48, 1)
    """

    program: Program
    start: bytes
    changes: tuple[Change, ...]
    notes: tuple[Noted, ...]
    until: int
    configurations: tuple[tuple[int, Configuration], ...] = ()
    """Where pistons move things, what is not where it is drawn: at the start, and after each gt that changes that."""

    def levels_at(self, game_tick: int) -> bytes:
        """Every device's level at the end of a gt.

        >>> failure.recording.levels_at(20)
        b'\\x0f'
        """
        levels = bytearray(self.start)
        for change in self.changes:
            if change.at > game_tick:
                break
            levels[change.device] = change.level
        return bytes(levels)

    def level_of(self, name: str, game_tick: int) -> int:
        """The level of a signal, a part's or an output's, at the end of a gt.

        >>> failure.recording.level_of("rope", 20)
        15
        """
        return self.shown(name, read(self._drivers(name), self.levels_at(game_tick)))

    def level_at_start(self, name: str) -> int:
        """The level of a signal as the run begins.

        >>> failure.recording.level_at_start("rope")
        0
        """
        return self.shown(name, read(self._drivers(name), self.start))

    def levels_of(self, name: str, first: int, last: int) -> list[int]:
        """The level of a signal at the end of each gt from `first` to `last`.

        >>> failure.recording.levels_of("rope", 19, 21)
        [0, 15, 15]
        """
        drivers = self._drivers(name)
        levels = bytearray(self.levels_at(first))
        found = [self.shown(name, read(drivers, levels))]
        position = bisect_right(self.changes, first, key=lambda change: change.at)
        for at in range(first + 1, last + 1):
            while position < len(self.changes) and self.changes[position].at <= at:
                levels[self.changes[position].device] = self.changes[position].level
                position += 1
            found.append(self.shown(name, read(drivers, levels)))
        return found

    def edges_of(self, name: str) -> list[tuple[int, int]]:
        """Where a signal changes between the ends of two gt, as (gt, level).

        >>> failure.recording.edges_of("rope")
        [(20, 15)]
        """
        edges = [(at, self.shown(name, level)) for at, level in edges_at(self, self._drivers(name))]
        before = [self.level_at_start(name), *(level for _, level in edges)]
        return [edge for edge, level in zip(edges, before, strict=False) if edge[1] != level]

    def changing(self, first: int, last: int) -> tuple[str, ...]:
        """The devices that change after the gt `first` and up to `last`, by name, those that change first before.

        >>> failure.recording.changing(0, 40)
        ('rope',)
        """
        numbers = dict.fromkeys(change.device for change in self.changes if first < change.at <= last)
        return tuple(self.program.names[number] for number in numbers)

    def times_of(self, names: Iterable[str], until: int) -> list[int]:
        """The gt up to `until` in which something changes that makes the level of any of these signals.

        >>> failure.recording.times_of(["rope"], 40)
        [20]
        """
        sources = {source for name in names for source, _ in self._drivers(name)}
        return sorted({change.at for change in self.changes if change.device in sources and change.at <= until})

    def shown(self, name: str, level: int) -> int:
        """A level as people are shown it: water that falls is of level 8 (rule Z1); the engine numbers it apart.

        >>> failure.recording.shown("rope", 15)
        15
        """
        return min(level, DEEPEST) if self.program.is_water(name) else level

    def _drivers(self, name: str) -> PortDrivers:
        return self.program.probe(self.program.circuit.signal(name) or name)


TAKEN = ("Z7", "what comes there takes the water away")
"""Why there is no water where something came to stand; water itself goes only as it looks (rule Z6)."""


def configuration_at(recording: Recording, game_tick: int) -> Configuration | None:
    """What is not where it is drawn at the end of a gt; None of a circuit in which nothing moves."""
    return next((now for at, now in reversed(recording.configurations) if at <= game_tick), None)


def edges_at(recording: Recording, feeds: PortDrivers) -> list[tuple[int, int]]:
    """Where the level at a place changes between the ends of two gt, as (gt, level)."""
    levels = list(recording.start)
    sources = {source for source, _ in feeds}
    found: list[tuple[int, int]] = []
    settled = read(feeds, levels)
    for at, changes in itertools.groupby(recording.changes, key=lambda change: change.at):
        touched = False
        for change in changes:
            levels[change.device] = change.level
            touched = touched or change.device in sources
        level = read(feeds, levels) if touched else settled
        if level != settled:
            found.append((at, level))
            settled = level
    return found


class Writer:
    """Writes down what happens while a simulator follows a script."""

    one_way = True

    def __init__(self) -> None:
        self.changes: list[Change] = []
        self.notes: list[Noted] = []
        self._latest: dict[int, int] = {}
        """The number of each device's latest change."""
        self._origins: dict[int, tuple[int, int | None]] = {}
        """For each device that waits: since when, and the change that called it; None where it called itself."""
        self._spreads: dict[int, tuple[int, list[int]]] = {}
        """For each place of water that has spread: in which gt, and the numbers of those changes."""
        self._next: dict[int, int] = {}
        """Devices that began a further wait while they acted, before their change was made: since when."""

    def note(self, game_tick: int, device: int, rule: str) -> None:
        """Takes what a device noted of itself."""
        self.notes.append(Noted(game_tick, device, rule))

    def began(self, memory: Memory, device: int) -> None:
        """A device has begun a wait."""
        if memory.telling == ACTING:
            self._next[device] = memory.now
        else:
            self._origins[device] = (memory.now, self._caller(memory, device))

    def changed(self, memory: Memory, device: int, level: int) -> None:
        """A device is about to change its level."""
        number = len(self.changes)
        began, cause = memory.now, self._latest.get(memory.telling)
        if memory.telling in (ACTING, device):  # of a piston that lands, its own stroke is told already
            began, cause = self._origin(device)
        reason = None
        if memory.telling >= 0 and memory.program.devices[device].flows:
            if memory.program.devices[memory.telling].flows:
                began, cause = self._look(memory, memory.telling, device)
                self._spread(memory, number)
            else:
                reason = TAKEN
        by_hand = memory.telling == OUTSIDE
        change = Change(number, memory.now, device, memory.levels[device], level, cause, began, by_hand, reason=reason)
        self.changes.append(change)
        self._latest[device] = number

    def stroked(self, memory: Memory, piston: int, rule: str, words: str, left: Sequence[At]) -> None:
        """A piston starts to move."""
        number, level = len(self.changes), memory.levels[piston]
        began, cause = self._origin(piston)
        self.changes.append(
            Change(number, memory.now, piston, level, level, cause, began, False, (rule, words), tuple(left))
        )
        self._latest[piston] = number
        self._origins[piston] = (memory.now, number)

    def _look(self, memory: Memory, water: int, place: int) -> tuple[int, int | None]:
        """Since when water that spreads to a place has been about to look, and what made it spread by that look.

        That is what called the look; or, if later, its own change, or the stroke that left the place.
        """
        began, cause = self._origins.get(water, (0, None))
        own = self._latest.get(water)
        if own is not None and self.changes[own].at >= began:
            cause = own
        for change in reversed(self.changes):
            if change.at < began:
                break
            if change.stroke is not None and self._left(memory, change, place):
                return began, change.number
        return began, cause

    def _left(self, memory: Memory, stroke: Change, place: int) -> bool:
        """Whether a stroke left a place of water: by its head, or by what it moved."""
        motion = memory.program.motion
        if motion is None:
            return False
        at, home = motion.flow.place_of[place], motion.home_of[stroke.device]
        return at == motion.strokes.facing(home).from_(home) or at in stroke.left

    def _spread(self, memory: Memory, number: int) -> None:
        """Keeps what water spreads to in one look, of which each part that it updates may read another place."""
        at, numbers = self._spreads.get(memory.telling, (memory.now, []))
        self._spreads[memory.telling] = (memory.now, [*(numbers if at == memory.now else []), number])

    def _caller(self, memory: Memory, device: int) -> int | None:
        """The change that calls a device: what is passed on, or, of what water spreads to, the place that it reads."""
        at, numbers = self._spreads.get(memory.telling, (-1, []))
        if at != memory.now:
            return self._latest.get(memory.telling)
        wiring = memory.wiring
        ports = (port for port, owner in enumerate(wiring.port_device) if owner == device)
        read = {device, *(source for port in ports for source, _ in wiring.feeds[port])}
        return next((each for each in numbers if self.changes[each].device in read), numbers[-1])

    def _origin(self, device: int) -> tuple[int, int | None]:
        began, cause = self._origins.get(device, (0, None))
        if cause is None:
            # A wait that a device began of itself (the end of a pulse) goes back to its own latest change.
            cause = self._latest.get(device)
        if device in self._next:
            self._origins[device] = (self._next.pop(device), None)
        return began, cause


def record(
    program: Program,
    start: bytes,
    actions: Sequence[tuple[int, Action]],
    script: Sequence[tuple[int, ...]],
    until: int,
) -> Recording:
    """Runs from a start to gt `until`, making the open choices as `script` says, and past its end the first of each.

    What has come to a stroke that is a mistake is written down up to there (rule M8).
    """
    writer = Writer()
    simulator = Simulator(program, 0, start, writer.note)
    simulator.script = list(script)
    simulator.recorder = writer
    where = [] if simulator.configuration is None else [(0, simulator.configuration)]
    with suppress(RunRefused):
        for at, now in _carried_out(simulator, actions, until):
            if now is not None and now != where[-1][1]:
                where.append((at, now))
    return Recording(program, start, tuple(writer.changes), tuple(writer.notes), until, tuple(where))


def _carried_out(
    simulator: Simulator, actions: Sequence[tuple[int, Action]], until: int
) -> Iterator[tuple[int, Configuration | None]]:
    """Runs one simulator from gt 0 to the end of gt `until`, with where things are after each. Raises RunRefused."""
    simulator.tell_everyone()
    times = sorted({at for at, _ in actions if at <= until} | {0})
    for at in times:
        while (due := simulator.next_due()) is not None and due < at:
            simulator.run(due)
            yield due, simulator.configuration
        simulator.now = at
        (simulator,) = run_game_tick([simulator], [action for when, action in actions if when == at])
        yield at, simulator.configuration
    while (due := simulator.next_due()) is not None and due <= until:
        simulator.run(due)
        yield due, simulator.configuration
