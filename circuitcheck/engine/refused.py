"""What ends a run early: a mistake of the drawing that only shows while it runs, or what the rules know nothing of."""

from __future__ import annotations

from circuitcheck.engine import work
from circuitcheck.model.drawing import At


class RunRefused(work.Undecided):
    """A run has come to a mistake of the drawing, or to something of which the rules don't say what follows."""

    def __init__(self, why: str, rule: str, name: str, at: At, hint: str = "") -> None:
        super().__init__(f"{why} ({rule})")
        self.why = why
        self.rule = rule
        self.name = name
        self.at = at
        self.hint = hint
