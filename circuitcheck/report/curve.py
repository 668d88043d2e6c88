"""The curve of a waiting time: how much of it is over by when, in text and as SVG."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from xml.etree import ElementTree

from circuitcheck.chance.first_edge.figures import Distribution
from circuitcheck.model.duration import in_seconds
from circuitcheck.report.exchange.svg import BLUE, GRID, MARGIN, svg, text, written
from circuitcheck.report.lines import Line, line

ROWS = 12
WIDEST_BAR = 50
WIDTH, HEIGHT, LEFT = 640, 220, 64
MOST_POINTS = 400
STEPS = (1, 2, 5)
"""Marks on the axis stand at these numbers, times a power of ten."""


def curve_lines(distribution: Distribution, width: int) -> Iterator[Line]:
    """A row for each of some times: how much is over by then."""
    longest = span_of(distribution)
    bar = max(min(WIDEST_BAR, width - 30), 10)
    begin = next((gt for gt, share in enumerate(distribution.reached) if share > 0.0), 0)
    # What can't be over yet takes one row, so that there are more for what happens.
    step = nice((longest - begin) / ROWS / 20) * 20
    for at in range(int(begin // step * step), longest + int(step), max(int(step), 1)):
        share = distribution.within(at)
        full = int(share * bar)
        yield line(f"    by {in_seconds(at):>8}  {'█' * full}{'·' * (bar - full)} {share * 100:6.2f}%")


def span_of(distribution: Distribution) -> int:
    """Up to which gt a curve is worth drawing."""
    return distribution.quantile(0.9995 * distribution.comes) or distribution.until


def nice(raw: float) -> float:
    """The least number of 1, 2 or 5 times a power of ten that is not below another; at least a gt in seconds."""
    power = 0.01
    while True:
        for step in STEPS:
            if step * power >= max(raw, 0.05):
                return step * power
        power *= 10


def curve_svg(named: Sequence[tuple[str, Distribution]], title: str) -> str:
    """The curves of some waiting times, one below the other, each with its own axis of seconds."""
    height = MARGIN * 2 + (HEIGHT + MARGIN * 3) * len(named)
    described = "; ".join(f"{name}: {_described(distribution)}" for name, distribution in named)
    root = svg(WIDTH + LEFT + MARGIN * 2, height, title, described)
    for place, (name, distribution) in enumerate(named):
        _panel(root, MARGIN * 3 + (HEIGHT + MARGIN * 3) * place, name, distribution)
    return written(root)


def _described(distribution: Distribution) -> str:
    median = distribution.quantile(0.5)
    return "never" if not distribution.comes else f"half by {in_seconds(median)}" if median is not None else "seldom"


def _panel(root: ElementTree.Element, top: float, name: str, distribution: Distribution) -> None:
    base = top + HEIGHT
    longest = span_of(distribution)
    text(root, LEFT, top - 8, name, **{"font-weight": "bold"})
    for share in (0.0, 0.25, 0.5, 0.75, 1.0):
        y = base - HEIGHT * share
        _line(root, LEFT, y, LEFT + WIDTH, y)
        text(root, 8, y + 4, f"{share * 100:.0f}%")
    step = max(int(nice(longest / 8 / 20) * 20), 1)
    for at in range(0, longest + 1, step):
        x = LEFT + WIDTH * at / longest
        _line(root, x, top, x, base)
        text(root, x + 2, base + 14, in_seconds(at))
    every = max(longest // MOST_POINTS, 1)
    points = " ".join(
        f"{LEFT + WIDTH * at / longest:.1f},{base - HEIGHT * distribution.within(at):.1f}"
        for at in [*range(0, longest, every), longest]
    )
    ElementTree.SubElement(root, "polyline", {"points": points, "fill": "none", "stroke": BLUE, "stroke-width": "2"})


def _line(root: ElementTree.Element, x1: float, y1: float, x2: float, y2: float) -> None:
    place = {"x1": f"{x1:g}", "y1": f"{y1:g}", "x2": f"{x2:g}", "y2": f"{y2:g}"}
    ElementTree.SubElement(root, "line", {**place, "stroke": GRID, "stroke-width": "0.5"})
