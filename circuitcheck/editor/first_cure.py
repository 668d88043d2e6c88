"""The first cure of a text as an edit of it: looked for only where somebody asks, and only as long as that is quick."""

from __future__ import annotations

import os

TRIES, STATES, WORK = 300, 5_000, 4_000_000
"""How much is done for it: some seconds of one core at most."""


def first_cure(text: str, path: str, root: str) -> tuple[str, str] | None:
    """The cured text and the change in words; None where none was found so quickly, or nothing fails."""
    from circuitcheck.curing.search import Budget, Search, TooLarge  # few edits ask for it
    from circuitcheck.curing.source_text import source_of_text

    source = source_of_text(text, path, os.path.dirname(path), root)
    if not source.loaded.valid:
        return None
    try:
        search = Search(source, Budget(TRIES, STATES, work=WORK), most=1)
    except TooLarge:
        return None
    search.carry_out()
    cures = search.found().cures
    return (cures[0].text, cures[0].change.words) if cures else None
