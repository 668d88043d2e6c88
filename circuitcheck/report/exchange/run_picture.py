"""A run over time as a picture: self-contained SVG."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from typing import NamedTuple
from xml.etree import ElementTree
from xml.etree.ElementTree import Element

from circuitcheck.engine.record import Recording
from circuitcheck.model.duration import show
from circuitcheck.report.exchange.svg import BLUE, GREY, GRID, MARGIN, VERMILION, svg, text, written
from circuitcheck.report.lines import safe

ROW, HEIGHT, COLUMN = 34, 22, 8
LONGEST_PICTURE = 1_500
"""How many gt are drawn at most."""
FOLD_AFTER, KEPT, FOLD = 16, 4, 4
"""A stretch without an edge longer than so many gt is folded; so many stay at each end, the fold is so many wide."""
LABEL = 44
"""How much room the name of a time takes."""


class Knot(NamedTuple):
    """A gt, and where it is drawn; between two knots time runs evenly."""

    at: int
    x: float


class Axis:
    """Where each gt of a run is drawn, quiet stretches folded if wanted."""

    def __init__(self, until: int, left: float, quiet: Iterable[tuple[int, int]] = ()) -> None:
        """`quiet` are the stretches to fold, each by its first and last gt."""
        self.until = until
        self.folds = list(quiet)
        self.knots = [Knot(0, left)]
        for first, last in self.folds:
            self._to(first, first - self.knots[-1].at)
            self._to(last, FOLD)
        self._to(until + 1, until + 1 - self.knots[-1].at)

    def _to(self, at: int, columns: int) -> None:
        self.knots.append(Knot(at, self.knots[-1].x + COLUMN * columns))

    def x(self, at: float) -> float:
        """Where a gt is drawn."""
        place = min(max(bisect_right(self.knots, at, key=lambda knot: knot.at), 1), len(self.knots) - 1)
        one, other = self.knots[place - 1], self.knots[place]
        return one.x + (other.x - one.x) * (at - one.at) / max(other.at - one.at, 1)

    @property
    def columns(self) -> float:
        """How many gt would take as much room if nothing were folded."""
        return (self.knots[-1].x - self.knots[0].x) / COLUMN

    def folded(self, at: int) -> bool:
        """Whether a gt lies inside a fold."""
        return any(first < at < last for first, last in self.folds)


def axis_of(recording: Recording, names: Sequence[str], fold: bool = False, mark: int | None = None) -> Axis:
    """The axis of a run's picture; where none of the signals changes for long it is folded, but not over the mark."""
    until = min(recording.until, LONGEST_PICTURE)
    edges = {at for name in names for at, _ in recording.edges_of(name)} | {mark or 0}
    busy = [0, *sorted(at for at in edges if 0 < at <= until), until]
    quiet = [(one + KEPT, other - KEPT) for one, other in pairwise(busy) if other - one > FOLD_AFTER]
    return Axis(until, room_for(names), quiet if fold else ())


def room_for(names: Sequence[str]) -> float:
    """How much room the names take at the left of a picture."""
    return MARGIN * 2 + 7.5 * max((len(safe(name)) for name in names), default=4)


def names_svg(names: Sequence[str]) -> Element:
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
    return written(run_picture(recording, names, title, axis_of(recording, names)))


def run_picture(recording: Recording, names: Sequence[str], title: str, axis: Axis, mark: int | None = None) -> Element:
    """The picture along an axis; a gt may be marked, in which something is broken."""
    width = axis.knots[-1].x + MARGIN
    height = MARGIN * 3.0 + ROW * len(names)
    described = f"{len(names)} signals from 0t to {show(axis.until)}; a step up is on, a step down is off."
    if axis.folds:
        described += f" {len(axis.folds)} quiet stretches are folded."
    root = svg(width, height, title, described)
    _times(root, axis, height)
    for place, name in enumerate(names):
        _row(root, recording, name, axis, _base(place))
    for first, last in axis.folds:
        _fold(root, axis, first, last, height)
    if mark is not None and mark <= axis.until:
        _mark(root, axis.x(mark), height)
    return root


def _times(root: Element, axis: Axis, height: float) -> None:
    """A line every 5 ticks, and a time where there is room: at every tenth tick, and behind a fold."""
    free = 0.0
    behind = {last + last % 2 for _, last in axis.folds}
    for at in sorted({*range(0, axis.until + 1, 10), *behind}):
        if axis.folded(at) or at > axis.until:
            continue
        x = axis.x(at)
        if at % 10 == 0:
            ends = {"x1": f"{x:g}", "x2": f"{x:g}", "y1": "24", "y2": f"{height - MARGIN:g}"}
            ElementTree.SubElement(root, "line", {**ends, "stroke": GRID})
        if (at % 20 == 0 or at in behind) and x >= free:
            text(root, x + 2, 18, show(at))
            free = x + LABEL


def _fold(root: Element, axis: Axis, first: int, last: int, height: float) -> None:
    """Two slanting strokes across all lines, on a ground of their own: here time is left out."""
    left, right = axis.x(first), axis.x(last)
    middle, top, bottom = (left + right) / 2, MARGIN * 2 - 8, height - MARGIN
    group = ElementTree.SubElement(root, "g", {"class": "fold"})
    ElementTree.SubElement(group, "title").text = f"quiet for {show(last - first)}, folded"
    box = {"x": f"{middle - 6:g}", "y": f"{top:g}", "width": "12", "height": f"{bottom - top:g}", "fill": "#ffffff"}
    ElementTree.SubElement(group, "rect", box)
    for x in (middle - 6, middle + 6):
        strokes = f"M{x - 3:g} {bottom:g}L{x + 3:g} {top:g}"
        ElementTree.SubElement(group, "path", {"d": strokes, "fill": "none", "stroke": GREY, "stroke-width": "1.5"})


def _mark(root: Element, x: float, height: float) -> None:
    """Where something is broken: a dashed line that ends in a cross."""
    group = ElementTree.SubElement(root, "g", {"class": "broken", "stroke": VERMILION, "stroke-width": "1.5"})
    ElementTree.SubElement(group, "title").text = "here it is broken"
    line = f"M{x:g} 24V{height - MARGIN - 8:g}"
    ElementTree.SubElement(group, "path", {"d": line, "fill": "none", "stroke-dasharray": "2 3"})
    y = height - MARGIN - 4
    cross = f"M{x - 4:g} {y - 4:g}l8 8m0 -8l-8 8"
    ElementTree.SubElement(group, "path", {"d": cross, "fill": "none", "stroke-width": "2"})


def _row(root: Element, recording: Recording, name: str, axis: Axis, base: float) -> None:
    steps = list(_steps(recording, name, axis.until))
    text(root, MARGIN, base - 5, name)
    points = []
    for (at, level), (following, _) in zip(steps, [*steps[1:], (axis.until + 1, 0)], strict=True):
        y = base - HEIGHT * level / 15
        points += [f"{axis.x(at):g},{y:g}", f"{axis.x(following):g},{y:g}"]
        if 0 < level < 15:
            text(root, axis.x(at) + 2, y - 2, str(level), **{"font-size": "9"})
    ElementTree.SubElement(
        root, "polyline", {"points": " ".join(points), "fill": "none", "stroke": BLUE, "stroke-width": "2"}
    )


def _steps(recording: Recording, name: str, until: int) -> Iterator[tuple[int, int]]:
    """(gt, level) at the start and wherever the level has changed at the end of a gt."""
    yield (0, recording.level_at_start(name))
    yield from ((at, level) for at, level in recording.edges_of(name) if at <= until)
