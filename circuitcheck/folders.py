"""Which circuit files some paths name. Imports next to nothing, as a call that finds nothing to do must end at once."""

from __future__ import annotations

import os
from collections.abc import Iterable

SUFFIX = ".circuit"


def circuit_files(paths: Iterable[str]) -> tuple[list[str], list[str]]:
    """The circuit files that some paths name, each once, in order; and the folders that hold none.

    Files stand for themselves, folders for all files below them; links to folders are not followed.
    """
    found: dict[str, str] = {}
    empty: list[str] = []
    for name in paths:
        if not os.path.isdir(name):
            found.setdefault(os.path.normpath(name), name)
            continue
        inside = sorted(
            path
            for folder, _, files in os.walk(name)
            for each in files
            if each.endswith(SUFFIX) and os.path.isfile(path := os.path.join(folder, each))
        )
        for path in inside:
            found.setdefault(os.path.normpath(path), path)
        if not inside:
            empty.append(name)
    return list(found.values()), empty
