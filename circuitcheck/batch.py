"""Many circuit files verified, one after the other or side by side, told in the order in which they were named."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple

from circuitcheck.prove.meter import USUAL_STATES
from circuitcheck.verify import FileReport, verify_file
from circuitcheck.workers import workers


class Manner(NamedTuple):
    """How files are verified: states looked at for each claim, the folder files are used out of, seconds for a file."""

    states: int = USUAL_STATES
    root: str = ""
    seconds: int | None = None


def verified(
    paths: Sequence[str], manner: Manner, jobs: int = 1, begins: Callable[[str], None] = lambda title: None
) -> Iterator[FileReport]:
    """The report on each file, in order; `jobs` is how many processes work at them.

    `begins` is called with the title of each check or claim that begins, where one process does it all. Raises
    WorkerLost.
    """
    if jobs == 1 or len(paths) < 2:
        for path in paths:
            yield verify_file(path, begins, manner.states, manner.root, manner.seconds)
        return
    with workers(min(jobs, len(paths))) as executor:
        yield from executor.map(_verified, paths, [manner] * len(paths))


def _verified(path: str, manner: Manner) -> FileReport:
    return verify_file(path, states=manner.states, root=manner.root, seconds=manner.seconds)
