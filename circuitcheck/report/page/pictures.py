"""The sections of a page that show: runs over time, the signal graph, light, and responses."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from xml.etree.ElementTree import Element

from circuitcheck.chance.first_edge.response import Response
from circuitcheck.engine.record import Recording
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.duration import show
from circuitcheck.pages import Answer, Lit
from circuitcheck.report.curve import curve_svg
from circuitcheck.report.exchange.graph_picture import TooManyParts, graph_svg
from circuitcheck.report.exchange.run_picture import LONGEST_PICTURE, names_svg, room_for, run_svg
from circuitcheck.report.lines import Line
from circuitcheck.report.page.first_sections import WIDTH, Covers, word_of
from circuitcheck.report.page.markup import add, behind, name_of, picture, preformatted
from circuitcheck.report.terminal.light_budget import LEGEND, light_lines
from circuitcheck.report.terminal.picture import picture as picture_lines
from circuitcheck.report.terminal.response_figures import named, response_lines
from circuitcheck.report.wording import left_open, sentence
from circuitcheck.scenes import Ran

MOST_SIGNALS = 40
"""How many signals of a run are drawn at most."""
MOST_ROOM = 200
"""Names that take more room would leave a narrow window none for the run: they scroll with it."""
FITS_PAPER = 90
"""A run longer than this many gt would be too small on paper: it is printed in letters, quiet stretches folded."""


# Runs over time


def timing(parent: Element, runs: Sequence[Ran], checks: int, covers: Covers) -> None:
    """Each run over time."""
    words = "A line that is up is on, one that is down is off; a level in between stands beside its step."
    add(parent, "p", f"{words} Times count from the start of the check.")
    for number, ran in enumerate(runs, 1):
        _run(parent, ran, number, covers)
    if checks > len(runs):
        left = f"{checks - len(runs):,} more checks are not drawn here: 'circuitcheck trace --check' draws any of them."
        add(parent, "p", left, {"class": "note"})


def _run(parent: Element, ran: Ran, number: int, covers: Covers) -> None:
    figure = add(parent, "section", attributes={"class": "run", "aria-labelledby": f"run-{number}"})
    heading = add(figure, "h3", attributes={"id": f"run-{number}"})
    behind(word_of(heading, ran.trial.outcome.verdict), " ")
    name_of(heading, ran.title)
    recording = ran.trial.shown
    if recording is None:
        add(figure, "p", f"It can't be drawn: {ran.trial.outcome.detail}", {"class": "note"})
        return
    names = ran.signals
    for note in _notes(ran, recording, names):
        add(figure, "p", note, {"class": "note"})
    names = names[:MOST_SIGNALS]
    longest = min(recording.until, LONGEST_PICTURE)
    on_paper = longest > FITS_PAPER
    answer = covers.over(figure, f"Run {number} over time")
    frame = picture(answer, run_svg(recording, names, ran.title), f"{ran.title}, over time")
    if room_for(names) <= MOST_ROOM:
        frame.append(names_svg(names))
        frame.set("class", "picture over-time")
    if on_paper:
        frame.set("class", f"{frame.get('class')} screen-only")
        failure = ran.trial.outcome.failure
        rows = picture_lines(recording, names, 0, longest, WIDTH, None if failure is None else failure.at)
        preformatted(answer, rows, {"class": "paper-only"})


def _notes(ran: Ran, recording: Recording, names: Sequence[str]) -> Iterator[str]:
    yield from map(sentence, left_open(ran.trial, recording))
    if recording.until > LONGEST_PICTURE:
        yield f"Drawn to {show(LONGEST_PICTURE)} of {show(recording.until)}."
    if len(names) > MOST_SIGNALS:
        yield f"{MOST_SIGNALS} of {len(names)} signals are drawn."


# The signal graph and light


def graphs(parent: Element, circuits: Sequence[Circuit]) -> None:
    """The signal graph of each circuit."""
    words = (
        "Arrows run from a part to those that read it. An arrow that ends in a circle inverts; a dashed one watches; "
        "a grey line joins dust, along which power runs both ways. "
        "A row of units that are wired alike stands once, with their number; what is wired to nothing stands below."
    )
    add(parent, "p", words)
    for circuit in circuits:
        if len(circuits) > 1:
            name_of(add(parent, "h3"), circuit.name)
        try:
            picture(parent, graph_svg(circuit, rows_fold=True), f"The signal graph of {circuit.name}")
        except TooManyParts as many:
            words = f"It is too large to be drawn: {many}. 'circuitcheck graph --dot' writes it all the same."
            add(parent, "p", words, {"class": "note"})


def light(parent: Element, lit: Sequence[Lit]) -> None:
    """The light at each place, block by block."""
    for each in lit:
        if len(lit) > 1:
            name_of(add(parent, "h3"), each.circuit.name)
        for found in each.places:
            preformatted(parent, light_lines(found, each.circuit.cycle, WIDTH))
        for finding in each.still:
            name_of(add(parent, "p", attributes={"class": "note"}), finding.message)
    add(parent, "p", LEGEND, {"class": "note"})


# Responses


def responses(parent: Element, answers: Sequence[Answer], covers: Covers) -> None:
    """The figures and the curve of each response."""
    for number, answer in enumerate(answers, 1):
        section = add(parent, "section", attributes={"class": "run"})
        name_of(add(section, "h3"), named(answer.phase, answer.edge))
        if answer.found is not None:
            _response(covers.over(section, f"Response {number}"), answer.found)
        elif answer.open_start:
            add(section, "p", f"{answer.open_start}.", {"class": "note"})
        elif answer.too_large:
            add(section, "p", f"It is too large even to be sampled: {answer.too_large}.", {"class": "note"})
        else:
            add(section, "p", "Nothing here changes by chance.", {"class": "note"})


def _response(parent: Element, found: Response) -> None:
    name = named(found.phase, found.edge)
    # The heading says the first line, and the picture shows the bars that come behind the figures.
    figures = list(_figures(list(response_lines(found, (), WIDTH))[1:]))
    preformatted(parent, figures)
    if found.distribution.comes and found.already < 1.0:
        picture(parent, curve_svg([(name, found.distribution)], f"Response {name}"), f"Response {name}")


def _figures(lines: Sequence[Line]) -> Iterator[Line]:
    for each in lines:
        if not any(piece.text.strip() for piece in each):
            return
        yield each
