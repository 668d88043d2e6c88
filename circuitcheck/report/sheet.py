"""Build sheets: one layer as letters with rulers, and as a picture, if wanted as powered at a moment.

The letters are those of the author's own legend. A level is told by its number and by a bar as high as it, never by
colour alone.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from xml.etree import ElementTree

from circuitcheck.model.drawing import AROUND, At, Direction, Drawing, Thing, said
from circuitcheck.model.duration import show
from circuitcheck.model.rules import FULL_POWER
from circuitcheck.report.lines import Line, Piece, Style, line, safe, wrapped
from circuitcheck.report.svg import BLUE, GREY, INK, MARGIN, svg, text, written

SIDE = 30
"""How wide a place is drawn."""
RULER = 26
HEADING = 20
FILLS = {
    "block": "#d9d9d9",
    "lamp": "#d9d9d9",
    "sensor": "#e6dcc8",
    "water": "#d6e9f5",
    "leaf": "#dcefe0",
    "glass": "#ffffff",
}
"""The ground that some things are drawn on; the letter says which it is."""
AIR = "."
MOST_NAMED = 8
"""How many names of things of one letter are told below a sheet."""


def air(drawing: Drawing) -> str:
    """A sign for air that is no letter of the drawing."""
    used = {thing.letter for thing in drawing.things.values()}
    return next((sign for sign in (AIR, "_", " ") if sign not in used), AIR)


def described(thing: Thing) -> str:
    """A thing in words, as its legend says it."""
    words = [thing.called]
    words += [f"facing {thing.facing.word}"] if thing.facing is not None else []
    words += [f"on {thing.on.word}"] if thing.on is not None and thing.on is not thing.matter.held[0] else []
    words += [f"{option} {show(number)}" for option, number in thing.numbers]
    words += sorted(thing.flags - {"sticky"})
    if thing.when is not None:
        words.append(f"while {thing.when.part} is {'on' if thing.when.on else 'off'}")
    return ", ".join(words)


def used(drawing: Drawing, layer: int) -> list[Thing]:
    """The different things of a layer, in the order in which they come."""
    things = (thing for place, thing in sorted(drawing.things.items()) if place[0] == layer)
    return list({(thing.letter, described(thing)): thing for thing in things}.values())


def _called(drawing: Drawing, layer: int, thing: Thing) -> str:
    """What the things of one letter in a layer are called, if they have names."""
    places = sorted(place for place in drawing.names if place[0] == layer and drawing.things[place] == thing)
    names = [drawing.names[place] for place in places]
    more = f" and {len(names) - MOST_NAMED} more" if len(names) > MOST_NAMED else ""
    return f": {', '.join(names[:MOST_NAMED])}{more}" if names else ""


def sheet_lines(drawing: Drawing, layer: int, width: int) -> Iterator[Line]:
    """One layer as letters, with the numbers of its rows and columns, and what the letters mean."""
    _, rows, columns = drawing.size
    yield line(Piece(f"layer {layer}", Style.STRONG))
    margin = len(str(rows)) + 2
    if columns > 9:
        yield line(
            " " * margin,
            "".join(str(column // 10 or " ") if column % 10 == 0 else " " for column in range(1, columns + 1)),
        )
    yield line(" " * margin, "".join(str(column % 10) for column in range(1, columns + 1)))
    nothing = air(drawing)
    for row in range(1, rows + 1):
        things = (drawing.things.get((layer, row, column)) for column in range(1, columns + 1))
        yield line(
            f"{row:>{margin - 2}}  ", safe("".join(nothing if thing is None else thing.letter for thing in things))
        )
    for thing in used(drawing, layer):
        yield from wrapped(
            safe(f"{thing.letter}  {described(thing)}{_called(drawing, layer, thing)}"),
            width,
            " " * margin,
            " " * (margin + 3),
        )
    yield line()


def layer_svg(drawing: Drawing, layer: int, levels: Mapping[At, int] | None = None, title: str = "") -> str:
    """One layer as a picture; with `levels`, as powered."""
    return written(layer_picture(drawing, layer, levels, title))


def sheets_svg(drawing: Drawing, name: str) -> str:
    """All layers as one picture, the lowest first, below one another."""
    layers = [layer_picture(drawing, layer) for layer in range(1, drawing.size[0] + 1)]
    heights = [float(layer.get("height", 0)) + HEADING for layer in layers]
    width = max((float(layer.get("width", 0)) for layer in layers), default=0)
    root = svg(width, sum(heights), f"The layers of {name}", f"{len(layers)} layers, the lowest first.")
    top = 0.0
    for number, (layer, height) in enumerate(zip(layers, heights, strict=True), 1):
        text(root, MARGIN, top + HEADING, f"layer {number}", **{"font-weight": "bold"})
        layer.set("y", f"{top + HEADING:g}")
        root.append(layer)
        top += height
    return written(root)


def layer_picture(
    drawing: Drawing, layer: int, levels: Mapping[At, int] | None = None, title: str = ""
) -> ElementTree.Element:
    """One layer as a picture. Each place is a group that carries its place as `data-at`, for pages to find."""
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
            _place(root, drawing, place, corner, None if levels is None else levels.get(place))
    return root


def _place(
    root: ElementTree.Element, drawing: Drawing, place: At, corner: tuple[float, float], level: int | None
) -> None:
    x, y = corner
    thing = drawing.things.get(place)
    group = ElementTree.SubElement(root, "g", {"data-at": ",".join(map(str, place))})
    frame = {"x": f"{x:g}", "y": f"{y:g}", "width": f"{SIDE}", "height": f"{SIDE}", "stroke": "#bbbbbb"}
    ElementTree.SubElement(
        group, "rect", {**frame, "fill": "#ffffff" if thing is None else FILLS.get(thing.word, "#ffffff")}
    )
    if thing is None:
        return
    name = drawing.names.get(place)
    state = "" if level is None else f": level {level}"
    about = f"{said(place)}: {described(thing)}{f', {name}' if name else ''}{state}"
    ElementTree.SubElement(group, "title").text = safe(about)
    if level is not None:
        bar = SIDE * level / FULL_POWER
        marks = {
            "x": f"{x + 1:g}",
            "y": f"{y + SIDE - bar:g}",
            "width": "5",
            "height": f"{bar:g}",
            "fill": BLUE,
            "class": "bar",
        }
        ElementTree.SubElement(group, "rect", marks)
    _pointer(group, thing, x + SIDE / 2, y + SIDE / 2)
    centred = {"text-anchor": "middle", "font-size": "15", "font-family": "monospace", "class": "letter"}
    text(group, x + SIDE / 2, y + SIDE / 2 + 5, thing.letter, **centred)
    if level is not None:
        shown = {"text-anchor": "end", "font-size": "9", "class": "level"}
        text(group, x + SIDE - 2, y + SIDE - 2, str(level) if level else "", **shown)


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
        text(group, x - SIDE / 2 + 8, y - SIDE / 2 + 10, "up" if up else "down", **{"font-size": "8"})
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
    """So many things, in words: 1 torch, 3 torches, 5 dust."""
    if count == 1 or thing in ("dust", "glass", "water"):
        return f"{count} {thing}"
    return f"{count} {thing}{'es' if thing.endswith(('ch', 's')) else 's'}"
