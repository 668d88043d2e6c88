"""The report on one run: its picture, or its account of moments."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from circuitcheck.checks.outcome import GOOD
from circuitcheck.examine import Traced
from circuitcheck.model.duration import show
from circuitcheck.report import wording
from circuitcheck.report.lines import Line, Style, line, safe, wrapped
from circuitcheck.report.terminal.account import account
from circuitcheck.report.terminal.picture import picture
from circuitcheck.report.terminal.verdict_lines import outcome_lines


def heading(traced: Traced, width: int) -> Iterator[Line]:
    """Which run this is, and whether it is the only way it can go."""
    title = f"{safe(traced.title)}, to {show(traced.recording.until)}"
    yield from wrapped(title, width, "", "  ", Style.STRONG)
    for text in wording.left_open(traced.trial, traced.recording):
        yield from wrapped(text, width, "  ", style=Style.DOUBT)


def traced_lines(traced: Traced, names: Sequence[str], as_account: bool, only: bool, width: int) -> Iterator[Line]:
    """The run as a picture or as an account; an account tells of all parts unless `only` the named ones are wanted."""
    yield from heading(traced, width)
    if traced.trial.outcome.verdict not in GOOD and traced.trial.outcome.failure is not None and not as_account:
        yield from (row for row in list(outcome_lines(traced.trial.outcome, width))[:3])
    yield line()
    if as_account:
        yield from account(traced.recording, names if only else (), width)
    else:
        failure = traced.trial.outcome.failure
        mark = failure.at if failure is not None else None
        yield from picture(traced.recording, names, 0, traced.recording.until, width, mark)
    yield line()
