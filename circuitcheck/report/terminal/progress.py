"""How far work has come, said on standard error while it runs; nothing of it ever reaches standard output.

Work tells what it does by callbacks; a thread writes the latest of it down from time to time, so that something is seen
even while one long step says nothing. In a terminal that is one line, within a second, wiped in the end; elsewhere a
plain line every half minute.
"""

from __future__ import annotations

import os
import shutil
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from types import TracebackType
from typing import TextIO

from circuitcheck.about import PROGRAM
from circuitcheck.report.lines import safe, shortened

IN_A_TERMINAL = 0.4
"""Seconds between two looks at what is done, in a terminal."""
ELSEWHERE = 30.0
WIPED = "\r\x1b[2K"
"""To the beginning of the line, which is erased (ECMA-48, EL)."""


class Progress:
    """Says on a stream how far work has come, from when it is entered until it is left."""

    def __init__(self, stream: TextIO, quiet: bool = False) -> None:
        self._stream = stream
        self._quiet = quiet
        self._line = stream.isatty() and os.environ.get("TERM") != "dumb"
        self._text = ""
        self._count = ""
        self._begun = time.monotonic()
        self._shown = False
        self._lock = threading.Lock()
        self._ended = threading.Event()
        self._thread: threading.Thread | None = None

    def __enter__(self) -> Progress:
        if self._line:
            self._start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._ended.set()
        with self.aside():
            self._quiet = True

    def tell(self, text: str) -> None:
        """From here on this is what is done."""
        self._text, self._count = text, ""
        # Elsewhere the thread begins no sooner: processes that share work are begun before anything is reported them.
        self._start()

    def count(self, text: str) -> None:
        """How far that has come."""
        self._count = text
        self._start()

    @contextmanager
    def aside(self) -> Iterator[None]:
        """Something else is written meanwhile: the line is wiped, and none comes in between."""
        with self._lock:
            if self._shown:
                self._write(WIPED)
                self._shown = False
            yield

    def _start(self) -> None:
        if self._thread is None and not self._quiet:
            self._thread = threading.Thread(target=self._run, daemon=True)
            self._thread.start()

    def _run(self) -> None:
        while not self._ended.wait(IN_A_TERMINAL if self._line else ELSEWHERE):
            with self._lock:
                if not self._quiet:
                    self._say()

    def _say(self) -> None:
        parts = [f"{time.monotonic() - self._begun:.0f} s", self._text, self._count]
        text = safe(": ".join(part for part in parts if part))
        if self._line:
            room = shutil.get_terminal_size().columns - 1
            self._write(WIPED + shortened(text, room))
            self._shown = True
        else:
            self._write(f"{PROGRAM}: {text}\n")

    def _write(self, text: str) -> None:
        try:
            self._stream.write(text)
            self._stream.flush()
        except (OSError, ValueError):
            self._quiet = True  # nobody reads it any more
