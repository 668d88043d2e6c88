"""The page of a search for a layout, written again whenever there is something better, a second apart at least."""

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
"""Seconds between two writings; they depend on the clock, and what is found does not."""


class SearchPage:
    """Passes on what a search tells of itself, and writes the page of it, if one is asked for."""

    def __init__(self, path: str | None, task: Task, tells: Callable[[str], None]) -> None:
        """Writes the page without a layout. Raises CannotWrite."""
        self._path, self._task, self._tells = path, task, tells
        self._written = monotonic()
        self.found: Found | None = None
        """What the search has found so far, once there is a search."""
        self._write("the search begins", goes_on=True)

    def tell(self, what: str) -> None:
        """Tells what is done now. A page that can't be written any more ends no search."""
        self._tells(what)
        if self._path and monotonic() - self._written >= APART:
            try:
                self._write(what, goes_on=True)
            except CannotWrite:
                self._path = None

    def end(self, found: Found) -> None:
        """Writes the page as it stays. Raises CannotWrite."""
        self.found = found
        self._write(found.ended.value, goes_on=False)

    def _write(self, told: str, goes_on: bool) -> None:
        if not self._path:
            return
        found = self.found
        best = None if found is None else found.drawing or found.partial
        drawing = None if best is None else _lettered(best)
        circuit = self._task.study.circuit
        seen = {} if drawing is None else solids(drawing, circuit.rules)
        is_circuit = found is not None and found.drawing is not None
        left = [] if found is None else found.left
        shown = SearchShown(circuit.name, drawing, seen, is_circuit, told, left, goes_on)
        write_whole(self._path, search_page(shown))
        self._written = monotonic()


def _lettered(drawing: Drawing) -> Drawing | None:
    """A layout with letters; None where nothing stands in it, or there are more sorts of things than letters."""
    try:
        return lettered(drawing) if drawing.things else None
    except NoLetters:
        return None
