"""Ctrl-C while a SAT solver works: an interrupt like any other."""

from __future__ import annotations

import signal
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
