"""The record of circuit files that passed, so that what has not changed since need not be verified again.

A file has passed if all it asks holds and nothing at all was found about it, so that leaving it out hides no warning.
What it stands on is taken together in one digest (SHA-256): the program's version, how it was called, and the text of
the file and of every file that it uses, as it was verified. Imports next to nothing: skipping must cost less than
verifying.

Anybody can compute such a digest, so a record is believed only for where it is kept: outside the checkout, which may
hold files of strangers, and in a file that its user alone can write.
"""

from __future__ import annotations

import hashlib
import json
import os
import stat
from collections.abc import Iterable, Mapping
from typing import Any

from circuitcheck.about import VERSION
from circuitcheck.folders import LARGEST_FILE, cache_home, checkout_of, home, is_below, regular_bytes, same_file
from circuitcheck.language.text import decoded

VARIABLE = "CIRCUITCHECK_RECORD"
"""The variable that names the record's file, where no option does."""
LARGEST_RECORD = 16_000_000
"""How many bytes a record may have: some 50,000 files."""
FORMAT = 1


class Misplaced(Exception):
    """A record can't be kept where it was to be; the text says why."""


def record_place(paths: Iterable[str], named: str = "") -> str:
    """Where the record of a call on these paths is kept: as it is named, or else in the user's cache folder.

    Raises Misplaced where that is in a checkout.
    """
    named = named or os.environ.get(VARIABLE, "")
    try:
        place = same_file(os.path.abspath(named)) if named else _usual_place()
    except ValueError:
        raise Misplaced("the record can't be kept there: there is no such path") from None
    checkouts = {checkout_of("."), *(checkout_of(path) for path in paths)}
    for checkout in sorted(checkouts):
        if not is_below(place, checkout) or (not named and is_below(home(), checkout)):
            continue  # whose cache folder lies in the checkout has a home folder that is one
        text = f"the record {place} lies in the checkout {checkout}, which may hold files of strangers"
        raise Misplaced(f"{text}; name a file outside it (--record, or the variable {VARIABLE})")
    return place


def _usual_place() -> str:
    cache = cache_home()
    if not os.path.isabs(cache):
        raise Misplaced(f"there is no cache folder for the record; name a file (--record, or the variable {VARIABLE})")
    name = hashlib.sha256(os.fsencode(os.path.realpath("."))).hexdigest()[:20]
    return os.path.join(os.path.realpath(cache), "circuitcheck", "passed", f"{name}.json")


class Passed:
    """The record as it was read, and what has passed since."""

    def __init__(self, place: str, manner: str) -> None:
        """`place` is the record's file; `manner` is all of the call that a verdict may depend on."""
        self.place = place
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
            texts = {each: decoded(regular_bytes(each, LARGEST_FILE)) for each in (path, *entry["uses"])}
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
        return [self.place, *entries, *(path for entry in entries.values() for path in entry["uses"])]

    @property
    def news(self) -> bool:
        """Whether there is something to write."""
        return bool(self._new)

    def _recorded(self) -> Mapping[str, Any]:
        try:
            data = json.loads(regular_bytes(self.place, LARGEST_RECORD, _is_trusted).decode("utf-8"))
            passed: dict[str, Any] = data["passed"]
            if data["format"] != FORMAT or not all(_is_entry(each) for each in passed.values()):
                raise ValueError(self.place)
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


def _key(path: str) -> str:
    """A path as it is written in the record: relative to the folder of the call, as a cache may stand elsewhere."""
    return os.path.relpath(same_file(path))


def _is_trusted(found: os.stat_result) -> bool:
    """Whether a record is its user's own, and nobody else can have written it."""
    if not hasattr(os, "getuid"):
        return True
    return found.st_uid == os.getuid() and not found.st_mode & (stat.S_IWGRP | stat.S_IWOTH)


def _is_entry(entry: Any) -> bool:
    return (
        isinstance(entry, dict)
        and isinstance(entry.get("digest"), str)
        and isinstance(entry.get("uses"), list)
        and all(isinstance(each, str) for each in entry["uses"])
    )
