"""The first cure of a text as an edit of it: looked for only where somebody asks, and only as long as that is quick."""

from __future__ import annotations

import asyncio
import json
import os
import sys
from typing import NamedTuple

from circuitcheck.verified_apart import written_by

TRIES, STATES, WORK = 300, 5_000, 4_000_000
"""How much is done for it: some seconds of one core, as a rule."""
SECONDS = 30
"""After so long it is given up, whatever it is at."""
CALL = "from circuitcheck.editor.first_cure import answer; answer()"


class FirstCure(NamedTuple):
    """A text that is cured."""

    text: str
    words: str
    """What is changed."""


async def first_cure_apart(text: str, path: str, root: str) -> FirstCure | None:
    """The first cure of a text, looked for in a process of its own.

    The engine counts its work, and the rules that a run depends on, once for each process: two searches at a time, or
    one beside what else an editor asks, would count each other's. And what nobody waits for any more ends.
    """
    given = json.dumps([text, path, root]).encode()
    try:
        written = await asyncio.wait_for(written_by("-c", CALL, given=given), SECONDS)
    except TimeoutError:
        return None
    found = json.loads(written) if written else None
    return None if found is None else FirstCure(*found)


def answer() -> None:
    """Reads a text, its path and the root from standard input, and writes its first cure to standard output."""
    json.dump(first_cure(*json.load(sys.stdin.buffer)), sys.stdout)


def first_cure(text: str, path: str, root: str) -> FirstCure | None:
    """The first cure; None where none was found so quickly, or nothing fails."""
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
    return FirstCure(cures[0].text, cures[0].change.words) if cures else None
