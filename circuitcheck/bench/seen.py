"""What a bench shows of a circuit in a state: each place of a drawing, each part, each signal.

A picture is drawn once, as the circuit starts. From then on only what differs between two states is computed, by the
devices whose levels differ: a large drawing costs what changes in it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cached_property
from typing import NamedTuple

from circuitcheck.engine.program import PortDrivers, Program, read
from circuitcheck.engine.state import State
from circuitcheck.model.drawing import At, Drawing
from circuitcheck.plans.at_a_moment import Stands, seen_at
from circuitcheck.plans.solids_at_a_moment import Standing, Standings
from circuitcheck.report.page.looks import look_at
from circuitcheck.report.sheet import Look, as_drawn

MOST_STANDS = 4_096
"""Of how many ways in which a drawing stands it is kept what is seen; then all but the first are forgotten."""
MOST_SIGNALS = 200
"""How many signals are drawn over time."""


class Place(NamedTuple):
    """What is seen at a place of a drawing."""

    level: int | None
    """None where no level of power is shown."""
    look: Look | None
    away: bool
    """Whether it is not as drawn."""


class Seen:
    """A circuit, its drawing if it has one, and what is seen of both in a state."""

    def __init__(self, program: Program, drawing: Drawing | None) -> None:
        self.program = program
        self.drawing = drawing
        self.signals = _signals(program)
        circuit = program.circuit
        self._feeds: Mapping[str, PortDrivers] = {
            name: program.probe(circuit.signal(name) or name) for name in self.signals
        }
        self._stands = None if drawing is None else Stands(program, drawing, MOST_STANDS)
        self._drawn_there: dict[At, Look | None] = {}
        self._reached = {} if self._stands is None else self._reaches(self._stands)

    @staticmethod
    def _reaches(stands: Stands) -> dict[int, set[At]]:
        """For each device the places at which its level is seen, with everything at home."""
        found: dict[int, set[At]] = {}
        for at, feeds in stands.home.items():
            for device, _ in feeds or ():
                found.setdefault(device, set()).add(at)
        for at, device in stands.water.items():
            found.setdefault(device, set()).add(at)
        for at, (device, _) in stands.conditions.items():
            found.setdefault(device, set()).add(at)
        return found

    # Signals.

    def levels(self, state: State) -> dict[str, int]:
        """The level of every signal that is drawn over time."""
        return {name: read(feeds, state.levels) for name, feeds in self._feeds.items()}

    def parts(self, before: State | None, after: State) -> dict[str, int]:
        """The level of each part that differs; of all parts where there is no state before."""
        levels, names = after.levels, self.program.names
        if before is None:
            return dict(zip(names, levels, strict=True))
        return {names[device]: levels[device] for device in _differing(before, after)}

    # Places.

    def places(self, state: State, layer: int = 0) -> dict[At, Place]:
        """What is seen at all places that show anything, of one layer or of all."""
        stands = self._stands
        if stands is None:
            return {}
        now = self._stand(state)
        asked = {*stands.home, *stands.water, *stands.conditions, *stands.found[now].seen, *stands.found[now].feeds}
        return {at: self._place(at, state, now) for at in sorted(asked) if not layer or at[0] == layer}

    def differences(self, before: State, after: State) -> tuple[dict[At, int | None], dict[At, Place]]:
        """What differs between two states: places at which only the level does, and those that look otherwise."""
        if self._stands is None:
            return {}, {}
        was, now = self._numbers(before, after)
        levels: dict[At, int | None] = {}
        places = {}
        for at in self._asked(before, after, was, now):
            if self._is_always_as_drawn(at, was) and self._is_always_as_drawn(at, now):
                level = self._level(at, after, now)
                if level != self._level(at, before, was):
                    levels[at] = level
                continue
            place = self._place(at, after, now)
            if place != self._place(at, before, was):
                places[at] = place
        return levels, places

    def standing(self, state: State) -> Standing | None:
        """How the build stands in three dimensions; None where nothing is drawn."""
        if self._stands is None:
            return None
        return self.standings.now(self._stand(state), state.levels)

    @cached_property
    def standings(self) -> Standings:
        """The ways in which the build stands, in three dimensions. Only of a circuit that is drawn."""
        assert self._stands is not None
        assert self.drawing is not None
        return Standings(self.drawing, self.program.rules, self._stands)

    def look(self, at: At, state: State) -> Look | None:
        """What is seen at a place."""
        return self._place(at, state, self._stand(state)).look

    def _asked(self, before: State, after: State, was: int, now: int) -> Iterator[At]:
        assert self._stands is not None
        asked: set[At] = set()
        for device in _differing(before, after):
            asked |= self._reached.get(device, set())
        for each in {was, now} - {0}:
            stand = self._stands.found[each]
            asked |= stand.seen.keys() | stand.feeds.keys()
        yield from asked

    def _stand(self, state: State) -> int:
        return self._numbers(state)[0]

    def _numbers(self, *states: State) -> list[int]:
        """The stands that states are. They hold until somebody asks again: then they may have been forgotten."""
        stands = self._stands
        assert stands is not None
        if len(stands.found) + len(states) > MOST_STANDS:
            stands.forget()
            self.standings.forget()
        return [stands.number(each.configuration) or 0 for each in states]

    def _is_always_as_drawn(self, at: At, number: int) -> bool:
        stands = self._stands
        assert stands is not None
        return not (at in stands.found[number].seen or at in stands.water or at in stands.conditions)

    def _level(self, at: At, state: State, number: int) -> int | None:
        stands = self._stands
        assert stands is not None
        stand = stands.found[number]
        feeds = stand.feeds[at] if at in stand.feeds else stands.home.get(at)
        return None if feeds is None else max([0, *[state.levels[device] - lost for device, lost in feeds]])

    def _drawn(self, at: At) -> Look | None:
        assert self.drawing is not None
        if at not in self._drawn_there:
            self._drawn_there[at] = as_drawn(self.drawing, at)
        return self._drawn_there[at]

    def _place(self, at: At, state: State, number: int) -> Place:
        stands = self._stands
        assert stands is not None
        level, drawn = self._level(at, state, number), self._drawn(at)
        if self._is_always_as_drawn(at, number):
            return Place(level, drawn, away=False)
        seen = seen_at(at, stands.drawn(at), stands.found[number], stands.conditions, state.levels)
        shown = look_at(at, seen, stands.water, state.levels)
        return Place(level, shown, away=shown != drawn)


def _differing(before: State, after: State) -> Iterable[int]:
    if before.levels == after.levels:
        return ()
    return [device for device, (one, two) in enumerate(zip(before.levels, after.levels, strict=True)) if one != two]


def _signals(program: Program) -> Sequence[str]:
    """What is drawn over time: inputs and outputs first, then all else that fits."""
    circuit = program.circuit
    first = [part.name for part in circuit.inputs] + [each.name for each in circuit.own_outputs]
    rest = [name for name in circuit.signals if name in program.number]
    return list(dict.fromkeys([*first, *rest]))[:MOST_SIGNALS]
