"""The places that light falls on in a drawing: right above each soil cell, with every path that light comes to it.

What comes and goes (things that are there only while a part is on or off, and blocks that pistons move) is tried in
every state, so that of the paths found the brightest one is among them whatever is there.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import product
from typing import NamedTuple, TypeVar

from circuitcheck.diagnostics import NOWHERE, Diagnostic, error
from circuitcheck.model.drawing import ABOVE, BELOW, At, Drawing, said
from circuitcheck.model.light import FULL, NO_SKY, SKY, STANDING_LIGHT, Condition, Layer, LightPath, Place
from circuitcheck.model.parts.cells import SPREADING, Cell, fading, taking
from circuitcheck.space.flood import Flood
from circuitcheck.space.growing import Growing
from circuitcheck.space.light import Flowing, Head, Lighting, Moved, shining
from circuitcheck.space.room import Room

MOST_COMING = 6
"""How many parts may have things come and go with them in one drawing: every state of them is looked at."""
MOST_PARTS = 8
"""On how many parts the light at one place may hang."""


Comes = TypeVar("Comes", bound="Moved | Head | Coming")
"""A block that is moved, a head, or things that come and go with a part."""


class Lit(NamedTuple):
    """The places of a drawing that light falls on, and for each cell the name of its place."""

    places: tuple[Place, ...]
    of_cell: dict[str, str]
    mistakes: tuple[Diagnostic, ...] = ()


_KEPT: deque[tuple[Drawing, object, Lit]] = deque(maxlen=4)


def lit_places(
    room: Room,
    cells: Sequence[tuple[At, Cell]],
    moved: Sequence[Moved | Head],
    water: Flowing,
    every_light: bool = False,
) -> Lit:
    """The light on cells: those on which it falls alike, from the same paths, share a place.

    The last few are kept: a drawing is read again under settings that have no say in light.
    """
    rules = room.rules
    settings = (rules.water_takes, rules.half_blocks_stop_light, rules.change_needs_light, rules.flow_fades)
    of_cells = tuple((at, cell.at_place("")) for at, cell in cells)  # by which name its place is known has no say
    asked = (settings, of_cells, tuple(moved), dict(water), every_light)
    for drawing, known, lit in _KEPT:
        if drawing is room.drawing and known == asked:
            return lit
    found = _worked_out(room, cells, moved, water, every_light)
    _KEPT.append((room.drawing, asked, found))
    return found


def _worked_out(
    room: Room, cells: Sequence[tuple[At, Cell]], moved: Sequence[Moved | Head], water: Flowing, every_light: bool
) -> Lit:
    """The light on cells.

    Of water that flows two states are looked at, all its places wet and all dry: between them the brightest path may be
    one through places that are dry while others are not, and the light is then taken to be that of the paths found.
    """
    if not cells:
        return Lit((), {})
    least = {ABOVE.from_(place): 1 if every_light else _least_that_matters(room, cell) for place, cell in cells}
    if len(_parts_of(room, moved)) > MOST_COMING:
        room = _still(room, moved, water, least)
    moved = _to_try(room, moved, water, least)
    coming = _parts_of(room, moved)
    if len(coming) > MOST_COMING:
        message = f"things come and go with {len(coming)} parts, and the program follows {MOST_COMING} at most"
        return Lit((), {}, (error("CKT602", room.drawing.span, message, "let some of them be there all the time"),))
    paths: dict[At, dict[LightPath, None]] = {ABOVE.from_(cell): {} for cell, _ in cells}
    fully = room.rules.flow_fades == "full"
    for wet, *states in product((False, True) if water else (False,), *((False, True) for _ in coming)):
        lit = {**dict(zip(coming, states, strict=True)), **dict.fromkeys(water.values(), wet)}
        lighting = Lighting(room, lit.__getitem__, moved, water)
        for place, path in _paths(room, lighting, least):
            paths[place][_may_be_full(path, water.get(place, "")) if fully else path] = None
            # The sky, and standing lights, are no parts.
            if len({each.source for each in paths[place]}) > MOST_PARTS + 2:
                return _too_many(room, place)
    return _shared(room, cells, {place: tuple(found) for place, found in paths.items()})


def _to_try(room: Room, moved: Sequence[Moved | Head], water: Flowing, least: Mapping[At, int]) -> list[Moved | Head]:
    """What is tried at each of its places: of heads, and where there is much else, only what may matter to a cell."""
    many = len(_parts_of(room, moved)) > MOST_COMING
    if not many and not any(isinstance(each, Head) for each in moved):
        return list(moved)
    matter = set(_that_matter(room, moved, moved, water, least))
    return [each for each in moved if each in matter or not (many or isinstance(each, Head))]


class Coming(NamedTuple):
    """The things that come and go with one part, by their places."""

    part: str
    places: tuple[At, ...]


def _still(room: Room, moved: Sequence[Moved | Head], water: Flowing, least: Mapping[At, int]) -> Room:
    """A room in which what comes and goes without a say in the light at any cell always stands."""
    by_part: dict[str, list[At]] = {}
    for place, thing in room.drawing.things.items():
        if thing.when is not None:
            by_part.setdefault(thing.when.part, []).append(place)
    coming = [Coming(part, tuple(places)) for part, places in by_part.items()]
    matter = {each.part for each in _that_matter(room, coming, moved, water, least)}
    things = {
        place: replace(thing, when=None) if thing.when is not None and thing.when.part not in matter else thing
        for place, thing in room.drawing.things.items()
    }
    return Room(replace(room.drawing, things=things), room.rules)


def with_a_say(
    room: Room, cells: Sequence[tuple[At, Cell]], moved: Sequence[Moved | Head], water: Flowing
) -> list[Moved | Head]:
    """What is moved, or comes out as a head, that light at a cell, or what holds it back there, may depend on."""
    return list(_that_matter(room, moved, moved, water, {ABOVE.from_(place): 1 for place, _ in cells}))


def _may_be_full(path: LightPath, water: str) -> LightPath:
    """A path to a place above a cell, to which water may flow: whether that is full matters to the cell (rule Z9)."""
    if not water or not path.layers:
        return path
    return path._replace(layers=(*path.layers[:-1], path.layers[-1]._replace(full=f"{water}{FULL}")))


def _parts_of(room: Room, moved: Sequence[Moved | Head]) -> list[str]:
    """The parts that things come and go with."""
    return list(dict.fromkeys([*_coming(room), *(each.part for each in moved)]))


def _that_matter(
    room: Room, asked: Sequence[Comes], moved: Sequence[Moved | Head], water: Flowing, least: Mapping[At, int]
) -> Iterator[Comes]:
    """Of what is asked about, what may matter to a cell: light passing where it comes may be the brightest there.

    It is not if it is below what decides anything, or if as much comes from the sky by another way even when all is at
    its darkest. As light is followed where all is at its brightest, no two blocks can matter only together.
    """
    darkest, brightest = Lighting.bounds(room, moved, water)
    always, sky = darkest.from_sky(), brightest.from_sky()
    decides = min(least.values(), default=1)
    shone = [brightest.from_places({place: level}, decides) for place, level in shining(room)]
    for each in asked:
        places = each.places
        if not least.keys().isdisjoint(places):
            yield each  # right above a cell it holds light back, however dark it is there
            continue
        from_sky = {place: sky.levels.get(place, 0) for place in places}
        of_sky = brightest.from_places(from_sky, decides, sky=True).levels
        from_parts = [{place: flood.levels[place] for place in places if place in flood.levels} for flood in shone]
        of_parts = [brightest.from_places(given, decides).levels for given in from_parts if given]
        if any(
            of_sky.get(place, 0) > max(always.levels.get(place, 0), needed - 1)
            or any(levels.get(place, 0) >= needed for levels in of_parts)
            for place, needed in least.items()
        ):
            yield each


def _coming(room: Room) -> Iterator[str]:
    return (thing.when.part for thing in room.drawing.things.values() if thing.when is not None)


def _least_that_matters(room: Room, cell: Cell) -> int:
    """The least level of light that decides anything at a cell: a lamp that gives less there changes nothing."""
    needs = [SPREADING, *(change.need for change in cell.becomes)]
    needs += [fading(room.rules)] if cell.fades else []
    needs += [taking(room.rules)] if cell.grows else []
    return min(level for need in needs for level in (need.least, need.most + 1) if level > 0)


def _paths(room: Room, lighting: Lighting, least: Mapping[At, int]) -> Iterator[tuple[At, LightPath]]:
    sky = lighting.from_sky()
    for place in least:
        reached = place in sky.levels and not lighting.half_at(place)
        layers = lighting.layers_of(sky, place, sky=True) if reached else _dark(lighting, place)
        yield place, LightPath(SKY, layers, words(SKY, layers) if reached else NO_SKY)
    standing: dict[At, tuple[int, LightPath]] = {}
    quarters = _quarters(least)
    for shines, level in shining(room):
        thing = room.at(shines)
        assert thing is not None
        near = {place: 1 if thing.word == "light" else least[place] for place in _near(quarters, shines)}
        near = {place: needed for place, needed in near.items() if level - _apart(shines, place) >= needed}
        if not near:
            continue
        flood = lighting.from_places({shines: level}, min(near.values()))
        for place, needed in near.items():
            here = 0 if lighting.half_at(place) else flood.levels.get(place, 0)
            if thing.word == "light":
                if here > standing.get(place, (0, None))[0]:
                    standing[place] = (here, _path(lighting, flood, place, STANDING_LIGHT))
            elif here >= needed:
                yield place, _path(lighting, flood, place, room.drawing.name(shines))
    yield from ((place, path) for place, (_, path) in standing.items())


def _path(lighting: Lighting, flood: Flood, place: At, source: str) -> LightPath:
    layers = lighting.layers_of(flood, place, sky=False)
    return LightPath(source, layers, words(source, layers))


def _dark(lighting: Lighting, place: At) -> tuple[Layer, ...]:
    """A path for a place that no light of the sky comes to; it ends in what stands there."""
    last = lighting.standing(place)
    return (last,) if last.thing in ("solid", "half") and last.when is None else (Layer(1, "solid"), last)


Quarters = Mapping[At, Sequence[At]]
"""Places by the quarter of the drawing that they lie in, each as wide as light reaches."""


def _quarter(place: At) -> At:
    return (place[0] >> 4, place[1] >> 4, place[2] >> 4)


def _quarters(places: Iterable[At]) -> Quarters:
    found: dict[At, list[At]] = {}
    for place in places:
        found.setdefault(_quarter(place), []).append(place)
    return found


def _near(quarters: Quarters, place: At) -> Iterator[At]:
    """The places in the same quarter as a place, or in one beside it."""
    layer, row, column = _quarter(place)
    for up, south, east in product((-1, 0, 1), repeat=3):
        yield from quarters.get((layer + up, row + south, column + east), ())


def _apart(one: At, other: At) -> int:
    return abs(one[0] - other[0]) + abs(one[1] - other[1]) + abs(one[2] - other[2])


def words(source: str, layers: Iterable[Layer]) -> str:
    """A path of light as an author would write it."""
    said_of = ", ".join(_layer(layer) for layer in layers)
    return f"{source} through {said_of}" if said_of else source


def _layer(layer: Layer) -> str:
    number = f"{layer.number} " if layer.number > 1 else ""
    others = "".join(f" or {each.thing}{_when(each.when)}" for each in layer.others)
    return f"{number}{layer.thing}{_when(layer.when)}{others}"


def _when(when: Condition | None) -> str:
    return "" if when is None else f" when {when.part}{'' if when.on else ' off'}"


def _too_many(room: Room, above: At) -> Lit:
    cell = BELOW.from_(above)
    span = room.drawing.spans.get(cell, NOWHERE)
    message = f"the light above {said(cell)} depends on more than {MOST_PARTS} parts"
    return Lit((), {}, (error("CKT602", span, message, "shut lamps and torches off from it by solid blocks"),))


def _shared(room: Room, cells: Sequence[tuple[At, Cell]], paths: Mapping[At, tuple[LightPath, ...]]) -> Lit:
    places: dict[tuple[LightPath, ...], Place] = {}
    of_cell: dict[str, str] = {}
    for cell, part in cells:
        above = ABOVE.from_(cell)
        span = room.drawing.spans.get(cell, NOWHERE)
        place = places.setdefault(paths[above], Place(Growing.place_above(cell), paths[above], span))
        of_cell[part.name] = place.name
        if len(place.parts) > MOST_PARTS:
            return _too_many(room, above)
    return Lit(tuple(places.values()), of_cell)
