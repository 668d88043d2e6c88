"""A plugin for pytest under mutmut, so that its runs take no longer than they have to.

* Of a mutant's tests the quickest come first. mutmut gives them in no order, though the first that fails decides.
* A test that takes far longer than without the mutant fails. mutmut stops a mutant only after some times as long as all
  of its tests take.
* Without a mutant mutmut runs all tests twice, to measure them and to see that they pass. The first run shows both; of
  the second a few are left.
* It stands lighter trampolines in front of functions (`light_trampolines.py`).
"""

from __future__ import annotations

import json
import os
import signal
from collections.abc import Generator
from pathlib import Path

import pytest

from . import light_trampolines

MEASURED = Path("mutmut-stats.json")
"""What mutmut writes down once it has run every test without a mutant, in the folder in which tests run."""
LEAST_SECONDS, TIMES_AS_LONG = 5.0, 5.0
"""Of CPU time: how long a test may take, and how many times as long as without a mutant."""
AGAIN = 1.0
"""After how much more of it the test is stopped once more, if what stops it was lost the first time."""
NO_MUTANT = ""
"""How mutmut names a run of tests that is to show that they pass."""
FEW = 20
light_trampolines.put_in_place()
TAKEN = pytest.StashKey[dict[str, float]]()


def pytest_configure() -> None:
    """Another mutant may be active than in the run before."""
    light_trampolines.look_again()


def durations() -> dict[str, float]:
    """How long each test takes without a mutant, in seconds; nothing before that has been measured."""
    if not MEASURED.exists():
        return {}
    found: dict[str, float] = json.loads(MEASURED.read_text(encoding="utf-8"))["duration_by_test"]
    return found


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Puts the quickest first, and leaves only those where all have just been run as well."""
    taken = config.stash[TAKEN] = durations()
    items.sort(key=lambda item: taken.get(item.nodeid, 0.0))
    if taken and os.environ.get("MUTANT_UNDER_TEST") == NO_MUTANT:
        del items[FEW:]


@pytest.hookimpl(wrapper=True)
def pytest_runtest_call(item: pytest.Item) -> Generator[None, None, None]:
    """Fails a test that takes far longer than it should."""
    taken = item.config.stash[TAKEN]
    if item.nodeid not in taken:
        return (yield)

    def stop(number: int, frame: object) -> None:
        pytest.fail("this runs on for ever")

    before = signal.signal(signal.SIGPROF, stop)
    signal.setitimer(signal.ITIMER_PROF, LEAST_SECONDS + TIMES_AS_LONG * taken[item.nodeid], AGAIN)
    try:
        return (yield)
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.signal(signal.SIGPROF, before)
