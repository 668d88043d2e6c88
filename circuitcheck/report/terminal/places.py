"""Where parts stand: of all that was said of a drawn circuit, the places of the parts that were named."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from typing import TYPE_CHECKING

from circuitcheck.language.parse import forms
from circuitcheck.model.drawing import placed_name
from circuitcheck.report.lines import Line, Style, line, plain, safe, wrapped

if TYPE_CHECKING:
    from circuitcheck.model.drawing import At

NAME = re.compile(forms()["NAME"])
MOST_PLACES = 24
"""Of how many parts the places are reported at once."""


class Places:
    """Where the parts of one circuit stand, and which of them its report has named so far."""

    def __init__(self, where: Mapping[str, At]) -> None:
        self.where = where
        self._named: dict[str, None] = {}
        self.ended = False
        """Whether the last line was empty."""

    def noted(self, lines: Iterable[Line]) -> Iterator[Line]:
        """The same lines; the parts that they name are noted, but not those whose names are their places."""
        for each in lines:
            text = plain([each])
            found = (match[0] for match in NAME.finditer(text) if match[0] in self.where)
            self._named |= {name: None for name in found if not name.endswith(placed_name("", self.where[name]))}
            self.ended = not text
            yield each

    def lines(self, width: int) -> Iterator[Line]:
        """Where the parts stand that were named, in one paragraph after an empty line; nothing where none was."""
        listed = list(self._named)
        if not listed:
            return
        shown = [f"{name} {', '.join(map(str, self.where[name]))}" for name in listed[:MOST_PLACES]]
        more = f" and {len(listed) - MOST_PLACES} more" if len(listed) > MOST_PLACES else ""
        yield line()
        yield from wrapped("where they stand, by layer, row and column", width, "    ", style=Style.FAINT)
        yield from wrapped(safe("; ".join(shown) + more), width, "      ", style=Style.FAINT)
