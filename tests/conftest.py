"""What all tests share."""

from __future__ import annotations

import os
import signal
from collections.abc import Generator
from typing import Any

import pytest

pytest_plugins = ["pytester"]

# A shell that starts a run in the background has it, and all that it starts, pass over Ctrl-C; tests of Ctrl-C need it.
signal.signal(signal.SIGINT, signal.default_int_handler)

# The readline library, which pytest imports, sets it for all that is started from here, behind Python's back; what is
# written to no terminal is 100 columns wide.
os.unsetenv("COLUMNS")

NO_SKIPS = "CIRCUITCHECK_NO_SKIPS"
"""The variable with which CI has every skip fail, but for tests that need a browser or a model checker."""
MAY_SKIP = ("tests/browser/", "tests/outside/test_model_checker.py")


def _unskipped(report: Any) -> None:
    by_design = hasattr(report, "wasxfail") or report.nodeid.startswith(MAY_SKIP)
    if report.skipped and os.environ.get(NO_SKIPS) and not by_design:
        report.outcome, report.longrepr = "failed", f"nothing may be skipped here: {report.longrepr}"


@pytest.hookimpl(hookwrapper=True)
def pytest_runtest_makereport() -> Generator[None, Any, None]:
    """A test that skips itself."""
    made = yield
    _unskipped(made.get_result())


@pytest.hookimpl(hookwrapper=True)
def pytest_make_collect_report() -> Generator[None, Any, None]:
    """A file that skips all that is in it."""
    made = yield
    _unskipped(made.get_result())
