"""A run over time as a picture: self-contained SVG."""

from __future__ import annotations

from collections.abc import Sequence
from xml.etree import ElementTree

from circuitcheck.engine.record import Recording
from circuitcheck.model.duration import show
from circuitcheck.report.exchange.svg import BLUE, GRID, MARGIN, svg, text, written
from circuitcheck.report.lines import safe

ROW, HEIGHT, COLUMN = 34, 22, 8
LONGEST_PICTURE = 1_500
"""How many gt are drawn at most."""


def room_for(names: Sequence[str]) -> float:
    """How much room the names take at the left of a picture."""
    return MARGIN * 2 + 7.5 * max((len(safe(name)) for name in names), default=4)


def names_svg(names: Sequence[str]) -> ElementTree.Element:
    """The names alone, to be laid over those of the picture where it scrolls; whoever listens has them there."""
    root = svg(room_for(names) - MARGIN, MARGIN * 3 + ROW * len(names), "names", "")
    for each in root.findall("title") + root.findall("desc"):
        root.remove(each)
    del root.attrib["role"], root.attrib["xmlns"]
    root.set("aria-hidden", "true")
    root.set("class", "names")
    for place, name in enumerate(names):
        text(root, MARGIN, _base(place) - 5, name)
    return root


def _base(place: int) -> float:
    """How far down the line of a signal that is off stands."""
    return MARGIN * 2.0 + ROW * place + HEIGHT


def run_svg(recording: Recording, names: Sequence[str], title: str) -> str:
    """The signals of a run over time: a line a signal, its height the level; levels in between carry their number."""
    until = min(recording.until, LONGEST_PICTURE)
    left = room_for(names)
    width = left + COLUMN * (until + 1) + MARGIN
    height = MARGIN * 3 + ROW * len(names)
    described = f"{len(names)} signals from 0t to {show(until)}; a step up is on, a step down is off."
    root = svg(width, height, title, described)
    for at in range(0, until + 1, 10):
        x = left + COLUMN * at
        ElementTree.SubElement(
            root,
            "line",
            {"x1": f"{x:g}", "x2": f"{x:g}", "y1": "24", "y2": f"{height - MARGIN:g}", "stroke": GRID},
        )
        if at % 20 == 0:
            text(root, x + 2, 18, show(at))
    for place, name in enumerate(names):
        _row(root, recording, name, left, _base(place), until)
    return written(root)


def _row(root: ElementTree.Element, recording: Recording, name: str, left: float, base: float, until: int) -> None:
    steps = _steps(recording, name, until)
    text(root, MARGIN, base - 5, name)
    points = []
    for (at, level), (following, _) in zip(steps, [*steps[1:], (until + 1, 0)], strict=True):
        y = base - HEIGHT * level / 15
        points += [f"{left + COLUMN * at:g},{y:g}", f"{left + COLUMN * following:g},{y:g}"]
        if 0 < level < 15:
            text(root, left + COLUMN * at + 2, y - 2, str(level), **{"font-size": "9"})
    ElementTree.SubElement(
        root, "polyline", {"points": " ".join(points), "fill": "none", "stroke": BLUE, "stroke-width": "2"}
    )


def _steps(recording: Recording, name: str, until: int) -> list[tuple[int, int]]:
    """(gt, level) at the start and wherever the level has changed at the end of a gt."""
    edges = [(at, level) for at, level in recording.edges_of(name) if at <= until]
    return [(0, recording.level_at_start(name)), *edges]
