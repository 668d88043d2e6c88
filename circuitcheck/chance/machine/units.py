"""Cells that can be exchanged: those of one sensor, each with all that it alone feeds, are one as good as another.

A *unit* is a cell with the devices that depend on it alone, and with the sources that can grow over it alone. Two units
may be exchanged if doing so leaves the wiring, the settings, the growth and everything that is looked at as they were.
States that differ only by such an exchange are one state: of seven cells it matters how many have faded, not which.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import fields
from operator import itemgetter
from typing import NamedTuple

from circuitcheck.engine.offs import offs_by_torch
from circuitcheck.engine.program import PortDrivers, Program
from circuitcheck.engine.state import State
from circuitcheck.model.parts.cells import Cell

Unit = tuple[int, ...]
"""A cell and what belongs to it, by device number, in an order that is the same in all units of a group."""
Mark = tuple[tuple[int, ...], tuple[int, ...], tuple[tuple[int, ...], ...]]
"""All that a state says of one unit: the levels of its devices, their marks, and their waits and offs by position.
Units of one group and mark can be exchanged there."""
Marks = tuple[tuple[Mark, ...], ...]
"""What a state says of each unit, group by group."""
WAITS, WAS_OFF = range(2)


class Ordered(NamedTuple):
    """A state with its units in order: the state, what it says of them, and where each device was moved to."""

    state: State
    marks: Marks
    turn: list[int] | None
    """None where nothing was moved."""


def cells_of(program: Program) -> dict[int, Cell]:
    """The cells of a machine, by their device numbers."""
    return {device.index: cell for device in program.devices if (cell := device.part.cell) is not None}


def can_change(cell: Cell) -> bool:
    """Whether a cell ever changes, whatever light falls on it; others are but grown over from."""
    return bool(cell.fades or cell.grows or cell.becomes)


def probes_of_places(program: Program) -> dict[str, PortDrivers]:
    """What makes the levels of the parts that the light at cells of a machine depends on."""
    used = {cell.place for cell in cells_of(program).values()}
    parts = (name for place in program.circuit.places if place.name in used for name in place.parts)
    return {name: program.probe(name) for name in parts}


class Units:
    """The groups of units of one machine that can be exchanged. `watched` is what must stay as it is."""

    def __init__(self, program: Program, watched: Iterable[PortDrivers]) -> None:
        self._machine = program
        self._cells = cells_of(program)
        self._grows = {
            number: frozenset(program.number[name] for name in cell.grows) for number, cell in self._cells.items()
        }
        self.targets: dict[int, tuple[int, ...]] = {
            source: tuple(cell for cell, sources in self._grows.items() if source in sources) for source in self._cells
        }
        """For each cell, the cells that it can grow over."""
        places = probes_of_places(program).values()
        self._watched = [frozenset(feeds) for feeds in (*watched, *places)]
        self.groups: tuple[tuple[Unit, ...], ...] = tuple(
            tuple(group)
            for group in (() if program.moving else self._grouped(self._units()))  # who is like whom changes there
            if len(group) > 1
        )
        self.place: dict[int, tuple[int, int, int]] = {
            device: (group, unit, position)
            for group, units in enumerate(self.groups)
            for unit, devices in enumerate(units)
            for position, device in enumerate(devices)
        }
        """For each device in a group: the group, the unit, and its position in it."""
        self._picks = [[_picking(unit) for unit in units] for units in self.groups]
        self.private = frozenset(
            cell for units in self.groups for unit in units for cell in unit if self._reaches_only(cell, unit)
        )
        """The cells in a group that can grow over cells of their own unit only."""

    def _units(self) -> list[Unit]:
        grown_by: dict[int, set[int]] = {}
        for target, sources in self._grows.items():
            for source in sources:
                grown_by.setdefault(source, set()).add(target)
        taken: set[int] = set()
        units = []
        for cell, part in self._cells.items():
            own = [
                source
                for source in sorted(self._grows[cell])
                if grown_by[source] == {cell} and self._cells[source].row != part.row and not self._grows[source]
            ]
            if cell not in taken and (cell not in grown_by or len(grown_by[cell]) > 1 or self._grows[cell]):
                unit = self._closed((cell, *own))
                taken |= set(unit)
                units.append(unit)
        return units

    def _closed(self, first: Sequence[int]) -> Unit:
        """These cells and every device that is fed by them alone, directly or not."""
        program, unit = self._machine, list(first)
        known = set(unit)
        for device in unit:
            for reader in program.readers[device]:
                fed = {source for port in program.devices[reader.device].ports for source, _ in program.feeds[port]}
                if reader.device not in known and fed <= known:
                    known.add(reader.device)
                    unit.append(reader.device)
        return tuple(unit)

    def _grouped(self, units: Sequence[Unit]) -> Iterable[list[Unit]]:
        """Units that stand next to each other in the file and can be exchanged."""
        group: list[Unit] = []
        for unit in units:
            if group and not self._exchangeable(group[-1], unit):
                yield group
                group = []
            group.append(unit)
        if group:
            yield group

    def _exchangeable(self, one: Unit, other: Unit) -> bool:
        if len(one) != len(other):
            return False
        turned = {**dict(zip(one, other, strict=True)), **dict(zip(other, one, strict=True))}
        if not all(self._alike(mine, others) for mine, others in zip(one, other, strict=True)):
            return False
        if any(_turned(feeds, turned) != feeds for feeds in self._watched):
            return False
        return self._wired_alike(turned) and self._grown_alike(turned) and self._reaches_alike(one, other)

    def _reaches_only(self, cell: int, unit: Unit) -> bool:
        """Whether a device is a cell that grows over others of its unit, and over none beyond it."""
        targets = self.targets.get(cell, ())
        return bool(targets) and set(targets) <= set(unit)

    def _reaches_alike(self, one: Unit, other: Unit) -> bool:
        """Whether each source reaches as much of the other unit as of its own; or its own only."""
        for place, source in enumerate(one):
            targets = set(self.targets.get(source, ()))
            if targets and not self._reaches_only(source, one):
                pairs = zip(one, other, strict=True)
                if any((a in targets) is not (b in targets) for at, (a, b) in enumerate(pairs) if at != place):
                    return False
        return True

    def _alike(self, one: int, other: int) -> bool:
        """Whether two devices are the same but for their names and what they are wired to."""
        program = self._machine
        first, second = program.devices[one].part, program.devices[other].part
        straight = (first.name in program.straight, second.name in program.straight)
        if type(first) is not type(second) or straight[0] != straight[1]:
            return False
        for field in fields(first):
            mine, others = getattr(first, field.name), getattr(second, field.name)
            if field.name not in ("name", "span") and not (_names(mine) and _names(others)) and mine != others:
                return False
        return True

    def _wired_alike(self, turned: dict[int, int]) -> bool:
        program = self._machine
        concerned = set(turned) | {reader.device for device in turned for reader in program.readers[device]}
        for device in concerned:
            twin = turned.get(device, device)
            for mine, others in zip(program.devices[device].ports, program.devices[twin].ports, strict=True):
                if _turned(frozenset(program.feeds[mine]), turned) != frozenset(program.feeds[others]):
                    return False
        return True

    def _grown_alike(self, turned: dict[int, int]) -> bool:
        for cell, sources in self._grows.items():
            twin = turned.get(cell, cell)
            others = self._grows[twin]
            if any((device in sources) is not (to in others) for device, to in turned.items()):
                return False
            if twin != cell and sources - turned.keys() != others - turned.keys():
                return False
        return True

    # States

    def marks(self, state: State) -> list[list[Mark]]:
        """What a state says of each unit, group by group."""
        more: dict[tuple[int, int], list[tuple[int, ...]]] = {}
        place = self.place
        for to_go, order_class, devices in state.waits:
            for device in devices:
                if device in place:
                    group, unit, position = place[device]
                    more.setdefault((group, unit), []).append((position, WAITS, to_go, order_class))
        for torch, offs in offs_by_torch(0, state.offs).items():
            if torch in place:
                group, unit, position = place[torch]
                more.setdefault((group, unit), []).append((position, WAS_OFF, *offs))
        levels, device_state = state.levels, state.device_state
        return [
            [
                (pick(levels), pick(device_state), tuple(sorted(more[group, unit])) if (group, unit) in more else ())
                for unit, pick in enumerate(picks)
            ]
            for group, picks in enumerate(self._picks)
        ]

    def exchangeable(self, marks: Marks, cells: Sequence[int]) -> Iterator[tuple[int, ...]]:
        """Cells that are to change, sorted into those that can be exchanged; one that can't stands alone."""
        places = [self.place.get(cell) for cell in cells]
        units = [place[:2] for place in places if place is not None]
        found: dict[object, list[int]] = {}
        for cell, place in zip(cells, places, strict=True):
            name: object = cell
            if place is not None and units.count(place[:2]) == 1:
                group, unit, position = place
                name = (group, marks[group][unit], position)
            found.setdefault(name, []).append(cell)
        yield from map(tuple, found.values())

    def in_order(self, state: State) -> Ordered:
        """The state that stands for all that differ from this one by exchanges."""
        marks = self.marks(state)
        turn = self._turn(state, marks)
        if turn is None:
            return Ordered(state, tuple(map(tuple, marks)), None)
        levels, kept = bytearray(state.levels), bytearray(state.device_state)
        for device, to in enumerate(turn):
            levels[to], kept[to] = state.levels[device], state.device_state[device]
        orders = self._machine.orders
        waits = tuple(
            (to_go, order_class, orders.least([turn[device] for device in devices], levels))
            for to_go, order_class, devices in state.waits
        )
        offs = tuple((tuple(sorted(turn[torch] for torch in torches)), later) for torches, later in state.offs)
        ties = state.ties._replace(descents=tuple((turn[device], descent) for device, descent in state.ties.descents))
        moved = State(bytes(levels), bytes(kept), waits, offs, ties, bytes(self._machine.readings(levels)))
        return Ordered(moved, tuple(tuple(sorted(each)) for each in marks), turn)

    def _turn(self, state: State, marks: Sequence[Sequence[Mark]]) -> list[int] | None:
        """Where each device is moved to, so that units stand sorted by what is said of them; None where they do."""
        order = {device: place for _, _, devices in state.waits for place, device in enumerate(devices)}
        turn: list[int] | None = None
        for units, of_units in zip(self.groups, marks, strict=True):
            keys = [
                (mark, [order.get(device, 0) for device in unit]) for unit, mark in zip(units, of_units, strict=True)
            ]
            ranked = sorted(range(len(units)), key=keys.__getitem__)
            if ranked != list(range(len(units))):
                turn = turn or list(range(len(state.levels)))
                for to, unit in enumerate(ranked):
                    for device, place in zip(units[unit], units[to], strict=True):
                        turn[device] = place
        return turn


def _picking(unit: Unit) -> Callable[[bytes], tuple[int, ...]]:
    """What takes what is said of a unit's devices out of what is said of all: asking for each takes twice as long."""
    if len(unit) > 1:
        return itemgetter(*unit)
    (device,) = unit
    return lambda said: (said[device],)


def _names(value: object) -> bool:
    """Whether a field of a part holds names of parts; how they are wired is compared apart."""
    return isinstance(value, tuple) and bool(value) and all(isinstance(each, str) for each in value)


def _turned(feeds: frozenset[tuple[int, int]], turned: dict[int, int]) -> frozenset[tuple[int, int]]:
    return frozenset((turned.get(source, source), loss) for source, loss in feeds)
