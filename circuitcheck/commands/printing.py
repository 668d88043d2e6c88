"""How commands write: lines, JSON, the one clear line for what can't be done, and how far work has come."""

from __future__ import annotations

import argparse
import os
import signal
import sys
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager, nullcontext
from contextvars import ContextVar
from typing import TYPE_CHECKING, Any, TextIO

from circuitcheck.report.lines import Line, escaped, line, safe, width_of, write

if TYPE_CHECKING:
    from circuitcheck.report.terminal.places import Places
    from circuitcheck.report.terminal.progress import Progress

INTERRUPTED = 130
"""The exit code after Ctrl-C."""


def width(options: argparse.Namespace) -> int:
    """How wide to write."""
    return width_of(sys.stdout, options.width)


def show(lines: Iterable[Line]) -> None:
    """Prints lines to standard output; once its reader has gone away, to nowhere, and work goes on to its verdict."""
    places = PLACES.get()
    with reader_may_go():
        write(lines if places is None else places.noted(lines))


PLACES: ContextVar[Places | None] = ContextVar("places", default=None)
"""The places of the circuit that is being reported, if it is drawn."""


def flush() -> None:
    """Writes what is still to be written, and may be read by nobody any more."""
    for stream in (sys.stdout, sys.stderr):
        if not stream.closed:  # an editor's server closes its output when it has said good-bye
            with reader_may_go(stream):
                stream.flush()


@contextmanager
def reader_may_go(stream: TextIO | None = None) -> Iterator[None]:
    """For writing to a stream, standard output if none is named: its reader may go away, which changes no verdict.

    What is said of how far work has come steps aside meanwhile.
    """
    progress = _PROGRESS.get()
    try:
        with nullcontext() if progress is None else progress.aside():
            yield
    except BrokenPipeError:
        let_go_of(sys.stdout if stream is None else stream)


_PROGRESS: ContextVar[Progress | None] = ContextVar("progress", default=None)


@contextmanager
def progress(options: argparse.Namespace) -> Iterator[Progress]:
    """Says on standard error how far the work inside has come, unless the call wants none of it."""
    from circuitcheck.report.terminal.progress import Progress

    with Progress(sys.stderr, getattr(options, "quiet", False)) as made:
        before = _PROGRESS.set(made)
        try:
            yield made
        finally:
            _PROGRESS.reset(before)


def let_go_of(stream: TextIO) -> None:
    """Sends what is still to be written to a stream to nowhere."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())


def is_read() -> bool:
    """Whether standard output is still read by somebody."""
    try:
        return not os.path.samestat(os.fstat(sys.stdout.fileno()), os.stat(os.devnull))
    except (OSError, ValueError):
        return True


def say(text: str) -> None:
    """Prints one line of plain text."""
    show([line(safe(text))])


def file_json(path: str, data: Mapping[str, Any]) -> None:
    """Prints what was found of one file as JSON; of a circuit that is drawn, with the places of its parts."""
    from circuitcheck.report.exchange.data import headed

    places = PLACES.get()
    where = {} if places is None else {"stands_at": {name: list(place) for name, place in places.where.items()}}
    as_json(headed(path, {**data, **where}))


def as_json(data: Mapping[str, Any]) -> None:
    """Prints data as JSON, in letters that standard output can carry."""
    import json

    text = escaped(json.dumps(data, indent=2, ensure_ascii=False))
    unicode = (sys.stdout.encoding or "").lower().startswith("utf")
    with reader_may_go():
        print(text if unicode else json.dumps(json.loads(text), indent=2))


def refuse(text: str) -> int:
    """Says on standard error why a call can't be done. Returns the exit code for that."""
    with reader_may_go(sys.stderr):
        print(f"circuitcheck: {safe(text)}", file=sys.stderr)
    return 2


def failing(text: str) -> int:
    """Says on standard error why nothing was done with a circuit that fails. Returns the exit code for that."""
    refuse(text)
    return 1


def ctrl_c_ends_it() -> None:
    """From here on Ctrl-C ends the process at once and in order: for what goes on until then, with nothing open."""
    # Where whoever called has Ctrl-C passed over, as shells do in the background, it stays so.
    if signal.getsignal(signal.SIGINT) is signal.default_int_handler:
        signal.signal(signal.SIGINT, lambda *_: os._exit(0))
