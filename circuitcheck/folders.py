"""Which circuit files some paths name. Imports next to nothing, as a call that finds nothing to do must end at once."""

from __future__ import annotations

import os
from collections.abc import Iterable

SUFFIX = ".circuit"


def same_file(path: str) -> str:
    """A path as it is for every way to write it: two files of one such path are one file.

    The name itself may be a link, and is kept: what a link leads to may be used out of another folder.
    """
    folder, name = os.path.split(path)
    return os.path.join(os.path.realpath(folder or "."), name)


def circuit_files(paths: Iterable[str]) -> tuple[list[str], list[str]]:
    """The circuit files that some paths name, each once, in order; and the folders that hold none.

    Files stand for themselves, folders for all files below them; links to folders are not followed.
    """
    found: dict[str, str] = {}
    empty: list[str] = []
    for name in paths:
        if not os.path.isdir(name):
            found.setdefault(same_file(name), name)
            continue
        inside = sorted(
            path
            for folder, _, files in os.walk(name)
            for each in files
            if each.endswith(SUFFIX) and os.path.isfile(path := os.path.join(folder, each))
        )
        for path in inside:
            found.setdefault(same_file(path), path)
        if not inside:
            empty.append(name)
    return list(found.values()), empty
