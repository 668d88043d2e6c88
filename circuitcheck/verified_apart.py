"""What a process of its own says: a file verified, so that whoever shows it never waits for a proof."""

from __future__ import annotations

import asyncio
import contextlib
import os
import sys


async def verified_apart(path: str, root: str) -> bytes:
    """What `verify --json` writes of a file; whoever no longer waits for it ends the process."""
    return await written_by("-m", "circuitcheck", "verify", "--json", path, *(["--root", root] if root else []))


async def written_by(*words: str, given: bytes = b"") -> bytes:
    """What Python, called with these words, writes about what it is given; it ends with whoever waits for it."""
    process = await asyncio.create_subprocess_exec(
        sys.executable,
        *words,
        stdin=asyncio.subprocess.PIPE if given else asyncio.subprocess.DEVNULL,
        stdout=asyncio.subprocess.PIPE,
        stderr=asyncio.subprocess.DEVNULL,
        env={**os.environ, "PYTHONIOENCODING": "utf-8"},
    )
    try:
        written, _ = await process.communicate(given or None)
    except asyncio.CancelledError:
        with contextlib.suppress(ProcessLookupError):
            process.kill()
        await process.wait()
        raise
    return written
