"""The search for a layout of the circuit on a bench: what is asked of it, how far it has come, and what is seen of it.

A process of its own searches, one at a time. Its result is written as a new file only where somebody asks for that.
"""

from __future__ import annotations

import os
import re
from collections.abc import Mapping
from typing import Any, NamedTuple

from circuitcheck.bench.backdrop import one_layer
from circuitcheck.bench.build import asked_of, within
from circuitcheck.bench.worked import Stopped
from circuitcheck.folders import SUFFIX
from circuitcheck.report.exchange.svg import written
from circuitcheck.report.files import CannotWrite, refuse_unwritable, write_whole
from circuitcheck.report.lines import safe
from circuitcheck.report.page.search_page import SearchShown, heading, what_is_left
from circuitcheck.report.page.search_told import SearchTold
from circuitcheck.report.solid.from_a_corner import TooMuchToShow, solid_picture

LONGEST = 3_600
"""The seconds that a search may take at most."""
ALL_MOVES = 10**10
"""Seconds bound a search on a bench, and not moves."""
BOX = re.compile(r"[1-9][0-9]?x[1-9][0-9]?x[1-9][0-9]?")


class Wanted(NamedTuple):
    """What is asked of a search."""

    seconds: int
    layers: int
    """At most; 0 where that is open."""
    box: str
    """How wide, deep and high at most, such as `5x4x3`; empty where that is open."""
    seed: int
    fewest_things: bool

    def words(self) -> list[str]:
        """The same as options of the command line. Raises Stopped."""
        if not 1 <= self.seconds <= LONGEST:
            raise Stopped(f"a search takes from 1 to {LONGEST:,} seconds")
        if self.box and not BOX.fullmatch(self.box):
            raise Stopped("a box is written as 5x4x3: how wide, deep and high, each from 1 to 99")
        if not 0 <= self.layers <= 40 or not 1 <= self.seed <= 10**9:
            raise Stopped("there may be up to 40 layers, and searches have numbers from 1 on")
        return [
            *("--seconds", str(self.seconds), "--moves", str(ALL_MOVES), "--jobs", "1", "--seed", str(self.seed)),
            *(("--layers", str(self.layers)) if self.layers else ()),
            *(("--box", self.box) if self.box else ()),
            *(("--fewest-things",) if self.fewest_things else ()),
        ]


class LayoutSearch:
    """The search of a bench: none yet, one that goes on, or the last one."""

    def __init__(self, path: str, definition: str, root: str) -> None:
        self._path, self._definition, self._root = path, definition, root
        self.number = 0
        """Grows with each change of what is said here."""
        self.picture = 0
        """Grows with each other layout."""
        self.goes_on = False
        self.is_to_stop = False
        self.to_begin: list[str] | None = None
        """The words of a call that is still to be made."""
        self._shown: SearchShown | None = None
        self._last = SearchTold()
        self._is_over = False
        """Whether the last search has said what it came to."""

    # What is asked for.

    def begin(self, is_drawn: bool, wanted: Wanted) -> None:
        """Has a search begin. Raises Stopped."""
        if self.goes_on:
            raise Stopped("a search goes on already: stop it first")
        of = ["--define", self._definition] if self._definition else []
        root = ["--root", self._root] if self._root else []
        words = [*wanted.words(), *of, *root]
        self.to_begin = ["compact" if is_drawn else "draw", *words, "--", self._path]
        self.goes_on, self.is_to_stop, self._is_over = True, False, False
        self._shown, self._last = None, SearchTold()
        self.picture += 1
        self.number += 1

    def stop(self) -> None:
        """Has the search end with the best layout so far. Raises Stopped."""
        if not self.goes_on:
            raise Stopped("no search goes on")
        self.is_to_stop = True
        self.number += 1

    def write(self, name: str) -> str:
        """Writes the file with the drawing that was found beside the one on the bench. Raises Stopped."""
        if not self._last.text:
            raise Stopped("there is no layout to be written" + (" yet: the search goes on" if self.goes_on else ""))
        if not name.endswith(SUFFIX) or name == SUFFIX or os.path.basename(name) != name:
            raise Stopped(f"say the name of a new file beside the one on the bench, which ends with {SUFFIX}")
        path = os.path.join(os.path.dirname(self._path), name)
        if os.path.lexists(path):
            raise Stopped(f"{safe(path)} is there already: name a new file")
        try:
            refuse_unwritable(path)
            write_whole(path, self._last.text)
        except CannotWrite as why:
            raise Stopped(safe(str(why))) from why
        return safe(path)

    # What the process tells.

    def take(self, told: SearchTold) -> None:
        """Takes in what the search tells."""
        if told.shown is not None:
            before = None if self._shown is None else self._shown.drawing
            self.picture += told.shown.drawing != before
            self._shown = told.shown
        else:
            self._last, self._is_over = told, True
        self.number += 1

    def end(self) -> None:
        """The process is at its end."""
        if not self._is_over:
            self._last = SearchTold(lines=("the search ended before it could say what it came to",))
        self.goes_on, self.to_begin = False, None
        self.number += 1

    # What is seen.

    def state(self) -> dict[str, Any]:
        """How far the search has come, in words."""
        shown = self._shown
        drawing = None if shown is None else shown.drawing
        return {
            "number": self.number,
            "goes_on": self.goes_on,
            "told": self._told(),
            "picture": self.picture if drawing is not None else 0,
            "layers": 0 if drawing is None else drawing.size[0],
            "heading": "" if shown is None or drawing is None else heading(shown, drawing),
            "left": [] if shown is None or drawing is None else [safe(each) for each in what_is_left(shown)],
            "lines": [safe(each) for each in self._last.lines],
            "file": self._new_name() if self._last.text else "",
        }

    def _new_name(self) -> str:
        """A name that no file has beside the one on the bench."""
        folder, name = os.path.split(self._path)
        stem = f"{name.removesuffix(SUFFIX)}_{self._definition or 'drawn'}"
        names = (f"{stem}{number or ''}{SUFFIX}" for number in (0, *range(2, 100)))
        return safe(next((each for each in names if not os.path.lexists(os.path.join(folder, each))), ""))

    def _told(self) -> str:
        if not self.goes_on:
            return "" if self._shown is None else f"The search has ended: {safe(self._shown.told)}"
        if self.is_to_stop:
            return "It is being stopped …"
        return "Now: " + ("the search begins" if self._shown is None else safe(self._shown.told))

    def build(self, words: Mapping[str, str]) -> dict[str, Any]:
        """The best layout so far in three dimensions. Raises Stopped."""
        asked, shown = asked_of(words), self._with_layout()
        assert shown.drawing is not None
        within(shown.drawing.size, asked.cut)
        try:
            svg = written(solid_picture(shown.drawing, shown.solids, shown.name, asked, prefix="laid"))
        except TooMuchToShow as many:
            raise Stopped(str(many)) from many
        return {"picture": self.picture, "svg": svg}

    def layer(self, number: int) -> dict[str, Any]:
        """A layer of it. Raises Stopped."""
        shown = self._with_layout()
        assert shown.drawing is not None
        if not 1 <= number <= shown.drawing.size[0]:
            raise Stopped(f"there is no layer {number}")
        return {"picture": self.picture, **one_layer(shown.drawing, number, shown.name, {})}

    def _with_layout(self) -> SearchShown:
        if self._shown is None or self._shown.drawing is None:
            raise Stopped("nothing is laid out yet")
        return self._shown
