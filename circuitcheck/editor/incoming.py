"""What an editor sends, as it comes: of changes to one text that wait one behind the other, only the last counts.

Texts are sent whole, so a change is outdated once another of the same document stands behind it. A thread reads ahead
and drops what is outdated before any of it is looked into; the library is handed what is left, message by message, in
the form of the protocol (3.17, Base Protocol).
"""

from __future__ import annotations

import json
import threading
from collections import deque
from typing import Any, BinaryIO, NamedTuple

MOST_WAITING = 1_000
"""How many messages wait at most before no more are read."""
CHANGE = b'"textDocument/didChange"'


class _Message(NamedTuple):
    body: bytes
    changes: str
    """The URI of the document whose whole text it brings again; empty where it does anything else."""


class Incoming:
    """A stream of messages as the library reads one: line by line of each header, then the body."""

    def __init__(self, stream: BinaryIO) -> None:
        self._stream = stream
        self._waiting: deque[_Message] = deque()
        self._news = threading.Condition()
        self._ended = False
        self._pieces: deque[bytes] = deque()
        threading.Thread(target=self._read_ahead, daemon=True).start()

    def readline(self) -> bytes:
        """The next line of a header; nothing at the end of the stream."""
        if not self._pieces:
            message = self._next()
            if message is None:
                return b""
            self._pieces.extend((b"Content-Length: %d\r\n" % len(message.body), b"\r\n", message.body))
        return self._pieces.popleft()

    def read(self, _size: int) -> bytes:
        """The body that belongs to the header just read."""
        return self._pieces.popleft()

    def _next(self) -> _Message | None:
        with self._news:
            self._news.wait_for(lambda: self._waiting or self._ended)
            self._news.notify_all()
            return self._waiting.popleft() if self._waiting else None

    def _read_ahead(self) -> None:
        while (body := self._body()) is not None:
            self._put(_Message(body, _changed_whole(body)))
        with self._news:
            self._ended = True
            self._news.notify_all()

    def _put(self, message: _Message) -> None:
        with self._news:
            if self._waiting and message.changes and self._waiting[-1].changes == message.changes:
                self._waiting[-1] = message
                return
            self._news.wait_for(lambda: len(self._waiting) < MOST_WAITING)
            self._waiting.append(message)
            self._news.notify_all()

    def _body(self) -> bytes | None:
        """The body of the next message; None at the end of the stream."""
        size = 0
        while line := self._stream.readline():
            name, _, value = line.partition(b":")
            if name.strip().lower() == b"content-length" and value.strip().isdigit():
                size = int(value)
            elif not line.strip() and size:
                return self._stream.read(size) or None
        return None


def _changed_whole(body: bytes) -> str:
    """The URI of the document whose whole text a message brings again; empty where it does anything else."""
    if CHANGE not in body:
        return ""
    try:
        message: Any = json.loads(body)
        last = message["params"]["contentChanges"][-1]
        whole = message["method"] == "textDocument/didChange" and "range" not in last
        return str(message["params"]["textDocument"]["uri"]) if whole else ""
    except (ValueError, LookupError, TypeError, RecursionError):
        return ""  # whatever it is, the library will say what is wrong with it
