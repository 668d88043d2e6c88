"""The light at each place, block by block, against what its cells take; and what one block more or less would do."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import islice
from typing import NamedTuple

from circuitcheck.checks.sensing import changes, rows
from circuitcheck.engine.light import Daylight, can_be, dimmed, held_back
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.light import FULL_SUN, MOONLIGHT, NO_SKY, WEATHER, Layer, LightPath, Place
from circuitcheck.model.parts.cells import SPREADING, HeldBack, Need, cells_of
from circuitcheck.space.circuit import read

COLUMNS = (
    ("day", FULL_SUN),
    ("wet", FULL_SUN - WEATHER["wet"]),
    ("stormy", FULL_SUN - WEATHER["stormy"]),
    ("night", MOONLIGHT),
)
"""The skies that are shown, with their levels; wet and stormy by day."""
MOST_SETUPS = 16
"""How many ways for the parts to be on and off are shown of one place."""


class Block(NamedTuple):
    """The source of a path or a block on it, with the light there under each of the skies."""

    thing: str
    levels: tuple[int, ...]


class Ray(NamedTuple):
    """One path of light to a place."""

    words: str
    blocks: tuple[Block, ...]


class Demand(NamedTuple):
    """Something that cells at a place can do, and what it takes there."""

    row: str
    words: str
    """As in "it can …"."""
    rule: str
    need: Need
    cells: tuple[str, ...]
    reach: tuple[int, int] | None = None
    """Of growing: how many cells can grow over each of them, or how many each of them can grow over; least and most."""


class Met(NamedTuple):
    """Whether a demand is met under each of the skies, and when in a day."""

    demand: Demand
    so: tuple[bool, ...]
    to_spare: tuple[int, ...] | None
    """By how many levels of light it is met; below 0, how many are lacking. None where any light will do."""
    held_back: bool
    """Whether the block above the cells is as it takes."""
    times: tuple[tuple[int, int], ...]
    """In fair weather: from when to when in gt of the cycle, not counting the end."""


class Setup(NamedTuple):
    """The light while the parts that it depends on are in one state."""

    parts: tuple[tuple[str, bool], ...]
    rays: tuple[Ray, ...]
    light: tuple[int, ...]
    changing: dict[str, tuple[int, ...]]
    """In fair weather, the light at each step of dusk and of dawn; empty for one that has no length."""
    met: tuple[Met, ...]


class Other(NamedTuple):
    """What one block more or less would do."""

    words: str
    light: tuple[tuple[int, ...], ...]
    """For each setup, the light under each of the skies."""
    turns: tuple[tuple[int, Met], ...]
    """The demands that come out otherwise under some sky: the number of the setup, and how they come out."""


class PlaceLight(NamedTuple):
    """All about the light at one place."""

    place: Place
    setups: tuple[Setup, ...]
    others: tuple[Other, ...]
    left_out: int
    """How many further states of the parts there are."""
    dim_left_out: bool
    """Whether lamps that decide nothing there are left out, as all the light depends on too many parts."""


def budgets(circuit: Circuit) -> Iterator[PlaceLight]:
    """The light at each place of a circuit; a drawing is read with all its light for it."""
    full = _fully_lit(circuit)
    dim_left_out = full is None
    circuit = full or circuit
    for place in circuit.places:
        demands = tuple(_demands(circuit, place.name))
        setups = tuple(_setups(circuit, place, place.parts, demands))
        left_out = sum(1 for _ in _states(place.parts)) - len(setups)
        yield PlaceLight(place, setups, tuple(_others(circuit, place, demands, setups)), left_out, dim_left_out)


def _fully_lit(circuit: Circuit) -> Circuit | None:
    """A circuit with the light that decides nothing as well; None where too many parts give some."""
    if circuit.drawing is None:
        return circuit
    fully = read(circuit.drawing, circuit.rules, circuit.name, every_light=True)
    return None if fully.mistakes else replace(circuit, parts=fully.circuit.parts, places=fully.circuit.places)


def _demands(circuit: Circuit, place: str) -> Iterator[Demand]:
    over = Counter(name for cell in cells_of(circuit.parts) for name in cell.grows)
    for row, cells in rows(circuit).items():
        if cells[0].place != place:
            continue
        names = tuple(cell.name for cell in cells)
        for change in changes(circuit, cells):
            from_ = [len(cell.grows) for cell in cells if change.sources]
            yield Demand(row, change.words, change.rule, change.need, names, _between(from_))
        if any(name in over for name in names):
            yield Demand(row, "grow over others", "X3", SPREADING, names, _between([over[name] for name in names]))


def _between(numbers: Sequence[int]) -> tuple[int, int] | None:
    return (min(numbers), max(numbers)) if numbers else None


def _setups(circuit: Circuit, place: Place, parts: Sequence[str], demands: Sequence[Demand]) -> Iterator[Setup]:
    daylight = Daylight(circuit)
    for lit in islice(_states(parts), MOST_SETUPS):
        rays = tuple(_ray(daylight, path, lit) for path in place.paths)
        skies = [sky for _, sky in COLUMNS]
        light = tuple(daylight.light(place, sky, lit.__getitem__) for sky in skies)
        changing = {
            phase: tuple(
                daylight.light(place, stretch.sky, lit.__getitem__)
                for stretch in circuit.cycle.stretches()
                if stretch.phase == phase
            )
            for phase in ("dusk", "dawn")
        }
        held = held_back(place, lit.__getitem__)
        met = tuple(_met(circuit, daylight, place, demand, light, held, lit) for demand in demands)
        yield Setup(tuple(lit.items()), rays, light, changing, met)


def _states(parts: Sequence[str]) -> Iterator[dict[str, bool]]:
    """Every state that some parts can be in, all of them off first."""
    for number in range(2 ** len(parts)):
        lit = {part: bool(number >> each & 1) for each, part in enumerate(parts)}
        if can_be(lit):
            yield lit


def _ray(daylight: Daylight, path: LightPath, lit: dict[str, bool]) -> Ray:
    blocks = (
        Block(thing, tuple(dimmed(level, path, sky) for _, sky in COLUMNS))
        for thing, level in daylight.along(path, lit.__getitem__)
    )
    return Ray(path.words, tuple(blocks))


def _met(
    circuit: Circuit,
    daylight: Daylight,
    place: Place,
    demand: Demand,
    light: Sequence[int],
    held: HeldBack,
    lit: dict[str, bool],
) -> Met:
    need = demand.need
    least, most = need.least > 0, need.most < FULL_SUN
    spare = tuple(
        min([*([level - need.least] if least else []), *([need.most - level] if most else [])], default=0)
        for level in light
    )
    times: list[tuple[int, int]] = []
    for stretch in circuit.cycle.stretches():
        if need.met(daylight.light(place, stretch.sky, lit.__getitem__), held):
            if times and times[-1][1] == stretch.begin:
                times[-1] = (times[-1][0], stretch.end)
            else:
                times.append((stretch.begin, stretch.end))
    so = tuple(need.met(level, held) for level in light)
    return Met(demand, so, spare if least or most else None, need.fits(held), tuple(times))


def _others(circuit: Circuit, place: Place, demands: Sequence[Demand], setups: Sequence[Setup]) -> Iterator[Other]:
    for number, path in enumerate(place.paths):
        if path.words == NO_SKY:
            continue  # how many blocks keep it out is not known, and one less lets in nothing
        for position, layer in enumerate(path.layers):
            last = position == len(path.layers) - 1 and len(place.paths) > 1
            if last and number:
                continue  # the last block is one for all paths, and is reported once
            for step, word in ((1, "more"), (-1, "less")):
                changed = place
                for each in range(len(place.paths)) if last else (number,):
                    at = len(place.paths[each].layers) - 1 if last else position
                    more = place.paths[each].layers[at]
                    changed = _with(changed, each, at, more._replace(number=more.number + step))
                found = tuple(_setups(circuit, changed, place.parts, demands))
                turns = tuple(
                    (at, met)
                    for at, (before, after) in enumerate(zip(setups, found, strict=True))
                    for was, met in zip(before.met, after.met, strict=True)
                    if was.so != met.so
                )
                where = " right above" if last else f" on the way from {path.source}" if len(place.paths) > 1 else ""
                words = f"one {layer.thing} {word}{where}"
                yield Other(words, tuple(setup.light for setup in found), turns)


def _with(place: Place, path: int, position: int, layer: Layer) -> Place:
    """A place with one layer of a path changed; one of no blocks is left out."""
    changed = place.paths[path]
    put = (layer,) if layer.number else ()
    layers = (*changed.layers[:position], *put, *changed.layers[position + 1 :])
    paths = (*place.paths[:path], changed._replace(layers=layers), *place.paths[path + 1 :])
    return place._replace(paths=paths)
