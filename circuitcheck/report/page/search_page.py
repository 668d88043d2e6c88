"""A page of its own that shows how a search for a layout goes: the best one so far, in three dimensions and as sheets.

It loads nothing and runs no script. While the search goes on, whoever shows it reads it again every other second (the
refresh pragma of HTML, WHATWG "HTML", 4.2.5.3); the page of a search that has ended stays as it is.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple
from xml.etree.ElementTree import Element

from circuitcheck.about import PROGRAM, VERSION
from circuitcheck.model.drawing import At, Drawing
from circuitcheck.plans.solids import Solid
from circuitcheck.report.page.markup import add, head, name_of, picture, preformatted, written
from circuitcheck.report.sheet import sheet_lines
from circuitcheck.report.solid.from_a_corner import Asked, TooMuchToShow, solid_picture
from circuitcheck.report.terminal.partial_layout import NOT_IT
from circuitcheck.report.wording import box_said

EVERY = 2
"""After how many seconds the page is read again."""
WIDE = 80


class SearchShown(NamedTuple):
    """How far a search has come."""

    name: str
    drawing: Drawing | None
    """The best layout so far, with letters; None while there is none."""
    solids: Mapping[At, Solid]
    is_circuit: bool
    """Whether that is the circuit, and not only the one in which least is wrong."""
    told: str
    """What is done now, or why the search has ended."""
    left: Sequence[str] = ()
    """What is wrong in the layout still."""
    goes_on: bool = True


def search_page(shown: SearchShown) -> str:
    """The page as text."""
    root = Element("html", {"lang": "en", "dir": "ltr"})
    head(root, f"{shown.name}: the search for a layout – {PROGRAM}", "")
    if shown.goes_on:
        add(root[0], "meta", attributes={"http-equiv": "refresh", "content": str(EVERY)})
    body = add(root, "body")
    name_of(add(add(body, "header"), "h1"), shown.name)
    main = add(body, "main")
    add(main, "p", f"Now: {shown.told}" if shown.goes_on else f"The search has ended: {shown.told}")
    if shown.drawing is None:
        add(main, "p", "Nothing is laid out yet.")
    else:
        _layout(main, shown, shown.drawing)
    renewed = f" While the search goes on it is read again every {EVERY} seconds." if shown.goes_on else ""
    add(body, "footer", f"Written by {PROGRAM} {VERSION}. This page loads nothing from anywhere.{renewed}")
    return written(root)


def heading(shown: SearchShown, drawing: Drawing) -> str:
    """What the best layout so far is, and its box."""
    words = {
        (True, True): "Best so far",
        (True, False): "Found",
        (False, True): "No layout yet; the nearest",
        (False, False): "No layout was found; the nearest",
    }[shown.is_circuit, shown.goes_on]
    return f"{words}: {box_said(*drawing.extent)}"


def what_is_left(shown: SearchShown) -> list[str]:
    """Of a layout that is not the circuit, that it is not, and what is wrong in it still."""
    return [] if shown.is_circuit else [f"This is {NOT_IT}.", *shown.left]


def _layout(main: Element, shown: SearchShown, drawing: Drawing) -> None:
    """The best layout so far: what it is, in three dimensions, and its sheets."""
    add(main, "h2", heading(shown, drawing))
    if not shown.is_circuit:
        first, *others = what_is_left(shown)
        add(main, "p", first)
        wrong = add(main, "ul")
        for each in others:
            add(wrong, "li", each)
    try:
        picture(main, solid_picture(drawing, shown.solids, shown.name, Asked(letters=True)), "in three dimensions")
    except TooMuchToShow as many:
        add(main, "p", str(many))
    for layer in range(1, drawing.size[0] + 1):
        preformatted(main, sheet_lines(drawing, layer, WIDE))
