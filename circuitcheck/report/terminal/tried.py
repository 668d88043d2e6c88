"""The report on something tried out: the picture of the whole run, and what was found in it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from circuitcheck.checks.outcome import GOOD
from circuitcheck.explain.noteworthy import telling_signals
from circuitcheck.report import wording
from circuitcheck.report.lines import Line, Piece, Style, line, safe, wrapped
from circuitcheck.report.terminal.picture import picture
from circuitcheck.report.terminal.verdict_lines import diagnostic_lines, finding_lines, outcome_lines
from circuitcheck.verify import Attempt


def attempt_lines(tried: Attempt, names: Sequence[str], width: int) -> Iterator[Line]:
    """Everything about an attempt."""
    yield line(Piece(safe(tried.path), Style.STRONG))
    for diagnostic in tried.diagnostics:
        yield from diagnostic_lines(diagnostic, tried.sources, width)
    trial = tried.trial
    if trial is None:
        if not tried.diagnostics:
            yield line("  the file holds definitions only, and no circuit of its own to try")
        return
    if trial.recording is not None:
        yield line()
        shown = names or telling_signals(trial.recording)
        yield from picture(trial.recording, shown, 0, trial.recording.until, width)
        yield line()
        for text in wording.left_open(trial, trial.recording):
            yield from wrapped(text, width, "  ", style=Style.DOUBT)
    if trial.outcome.verdict not in GOOD:
        yield from outcome_lines(trial.outcome, width)
    yield from finding_lines(trial.findings, tried.path, width)
