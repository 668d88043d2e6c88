"""What a search for a layout comes to on its way, shown whenever there is something better, a second apart at least."""

from __future__ import annotations

from collections.abc import Callable
from time import monotonic

from circuitcheck.model.drawing import Drawing
from circuitcheck.placing.smallest_box import Found
from circuitcheck.placing.task import Task
from circuitcheck.placing.written import NoLetters, lettered
from circuitcheck.plans.solids import solids
from circuitcheck.report.files import CannotWrite, write_whole
from circuitcheck.report.page.search_page import SearchShown, search_page

APART = 1.0
"""Seconds between two showings; they depend on the clock, and what is found does not."""

Shows = Callable[[SearchShown], None]


class Watched:
    """Passes on what a search tells of itself, and shows how far it has come, if that is asked for."""

    def __init__(self, task: Task, tells: Callable[[str], None], shows: Shows | None = None) -> None:
        """Shows the search without a layout. Raises CannotWrite."""
        self._task, self._tells, self._shows = task, tells, shows
        self._shown = monotonic()
        self.found: Found | None = None
        """What the search has found so far, once there is a search."""
        self._show("the search begins", goes_on=True)

    def tell(self, what: str) -> None:
        """Tells what is done now. A page that can't be written any more ends no search."""
        self._tells(what)
        if self._shows and monotonic() - self._shown >= APART:
            try:
                self._show(what, goes_on=True)
            except CannotWrite:
                self._shows = None

    def end(self, found: Found) -> None:
        """Shows it as it stays. Raises CannotWrite."""
        self.found = found
        self._show(found.ended.value, goes_on=False)

    def _show(self, told: str, goes_on: bool) -> None:
        if self._shows is None:
            return
        found = self.found
        best = None if found is None else found.drawing or found.partial
        drawing = None if best is None else _lettered(best)
        circuit = self._task.study.circuit
        seen = {} if drawing is None else solids(drawing, circuit.rules)
        is_circuit = found is not None and found.drawing is not None
        left = [] if found is None else found.left
        self._shows(SearchShown(circuit.name, drawing, seen, is_circuit, told, left, goes_on))
        self._shown = monotonic()


def page_at(path: str) -> Shows:
    """What shows a search as a page that is written there, again and again."""
    return lambda shown: write_whole(path, search_page(shown))


def _lettered(drawing: Drawing) -> Drawing | None:
    """A layout with letters; None where nothing stands in it, or there are more sorts of things than letters."""
    try:
        return lettered(drawing) if drawing.things else None
    except NoLetters:
        return None
