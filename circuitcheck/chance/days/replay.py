"""A run of days simulated again, with every cell by its name, so that it can be looked at gt by gt."""

from __future__ import annotations

from typing import NamedTuple

from circuitcheck.chance.days.together import Plan, chain_of
from circuitcheck.chance.days.walk import Lived, Walker
from circuitcheck.engine.program import Program
from circuitcheck.engine.record import Recording, record
from circuitcheck.engine.start import the_start
from circuitcheck.engine.step import Action
from circuitcheck.model.parts.cells import cells_of

ENGINE_LATER = 1
"""The gt of the engine in which the first day begins: in gt 0 every part is reported (rule C6)."""


class Replay(NamedTuple):
    """One run again."""

    lived: Lived
    changes: tuple[tuple[int, str], ...]
    """(gt of the recording, cell) of every change that was drawn."""
    recording: Recording
    """The run on the engine as it is, burn-out and all."""
    begin: int
    """The gt of the recording in which the day asked for begins."""
    end: int
    phases: tuple[tuple[str, int], ...]
    """The phases of that day, each with the gt of the recording in which it begins."""

    @property
    def still_cells(self) -> set[str]:
        """The cells that did not change."""
        changed = {name for _, name in self.changes}
        cells = cells_of(self.recording.program.circuit.parts)
        return {cell.name for cell in cells if cell.name not in changed}


def replay(plan: Plan, run: int, day: int) -> Replay:
    """Lives through one run again, up to the end of one of its days, and writes it down.

    Raises ManyStarts, TooManyStarts and TooLarge.
    """
    chain = chain_of(plan, exchanges=False)
    chain.keep_turns()
    calendar = plan.calendar
    drawn: list[tuple[int, int]] = []
    walker = Walker(chain, calendar, plan.watching)
    lived = walker.run(
        run, plan.seed, plan.case == "faded", lambda now, cells: drawn.extend((now, cell) for cell in cells)
    )
    begin, end = calendar.begins(day) + ENGINE_LATER, calendar.begins(day + 1) + ENGINE_LATER
    program = Program(plan.circuit)
    names = chain.program.names
    changes = tuple((now + ENGINE_LATER, names[cell]) for now, cell in drawn if now + ENGINE_LATER < end)
    actions = [(at, Action(program.number[name], "throw")) for at, name in changes]
    recording = record(program, the_start(program).levels, actions, (), end - 1)
    firsts: dict[str, int] = {}
    for phase in plan.calendar.phases:
        if phase.day == day:
            firsts.setdefault(phase.name, phase.begin + ENGINE_LATER)
    return Replay(lived, changes, recording, begin, end, tuple(firsts.items()))
