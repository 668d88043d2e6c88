"""The light at each place, block by block, against what its cells take; and what one block more or less would do."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import islice
from typing import NamedTuple

from circuitcheck.chance.light.states import Rows, cover
from circuitcheck.checks.sensing import changes, rows
from circuitcheck.engine.light import Daylight, Reaching, can_be, dimmed, held_back
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.light import FULL, FULL_SUN, MOONLIGHT, NO_SKY, WEATHER, Layer, LightPath, Place, Stretch
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
"""How many states of the parts are shown of one place, block by block, if no more than these give different light."""
MOST_STATES = 1024
"""How many states of the parts are looked at."""


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


class Level(NamedTuple):
    """Some states of the parts that give one and the same light."""

    when: Rows
    """Which of the states of its outcome they are: the parts are as one of these rows says."""
    setup: Setup
    """One of them."""
    states: int


class Outcome(NamedTuple):
    """All states of the parts in which the cells can do the same, under each of the skies and at the same times."""

    when: Rows
    """The parts are as one of these rows says; one row that says nothing stands for every state."""
    levels: tuple[Level, ...]
    """By the light that these give."""

    @property
    def setup(self) -> Setup:
        """One of the states."""
        return self.levels[0].setup

    @property
    def states(self) -> int:
        """How many there are."""
        return sum(level.states for level in self.levels)


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
    """Of some states of its parts, or of all: at least one of each light that these give."""
    outcomes: tuple[Outcome, ...]
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
    lighting = _Lighting(circuit)
    for place in circuit.places:
        demands = tuple(_demands(circuit, place.name))
        alike = lighting.alike(place, islice(_states(place.parts), MOST_STATES))
        shown = dict.fromkeys([*(states[0] for states in alike), *islice(_states(place.parts), MOST_SETUPS)])
        chosen = sorted(list(shown)[: max(MOST_SETUPS, len(alike))])
        setups = tuple(lighting.setup(place, _lit(place.parts, state), demands) for state in chosen)
        outcomes = tuple(_outcomes(place.parts, alike, dict(zip(chosen, setups, strict=True))))
        left_out = _how_many(place.parts) - len(setups)
        others = tuple(_others(lighting, place, demands, setups))
        yield PlaceLight(place, setups, outcomes, others, left_out, dim_left_out)


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


class _Lighting:
    """The light at the places of a circuit, under each of the skies and through a day."""

    def __init__(self, circuit: Circuit) -> None:
        self._daylight = Daylight(circuit)
        self._stretches = tuple(circuit.cycle.stretches())
        self._skies = sorted({sky for _, sky in COLUMNS} | {stretch.sky for stretch in self._stretches})

    def setup(self, place: Place, lit: dict[str, bool], demands: Sequence[Demand]) -> Setup:
        """The light while the parts are on and off so."""
        reaching = self._daylight.reaching(place, lit.__getitem__)
        rays = tuple(self._ray(path, lit) for path in place.paths)
        changing = {
            phase: tuple(reaching.under(stretch.sky) for stretch in self._stretches if stretch.phase == phase)
            for phase in ("dusk", "dawn")
        }
        return Setup(
            tuple(lit.items()), rays, _under_each(reaching), changing, self._met(place, reaching, lit, demands)
        )

    def turned(self, place: Place, setup: Setup, demands: Sequence[Demand]) -> tuple[tuple[int, ...], tuple[Met, ...]]:
        """Of a place that is otherwise than in a setup: the light under each of the skies, and what is met there."""
        lit = dict(setup.parts)
        reaching = self._daylight.reaching(place, lit.__getitem__)
        return _under_each(reaching), self._met(place, reaching, lit, demands)

    def alike(self, place: Place, states: Iterable[int]) -> list[list[int]]:
        """States of the parts, those together that give the same light under each sky and the same right above."""
        found: dict[tuple[HeldBack, tuple[int, ...]], list[int]] = {}
        for state in states:
            lit = _lit(place.parts, state).__getitem__
            reaching = self._daylight.reaching(place, lit)
            found.setdefault((held_back(place, lit), tuple(map(reaching.under, self._skies))), []).append(state)
        return list(found.values())

    def _ray(self, path: LightPath, lit: dict[str, bool]) -> Ray:
        blocks = (
            Block(thing, tuple(dimmed(level, path, sky) for _, sky in COLUMNS))
            for thing, level in self._daylight.along(path, lit.__getitem__)
        )
        return Ray(path.words, tuple(blocks))

    def _met(
        self, place: Place, reaching: Reaching, lit: dict[str, bool], demands: Sequence[Demand]
    ) -> tuple[Met, ...]:
        held = held_back(place, lit.__getitem__)
        return tuple(_met(self._stretches, demand, reaching, held) for demand in demands)


def _under_each(reaching: Reaching) -> tuple[int, ...]:
    return tuple(reaching.under(sky) for _, sky in COLUMNS)


def _outcomes(parts: Sequence[str], alike: Sequence[list[int]], setups: Mapping[int, Setup]) -> Iterator[Outcome]:
    """The states that were looked at, those together in which the cells can do the same."""
    groups: dict[tuple[object, ...], list[list[int]]] = {}
    for states in alike:
        key = tuple((met.held_back, met.so, met.times) for met in setups[states[0]].met)
        groups.setdefault(key, []).append(states)
    for group in groups.values():
        inside = {state for states in group for state in states}
        outside = [state for states in alike for state in states if state not in inside]
        levels = tuple(
            Level(cover(parts, states, inside.difference(states)), setups[states[0]], len(states)) for states in group
        )
        yield Outcome(cover(parts, sorted(inside), outside), levels)


def _states(parts: Sequence[str]) -> Iterator[int]:
    """Every state that some parts can be in, a bit for each that is on; all of them off first."""
    return (number for number in range(2 ** len(parts)) if can_be(_lit(parts, number)))


def _how_many(parts: Sequence[str]) -> int:
    """How many states some parts can be in: water that may be full has three."""
    full = sum(part.endswith(FULL) for part in parts)
    return int(3**full * 2 ** (len(parts) - 2 * full))


def _lit(parts: Sequence[str], state: int) -> dict[str, bool]:
    return {part: bool(state >> bit & 1) for bit, part in enumerate(parts)}


def _met(stretches: Sequence[Stretch], demand: Demand, reaching: Reaching, held: HeldBack) -> Met:
    need, light = demand.need, _under_each(reaching)
    least, most = need.least > 0, need.most < FULL_SUN
    spare = tuple(
        min([*([level - need.least] if least else []), *([need.most - level] if most else [])], default=0)
        for level in light
    )
    times: list[tuple[int, int]] = []
    for stretch in stretches:
        if need.met(reaching.under(stretch.sky), held):
            if times and times[-1][1] == stretch.begin:
                times[-1] = (times[-1][0], stretch.end)
            else:
                times.append((stretch.begin, stretch.end))
    so = tuple(need.met(level, held) for level in light)
    return Met(demand, so, spare if least or most else None, need.fits(held), tuple(times))


def _others(lighting: _Lighting, place: Place, demands: Sequence[Demand], setups: Sequence[Setup]) -> Iterator[Other]:
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
                found = [lighting.turned(changed, setup, demands) for setup in setups]
                turns = tuple(
                    (at, met)
                    for at, (before, (_, after)) in enumerate(zip(setups, found, strict=True))
                    for was, met in zip(before.met, after, strict=True)
                    if was.so != met.so
                )
                where = " right above" if last else f" on the way from {path.source}" if len(place.paths) > 1 else ""
                words = f"one {layer.thing} {word}{where}"
                yield Other(words, tuple(light for light, _ in found), turns)


def _with(place: Place, path: int, position: int, layer: Layer) -> Place:
    """A place with one layer of a path changed; one of no blocks is left out."""
    changed = place.paths[path]
    put = (layer,) if layer.number else ()
    layers = (*changed.layers[:position], *put, *changed.layers[position + 1 :])
    paths = (*place.paths[:path], changed._replace(layers=layers), *place.paths[path + 1 :])
    return place._replace(paths=paths)
