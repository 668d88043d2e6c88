"""Processes that share work: deaf to Ctrl-C, ended with the one that began them, and missed where one is killed.

The one place where processes are begun to compute in; who computes what is up to the callers.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from concurrent.futures import Executor


class WorkerLost(Exception):
    """One of the processes was ended from outside; the text says so."""


@contextmanager
def workers(count: int) -> Iterator[Executor]:
    """So many processes. Raises WorkerLost as soon as the outcome of a lost one is asked for."""
    # Only a call that asks for several processes pays for them.
    import multiprocessing
    from concurrent.futures.process import BrokenProcessPool

    others = set(multiprocessing.active_children())
    executor = _deaf(count)
    try:
        yield executor
    except BrokenProcessPool:
        raise WorkerLost("a process that shared the work was ended from outside; memory may have run out") from None
    except BaseException:
        # Nobody waits for what still runs: it would be worked at to its end.
        for process in set(multiprocessing.active_children()) - others:
            process.terminate()
        raise
    finally:
        executor.shutdown(cancel_futures=True)


def _deaf(count: int) -> Executor:
    """An executor whose processes never hear of Ctrl-C: it is for the one that was called, and that one ends them."""
    from concurrent.futures import Future, ProcessPoolExecutor

    class Deaf(ProcessPoolExecutor):
        # Processes begin when work is handed over, and have from then on what is in force at that moment.
        def submit(self, *task, **named) -> Future:  # type: ignore[no-untyped-def, type-arg]
            with _interrupts_ignored():
                return super().submit(*task, **named)

    return Deaf(count)


@contextmanager
def _interrupts_ignored() -> Iterator[None]:
    import signal
    import threading

    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)
