"""Whether a file has changed since it was read, and what verifying it comes to, in a process of its own."""

from __future__ import annotations

import contextlib
import json
import os
from collections.abc import Iterable
from typing import Any

from circuitcheck.checks.outcome import full_title
from circuitcheck.report.lines import safe
from circuitcheck.verified_apart import verified_apart

Stamp = tuple[int, int, int] | None
"""When a file was changed last, how large it is, and which it is; None where there is none."""


class Follower:
    """Some files, and how they were when they were last looked at."""

    def __init__(self, paths: Iterable[str]) -> None:
        self._stamps: dict[str, Stamp] = {}
        self.look_at(paths)

    def look_at(self, paths: Iterable[str]) -> None:
        """Takes these files as they are now; those that were followed before still are."""
        self._stamps = {path: _stamp(path) for path in {*self._stamps, *paths}}

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
    written = await verified_apart(path, root)
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
