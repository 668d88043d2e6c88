"""Water while a circuit runs: its places as devices, their looks, and what strokes take (rules Z2 to Z8)."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from copy import copy
from typing import NamedTuple

from circuitcheck.diagnostics import NOWHERE
from circuitcheck.engine.refused import RunRefused
from circuitcheck.engine.water_place import WaterPlace
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.drawing import At, placed_name, said
from circuitcheck.model.unsure import also, reached
from circuitcheck.space.configuration import AT_HOME, Configuration
from circuitcheck.space.flowing import DRY, SOURCE, Ground, HalfBelow
from circuitcheck.space.water import Water, settled, water_of


class Spread(NamedTuple):
    """The levels that water takes in places that were dry, in one look."""

    levels: tuple[tuple[int, int], ...]


class Flow:
    """The water of one program: nothing where strokes can't change it."""

    def __init__(self, circuit: Circuit) -> None:
        assert circuit.drawing is not None
        self.drawing = circuit.drawing
        self.rules = circuit.rules
        water = water_of(circuit.drawing, circuit.rules)
        self.water = water if water.followed else Water()
        self.place_of: dict[int, At] = {}
        self.device_at: dict[At, int] = {}
        self._grounds: dict[Configuration, Ground] = {}
        self._at_rest: dict[Configuration, Water] = {}
        self._watched = frozenset(
            thing.facing.back.from_(at)
            for at, thing in circuit.drawing.things.items()
            if thing.watches and thing.facing is not None
        )
        """The places that detectors watch, where they are drawn."""

    def parts(self) -> Iterator[WaterPlace]:
        """A part for each place that water can reach."""
        spans = self.drawing.spans
        for at in sorted(self.water.places):
            yield WaterPlace(name=placed_name("water", at), span=spans.get(at, NOWHERE))

    def number(self, numbers: Mapping[str, int]) -> None:
        """Takes the numbers that the places have as devices; a part of a program need not have all of them."""
        names = ((placed_name("water", at), at) for at in sorted(self.water.places))
        self.place_of = {numbers[name]: at for name, at in names if name in numbers}
        self.device_at = {at: device for device, at in self.place_of.items()}

    def within(self, numbers: Mapping[str, int]) -> Flow:
        """The same water in a part of the program, whose devices have these numbers."""
        part = copy(self)
        part.number(numbers)
        return part

    def at_rest(self, now: Configuration) -> Mapping[At, int]:
        """The levels of water at rest, with everything standing as it does in a configuration."""
        known = self._at_rest.get(now)
        if known is None:
            known = self.water if now == AT_HOME else settled(self.drawing, self.rules, self.water, now)
            self._at_rest[now] = known
        also(known.relied)
        return known.rest

    def ground(self, now: Configuration) -> Ground:
        """What water meets in a configuration."""
        known = self._grounds.get(now)
        if known is None:
            known = self._grounds[now] = Ground(self.drawing, self.rules, now)
        return known

    def level_at(self, levels: Sequence[int]) -> Callable[[At], int]:
        """The level of water at any place."""
        device_at = self.device_at

        def level(place: At) -> int:
            device = device_at.get(place)
            return DRY if device is None else levels[device]

        return level

    def covered(self, now: Configuration, levels: Sequence[int]) -> list[int]:
        """The wet places at which something stands, or is in motion, that holds water back."""
        if not self.place_of:
            return []
        ground = self.ground(now)
        return [device for device, at in self.place_of.items() if levels[device] and not ground.lets_in(at)]

    def level_taken(self, now: Configuration, levels: Sequence[int], device: int) -> int:
        """The level that water takes at its look."""
        at = self.place_of[device]
        if at in self._watched:
            reached(self.rules, "feels_looks")
        if levels[device] == SOURCE:
            return SOURCE
        try:
            return self.ground(now).level_taken(at, self.level_at(levels))
        except HalfBelow:
            why = f"two sources stand beside water over a half block at {said(at)}: what it becomes is not known"
            hint = "put a whole block below, or keep the sources apart"
            raise RunRefused(why, "Z5", placed_name("water", at), at, hint) from None

    def spread(self, now: Configuration, levels: Sequence[int], device: int) -> Spread | None:
        """What a look spreads to; None where nothing changes. Raises RunRefused where it washes something away."""
        ground = self.ground(now)
        found = ground.spreads(self.place_of[device], self.level_at(levels))
        for at in found:
            washed = ground.thing_at(at)
            if washed is not None:
                name = self.drawing.name(at)
                hint = "put a block between the water and that place"
                raise RunRefused(f"the water reaches {washed.one} '{name}' at {said(at)}", "Z7", name, at, hint)
        within = tuple(sorted((self.device_at[at], level) for at, level in found.items() if at in self.device_at))
        return Spread(within) if within else None
