"""Which change made a level: not what called a part, but what last brought all that it reads to say so."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Iterable, Mapping

from circuitcheck.engine.program import PortDrivers, read
from circuitcheck.engine.record import Change, Recording

Levels = Mapping[int, int]
"""The levels of some devices, by number."""


class Making:
    """Looks back along a recording."""

    def __init__(self, recording: Recording) -> None:
        self._recording = recording
        self._of: dict[int, list[int]] = {}
        """For each device that changed the numbers of its changes, in order."""
        for change in recording.changes:
            self._of.setdefault(change.device, []).append(change.number)

    def of_reading(self, feeds: PortDrivers, at: int) -> Change | None:
        """The change that made the level read at a place at the end of a gt; None if it is the one of the start."""
        before = bisect_left(self._recording.changes, at + 1, key=lambda change: change.at)
        return self._last_turn((source for source, _ in feeds), before, 0, lambda levels: read(feeds, levels))

    def of_change(self, change: Change) -> Change | None:
        """The change that made the level that a device went to; None for what is done from outside, and at the start.

        It is what called the device, unless what it reads changed again while it waited, and only then came to what it
        went to. A device whose level is no matter of what it reads then, as the end of a pulse, is made by its call.
        """
        caller = None if change.cause is None else self._recording.changes[change.cause]
        if change.stroke is not None or (caller is not None and caller.stroke is not None):
            return caller  # what a stroke changes is read in another wiring
        program = self._recording.program
        device = program.devices[change.device]
        if change.by_hand or change.at == change.began or not device.ports:
            return caller
        ports = {port: program.feeds[port] for port in device.ports}

        def says(levels: Levels) -> bool:
            readings = {port: read(feeds, levels) for port, feeds in ports.items()}
            return device.settled(readings, readings) == (change.level, change.level)

        sources = {source for feeds in ports.values() for source, _ in feeds}
        first = 0 if caller is None else caller.number + 1
        if not says(self._levels(sources, change.number)):
            return caller
        return self._last_turn(sources, change.number, first, says) or caller

    def _last_turn(
        self, sources: Iterable[int], before: int, first: int, says: Callable[[Levels], object]
    ) -> Change | None:
        """The last change of these devices, of numbers from `first` to `before`, that turned what `says` says."""
        among = set(sources)
        levels = self._levels(among, before)
        now = says(levels)
        numbers = sorted(number for source in among for number in self._numbers(source, first, before))
        for number in reversed(numbers):
            change = self._recording.changes[number]
            levels[change.device] = change.before
            if says(levels) != now:
                return change
        return None

    def _numbers(self, device: int, first: int, before: int) -> list[int]:
        numbers = self._of.get(device, [])
        return numbers[bisect_left(numbers, first) : bisect_left(numbers, before)]

    def _levels(self, devices: Iterable[int], before: int) -> dict[int, int]:
        """The levels of devices right before the change of that number."""
        levels = {}
        for device in devices:
            past = self._numbers(device, 0, before)
            levels[device] = self._recording.changes[past[-1]].level if past else self._recording.start[device]
        return levels
