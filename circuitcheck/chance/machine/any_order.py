"""Strokes that land in one gt, with their order left open, whoever was called first.

In which order pistons start, and so land (rule M13), seldom comes to anything. Where each piston of a row calls the
next, it tells which cell has changed, and nothing else does. So the order is taken to be open (`engine.ties`): as the
strokes land, the engine takes one order where it can't matter, and every order where it can. What comes of the order
that there was is among them, so that nothing that comes of this is wrong; but more could be called open than has to be.
Where that shows, `NotAlike` is raised, and the machine is followed again with the orders as they are.
"""

from __future__ import annotations

from collections.abc import Sequence, Set

from circuitcheck.chance.machine.units import can_change, cells_of
from circuitcheck.engine.program import Program
from circuitcheck.engine.state import State
from circuitcheck.engine.ties import Descent, FrozenTies
from circuitcheck.model.parts.waits import LANDING

KNOWN, OPENED = range(2)
Tie = tuple[int, int]
"""A tie that there was, by its number, or one that is opened, by its slot."""


class AnyOrder:
    """Opens the order of the strokes of one machine that land in one gt, where they are those of one row of cells."""

    def __init__(self, program: Program) -> None:
        self._row_of: dict[int, str] = {}
        for cell, part in cells_of(program).items():
            for reader in program.wiring.readers[cell] if can_change(part) else ():
                if program.devices[reader.device].strokes:
                    self._row_of[reader.device] = part.row

    def opened(self, state: State) -> State:
        """A state with that order open."""
        slots = {
            slot
            for slot, (_, order_class, devices) in enumerate(state.waits)
            if order_class == LANDING and len(devices) > 1 and self._is_of_one_row(devices)
        }
        if not slots:
            return state
        waits = tuple(
            (to_go, order_class, tuple(sorted(devices)) if slot in slots else devices)
            for slot, (to_go, order_class, devices) in enumerate(state.waits)
        )
        return state._replace(waits=waits, ties=_opened(state.ties, waits, slots))

    def _is_of_one_row(self, devices: Sequence[int]) -> bool:
        return len({self._row_of.get(each, "") for each in devices}) == 1 and devices[0] in self._row_of


def _opened(ties: FrozenTies, waits: Sequence[tuple[int, int, tuple[int, ...]]], slots: Set[int]) -> FrozenTies:
    """The ties of a state with the order of some slots open; that they have to do with other slots is forgotten.

    A tie of which one seat is left comes to nothing any more: whatever descends from it has that seat.
    """
    seats_of: dict[Tie, dict[int, int]] = {}
    told: list[tuple[int, int, Tie, list[tuple[Tie, int]]]] = []
    of_device = {(device, slot): it for (device, it), slot in zip(ties.descents, ties.slots, strict=True)}
    for slot, (_, _, devices) in enumerate(waits):
        for device in devices:
            mine = of_device.get((device, slot))
            if slot in slots:
                told.append((slot, device, (OPENED, slot), [((OPENED, slot), device)]))
            elif mine is not None:
                told.append((slot, device, (KNOWN, mine.turns), [((KNOWN, tie), seat) for tie, seat in mine.seats]))
    left: dict[Tie, set[int]] = {}
    for _, _, _, seats in told:
        for tie, seat in seats:
            left.setdefault(tie, set()).add(seat)
    turns_of: dict[Tie, int] = {}
    found: list[tuple[int, Descent]] = []
    numbered: list[int] = []
    for slot, device, turns, seats in told:
        kept = []
        for tie, seat in seats:
            if len(left[tie]) > 1:
                numbers = seats_of.setdefault(tie, {})
                kept.append((list(seats_of).index(tie), numbers.setdefault(seat, len(numbers))))
        if kept:
            found.append((device, Descent(turns_of.setdefault(turns, len(turns_of)), tuple(kept))))
            numbered.append(slot)
    known = tuple(
        tuple(sorted((seats[one], seats[other]) for one, other in _known(ties, tie) if {one, other} <= seats.keys()))
        for tie, seats in seats_of.items()
    )
    return FrozenTies(tuple(found), known, tuple(numbered))


def _known(ties: FrozenTies, tie: Tie) -> tuple[tuple[int, int], ...]:
    """What is known of the seats of a tie that there was; of a new one nothing is."""
    kind, number = tie
    return ties.known[number] if kind == KNOWN else ()
