"""A file verified in a process of its own, so that whoever shows it never waits for a proof."""

from __future__ import annotations

import asyncio
import contextlib
import os
import sys


async def verified_apart(path: str, root: str) -> bytes:
    """What `verify --json` writes of a file; whoever no longer waits for it ends the process."""
    process = await asyncio.create_subprocess_exec(
        *(sys.executable, "-m", "circuitcheck", "verify", "--json", path),
        *(["--root", root] if root else []),
        stdin=asyncio.subprocess.DEVNULL,
        stdout=asyncio.subprocess.PIPE,
        stderr=asyncio.subprocess.DEVNULL,
        env={**os.environ, "PYTHONIOENCODING": "utf-8"},
    )
    try:
        written, _ = await process.communicate()
    except asyncio.CancelledError:
        with contextlib.suppress(ProcessLookupError):
            process.kill()
        await process.wait()
        raise
    return written
