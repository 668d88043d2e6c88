"""The sections of a page that stand still: signal graphs that are on no stage, light, and responses."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from xml.etree.ElementTree import Element

from circuitcheck.chance.first_edge.response import Response
from circuitcheck.model.circuit import Circuit
from circuitcheck.pages import Answer, Lit
from circuitcheck.report.curve import curve_svg
from circuitcheck.report.exchange.graph_picture import TooManyParts, graph_svg
from circuitcheck.report.lines import Line
from circuitcheck.report.page.first_sections import WIDTH, Covers
from circuitcheck.report.page.live_graph import HOW_TO_READ
from circuitcheck.report.page.markup import add, name_of, picture, preformatted
from circuitcheck.report.terminal.light_budget import LEGEND
from circuitcheck.report.terminal.light_folded import folded_lines
from circuitcheck.report.terminal.response_figures import named, response_lines

# The signal graph and light


def graphs(parent: Element, circuits: Sequence[Circuit]) -> None:
    """The signal graph of each circuit."""
    add(parent, "p", HOW_TO_READ)
    for circuit in circuits:
        if len(circuits) > 1:
            name_of(add(parent, "h3"), circuit.name)
        try:
            picture(parent, graph_svg(circuit, rows_fold=True), f"The signal graph of {circuit.name}")
        except TooManyParts as many:
            words = f"It is too large to be drawn: {many}. 'circuitcheck graph --dot' writes it all the same."
            add(parent, "p", words, {"class": "note"})


def light(parent: Element, lit: Sequence[Lit]) -> None:
    """The light at each place, folded."""
    for each in lit:
        if len(lit) > 1:
            name_of(add(parent, "h3"), each.circuit.name)
        preformatted(parent, folded_lines(each.places, each.circuit.cycle, WIDTH))
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
