"""Runs over time on a page: the picture of each, with a cursor at the moment that is shown, and the run in words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any
from xml.etree.ElementTree import Element, SubElement

from circuitcheck.engine.record import Recording
from circuitcheck.model.duration import show
from circuitcheck.report.exchange.run_picture import (
    LONGEST_PICTURE,
    Axis,
    axis_of,
    names_svg,
    room_for,
    run_picture,
)
from circuitcheck.report.page.first_sections import WIDTH, Covers, word_of
from circuitcheck.report.page.markup import add, behind, name_of, picture, preformatted
from circuitcheck.report.page.moments import Listed, account_of
from circuitcheck.report.terminal.picture import picture as picture_lines
from circuitcheck.report.wording import standing
from circuitcheck.runs_shown import Counterexample
from circuitcheck.scenes import Choice

MOST_SIGNALS = 40
"""How many signals of a run are drawn at most."""
MOST_ROOM = 200
"""Names that take more room would leave a narrow window none for the run: they scroll with it."""
FITS_PAPER = 90
"""A picture wider than this many gt would be too small on paper: it is printed in letters, quiet stretches folded."""


def run_figure(parent: Element, shown: Listed, place: int, covers: Covers) -> None:
    """A run: its verdict, its picture, and in words."""
    ran, recording = shown.choice.ran, shown.choice.recording
    if ran is None or recording is None:
        return
    figure = add(parent, "figure", attributes={"class": "run", "data-run": str(place)})
    caption = add(figure, "figcaption")
    behind(word_of(caption, ran.verdict), " ")
    name_of(caption, shown.title)
    if isinstance(ran, Counterexample):
        add(caption, "span", " – a run that breaks it", {"class": "when"})
    for note in (*shown.notes, *_notes(shown.choice, recording, ran.signals)):
        add(figure, "p", note, {"class": "note"})
    names, axis = _drawn(shown.choice)
    answer = covers.over(figure, f"Run {place + 1} over time")
    drawn = run_picture(recording, names, shown.title, axis, ran.broken_at)
    _cursor(drawn, axis)
    frame = picture(answer, drawn, f"{shown.title}, over time")
    if room_for(names) <= MOST_ROOM:
        frame.append(names_svg(names))
        frame.set("class", "picture over-time")
    if axis.columns > FITS_PAPER:
        frame.set("class", f"{frame.get('class')} screen-only")
        rows = picture_lines(recording, names, 0, axis.until, WIDTH, ran.broken_at)
        preformatted(answer, rows, {"class": "paper-only"})
    account_of(answer, shown)


def _drawn(choice: Choice) -> tuple[Sequence[str], Axis]:
    """The signals of a run that are drawn, and its axis."""
    ran, recording = choice.ran, choice.recording
    assert ran is not None
    assert recording is not None
    names = ran.signals[:MOST_SIGNALS]
    return names, axis_of(recording, names, fold=True, mark=ran.broken_at)


def line_of(choice: Choice) -> dict[str, Any]:
    """For the page's script: where each gt is drawn, as knots between which time runs evenly."""
    if choice.recording is None:
        return {}
    axis = _drawn(choice)[1]
    return {"until": axis.until, "knots": [[knot.at, knot.x] for knot in axis.knots]}


def _notes(choice: Choice, recording: Recording, names: Sequence[str]) -> Iterator[str]:
    if choice.ways > 1:
        yield f"It can start in {choice.ways} ways (C6): this run starts with {', '.join(standing(choice.tried))}."
    if recording.until > LONGEST_PICTURE:
        yield f"Drawn to {show(LONGEST_PICTURE)} of {show(recording.until)}."
    if len(names) > MOST_SIGNALS:
        yield f"{MOST_SIGNALS} of {len(names)} signals are drawn."


def _cursor(drawn: Element, axis: Axis) -> None:
    """What covers the time to come, while it is asked about, and a line with a head where the moment is."""
    height, x = float(drawn.get("height", "0")), axis.knots[0].x
    cover = {"x": f"{x:g}", "y": "0", "width": f"{axis.knots[-1].x - x + 16:g}", "height": f"{height:g}"}
    SubElement(drawn, "rect", {**cover, "class": "to-come"})
    group = SubElement(drawn, "g", {"class": "cursor", "transform": f"translate({x:g})"})
    SubElement(group, "path", {"d": f"M0 22V{height - 12:g}"})
    SubElement(group, "path", {"d": "M-5 14H5L0 23z"})
