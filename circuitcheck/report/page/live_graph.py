"""The signal graph on a stage, with the level of each part, and all levels as a table for whoever does not see it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from xml.etree.ElementTree import Element, SubElement

from circuitcheck.model.drawing import said
from circuitcheck.model.rules import FULL_POWER
from circuitcheck.report.exchange.folded_graph import folded_names
from circuitcheck.report.exchange.graph_picture import BOX_HEIGHT, BOX_WIDTH, TooManyParts, graph_picture
from circuitcheck.report.exchange.svg import BLUE, text
from circuitcheck.report.page.first_sections import Covers
from circuitcheck.report.page.markup import add, behind, name_of, picture
from circuitcheck.scenes import Scene

HOW_TO_READ = (
    "Arrows run from a part to those that read it. An arrow that ends in a circle inverts, one that ends in a padlock "
    "locks; a dashed one watches; a grey line joins dust, along which power runs both ways. A row of units that are "
    "wired alike stands once, with their number; what is wired to nothing stands below."
)
LIVE = "A thick line comes from a part that is on; of a row, the number says how many of its units are."
MOST_ROWS = 400


def live_graph(parent: Element, scene: Scene, when: str, covers: Covers) -> None:
    """The graph of what runs, and its levels as a table."""
    if not scene.choices or not len(scene.circuit.graph):
        return
    if not scene.parts:
        many = f"{len(scene.circuit.graph):,} parts are too many for a signal graph here"
        add(parent, "p", f"{many}: 'circuitcheck graph --dot' writes it all the same.", {"class": "note"})
        return
    figure = add(parent, "figure", attributes={"class": "graph"})
    caption = add(figure, "figcaption", "The signal graph")
    behind(add(caption, "span", when, {"class": "when"}), "")
    rows = folded_names(scene.circuit.graph)
    holder = covers.over(figure, "Levels of the signal graph")
    holder.set("class", "answer levels")
    try:
        drawn = graph_picture(scene.circuit, rows_fold=True)
    except TooManyParts as many:
        words = f"It is too large to be drawn: {many}. 'circuitcheck graph --dot' writes it all the same."
        add(holder, "p", words, {"class": "note"})
    else:
        for group, units in zip(_boxes(drawn), rows.values(), strict=True):
            _mark(group, [_level(scene, name) for name in units])
        picture(holder, drawn, f"The signal graph of {scene.circuit.name}")
        add(figure, "p", f"{HOW_TO_READ} {LIVE}", {"class": "note"})
    _table(holder, scene, rows)


def _boxes(drawn: Element) -> list[Element]:
    return [group for group in drawn.iter("g") if group.get("data-part")]


def _level(scene: Scene, name: str) -> int:
    """The level of a part at the first start."""
    return max([0, *(scene.choices[0].start[device] - lost for device, lost in scene.parts[name])])


def _mark(group: Element, levels: Sequence[int]) -> None:
    """A bar along the left of a box, as high as the level, and its number; of a row, how many of its units are on."""
    x, y = float(group[0].get("x", "0")), float(group[0].get("y", "0"))
    on = sum(level > 0 for level in levels)
    height = BOX_HEIGHT * (on / len(levels) if len(levels) > 1 else levels[0] / FULL_POWER)
    box = {"x": f"{x + 1:g}", "y": f"{y + BOX_HEIGHT - height:g}", "width": "4", "height": f"{height:g}"}
    SubElement(group, "rect", {**box, "fill": BLUE, "class": "bar"})
    number = f"{on} of {len(levels)}" if len(levels) > 1 else str(levels[0] or "")
    right = {"text-anchor": "end", "font-size": "10", "font-weight": "bold", "class": "level"}
    text(group, x + BOX_WIDTH - 5, y + 28, number if on else "", **right)


def _table(parent: Element, scene: Scene, rows: Mapping[str, Sequence[str]]) -> None:
    """Every part with its level, row by row."""
    box = add(parent, "details", attributes={"class": "table"})
    add(box, "summary", "All levels as a table")
    table = add(box, "table")
    top = add(add(table, "thead"), "tr")
    drawn = bool(scene.circuit.where)
    for heading in ("Part", *(["Where"] if drawn else []), "Level"):
        add(top, "th", heading, {"scope": "col"})
    body = add(table, "tbody")
    units = [(place, unit, name) for place, names in enumerate(rows.values()) for unit, name in enumerate(names)]
    for place, unit, name in units[:MOST_ROWS]:
        row = add(body, "tr")
        name_of(add(row, "th", attributes={"scope": "row"}), name)
        if drawn:
            at = scene.circuit.where.get(name)
            add(row, "td", "" if at is None else said(at))
        add(row, "td", str(_level(scene, name)), {"data-of": f"{place},{unit}"})
    if len(units) > MOST_ROWS:
        add(box, "p", f"{MOST_ROWS} of {len(units):,} parts are listed.", {"class": "note"})
