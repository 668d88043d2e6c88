"""The build from a corner as SVG: each shape is drawn once, and stands at each place where such a thing is seen.

Each thing is a group that carries its place as `data-at`, with a title that says what it is and a description that says
where, for those who can't see the picture.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import groupby
from types import MappingProxyType
from typing import NamedTuple
from xml.etree import ElementTree
from xml.etree.ElementTree import Element

from circuitcheck.model.block_type import Form
from circuitcheck.model.drawing import At, Direction, Drawing, said
from circuitcheck.plans.solids import Cut, Solid, bounds
from circuitcheck.report.exchange.svg import INK, MARGIN, svg, text, written
from circuitcheck.report.lines import safe
from circuitcheck.report.sheet import Look, as_drawn
from circuitcheck.report.solid.bodies import Point, Tone
from circuitcheck.report.solid.shapes import fills, see_through
from circuitcheck.report.solid.view import Corner, Flat, Kept, Shown, Side, on_paper, painted, shown, shown_in

EDGE = 24
"""How long a side of a place is drawn."""
LABELS, BELOW = 60, 28
"""How much room there is on both sides of the build for the names of layers, and below it for numbers."""
MOST_SHOWN = 20_000
"""How many things are drawn at most."""
EVERY, MOST_NUMBERS = 5, 24
"""Of a side longer than this many places, only the numbers of every fifth are written."""
NARROWEST = 270
"""How wide a sheet is at least, for the names of two sides beside one another."""
FAINT = "#595959"
LIGHT = (0.55, 0.25, 0.0)
"""How much lighter a face is that looks up, to the right or to the left, in parts of the way to white."""


Looks = Mapping[At, Look]
"""What is seen at the places that are not as drawn."""
Depths = Mapping[At, Iterable[int]]
"""The levels that water comes to at the places that it can flow to."""


class TooMuchToShow(Exception):
    """More things are seen than are drawn; the text says how many, and what to do."""


class Asked(NamedTuple):
    """How a build is looked at."""

    corner: Corner = Corner.SOUTH_EAST
    apart: int = 0
    """How many empty layers are put between two."""
    cut: Cut = Cut()
    letters: bool = False


def solid_svg(drawing: Drawing, solids: Mapping[At, Solid], name: str, asked: Asked) -> str:
    """The picture as text. Raises TooMuchToShow."""
    return written(solid_picture(drawing, solids, name, asked))


def solid_picture(
    drawing: Drawing, solids: Mapping[At, Solid], name: str, asked: Asked, prefix: str = "shape"
) -> Element:
    """The picture; its shapes have names that begin with a prefix, for pages with several. Raises TooMuchToShow."""
    view = View(drawing, name, asked, prefix)
    return view.picture(view.seen(solids))


class View:
    """One way of looking at a build. The names of its shapes stay, so that a picture can be changed piece by piece."""

    def __init__(self, drawing: Drawing, name: str, asked: Asked, prefix: str = "shape") -> None:
        self._drawing = drawing
        self._name = name
        self._asked = asked
        self._kept = Kept(bounds(drawing.size, asked.cut, asked.corner.value), asked.corner, asked.apart)
        self._sheet = _Sheet(self._kept)
        self._shapes = _Shapes(asked.corner, prefix)

    def seen(self, solids: Mapping[At, Solid]) -> tuple[list[Shown], int]:
        """What is seen of a build, in the order of painting, and how many things are hidden. Raises TooMuchToShow."""
        seen, hidden = shown(solids, self._kept)
        if len(seen) > MOST_SHOWN:
            raise TooMuchToShow(
                f"{len(seen):,} things would be seen at once, and {MOST_SHOWN:,} can be drawn: cut the build (--cut)"
            )
        return seen, hidden

    def picture(self, found: tuple[list[Shown], int], looks: Looks = MappingProxyType({})) -> Element:
        """All that is seen, as one picture."""
        seen, hidden = found
        about = _about(self._kept, self._asked, len(seen), hidden)
        return self._whole(about, ((each.at, self.thing(each, looks.get(each.at))) for each in seen))

    def of_states(
        self, states: Sequence[Mapping[At, Solid]], looks: Mapping[tuple[At, Solid], Look], depths: Depths
    ) -> Element:
        """One picture of several states of a build, such as moments: each thing says in which of them it is seen.

        It says so in `data-in`, by their numbers, unless that is in all. `looks` has what is seen elsewhere than drawn,
        by place and solid. Water of which `depths` knows stands there once for each level, in `data-depth`.
        Raises TooMuchToShow.
        """
        found = shown_in(states, self._kept)
        about = _about(self._kept, self._asked, len(self.seen(states[0])[0]), 0)
        things = []
        for each, numbers in found:
            pool = each.solid.form is Form.POOL and each.at in depths
            for depth in sorted(depths[each.at]) if pool else [each.solid.depth]:
                solid = replace(each.solid, depth=depth)
                made = self.thing(each._replace(solid=solid), looks.get((each.at, solid)))
                if len(numbers) < len(states):
                    made.set("data-in", in_spans(numbers))
                if pool:
                    made.set("data-depth", str(depth))
                things.append((each.at, made))
        return self._whole(about, things)

    def _whole(self, about: str, things: Iterable[tuple[At, Element]]) -> Element:
        kept, asked, sheet = self._kept, self._asked, self._sheet
        root = svg(sheet.width, sheet.height, f"{self._name}, from the {asked.corner.word}", about)
        root.set("role", "graphics-document")
        defs = ElementTree.SubElement(root, "defs")
        _numbers(root, sheet)
        lines = {"stroke": INK, "stroke-width": "0.7", "stroke-linejoin": "round"}
        build = ElementTree.SubElement(root, "g", lines)
        by_layer = {layer: list(each) for layer, each in groupby(things, key=lambda each: each[0][0])}
        for layer in kept.spans[0]:
            group = ElementTree.SubElement(build, "g", {"role": "graphics-object", "aria-label": f"layer {layer}"})
            if asked.apart or layer == 1:
                _floor(group, sheet, layer)
            group.extend(made for _, made in by_layer.get(layer, ()))
        defs.extend(self._shapes.drawn.values())
        return root

    def shape(self, each: Shown) -> Element:
        """The shape that a thing has in this view."""
        return self._shapes.drawn[self._shapes.name(each)]

    def thing(self, each: Shown, look: Look | None = None) -> Element:
        """A thing that is seen: its title, where it is, its shape, and its letter where one asks for that."""
        known = look or as_drawn(self._drawing, each.at)
        assert known is not None
        x, y = self._sheet.at(each.middle)
        marks = {
            "role": "graphics-symbol",
            "data-at": ",".join(map(str, each.at)),
            "transform": f"translate({x:.1f} {y:.1f})",
        }
        if _is_cube(each.solid):
            marks["data-side"] = " ".join(f"{part * EDGE:.1f}" for part in _number_at(each))
        made = Element("g", marks)
        ElementTree.SubElement(made, "title").text = safe(known.words)
        ElementTree.SubElement(made, "desc").text = said(each.at)
        ElementTree.SubElement(made, "use", {"href": f"#{self._shapes.name(each)}"})
        if self._asked.letters:
            _letter(made, known.letter, each)
        return made


def in_spans(numbers: Sequence[int]) -> str:
    """Numbers that grow, in spans: 0-3 7."""
    spans: list[list[int]] = []
    for each in numbers:
        if spans and each == spans[-1][-1] + 1:
            spans[-1][1:] = [each]
        else:
            spans.append([each])
    return " ".join("-".join(map(str, span)) for span in spans)


def _about(kept: Kept, asked: Asked, seen: int, hidden: int) -> str:
    words = f"Seen from the {kept.corner.word} and from above: {seen:,} {'thing' if seen == 1 else 'things'}"
    words += f", with {hidden:,} more hidden behind." if hidden else "."
    if asked.apart:
        words += f" The layers stand {asked.apart} apart."
    cut = " and ".join(f"{word} {number}" for word, number in asked.cut.parts.items())
    return f"{words} Cut at {cut}: what stands before is left out." if cut else words


class _Sheet:
    """Where points are drawn on a sheet that is just large enough."""

    def __init__(self, kept: Kept) -> None:
        self.kept = kept
        layers, rows, columns = (len(span) for span in kept.spans)
        self.up = max((layers - 1) * (1 + kept.gap) + 1, 1)
        along_rows = bool(kept.corner.right.value[1])
        self.right, self.left = (rows, columns) if along_rows else (columns, rows)
        corners = [on_paper((up, a, b)) for up in (0, self.up) for a in (0, self.right) for b in (0, self.left)]
        self._least = (min(x for x, _ in corners), min(y for _, y in corners))
        most = (max(x for x, _ in corners), max(y for _, y in corners))
        self.width = max((most[0] - self._least[0]) * EDGE + 2 * (MARGIN + LABELS), NARROWEST)
        self.height = (most[1] - self._least[1]) * EDGE + 2 * MARGIN + BELOW

    def at(self, point: Point) -> Flat:
        """Where a point (up, a, b) is drawn."""
        x, y = on_paper(point)
        return ((x - self._least[0]) * EDGE + MARGIN + LABELS, (y - self._least[1]) * EDGE + MARGIN)


def _path(points: Iterable[Flat]) -> str:
    return "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in points) + "z"


# The floor of a layer, and numbers


def _floor(group: Element, sheet: _Sheet, layer: int) -> None:
    """The outline of a layer's floor, with its name at the corner on the left."""
    up = (layer - 1) * (1 + sheet.kept.gap)
    rim = [(up, 0, 0), (up, sheet.right, 0), (up, sheet.right, sheet.left), (up, 0, sheet.left)]
    ElementTree.SubElement(group, "path", {"d": _path(map(sheet.at, rim)), "fill": "none", "stroke": "#767676"})
    if sheet.kept.gap:
        x, y = sheet.at((up, 0, sheet.left))
        _label(group, x - 4, y, f"layer {layer}", "end")


def _numbers(root: Element, sheet: _Sheet) -> None:
    """The numbers of rows and columns along the two sides of the lowest layer that are seen, with their names."""
    corner = sheet.kept.corner
    for place, number in _numbered(sheet, corner.right, sheet.right):
        x, y = sheet.at((0, place + 0.5, sheet.left))
        _label(root, x - 5, y + 13, str(number), "end")
    for place, number in _numbered(sheet, corner.left, sheet.left):
        x, y = sheet.at((0, sheet.right, place + 0.5))
        _label(root, x + 5, y + 13, str(number), "start")
    for way, side, x, anchor in (
        (corner.right, corner.left, MARGIN, "start"),
        (corner.left, corner.right, sheet.width - MARGIN, "end"),
    ):
        _label(root, x, sheet.height - MARGIN / 2, f"{_counted(way)}, {side.word} side", anchor)


def _counted(way: Direction) -> str:
    """What is counted along a way."""
    return "rows" if way.value[1] else "columns"


def _numbered(sheet: _Sheet, way: Direction, count: int) -> Iterator[tuple[int, int]]:
    span = sheet.kept.spans[1 if way.value[1] else 2]
    numbers = span if sum(way.value) > 0 else reversed(span)
    for place, number in enumerate(numbers):
        if count <= MOST_NUMBERS or number % EVERY == 0:
            yield place, number


def _label(parent: Element, x: float, y: float, words: str, anchor: str) -> None:
    text(
        parent,
        round(x, 1),
        round(y, 1),
        words,
        **{"font-size": "10", "fill": FAINT, "text-anchor": anchor, "stroke": "none"},
    )


# Things


class _Shapes:
    """The shapes of a picture, each drawn once."""

    def __init__(self, corner: Corner, prefix: str) -> None:
        self.drawn: dict[str, Element] = {}
        """Each shape by its name."""
        self._corner = corner
        self._prefix = prefix
        self._names: dict[tuple[Solid, frozenset[Side]], str] = {}

    def name(self, each: Shown) -> str:
        """What the shape of a thing is called in the picture."""
        key = (each.solid, each.sides)
        if key not in self._names:
            self._names[key] = f"{self._prefix}-{len(self._names) + 1}"
            self._draw(self._names[key], each.solid, each.sides)
        return self._names[key]

    def _draw(self, name: str, solid: Solid, sides: frozenset[Side]) -> None:
        group = self.drawn[name] = Element("g", {"id": name})
        if see_through(solid):
            group.set("fill-opacity", "0.5")
        if solid.comes_and_goes:
            group.set("stroke-dasharray", "2 2")
        for body, faces, ways in painted(solid, self._corner, sides):
            shades = [shade(body.tone, way) for way in ways]
            for fill in dict.fromkeys(shades):
                same = (face for face, each in zip(faces, shades, strict=True) if each == fill)
                outline = "".join(_path((x * EDGE, y * EDGE) for x, y in face) for face in same)
                ElementTree.SubElement(group, "path", {"d": outline, "fill": fill})


def shade(tone: Tone, way: Point) -> str:
    """The colour of a face that looks some way (up, right, left): never darker than its tone, so that lines show.

    What is dark stays dark.
    """
    light = sum(each * part for each, part in zip(way, LIGHT, strict=True))
    part = round(max(0.0, light) * (0.4 if tone is Tone.DARK else 1.0), 1)
    channels = (int(tone.value[each : each + 2], 16) for each in (1, 3, 5))
    return "#" + "".join(f"{round(each + (255 - each) * part):02x}" for each in channels)


MIDDLES = {Side.TOP: (0.5, 0.0, 0.0), Side.RIGHT: (0.0, 0.5, 0.0), Side.LEFT: (0.0, 0.0, 0.5)}


def _is_cube(solid: Solid) -> bool:
    return fills(solid) or see_through(solid)


def _number_at(each: Shown) -> Flat:
    """Where a number is best written on a cube: on a side that looks to the right or left, since things stand on it."""
    return on_paper(MIDDLES[next(side for side in (Side.RIGHT, Side.LEFT, Side.TOP) if side in each.sides)])


def _letter(made: Element, letter: str, each: Shown) -> None:
    """The letter of a thing: on the first side of a cube that is seen, else in the middle of its place."""
    first = next(side for side in Side if side in each.sides)
    x, y = on_paper(MIDDLES[first]) if _is_cube(each.solid) else (0.0, 0.0)
    halo = {"stroke": "#ffffff", "stroke-width": "2.5", "paint-order": "stroke"}
    middle = {"text-anchor": "middle", "font-size": "11", "font-family": "monospace", "font-weight": "bold"}
    text(made, round(x * EDGE, 1), round(y * EDGE + 4, 1), letter, **middle, **halo)
