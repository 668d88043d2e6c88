"""Where the variants of a sweep are judged: here, in processes of this machine, or on a cluster.

Whatever it is, it is an `Executor` of `concurrent.futures`, and the sweep knows no more of it than that.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from concurrent.futures import CancelledError, Executor
from contextlib import contextmanager
from typing import Any

from circuitcheck.workers import WorkerLost, workers


class NoCluster(Exception):
    """There is no cluster to be reached; the text says why."""


@contextmanager
def executor_of(count: int, address: str = "") -> Iterator[Executor | None]:
    """The executor for so many processes; none for one; for an address, that of the cluster there.

    Raises NoCluster and WorkerLost.
    """
    if address:
        with _cluster(address) as executor:
            yield executor
    elif count == 1:
        yield None
    else:
        with workers(count) as executor:
            yield executor


@contextmanager
def _cluster(address: str) -> Iterator[Executor]:
    try:
        from distributed import Client, KilledWorker
    except ImportError:
        raise NoCluster("a cluster takes the extra 'cluster': pip install 'circuitcheck[cluster]'") from None
    try:
        client: Any = Client(address, timeout="10s")  # type: ignore[no-untyped-call]
    except (OSError, ValueError) as error:
        raise NoCluster(f"no cluster answers at {address}: {error}") from None
    with client:
        executor: Executor = client.get_executor()
        try:
            yield executor
        except (KilledWorker, CancelledError):  # a worker that was ended too often, or the whole cluster
            raise WorkerLost(f"the cluster at {address} lost what shared the work; memory may have run out") from None


def usual_workers() -> int:
    """As many processes as this one may run on processors."""
    try:
        return len(os.sched_getaffinity(0))
    except AttributeError:
        return os.cpu_count() or 1
