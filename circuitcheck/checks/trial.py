"""What came of trying something out: one check alone, and its run written down."""

from __future__ import annotations

from dataclasses import dataclass

from circuitcheck.checks.finding import Finding
from circuitcheck.checks.outcome import Outcome
from circuitcheck.engine.record import Recording
from circuitcheck.engine.start import Start


@dataclass(frozen=True, slots=True)
class Trial:
    """What came of trying something out: the verdict on what was expected, one run written down, and how many ends."""

    outcome: Outcome
    recording: Recording | None
    """The first way the run can go; None where it was given up."""
    ends: int
    """How many different ends the open orders and starts lead to."""
    starts: tuple[Start, ...]
    """Every way in which it can start (rule C6); none where there are too many to find them."""
    findings: tuple[Finding, ...]

    @property
    def shown(self) -> Recording | None:
        """The run to show: one that breaks what was expected, if one does."""
        return self.recording if self.outcome.failure is None else self.outcome.failure.recording
