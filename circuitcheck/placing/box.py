"""A problem in a box of places, as the fast reading has it: made empty, out of a drawing, and made a drawing."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from typing import NamedTuple

from circuitcheck.model.drawing import MATTERS, At, Direction, Drawing, Thing
from circuitcheck.placing.annealing import wrong
from circuitcheck.placing.fast_reading import read
from circuitcheck.placing.fast_wiring import given_out
from circuitcheck.placing.grid import (
    AIR,
    BLOCK,
    CODE,
    DOT,
    DUST,
    EXACT,
    FACE,
    GIVEN_AT,
    HAVE,
    INSIDE,
    KIND,
    LEVER,
    LINK,
    LOSING,
    MAY,
    MEMORY,
    OFFSET,
    OTHER,
    OUTER,
    PARTS,
    PLACE,
    PORT_HOW,
    PORT_PART,
    PORTS,
    STAYS,
    STRAIGHT_IN,
    WANT,
    WANT_LOST,
    WAY,
    WHO,
    WHOLE,
    Row,
    is_solid,
    kind_of,
)
from circuitcheck.placing.problem import Problem
from circuitcheck.placing.putting import holder_of, lift, supports

WAYS = tuple(Direction)
"""The directions by the number that the fast reading knows them by."""
Rows = Callable[[Iterable[int]], Row]
"""Makes a row of whole numbers: a list, or an array for compiled code."""


class Box(NamedTuple):
    """The memory of a grid, with its size in layers, rows and columns."""

    problem: Problem
    size: At
    memory: Row

    def number(self, at: At) -> int:
        """Where a place stands in the rows."""
        _, rows, columns = self.size
        return (at[0] * (rows + 2) + at[1]) * (columns + 2) + at[2]

    def places(self) -> Iterable[At]:
        """Every place of the box."""
        layers, rows, columns = (range(1, each + 1) for each in self.size)
        return ((layer, row, column) for layer in layers for row in rows for column in columns)


def box_of(problem: Problem, size: At, rows: Rows = list) -> Box:
    """An empty box."""
    across, deep = size[2] + 2, (size[1] + 2) * (size[2] + 2)
    whole = (size[0] + 2) * deep
    parts, ports = len(problem.names), problem.ports
    want_lost = [0] * (len(ports) * parts)
    for number, port in enumerate(ports):
        for source, lost in port.feeds.items():
            want_lost[number * parts + source] = lost
    exact = [
        (-1 if len(port.feeds) > 1 else 0) if port.ranked else sum(1 << source for source in port.exact)
        for port in ports
    ]
    memory = [0] * MEMORY
    memory[WHOLE], memory[PARTS], memory[PORTS] = whole, parts, len(ports)
    memory[LOSING] = int(any(exact))
    fields: dict[int, Iterable[int]] = {
        OFFSET: (-across, 1, across, -1, deep, -deep),
        LINK: [beside + step for beside in (-across, 1, across, -1) for step in (0, deep, -deep)],
        PLACE: [-1] * parts,
        CODE: problem.codes,
        FACE: problem.faces,
        STRAIGHT_IN: map(int, problem.straight),
        PORT_PART: [port.part for port in ports],
        PORT_HOW: [port.how for port in ports],
        WANT: [sum(1 << source for source in port.feeds) for port in ports],
        EXACT: exact,
        WHO: [-1] * whole,
        WANT_LOST: want_lost,
    }
    for field, values in fields.items():
        for number, value in enumerate(values):
            memory[field + number] = value
    box = Box(problem, size, rows(memory))
    for at in box.places():
        index = box.number(at)
        box.memory[INSIDE + index], box.memory[MAY + index] = 1, problem.anywhere
        sides = at[0] == size[0] or at[1] in (1, size[1]) or at[2] in (1, size[2])
        box.memory[OUTER + index] = int(sides)
    _ask(box)
    return box


def _ask(box: Box) -> None:
    """Notes where parts may stand of which that is asked, and what stays free."""
    for part, spot in enumerate(box.problem.spots):
        if spot is not None:
            for at in spot.places(box.size):
                box.memory[MAY + box.number(at)] |= 1 << part
    for at in box.problem.asked.left_out(box.size):
        box.memory[INSIDE + box.number(at)] = 0


def fill(box: Box, things: Mapping[At, Thing], where: Mapping[int, At]) -> None:
    """Puts things into an empty box: blocks, dust, and the parts whose places are given by their numbers."""
    m = box.memory
    for at, thing in things.items():
        solid = thing.block_type.solid
        m[KIND + box.number(at)] = DUST if thing.is_dust else BLOCK if solid else OTHER
        m[WAY + box.number(at)] = DOT if thing.shape else 0
    for number, (at, _) in enumerate(box.problem.staying.places, 1):
        m[STAYS + box.number(at)] = number
        m[INSIDE + box.number(at)] = 0
    for part, at in where.items():
        thing, index = things[at], box.number(at)
        way = thing.on or thing.facing
        m[KIND + index] = kind_of(m[CODE + part])
        m[WAY + index] = WAYS.index(way) if way is not None else 0
        if thing.is_dust:
            m[WAY + index] = m[FACE + part]
        m[WHO + index] = part
        m[PLACE + part] = index


def marked(problem: Problem, drawing: Drawing, where: Mapping[str, At]) -> Problem:
    """A problem with what its marks feed in a drawing, which must stay so. `where` has the place of each part."""
    box = box_of(problem, drawing.size)
    fill(box, drawing.things, {number: where[name] for number, name in enumerate(problem.names)})
    read(box.memory)
    fed = {
        port: [
            name for number, name in enumerate(problem.names) if have >> number & 1 and name in problem.staying.marks
        ]
        for port, have in enumerate(box.memory[HAVE : HAVE + len(problem.ports)])
    }
    return problem.fed_as_well(fed)


def drawing_of(box: Box) -> Drawing:
    """The drawing that a box comes to, with the names of the circuit."""
    m, problem = box.memory, box.problem
    read(m)
    ports = (port for port, each in enumerate(problem.ports) if each.part < 0)
    given = {given_out(m, port): name for port, name in zip(ports, problem.shown, strict=True)}
    things: dict[At, Thing] = {}
    names: dict[At, str] = {}
    starts: dict[At, int] = {}
    staying = problem.staying
    for at in box.places():
        index = box.number(at)
        if m[WHO + index] <= GIVEN_AT:
            m[WHO + index] = -1
        part, kind = m[WHO + index], m[KIND + index]
        if m[STAYS + index]:
            origin, thing = staying.places[m[STAYS + index] - 1]
            if thing is not None:
                things[at] = thing
            if origin in staying.names:
                names[at] = staying.names[origin]
            if origin in staying.starts:
                starts[at] = staying.starts[origin]
        elif part >= 0:
            things[at] = turned(problem.things[part], WAYS[m[WAY + index]])
            names[at] = problem.names[part]
        elif kind in (BLOCK, DUST):
            things[at] = Thing(MATTERS["dust" if kind == DUST else "block"])
            if index in given:
                names[at] = given[index]
    return Drawing(things, names, starts, size=box.size)


def turned(thing: Thing, way: Direction) -> Thing:
    """A thing that faces a way, or is held on that side."""
    if thing.block_type.held:
        return replace(thing, on=way)
    return replace(thing, facing=way) if thing.block_type.facing.value else thing


def ways_of(thing: Thing) -> tuple[int, ...]:
    """The ways in which a thing may face or be held, by their numbers; one for what does neither."""
    allowed = thing.block_type.held or thing.block_type.facing.value or (WAYS[0],)
    return tuple(WAYS.index(each) for each in allowed)


def cropped(box: Box, rows: Rows = list) -> Box:
    """The least box with all that stands in one; where layers, rows or columns are counted, from the first one on."""
    taken = [at for at in box.places() if box.memory[KIND + box.number(at)]]
    counted = box.problem.asked.counted
    low = tuple(1 if counted[axis] else min(at[axis] for at in taken) for axis in range(3))
    high = tuple(max(at[axis] for at in taken) for axis in range(3))
    made = box_of(box.problem, (high[0] - low[0] + 1, high[1] - low[1] + 1, high[2] - low[2] + 1), rows)
    for at in box.places():
        if all(first <= each <= last for first, each, last in zip(low, at, high, strict=True)):
            _carry(box, made, at, (at[0] - low[0] + 1, at[1] - low[1] + 1, at[2] - low[2] + 1))
    return made


def slices(box: Box, axis: int) -> list[list[int]]:
    """The slices that may be taken out, since nothing stays in them; together those that leave the same as it stays."""
    m = box.memory
    staying = [0] * (box.size[axis] + 1)
    for at in box.places():
        staying[at[axis]] += m[STAYS + box.number(at)] != 0
    found: dict[int, list[int]] = {}
    for number in range(1, box.size[axis] + 1):
        if not staying[number]:
            found.setdefault(sum(staying[:number]), []).append(number)
    return list(found.values())


def without_slice(box: Box, axis: int, gone: int, by_hand: bool, rows: Rows = list) -> Box:
    """The box with a slice taken out; what can't stand any more is off the grid."""
    size = [each - (number == axis) for number, each in enumerate(box.size)]
    made = box_of(box.problem, (size[0], size[1], size[2]), rows)
    for at in box.places():
        if at[axis] != gone:
            to = [each - (number == axis and each > gone) for number, each in enumerate(at)]
            _carry(box, made, at, (to[0], to[1], to[2]))
    lift_unfit(made, by_hand)
    return made


def with_slice(box: Box, axis: int, before: int, rows: Rows = list) -> Box:
    """The box with an empty slice put in; all still stands, but what it held on the other side of that."""
    size = [each + (number == axis) for number, each in enumerate(box.size)]
    made = box_of(box.problem, (size[0], size[1], size[2]), rows)
    for at in box.places():
        to = [each + (number == axis and each >= before) for number, each in enumerate(at)]
        _carry(box, made, at, (to[0], to[1], to[2]))
    return made


def lift_unfit(box: Box, by_hand: bool) -> None:
    """Takes off what may not stand where it does, and then what nothing holds any more."""
    m = box.memory
    for at in box.places():
        index = box.number(at)
        part = m[WHO + index]
        hidden = by_hand and m[KIND + index] == LEVER and not m[OUTER + index]
        if m[STAYS + index]:
            continue
        if not m[INSIDE + index] or (part >= 0 and not m[MAY + index] >> part & 1) or hidden:
            lift(m, index)
    for at in box.places():
        index = box.number(at)
        holder = holder_of(m, m[KIND + index], index, m[WAY + index])
        if holder >= 0 and not is_solid(m[KIND + holder]) and not m[STAYS + index]:
            lift(m, index)


def prune(box: Box, read: Callable[[Row], None]) -> None:
    """Takes out dust and blocks of a right layout that nothing depends on."""
    m = box.memory
    for at in sorted((box.number(place) for place in box.places()), reverse=True):
        kind = m[KIND + at]
        if m[STAYS + at]:
            continue
        if (kind == DUST and m[WHO + at] < 0) or (kind == BLOCK and not supports(m, at)):
            m[KIND + at] = AIR
            read(m)
            if wrong(m):
                m[KIND + at] = kind
    read(m)


def _carry(box: Box, to: Box, at: At, there: At) -> None:
    """Puts what stands at a place of one box at a place of another."""
    here, index = box.number(at), to.number(there)
    if not box.memory[STAYS + here] and not box.memory[KIND + here]:
        return
    if box.memory[STAYS + here]:
        to.memory[STAYS + index], to.memory[INSIDE + index] = box.memory[STAYS + here], 0
    for each in (KIND, WAY, WHO):
        to.memory[each + index] = box.memory[each + here]
    part = box.memory[WHO + here]
    if part >= 0:
        to.memory[PLACE + part] = index
