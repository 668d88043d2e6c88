"""Whether a drawing of a task may be its result: by copies beside it, and by all that holds of its file."""

from __future__ import annotations

from dataclasses import replace
from time import monotonic

from circuitcheck.checks.outcome import GOOD
from circuitcheck.model.drawing import Drawing
from circuitcheck.placing.problem import CantPlace
from circuitcheck.placing.smallest_box import OutOfTime
from circuitcheck.placing.task import Task
from circuitcheck.plans.tiling import NotReckoned, Offset, meddlings
from circuitcheck.space.circuit import read
from circuitcheck.verify import FileReport


class Holding:
    """Judges drawings of one task up to `until`, in seconds of a monotonic clock.

    The report on the last that may be is kept.
    """

    def __init__(self, task: Task, until: float | None = None) -> None:
        self._task, self._until = task, until
        self._good: list[str] | None = None
        self._kept: tuple[str, FileReport] | None = None

    def allows(self, drawing: Drawing) -> bool:
        """Whether a drawing of the circuit may be the result. Raises OutOfTime, and CantPlace for odd copies."""
        return self._stands_side_by_side(drawing) and (not self._task.problem.staying or self.holds_as_before(drawing))

    def _stands_side_by_side(self, drawing: Drawing) -> bool:
        sides, study = self._task.problem.asked.tiles, self._task.study
        if not sides:
            return True
        made = replace(read(drawing, study.circuit.rules).circuit, outputs=study.circuit.own_outputs)
        layers, rows, columns = drawing.extent
        for side in sides:
            up, south, east = side.value
            try:
                if meddlings(made, drawing, Offset(abs(up) * layers, abs(south) * rows, abs(east) * columns)):
                    return False
            except NotReckoned as why:
                raise CantPlace(str(why), "leave out --tiles") from None
        return True

    def holds_as_before(self, drawing: Drawing) -> bool:
        """Whether all that holds of the file holds of it with another drawing as well. Raises OutOfTime."""
        return not self._task.is_other(drawing) or self.keeps(self._task.with_drawing(drawing))

    def keeps(self, text: str) -> bool:
        """Whether all that holds of the file holds of it with another text as well. Raises OutOfTime."""
        if self._good is None:
            self._good = [each.title for each in self._judged(self._task.text).outcomes if each.verdict in GOOD]
        report = self._judged(text)
        told = {outcome.title: outcome.verdict in GOOD for outcome in report.outcomes}
        if not all(told.get(title) for title in self._good):
            return False
        self._kept = text, report
        return True

    def report(self, text: str) -> FileReport:
        """What the file with its drawing comes to. If it is not known by now, that takes what time it takes."""
        if self._kept is None or self._kept[0] != text:
            self._kept = text, self._task.report(text)
        return self._kept[1]

    def _judged(self, text: str) -> FileReport:
        """The report on a text, which time must be left for. Raises OutOfTime."""
        left = None if self._until is None else self._until - monotonic()
        self._in_time()
        report = self._task.report(text, begins=lambda title: self._in_time(), seconds=left)
        self._in_time()  # a claim may be undecided for want of time alone
        return report

    def _in_time(self) -> None:
        if self._until is not None and monotonic() > self._until:
            raise OutOfTime
