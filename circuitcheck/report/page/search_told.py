"""What a search in a process of its own tells whoever began it, a line of text each time.

A line is a pickled value in base 64. It is read by the program that began the process, and by nobody else.
"""

from __future__ import annotations

import base64
import pickle
from typing import NamedTuple

from circuitcheck.report.page.search_page import SearchShown


class SearchTold(NamedTuple):
    """How far a search has come, and at its end what it came to."""

    shown: SearchShown | None = None
    """None where that is as before."""
    text: str = ""
    """At the end, the file with its drawing; empty where there is none."""
    lines: tuple[str, ...] = ()
    """At the end, what it came to, or why it can't be, for people."""


def line_of(told: SearchTold) -> bytes:
    """The line for it."""
    return base64.b64encode(pickle.dumps(told)) + b"\n"


def told_of(line: bytes) -> SearchTold:
    """What a line tells."""
    told = pickle.loads(base64.b64decode(line))
    assert isinstance(told, SearchTold)
    return told
