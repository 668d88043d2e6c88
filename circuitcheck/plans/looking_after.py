"""What laying a circuit out brings with it: what stands elsewhere, is heard, tiles, is lit, and how it is built.

A smaller drawing keeps what its file claims. What no claim is about is looked at here, in the drawing before and in
the one there is now: so that a smaller box is never had at a price that nobody says.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from typing import NamedTuple

from circuitcheck.checks.drawing.lighting import light_differences
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.drawing import At, Drawing
from circuitcheck.model.parts.cells import cells_of
from circuitcheck.plans.building import Built, build_up
from circuitcheck.plans.hearing import listeners, seen_changing
from circuitcheck.plans.tiling import NotReckoned, Offset, meddlings

SIDES = {"above": (1, 0, 0), "south": (0, 1, 0), "east": (0, 0, 1)}
"""On which sides a copy is put, in layers, rows and columns; what holds on one side holds on the opposite one."""
WIDEST = 3
"""How many places are left between two copies at most."""
MOST_COPIED = 2_000
"""Of more things than this no copies are put beside each other."""


class Laid(NamedTuple):
    """A drawing, the circuit read out of it, the one that it is held against, and where the parts of that stand."""

    drawing: Drawing
    circuit: Circuit
    meant: Circuit | None
    where: Mapping[str, At]

    @property
    def parts(self) -> list[str]:
        """The names of what stands there as a part: no dust, and no block through which power passes."""
        return [name for name, at in self.where.items() if self.drawing.things[at].is_part]


class Elsewhere(NamedTuple):
    """A part that stands elsewhere, or faces another way, than most others have been moved."""

    name: str
    before: At
    now: At


class Hears(NamedTuple):
    """What a detector, or a piston that can be stuck, hears."""

    listener: str
    what: str
    meant: bool | None
    """Whether the circuit names it; None where only the drawing says what is meant."""


class Copies(NamedTuple):
    """How many places are to be left between two copies so that they leave each other alone; None for more than 3."""

    side: str
    before: int | None
    now: int | None


class LookedAt(NamedTuple):
    """What no claim is about, of a drawing and of the one before it, if there was one."""

    now: Laid
    before: Laid | None
    built: Built
    listens: bool
    """Whether anything in it hears."""
    hears: tuple[Hears, ...]
    """What is heard now and was not before; without a drawing before, what is heard and not meant."""
    hears_no_more: tuple[Hears, ...]
    copies: tuple[Copies, ...]
    """For each side; none where they are not looked at."""
    light: tuple[str, ...]
    """In what the light on cells differs."""
    has_cells: bool
    unsaid: tuple[str, ...]
    """What the author said of layers before, and nobody says of those that there are now."""
    shift: At
    """By how many layers, rows and columns most parts have been moved."""
    elsewhere: tuple[Elsewhere, ...]
    """The parts that have been moved otherwise."""


def looked_at(now: Laid, before: Laid | None) -> LookedAt:
    """Looks at a drawing, and at how it was before."""
    heard, had = _heard(now), set[Hears]() if before is None else _heard(before)
    unmeant = {each for each in heard if each.meant is False}
    shift, elsewhere = ((0, 0, 0), ()) if before is None else _elsewhere(before, now)
    return LookedAt(
        now,
        before,
        build_up(now.circuit, now.drawing, now.meant or now.circuit),
        bool(heard or had),
        tuple(sorted(unmeant if before is None else heard - had, key=str)),
        tuple(sorted(had - heard, key=str)),
        tuple(_copies(before, now)),
        () if before is None else tuple(_light(before, now)),
        any(True for _ in cells_of(now.circuit.parts)),
        () if before is None else tuple(each for each in _said(before.drawing) if each not in _said(now.drawing)),
        shift,
        elsewhere,
    )


def _elsewhere(before: Laid, now: Laid) -> tuple[At, tuple[Elsewhere, ...]]:
    """How most parts have been moved, and which of them otherwise, or turned."""
    both = [name for name in before.parts if name in now.parts]
    ways = {name: _from(before.where[name], now.where[name]) for name in both}
    shift = min(Counter(ways.values()).items(), key=lambda each: (-each[1], each[0]), default=((0, 0, 0), 0))[0]
    return shift, tuple(
        Elsewhere(name, before.where[name], now.where[name])
        for name in both
        if ways[name] != shift or _stands(before, name) != _stands(now, name)
    )


def _said(drawing: Drawing) -> dict[str, None]:
    """What the author says of layers, each once, in order."""
    return {words: None for _, several in sorted(drawing.words.items()) for words in several}


def _from(one: At, other: At) -> At:
    return other[0] - one[0], other[1] - one[1], other[2] - one[2]


def _stands(laid: Laid, name: str) -> tuple[object, object]:
    thing = laid.drawing.things[laid.where[name]]
    return thing.facing, thing.on


def _heard(laid: Laid) -> set[Hears]:
    """Everything that is heard, by what the parts of the circuit are called."""
    called = {place: name for name, place in laid.where.items()}
    names = {laid.drawing.name(place): called.get(place, laid.drawing.name(place)) for place in laid.drawing.things}
    found = set()
    for listener in listeners(laid.circuit, laid.drawing, laid.meant):
        for heard in listener.heard:
            sources = (
                seen_changing(laid.circuit, laid.drawing, heard.place) if heard.place in laid.drawing.things else ()
            )
            whats = sources or {heard.what}
            found |= {Hears(names[listener.name], names.get(each, each), heard.wanted) for each in whats}
    return found


def _copies(before: Laid | None, now: Laid) -> Iterator[Copies]:
    """How far apart copies must stand, on each side."""
    if any(laid is not None and len(laid.drawing.things) > MOST_COPIED for laid in (before, now)):
        return
    for side, way in SIDES.items():
        try:
            yield Copies(side, None if before is None else _apart(before, way), _apart(now, way))
        except NotReckoned:
            return


def _apart(laid: Laid, way: At) -> int | None:
    """How many places are to be left between a drawing and its copy on a side; None for more than are tried."""
    sizes = laid.drawing.extent
    for apart in range(WIDEST + 1):
        layers, rows, columns = (each * (size + apart) for each, size in zip(way, sizes, strict=True))
        if not meddlings(laid.circuit, laid.drawing, Offset(layers, rows, columns)):
            return apart
    return None


def _light(before: Laid, now: Laid) -> Iterator[str]:
    """In what the light on cells differs from how it was."""
    both = [name for name in before.where if name in now.where]
    pairs = {before.drawing.name(before.where[name]): now.drawing.name(now.where[name]) for name in both}
    for words in light_differences(before.circuit, now.circuit, pairs):
        yield words.replace("in the circuit", "before").replace("in the drawing", "now")
