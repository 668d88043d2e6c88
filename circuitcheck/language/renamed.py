"""Words that the language had once, with what is said today: a file that still has them is reported so."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from circuitcheck.diagnostics import Diagnostic, Span, error

OPTIONS: Mapping[str, str] = MappingProxyType({"withers": "fades"})
"""Options of parts, wherever they may stand."""
ENDS: Mapping[str, str] = MappingProxyType({"upper": "at top", "lower": "at bottom"})
"""Where in its place a half block stands."""


def renamed(old: str, new: str, where: Span) -> Diagnostic:
    """The mistake of a word that was given another name."""
    return error("CKT107", where, f"'{old}' is called '{new}' now", f"write '{new}'")
