"""Build sheets: one layer as letters with rulers, and as a picture, if wanted as powered at a moment.

The letters are those of the author's own legend. A level is reported by its number and by a bar as high as it, never by
colour alone.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from textwrap import wrap
from typing import NamedTuple
from xml.etree import ElementTree

from circuitcheck.model.block_type import Ground
from circuitcheck.model.drawing import AROUND, MATTERS, At, Direction, Drawing, Thing, said
from circuitcheck.model.duration import show
from circuitcheck.model.light import FULL_SUN
from circuitcheck.model.parts.cells import Becoming
from circuitcheck.model.rules import FULL_POWER
from circuitcheck.report.exchange.svg import BLUE, GREY, GRID, INK, MARGIN, svg, text, written
from circuitcheck.report.lines import Line, Piece, Style, columns_of, line, safe, wrapped

SIDE = 30
"""How wide a place is drawn."""
RULER = 26
HEADING = 20
BELOW_LETTERS = 6
"""How far letters may reach below the line that they stand on."""
FILLS = {
    Ground.SOLID: "#d9d9d9",
    Ground.CLEAR: "#ffffff",
    Ground.SOIL: "#e6dcc8",
    Ground.WATER: "#d6e9f5",
    Ground.LEAVES: "#dcefe0",
    Ground.OPEN: "#ffffff",
}
"""The ground that things are drawn on; the letter says which it is."""
AIR = "."
MOST_IN_A_ROW = 80
"""How many letters of an author's words stand in one row of a picture."""
MOST_NAMED = 8
"""How many names of things of one letter are reported below a sheet."""


class Look(NamedTuple):
    """What is seen at a place that is not always as drawn."""

    letter: str
    words: str
    ground: Ground
    number: str = ""
    """The number to show where no level of power is shown."""


def air(drawing: Drawing) -> str:
    """A sign for air that is no letter of the drawing."""
    used = {thing.letter for thing in drawing.things.values()}
    return next((sign for sign in (AIR, "_", " ") if sign not in used), AIR)


def described(thing: Thing) -> str:
    """A thing in words, as its legend says it."""
    words = [thing.called]
    words += [thing.shape] if thing.shape else []
    words += [f"facing {thing.facing.word}"] if thing.facing is not None else []
    words += (
        [f"held by the block {thing.on.beside}"]
        if thing.on is not None and thing.on is not thing.block_type.held[0]
        else []
    )
    words += [f"{option} {show(number)}" for option, number in thing.numbers]
    words += sorted(thing.flags - {"sticky"})
    words += map(_becoming, thing.changes)
    words += [f"starts {_level(thing.start)}"] if thing.start is not None else []
    if thing.when is not None:
        words.append(f"while {thing.when.part} is {'on' if thing.when.on else 'off'}")
    return ", ".join(words)


def _becoming(change: Becoming) -> str:
    """A change of a cell, as its legend says it."""
    need, title = change.need, f" “{change.title}”" if change.title else ""
    light = f" above {need.least - 1}" if need.least else f" below {need.most + 1}" if need.most < FULL_SUN else ""
    return f"becomes {'on' if change.on else 'off'}{title} ({change.chance}{light})"


def _level(level: int) -> str:
    return {0: "off", FULL_POWER: "on"}.get(level, str(level))


def used(drawing: Drawing, layer: int) -> list[Thing]:
    """The different things of a layer, in the order in which they come."""
    things = (thing for place, thing in sorted(drawing.things.items()) if place[0] == layer)
    return list({(thing.letter, described(thing)): thing for thing in things}.values())


def called(drawing: Drawing, layer: int, thing: Thing) -> str:
    """What the things of one letter in a layer are called, if they have names."""
    places = sorted(place for place in drawing.names if place[0] == layer and drawing.things[place] == thing)
    names = [drawing.names[place] for place in places]
    more = f" and {len(names) - MOST_NAMED} more" if len(names) > MOST_NAMED else ""
    return f": {', '.join(names[:MOST_NAMED])}{more}" if names else ""


def _places(drawing: Drawing, layer: int, thing: Thing) -> str:
    """Where the things of a layer that are just so stand, by row and column."""
    places = [at for at, each in sorted(drawing.things.items()) if at[0] == layer and each == thing]
    more = f" and {len(places) - MOST_NAMED} more" if len(places) > MOST_NAMED else ""
    return "; ".join(f"row {at[1]}, column {at[2]}" for at in places[:MOST_NAMED]) + more


def bands(columns: int, fit: int) -> list[range]:
    """The columns of a layer in bands of as many as fit side by side, tens of them if they are several."""
    most = columns if columns <= fit else max(fit // 10 * 10, 10)
    return [range(first, min(first + most, columns + 1)) for first in range(1, columns + 1, most)]


def sheet_lines(drawing: Drawing, layer: int, width: int) -> Iterator[Line]:
    """One layer as letters, with the numbers of its rows and columns, and what the letters mean."""
    _, rows, columns = drawing.size
    yield line(Piece(f"layer {layer}", Style.STRONG), "  north is at the top" if layer == 1 else "")
    margin = len(str(rows)) + 2
    key = used(drawing, layer)
    side = max((columns_of(each.letter) for each in key), default=1)
    nothing = air(drawing)
    for band in bands(columns, (width - margin) // side):
        if columns > 9:
            tens = (str(column // 10 % 10) if column % 10 == 0 else " " for column in band)
            yield line(" " * margin, "".join(f"{each:<{side}}" for each in tens))
        yield line(" " * margin, "".join(f"{column % 10:<{side}}" for column in band))
        for row in range(1, rows + 1):
            things = (drawing.things.get((layer, row, column)) for column in band)
            letters = (safe(nothing if thing is None else thing.letter) for thing in things)
            yield line(f"{row:>{margin - 2}}  ", "".join(each + " " * (side - columns_of(each)) for each in letters))
    meanings = Counter(each.letter for each in key)
    for each in key:
        text = f"{each.letter}  {described(each)}{called(drawing, layer, each)}"
        if meanings[each.letter] > 1:
            # A piece that was turned has its letters with other meanings.
            text += f" ({_places(drawing, layer, each)})"
        yield from wrapped(safe(text), width, " " * margin, " " * (margin + 3))
    starts = [place for place in sorted(drawing.starts) if place[0] == layer and place in drawing.things]
    for place in starts:
        text = f"{drawing.name(place)} starts {_level(drawing.starts[place])} (row {place[1]}, column {place[2]})"
        yield from wrapped(safe(text), width, " " * margin, " " * (margin + 3))
    yield line()


def sheets_svg(drawing: Drawing, name: str) -> str:
    """All layers as one picture, the lowest first, below one another."""
    layers = [layer_picture(drawing, layer) for layer in range(1, drawing.size[0] + 1)]
    keys = [_key(drawing, layer) for layer in range(1, drawing.size[0] + 1)]
    heights = [
        float(layer.get("height", 0)) + HEADING * (1 + len(key)) for layer, key in zip(layers, keys, strict=True)
    ]
    longest = max((len(row) for key in keys for row in key), default=0)
    width = max([MARGIN * 2 + 7 * longest, *(float(layer.get("width", 0)) for layer in layers)])
    root = svg(width, sum(heights), f"The layers of {name}", f"{len(layers)} layers, the lowest first.")
    top = 0.0
    for number, (layer, key, height) in enumerate(zip(layers, keys, heights, strict=True), 1):
        heading = f"layer {number}, north at the top"
        text(root, MARGIN, top + HEADING - BELOW_LETTERS, heading, **{"font-weight": "bold"})
        layer.set("y", f"{top + HEADING:g}")
        root.append(layer)
        below = top + HEADING + float(layer.get("height", 0))
        for place, row in enumerate(key):
            text(root, MARGIN, below + HEADING * place, row)
        top += height
    return written(root)


def _key(drawing: Drawing, layer: int) -> list[str]:
    """What the author says of a layer, what its letters mean, and what things are called."""
    words = [row for each in drawing.words.get(layer, ()) for row in wrap(f"“{each}”", MOST_IN_A_ROW)]
    return words + [f"{each.letter}  {described(each)}{called(drawing, layer, each)}" for each in used(drawing, layer)]


def layer_picture(
    drawing: Drawing,
    layer: int,
    levels: Mapping[At, int] | None = None,
    title: str = "",
    looks: Mapping[At, Look] | None = None,
) -> ElementTree.Element:
    """One layer as a picture. Each place is a group that carries its place as `data-at`, for pages to find.

    `looks` are of places that are not as drawn, or not always.
    """
    _, rows, columns = drawing.size
    width, height = MARGIN * 2 + RULER + SIDE * columns, MARGIN * 2 + RULER + SIDE * rows
    powered = "; a number and a bar are the level of power" if levels is not None else ""
    about = f"{rows} rows from north to south, {columns} columns from west to east{powered}."
    root = svg(width, height, title or f"layer {layer}", about)
    for column in range(1, columns + 1):
        text(
            root,
            MARGIN + RULER + SIDE * (column - 0.6),
            MARGIN + 14,
            str(column),
            **{"font-size": "10", "fill": "#555555"},
        )
    for row in range(1, rows + 1):
        text(root, MARGIN, MARGIN + RULER + SIDE * (row - 0.4), str(row), **{"font-size": "10", "fill": "#555555"})
    for row in range(1, rows + 1):
        for column in range(1, columns + 1):
            place = (layer, row, column)
            corner = (MARGIN + RULER + SIDE * (column - 1), MARGIN + RULER + SIDE * (row - 1))
            level = None if levels is None else levels.get(place)
            _place(root, drawing, place, corner, level, (looks or {}).get(place))
    return root


def _place(
    root: ElementTree.Element,
    drawing: Drawing,
    place: At,
    corner: tuple[float, float],
    level: int | None,
    look: Look | None,
) -> None:
    x, y = corner
    thing = drawing.things.get(place)
    drawn = as_drawn(drawing, place)
    shown = look or drawn
    group = ElementTree.SubElement(root, "g", {"data-at": ",".join(map(str, place))})
    frame = {"x": f"{x:g}", "y": f"{y:g}", "width": f"{SIDE}", "height": f"{SIDE}", "stroke": GRID}
    fill = FILLS[Ground.OPEN if shown is None else shown.ground]
    ElementTree.SubElement(group, "rect", {**frame, "fill": fill})
    if shown is None:
        return
    state = "" if level is None else f": level {level}"
    ElementTree.SubElement(group, "title").text = safe(f"{said(place)}: {shown.words}{state}")
    if level is not None or look is not None:
        bar = SIDE * (level or 0) / FULL_POWER
        marks = {
            "x": f"{x + 1:g}",
            "y": f"{y + SIDE - bar:g}",
            "width": "5",
            "height": f"{bar:g}",
            "fill": BLUE,
            "class": "bar",
        }
        ElementTree.SubElement(group, "rect", marks)
    if thing is not None:
        _pointer(group, thing, x + SIDE / 2, y + SIDE / 2)
        if shown != drawn:
            group.set("class", "away")
    centred = {"text-anchor": "middle", "font-size": "15", "font-family": "monospace", "class": "letter"}
    text(group, x + SIDE / 2, y + SIDE / 2 + 5, shown.letter, **centred)
    if level is not None or look is not None:
        number = shown.number if level is None else str(level or "")
        marks = {"text-anchor": "end", "font-size": "9", "class": "level"}
        text(group, x + SIDE - 2, y + SIDE - 2, number, **marks)


def as_drawn(drawing: Drawing, place: At) -> Look | None:
    """What is seen at a place as it is drawn; None where nothing is."""
    thing = drawing.things.get(place)
    if thing is None:
        return None
    name = drawing.names.get(place)
    return Look(thing.letter, f"{described(thing)}{f', {name}' if name else ''}", thing.block_type.ground)


def _pointer(group: ElementTree.Element, thing: Thing, x: float, y: float) -> None:
    """A triangle at the side that a thing gives to; a stroke at the side that it is held on."""
    if thing.facing in AROUND:
        _, south, east = thing.facing.value
        far, near = SIDE / 2 - 1, SIDE / 2 - 7
        tip = (x + east * far, y + south * far)
        sides = [(x + east * near + south * each, y + south * near + east * each) for each in (-5, 5)]
        points = " ".join(f"{a:g},{b:g}" for a, b in (tip, *sides))
        ElementTree.SubElement(group, "polygon", {"points": points, "fill": INK})
    elif thing.facing is not None:
        up = thing.facing is Direction.ABOVE
        text(group, x - SIDE / 2 + 8, y - SIDE / 2 + 10, "up" if up else "down", **{"font-size": "8", "class": "way"})
    if thing.on in AROUND and thing.on is not None:
        _, south, east = thing.on.value
        ends = [
            (x + east * (SIDE / 2 - 2) + south * each, y + south * (SIDE / 2 - 2) + east * each) for each in (-9, 9)
        ]
        (x1, y1), (x2, y2) = ends
        stroke = {"stroke": GREY, "stroke-width": "3"}
        marks = {"x1": f"{x1:g}", "y1": f"{y1:g}", "x2": f"{x2:g}", "y2": f"{y2:g}", **stroke}
        ElementTree.SubElement(group, "line", marks)


def numbered(count: int, thing: str) -> str:
    """So many things, in words: 1 torch, 3 torches, 5 dust, 2 half blocks at top."""
    if count == 1 or any(thing == each.word for each in MATTERS.values() if not each.counted):
        return f"{count} {thing}"
    kind, at, end = thing.partition(" at ")
    return f"{count} {kind}{'es' if kind.endswith(('ch', 's')) else 's'}{at}{end}"
