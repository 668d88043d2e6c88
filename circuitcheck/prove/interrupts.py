"""Ctrl-C while a SAT solver works, an interrupt like any other; and while something is done that is done whole."""

from __future__ import annotations

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def interruptible() -> Iterator[None]:
    """Calls of a solver in it end in KeyboardInterrupt where a user stops them."""
    import pysolvers

    try:
        yield
    except pysolvers.error as stopped:
        # The library makes an error of its own of Ctrl-C.
        if "keyboard interrupt" not in str(stopped):
            raise
        _hear_interrupts_again()
        raise KeyboardInterrupt from stopped


def _hear_interrupts_again() -> None:
    """The library jumps out of its handler, and so leaves that in place, and the signal blocked, for children too."""
    signal.signal(signal.SIGINT, signal.getsignal(signal.SIGINT))
    if hasattr(signal, "pthread_sigmask"):
        signal.pthread_sigmask(signal.SIG_UNBLOCK, {signal.SIGINT})


@contextmanager
def interrupts_wait() -> Iterator[None]:
    """Ctrl-C in it is heard as it ends, so that what is done in it is done whole."""
    usual = signal.default_int_handler
    if threading.current_thread() is not threading.main_thread() or signal.getsignal(signal.SIGINT) is not usual:
        yield
        return
    heard: list[int] = []
    signal.signal(signal.SIGINT, lambda number, _: heard.append(number))
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, usual)
    if heard:
        raise KeyboardInterrupt
