"""Many circuit files verified, one after the other or side by side, told in the order in which they were named."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from typing import NamedTuple

from circuitcheck.verify import USUAL_STATES, FileReport, verify_file


class WorkerLost(Exception):
    """One of the processes that verified files was ended from outside."""


class Manner(NamedTuple):
    """How files are verified: how many states are looked at for each claim, and out of which folder files are used."""

    states: int = USUAL_STATES
    root: str = ""


def verified(
    paths: Sequence[str], manner: Manner, jobs: int = 1, begins: Callable[[str], None] = lambda title: None
) -> Iterator[FileReport]:
    """The report on each file, in order; `jobs` is how many processes work at them.

    `begins` is told the title of each check or claim that begins, where one process does it all. Raises WorkerLost.
    """
    if jobs == 1 or len(paths) < 2:
        for path in paths:
            yield verify_file(path, begins, manner.states, manner.root)
        return
    yield from _side_by_side(paths, manner, min(jobs, len(paths)))


def _side_by_side(paths: Sequence[str], manner: Manner, jobs: int) -> Iterator[FileReport]:
    # Only a call that asks for several processes pays for them.
    import multiprocessing
    from concurrent.futures import ProcessPoolExecutor
    from concurrent.futures.process import BrokenProcessPool

    others = set(multiprocessing.active_children())
    executor = ProcessPoolExecutor(jobs)
    try:
        with _interrupts_ignored():
            reports = executor.map(_verified, paths, [manner] * len(paths))
        yield from reports
    except BrokenProcessPool:
        raise WorkerLost("a process that verified files was ended from outside; memory may have run out") from None
    except BaseException:
        # Nobody waits for what still runs: it would be worked at to its end.
        for process in set(multiprocessing.active_children()) - others:
            process.terminate()
        raise
    finally:
        executor.shutdown(cancel_futures=True)


@contextmanager
def _interrupts_ignored() -> Iterator[None]:
    """Processes that are begun now never hear of Ctrl-C: it is for the one that was called, and that one ends them."""
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


def _verified(path: str, manner: Manner) -> FileReport:
    return verify_file(path, states=manner.states, root=manner.root)
