"""Whether a file has changed since it was read, and what verifying it comes to, in a process of its own."""

from __future__ import annotations

import asyncio
import contextlib
import json
import os
import sys
from collections.abc import Iterable
from typing import Any

from circuitcheck.checks.outcome import full_title
from circuitcheck.report.lines import safe

Stamp = tuple[int, int, int] | None
"""When a file was changed last, how large it is, and which it is; None where there is none."""


class Follower:
    """Some files, and how they were when they were last looked at."""

    def __init__(self, paths: Iterable[str]) -> None:
        self.look_at(paths)

    def look_at(self, paths: Iterable[str]) -> None:
        """Takes these files as they are now; those that were followed before still are."""
        known = getattr(self, "_stamps", {})
        self._stamps: dict[str, Stamp] = {path: _stamp(path) for path in {*known, *paths}}

    def changed(self) -> bool:
        """Whether any file is otherwise than at the last look; from here on it is known as it is now."""
        before = self._stamps
        self._stamps = {path: _stamp(path) for path in before}
        return self._stamps != before


def _stamp(path: str) -> Stamp:
    try:
        found = os.stat(path)
    except (OSError, ValueError):
        return None
    return found.st_mtime_ns, found.st_size, found.st_ino


async def verdicts_of(path: str, root: str) -> list[tuple[str, str]]:
    """The verdict on each check and claim of a file, with its title."""
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
    with contextlib.suppress(ValueError, KeyError):
        return _read(json.loads(written))
    return [("", "it could not be verified")]


def _read(report: Any) -> list[tuple[str, str]]:
    return [
        (each["verdict"], safe(full_title(circuit["label"], each["title"])))
        for file in report["files"]
        for circuit in file["circuits"]
        for each in circuit["outcomes"]
    ]
