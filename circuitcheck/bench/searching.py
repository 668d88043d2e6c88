"""The process that searches for the layout of a bench: begun, heard, stopped, and ended with the bench."""

from __future__ import annotations

import asyncio
import contextlib
import sys
from collections.abc import Awaitable, Callable

from circuitcheck.bench.layout_search import LayoutSearch
from circuitcheck.report.page.search_told import told_of

LONGEST_LINE = 2**25
"""How many bytes a line may have: the largest layout takes some hundred thousand."""
LOOKS_EVERY = 0.2
"""How often, in seconds, it is looked whether a search is to begin or to stop."""

ENDS_WITHIN = 10.0
"""The seconds in which a process that has said all ends by itself."""


async def keep_searching(search: LayoutSearch, tell: Callable[[], Awaitable[None]]) -> None:
    """Makes each search that is asked for, one after the other, until it is cancelled."""
    while True:
        words, search.to_begin = search.to_begin, None
        if words is not None:
            with contextlib.suppress(OSError, ValueError):  # it could not begin, or said what can't be understood
                await _searched(words, search, tell)
            search.end()
            await tell()
        await asyncio.sleep(LOOKS_EVERY)


async def _searched(words: list[str], search: LayoutSearch, tell: Callable[[], Awaitable[None]]) -> None:
    process = await asyncio.create_subprocess_exec(
        *(sys.executable, "-m", "circuitcheck.commands.search_apart", *words),
        stdin=asyncio.subprocess.PIPE,
        stdout=asyncio.subprocess.PIPE,
        stderr=asyncio.subprocess.DEVNULL,
        limit=LONGEST_LINE,
    )
    assert process.stdin is not None
    assert process.stdout is not None
    stopping = asyncio.create_task(_stop(process.stdin, search))
    try:
        async for line in process.stdout:
            search.take(told_of(line))
            await tell()
        with contextlib.suppress(TimeoutError):
            await asyncio.wait_for(process.wait(), ENDS_WITHIN)
    finally:
        stopping.cancel()
        if process.returncode is None:
            with contextlib.suppress(ProcessLookupError):
                process.kill()
            await process.wait()


async def _stop(asked: asyncio.StreamWriter, search: LayoutSearch) -> None:
    """Ends what the process is given, once the search is to stop: it stops then by itself."""
    while not search.is_to_stop:
        await asyncio.sleep(LOOKS_EVERY)
    asked.close()
