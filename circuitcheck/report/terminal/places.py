"""Where parts stand: of all that was said of a drawn circuit, the places of the parts that were named."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from typing import TYPE_CHECKING

from circuitcheck.language.parse import forms
from circuitcheck.model.drawing import placed_name
from circuitcheck.report.lines import Line, Style, line, safe, wrapped

if TYPE_CHECKING:
    from circuitcheck.model.drawing import At

NAME = re.compile(forms()["NAME"])
MOST_PLACES = 24
"""Of how many parts the places are reported at once."""


def named_in(text: str, where: Mapping[str, At]) -> list[str]:
    """The parts that a text names, in its order; not those whose names are their places."""
    found = dict.fromkeys(match[0] for match in NAME.finditer(text) if match[0] in where)
    return [name for name in found if not name.endswith(placed_name("", where[name]))]


def place_lines(names: Iterable[str], where: Mapping[str, At], width: int) -> Iterator[Line]:
    """Where some parts stand, in one paragraph."""
    listed = list(names)
    if not listed:
        return
    shown = [f"{name} {', '.join(map(str, where[name]))}" for name in listed[:MOST_PLACES]]
    more = f" and {len(listed) - MOST_PLACES} more" if len(listed) > MOST_PLACES else ""
    yield line()
    yield from wrapped("where they stand, by layer, row and column", width, "    ", style=Style.FAINT)
    yield from wrapped(safe("; ".join(shown) + more), width, "      ", style=Style.FAINT)
