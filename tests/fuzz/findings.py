"""What fuzzing found: each failure once, made smaller, and written to a file."""

from __future__ import annotations

import re
import time
import traceback
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import circuitcheck

from .checking import TooLong, Wrong, check
from .mutating import WORD, as_bytes

PACKAGE = str(Path(circuitcheck.__file__).parent)
PIECE = re.compile(f"(?:{WORD.pattern})[ \t]*", re.DOTALL)
"""A word with the blanks behind it."""
MOST_TRIES = 3000
MOST_SECONDS = 60.0
"""Of CPU time, in which one input is made smaller."""


class Findings:
    """The failures met so far. Those that come from one place count as one."""

    def __init__(self, folder: Path, examine: Callable[[str], object] = check) -> None:
        self._folder = folder
        self._examine = examine
        self.met: Counter[str] = Counter()
        """How often each failure was met, by the place it comes from."""

    def add(self, text: str, failure: BaseException) -> None:
        """Counts a failure; of a new one, the input is made smaller and written to a file, with the traceback."""
        where = place(failure)
        self.met[where] += 1
        if self.met[where] > 1:
            return
        least = smaller(text, lambda shorter: self._place(shorter) == where, 40 if is_slow(failure) else MOST_TRIES)
        name = self._folder / f"finding-{len(self.met)}"
        name.with_suffix(".circuit").write_bytes(as_bytes(least))
        told = "".join(traceback.format_exception(failure))
        name.with_suffix(".txt").write_text(f"{where}\n\n{told}", encoding="utf-8", errors="backslashreplace")
        print(f"finding {len(self.met)}: {where}: {name.with_suffix('.circuit')}", flush=True)

    def _place(self, text: str) -> str:
        try:
            self._examine(text)
        except (Exception, TooLong) as failure:
            return place(failure)
        return ""


def is_slow(failure: BaseException) -> bool:
    """Whether it took too long, which takes as long again each time that it is tried."""
    return isinstance(failure, TooLong)


def place(failure: BaseException) -> str:
    """Where a failure comes from: its kind, the program's innermost line, the modules before it; or what is wrong."""
    if isinstance(failure, Wrong):
        return str(failure)
    frames = [frame for frame in traceback.extract_tb(failure.__traceback__) if frame.filename.startswith(PACKAGE)]
    name = type(failure).__name__
    if not frames:
        return f"{name} outside of the program"
    modules = [frame.filename.removeprefix(PACKAGE)[1:] for frame in frames]
    where = modules[-1]
    if isinstance(failure, TooLong):
        return f"{failure}, in {where}"  # the line is another each time
    if isinstance(failure, RecursionError):
        return f"{name} in {where}"
    way = " < ".join([*dict.fromkeys(reversed(modules))][1:6])
    return f"{name} in {where}:{frames[-1].lineno}" + (f" < {way}" if way else "")


def smaller(text: str, fails: Callable[[str], bool], tries: int = MOST_TRIES) -> str:
    """The text with as many lines, then words, dropped as can be while it still fails."""
    left = _Tries(tries)
    lines = _fewest(text.split("\n"), lambda some: left.one() and fails("\n".join(some)))
    words = PIECE.findall("\n".join(lines))
    return "".join(_fewest(words, lambda some: left.one() and fails("".join(some))))


class _Tries:
    """How often something may be tried, and for how long."""

    def __init__(self, most: int) -> None:
        self._most = most
        self._until = time.process_time() + MOST_SECONDS

    def one(self) -> bool:
        """Uses one up, if there is one."""
        self._most -= 1
        return self._most >= 0 and time.process_time() < self._until


def _fewest(items: list[str], fails: Callable[[list[str]], bool]) -> list[str]:
    """As few of the items as do it, dropped in ever shorter stretches, and at last one by one until none can go."""
    size = len(items)
    while size:
        begin, before = 0, len(items)
        while begin < len(items):
            left = items[:begin] + items[begin + size :]
            if fails(left):
                items = left
            else:
                begin += size
        if size > 1 or len(items) == before:
            size //= 2
    return items
