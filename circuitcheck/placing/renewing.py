"""Repeaters put into a task's circuit, on ways that are longer than dust carries: what held before must still hold."""

from __future__ import annotations

from collections.abc import Sequence

from circuitcheck.language.load import Loaded
from circuitcheck.placing.holding import Holding
from circuitcheck.placing.pieces.in_pieces import plan_of
from circuitcheck.placing.pieces.long_ways import Way
from circuitcheck.placing.problem import CantPlace, Problem
from circuitcheck.placing.renewed_text import Renewed, renewed
from circuitcheck.placing.smallest_box import OutOfTime
from circuitcheck.placing.task import Task, task_of


class Renewing:
    """The circuit of a task as it comes to have more repeaters; each makes what is fed by it 1t later."""

    def __init__(self, task: Task, holding: Holding) -> None:
        self.task = task
        """The task with all repeaters that are in it by now."""
        self.put_in: list[Renewed] = []
        self.kept_out = 0
        """How often none was put in, as something would not hold any more."""
        self._holding = holding

    def renew(self, ways: Sequence[Way]) -> Problem | None:
        """The circuit with a repeater on each of some ways, or, where that breaks something, on those that may have
        one; None where none may, or no time is left to judge it.
        """
        before = self.task
        try:
            if not self._taken(ways):
                for way in ways if len(ways) > 1 else ():
                    self._taken([way])
        except OutOfTime:
            pass
        return None if self.task is before else self.task.problem

    def _taken(self, ways: Sequence[Way]) -> bool:
        """Whether repeaters are put in on all of some ways. Raises OutOfTime."""
        task, made = self.task, list[Renewed]()
        problem = task.problem
        for way in ways:
            sources = [problem.names[part] for part in way.sources]
            readers = [problem.names[problem.ports[port].part] for port in way.ports]
            text, more = renewed(task.text, task.path, task.of, task.study.circuit, sources, readers)
            after = self._read(text) if more else None
            if after is not None:
                task, made = after, [*made, *more]
        if not made:
            return False
        if not self._holding.keeps(task.text):
            self.kept_out += 1
            return False
        self.task, self.put_in = task, [*self.put_in, *made]
        return True

    def _read(self, text: str) -> Task | None:
        """The task of another text; None where that has mistakes, or no layout in pieces."""
        task = self.task
        try:
            after = task_of(text, task.path, task.folder, task.root, task.of)
            if isinstance(after, Loaded):
                return None
            plan_of(after.problem, by_hand=True)
        except CantPlace:
            return None
        return after
