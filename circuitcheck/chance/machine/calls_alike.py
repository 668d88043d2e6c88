"""Cells that come to the same in a core, whichever of one row change in a gt: the engine is asked about one of them.

A cell that changes updates the pistons beside it (rule W10), and the water above it. Two cases are known before asking,
as long as that water is dry, or never moves:
* *silent*: each piston of the row ignores an update as things stand (rule D2). So nothing comes of it but the cell;
* *all go out*: each would start, the start of each updates others of the row (rule M5) and through them all of it, and
  no two collide as they start (`engine.stroke_orders`): each does the same, and changes the same for all else, whether
  others have started or not. So all of the row start in this gt, whoever was first, and what comes of that differs in
  the order at most in which they land, which is left open (`machine.any_order`). Nobody else may start by it, or be
  called for this gt. That they all have started is looked up in what the engine finds.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import NamedTuple

from circuitcheck.chance.machine.joint import Changed
from circuitcheck.chance.machine.units import can_change, cells_of
from circuitcheck.engine.program import Program
from circuitcheck.engine.simulator import Simulator, restore
from circuitcheck.engine.state import State
from circuitcheck.model.parts.waits import CALLED, GOING_OUT, HOME, IS_CALLED
from circuitcheck.space.strokes import Step


class Row(NamedTuple):
    """The cells of one sensor, with the pistons that hear them."""

    cells: tuple[int, ...]
    pistons: tuple[int, ...]


class Asked(NamedTuple):
    """What to ask the engine instead."""

    changed: Changed
    goes_out: Row | None
    """The row that one of the cells stands for, if all of it went out."""


class CallsAlike:
    """The rows of one machine. What waits of water that nobody feels must not be told in the states."""

    def __init__(self, program: Program, still: frozenset[int]) -> None:
        """`still` are the sources whose looks never change anything."""
        self._program = program
        self._still = still
        self._row_of = {cell: row for row in self._rows() for cell in row.cells}
        self._known: dict[tuple[State, Row], bool | None] = {}

    def _rows(self) -> Iterator[Row]:
        program = self._program
        rows: dict[str, list[int]] = {}
        for cell, part in cells_of(program).items():
            if can_change(part):
                rows.setdefault(part.row, []).append(cell)
        for cells in rows.values():
            heard = {reader.device for cell in cells for reader in program.wiring.readers[cell]}
            pistons = sorted(each for each in heard if program.devices[each].strokes)
            if len(cells) > 1 and pistons:
                yield Row(tuple(cells), tuple(pistons))

    def instead_of(self, state: State, changed: Changed) -> Asked:
        """What comes to the same as these cells, the levels of cells apart."""
        left: list[int] = []
        out: list[Row] = []
        for cell in changed:
            row = self._row_of.get(cell)
            goes_out = None if row is None else self._goes_out(state, row)
            if row is None or goes_out is None:
                left.append(cell)
            elif goes_out and row not in out:
                out.append(row)
        if len(out) == 1 and not left:
            return Asked(out[0].cells[:1], out[0])
        return Asked(tuple(sorted((*left, *(each for row in out for each in row.cells if each in changed)))), None)

    def _goes_out(self, state: State, row: Row) -> bool | None:
        """Whether a row goes out if one of its cells changes; False if it is silent, None if neither is known."""
        key = (state, row)
        if key not in self._known:
            self._known[key] = self._found(state, row)
        return self._known[key]

    def _found(self, state: State, row: Row) -> bool | None:
        simulator = restore(self._program, state, 0, kept=False)
        if not self._only_pistons_feel(simulator, row):
            return None
        orders = self._program.stroke_orders
        assert orders is not None
        if all(orders.ignores(simulator, piston) for piston in row.pistons):
            return False
        return True if self._all_start(simulator, state, row) else None

    def _only_pistons_feel(self, simulator: Simulator, row: Row) -> bool:
        """Whether nobody but pistons of the row, and water that does not look, is updated by the cells; all stand."""
        devices, pistons = self._program.devices, set(row.pistons)
        for cell in row.cells:
            readers = {reader.device for reader in simulator.wiring.readers[cell]}
            water = {each for each in readers if devices[each].flows}
            if any(simulator.levels[each] and each not in self._still for each in water):
                return False
            if simulator.is_in_motion(cell) or not readers - water or not readers - water <= pistons:
                return False
        return True

    def _all_start(self, simulator: Simulator, state: State, row: Row) -> bool:
        """Whether all pistons of a row start in this gt as soon as one is updated, and no order of that matters."""
        motion, now, orders = self._program.motion, simulator.configuration, self._program.stroke_orders
        assert motion is not None
        assert now is not None
        assert orders is not None
        if any(to_go == 0 and order_class == CALLED for to_go, order_class, _ in state.waits):
            return False
        told: dict[int, set[int]] = {}
        for piston in row.pistons:
            if simulator.device_state[piston] != HOME or orders.ignores(simulator, piston):
                return False
            step = motion.strokes.start_out(now, motion.home_of[piston])
            if not isinstance(step, Step):
                return False
            told[piston] = {
                self._program.number[name]
                for names in motion.wirings.told(step.after, step.tells)
                for name in names
                if self._program.devices[self._program.number[name]].strokes
            }
        others = set().union(*told.values()) - set(row.pistons)
        if not all(orders.ignores(simulator, each) for each in others):
            return False
        if any(_reached(told, piston) < set(row.pistons) for piston in row.pistons):
            return False
        for piston in row.pistons:
            simulator.device_state[piston] |= IS_CALLED  # as each is before it starts: to call it is no matter then
        return not orders.colliding(simulator, now, row.pistons, CALLED)


def all_went_out(row: Row, ends: Iterable[State]) -> bool:
    """Whether all pistons of a row have started in each of some states."""
    return all(end.device_state[piston] % IS_CALLED == GOING_OUT for end in ends for piston in row.pistons)


def _reached(told: dict[int, set[int]], first: int) -> set[int]:
    """Whom the start of one updates, at once or through others that start by it."""
    found, queue = {first}, [first]
    while queue:
        more = told.get(queue.pop(), set()) - found
        found |= more
        queue += more
    return found
