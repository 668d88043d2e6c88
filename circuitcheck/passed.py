"""The record of circuit files that passed, so that what has not changed since need not be verified again.

A file has passed if all it asks holds and nothing at all was found about it, so that leaving it out hides no warning.
What it stands on is taken together in one digest (SHA-256): the program's version, how it was called, and the text of
the file and of every file that it uses, as it was verified. Imports next to nothing: skipping must cost less than
verifying.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Mapping
from typing import Any

from circuitcheck.about import VERSION
from circuitcheck.folders import same_file
from circuitcheck.language.text import decoded

RECORD = ".circuitcheck-passed.json"
"""The record's file, in the folder of the call."""
FORMAT = 1


class Passed:
    """The record as it was read, and what has passed since."""

    def __init__(self, manner: str) -> None:
        """`manner` is all of the call that a verdict may hang on."""
        self._manner = manner
        self.unreadable = False
        self._known = self._recorded()
        self._new: dict[str, dict[str, Any]] = {}

    def unchanged(self, path: str) -> bool:
        """Whether a file stands on the very same as when it passed."""
        entry = self._known.get(_key(path))
        if entry is None:
            return False
        try:
            texts = {each: _read(each) for each in (path, *entry["uses"])}
        except (OSError, ValueError):
            return False
        return self._digest(texts) == str(entry["digest"])

    def passes(self, path: str, texts: Mapping[str, str]) -> None:
        """Takes down that a file passes; `texts` are all that was read for it, by path."""
        uses = [each for each in texts if each != path]
        digest = self._digest({each: texts[each] for each in (path, *uses)})
        self._new[_key(path)] = {"uses": [_key(each) for each in uses], "digest": digest}

    def text(self) -> str:
        """The record to be written: what others wrote meanwhile stays, files that are gone go."""
        entries = {path: entry for path, entry in {**self._recorded(), **self._new}.items() if os.path.exists(path)}
        return json.dumps({"format": FORMAT, "passed": dict(sorted(entries.items()))}, indent=1) + "\n"

    @property
    def files(self) -> list[str]:
        """The record's own file, and every file that it knows of."""
        entries = {**self._known, **self._new}
        return [RECORD, *entries, *(path for entry in entries.values() for path in entry["uses"])]

    @property
    def news(self) -> bool:
        """Whether there is something to write."""
        return bool(self._new)

    def _recorded(self) -> Mapping[str, Any]:
        try:
            with open(RECORD, encoding="utf-8") as stream:
                data = json.load(stream)
            passed: dict[str, Any] = data["passed"]
            if data["format"] != FORMAT or not all(_is_entry(each) for each in passed.values()):
                raise ValueError(RECORD)
        except FileNotFoundError:
            return {}
        except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
            self.unreadable = True
            return {}
        return passed

    def _digest(self, texts: Mapping[str, str]) -> str:
        whole = hashlib.sha256(f"{VERSION}\n{self._manner!a}\n".encode())
        for path, text in texts.items():
            inner = hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()
            whole.update(f"{os.path.relpath(os.path.realpath(path))!a} {inner}\n".encode())
        return whole.hexdigest()


def _read(path: str) -> str:
    with open(path, "rb") as stream:
        return decoded(stream.read())


def _key(path: str) -> str:
    """A path as it is written in the record: relative to the folder of the call, as a cache may stand elsewhere."""
    return os.path.relpath(same_file(path))


def _is_entry(entry: Any) -> bool:
    return (
        isinstance(entry, dict)
        and isinstance(entry.get("digest"), str)
        and isinstance(entry.get("uses"), list)
        and all(isinstance(each, str) for each in entry["uses"])
    )
