"""The light in a layer of a drawing: every level by day, by night, and of lamps, torches and standing lights alone."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from typing import NamedTuple

from circuitcheck.engine.program import Program
from circuitcheck.engine.refused import RunRefused
from circuitcheck.engine.start import starts
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.drawing import At, Drawing
from circuitcheck.model.light import FULL_SUN, MOONLIGHT
from circuitcheck.space.configuration import Configuration
from circuitcheck.space.light import Lighting, shining
from circuitcheck.space.pushed_light import heads, moved
from circuitcheck.space.room import Room
from circuitcheck.space.water_light import water_in_light

Levels = dict[At, int]


def on_in(program: Program, levels: Sequence[int], now: Configuration | None) -> frozenset[str]:
    """What is on for the light while devices have some levels: parts, and blocks away from their homes, by name."""
    on = frozenset(name for name, level in zip(program.names, levels, strict=True) if level)
    return on if program.motion is None or now is None else on | program.motion.away(now)


def lighting_of(circuit: Circuit, drawing: Drawing, on: frozenset[str]) -> Lighting:
    """The light in a drawing while some parts are on, and the water of some places flows there."""
    blocks = moved(drawing, circuit, True)
    water = water_in_light(drawing, circuit.rules, blocks) if drawing.has_pistons else {}
    return Lighting(Room(drawing, circuit.rules), on.__contains__, [*blocks, *heads(drawing, circuit)], water)


def levels_of(circuit: Circuit, drawing: Drawing, on: frozenset[str]) -> tuple[Levels, Levels]:
    """The light at every place, of full sun and of lamps, torches and standing lights, while some parts are on."""
    lighting = lighting_of(circuit, drawing, on)
    lit = {place: level for place, level in shining(Room(drawing, circuit.rules)) if _shines(drawing, place, on)}
    return lighting.from_sky().levels, lighting.from_places(lit).levels


def _shines(drawing: Drawing, place: At, on: frozenset[str]) -> bool:
    return drawing.things[place].word == "light" or drawing.name(place) in on


class LayerLight(NamedTuple):
    """The light in one layer while some parts are on. Levels by rows; None where light does not pass."""

    layer: int
    lit: tuple[str, ...]
    """The lamps and torches that are on."""
    by_day: list[list[int | None]]
    at_night: list[list[int | None]]
    of_lamps: list[list[int | None]]
    """Of lamps, torches and standing lights alone."""


def layer_light(circuit: Circuit, drawing: Drawing, layer: int, on: frozenset[str]) -> LayerLight:
    """Every level of a layer: by day, at night, and of lamps alone."""
    lighting = lighting_of(circuit, drawing, on)
    sun, lamps = levels_of(circuit, drawing, on)
    moon = {place: max(level - (FULL_SUN - MOONLIGHT), 0) for place, level in sun.items()}
    shining_parts = (name for name in sorted(on) if name in circuit.by_name)
    lit = tuple(name for name in shining_parts if circuit.by_name[name].light)
    _, rows, columns = drawing.size

    def grid(sky: Levels) -> list[list[int | None]]:
        return [
            [
                None if lighting.meets(place) == "solid" else max(sky.get(place, 0), lamps.get(place, 0))
                for place in ((layer, row, column) for column in range(1, columns + 1))
            ]
            for row in range(1, rows + 1)
        ]

    return LayerLight(layer, lit, grid(sun), grid(moon), grid({}))


def light_at_the_start(circuit: Circuit, started: Circuit, drawing: Drawing, layer: int) -> tuple[LayerLight, int]:
    """Every level of a layer in the first way in which a circuit can start, and in how many ways it can (rule C6).

    `started` is the circuit with the starts that are declared for it.
    """
    program = Program(started)
    ways = starts(program)
    now = None
    if program.motion is not None:
        with suppress(RunRefused):  # then nothing of it runs, and it is shown as drawn
            now = program.motion.start(ways[0].levels)
    return layer_light(circuit, drawing, layer, on_in(program, ways[0].levels, now)), len(ways)
