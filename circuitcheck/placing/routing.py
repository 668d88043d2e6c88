"""Routes of dust from a part to an input, each one of the shortest.

Method: C. Y. Lee, "An Algorithm for Path Connections and Its Applications" (IRE Transactions on Electronic Computers
EC-10, 1961).
"""

from __future__ import annotations

from circuitcheck.placing.fast_reading import read_changes
from circuitcheck.placing.fast_wiring import links_of
from circuitcheck.placing.grid import (
    ABOVE,
    AIR,
    BACK,
    BELOW,
    BESIDE,
    BLOCK,
    CAME,
    CODE,
    COUNT,
    DUST,
    DUSTS,
    ENTRY,
    FAR,
    GAVE,
    GIVEN,
    HAVE,
    HOLDER,
    INSIDE,
    KIND,
    LEVER,
    LIGHTS,
    LINK,
    LINKS,
    LOCK,
    NOUGHT,
    OFFSET,
    OVERHEAD,
    PARTS,
    PLACE,
    PORT_HOW,
    PORT_PART,
    PORTS,
    POWER,
    QUEUE,
    SEEN,
    SIDE,
    SPOILS,
    STRONG,
    TORCH,
    WANT,
    WAY,
    WHO,
    WHOLE,
    Row,
    back_of,
    is_solid,
)
from circuitcheck.placing.putting import lay, lift, supports
from circuitcheck.placing.random_numbers import random


def begin(m: Row, at: int, last: int) -> int:
    """Takes a place into a search for a route, if dust may lie there; how many places the search has then."""
    below = at + m[OFFSET + BELOW]
    kind, under = m[KIND + at], m[KIND + below]
    if m[SEEN + at] == m[COUNT] or (not m[INSIDE + at] and kind != DUST):
        return last
    if kind != DUST:
        if kind not in (AIR, BLOCK) or (kind == BLOCK and supports(m, at)):
            return last
        if not is_solid(under) and (under != AIR or not m[INSIDE + below]):
            return last
    m[SEEN + at] = m[COUNT]
    m[QUEUE + last] = at
    return last + 1


def begin_around(m: Row, block: int, last: int) -> int:
    """Takes the places around a block into a search."""
    for direction in range(6):
        beside = block + m[OFFSET + direction]
        before = last
        last = begin(m, beside, last)
        if last > before:
            m[CAME + beside] = -1
            m[FAR + beside] = 0
    return last


def begin_at(m: Row, source: int) -> int:
    """Begins a search at all places where a part would light dust; how many there are."""
    at = m[PLACE + source]
    code, beside = m[CODE + source], at + m[OFFSET + m[WAY + at]]
    m[COUNT] += 1
    if code == ENTRY:
        beside = at
    elif code in (TORCH, LEVER):
        last = begin_around(m, at, 0)
        strong = at + m[OFFSET + ABOVE] if code == TORCH else beside
        return begin_around(m, strong, last) if is_solid(m[KIND + strong]) else last
    if is_solid(m[KIND + beside]):
        return begin_around(m, beside, 0)
    last = begin(m, beside, 0)
    if last:
        m[CAME + beside] = -1
        m[FAR + beside] = 0
    return last


def is_beside(m: Row, at: int, block: int) -> int:
    """Whether dust at a place could power a block: from above it, or from one of its four sides."""
    return at - block == m[OFFSET + ABOVE] or (at - block in (m[OFFSET], m[OFFSET + 1], m[OFFSET + 2], m[OFFSET + 3]))


def is_around(m: Row, at: int, piston: int) -> int:
    """Whether dust at a place could power a piston: from one of its sides, or by a block that is beside it."""
    for direction in range(6):
        beside = piston + m[OFFSET + direction]
        if (direction < ABOVE and at == beside) or (is_solid(m[KIND + beside]) and is_beside(m, at, beside)):
            return True
    return False


def arrives(m: Row, at: int, port: int, reader: int) -> int:
    """Whether dust at a place could feed a port of what stands at another."""
    how, way = m[PORT_HOW + port], m[WAY + reader]
    if how == GIVEN:
        return at == reader
    if how in (BESIDE, OVERHEAD):
        return is_around(m, at, reader if how == BESIDE else reader + m[OFFSET + ABOVE])
    if how == HOLDER:
        return is_beside(m, at, reader + m[OFFSET + way])
    if how == POWER:
        return is_beside(m, at, reader)
    if how == SIDE:
        return at - reader in (m[OFFSET + (way + 1) % 4], m[OFFSET + (way + 3) % 4])
    behind = reader + m[OFFSET + back_of(way)]
    return at == behind or (how == BACK and is_solid(m[KIND + behind]) and is_beside(m, at, behind) != 0)


def mark_spoilt(m: Row) -> None:
    """Finds for each block which parts would spoil what reads there, if they powered it."""
    whole = m[WHOLE]
    m[SPOILS : SPOILS + whole] = m[NOUGHT : NOUGHT + whole]
    for port in range(m[PORTS]):
        reader, how = m[PORT_PART + port], m[PORT_HOW + port]
        if reader < 0 or m[PLACE + reader] < 0:
            continue
        at, unwanted = m[PLACE + reader], ~m[WANT + port]
        if how == HOLDER:
            m[SPOILS + at + m[OFFSET + m[WAY + at]]] |= unwanted
        elif how == BACK:
            m[SPOILS + at + m[OFFSET + back_of(m[WAY + at])]] |= unwanted
        elif how == POWER:
            m[SPOILS + at] |= unwanted
            for direction in range(6):
                m[SPOILS + at + m[OFFSET + direction]] |= unwanted


def crowded(m: Row, at: int, source: int, wanted: int) -> int:
    """Whether new dust at a place would take power from other parts than those that are wanted, or power a block that
    its source may not.
    """
    if m[SPOILS + at + m[OFFSET + BELOW]] >> source & 1:
        return True
    lit = m[GAVE + at]
    for direction in range(6):
        beside = at + m[OFFSET + direction]
        if is_solid(m[KIND + beside]):
            lit |= m[STRONG + beside]
    if lit & ~wanted:
        return True
    links, lit = links_of(m, at), 0
    for link in range(LINKS):
        if links >> link & 1:
            lit |= m[LIGHTS + at + m[LINK + link]]
    return lit & ~wanted != 0


def lacking(m: Row, port: int) -> int:
    """The parts that an input lacks, if dust may be led to it."""
    reader = m[PORT_PART + port]
    if reader < 0 or m[PLACE + reader] < 0 or m[PORT_HOW + port] == LOCK:
        return 0
    return m[WANT + port] & ~m[HAVE + port]


def some_lack(m: Row, rng: Row) -> tuple[int, int]:
    """An input at random that lacks a part which has a place, and that part; -1 where none does."""
    ports, parts = m[PORTS], m[PARTS]
    port, first = random(rng, ports), random(rng, parts)
    for _ in range(ports):
        port = (port + 1) % ports
        lacks = lacking(m, port)
        if lacks:
            source = -1
            for other in range(parts):
                each = (first + other) % parts
                if lacks >> each & 1 and m[PLACE + each] >= 0:
                    source = each
            if source >= 0:
                return port, source
    return -1, -1


def begin_beside(m: Row, at: int, start: int, last: int) -> int:
    """Takes the places into a search that dust at one would be joined to: beside it, a step up and a step down."""
    for turn in range(4):
        beside = at + m[OFFSET + (start + turn) % 4]
        for level in range(3):
            other = beside
            if level == 1:
                if is_solid(m[KIND + at + m[OFFSET + ABOVE]]):
                    continue
                other = beside + m[OFFSET + ABOVE]
            if level == 2:
                if is_solid(m[KIND + beside]):
                    continue
                other = beside + m[OFFSET + BELOW]
            before = last
            last = begin(m, other, last)
            if last > before:
                m[CAME + other] = at
                m[FAR + other] = m[FAR + at] + 1
    return last


def rip_up(m: Row, parts: int, shared: int) -> None:
    """Takes out the dust that parts light, which are given as bits: where `shared`, also what others light as well."""
    for number in range(m[COUNT + 1]):
        at = m[DUSTS + number]
        reached = m[LIGHTS + at]
        if reached & parts and (shared or reached & ~parts == 0) and m[WHO + at] < 0 and m[INSIDE + at]:
            lift(m, at)


def route(m: Row, rng: Row) -> int:
    """Leads dust from a part to an input that lacks it; whether that could be done."""
    if m[PORTS] == 0:
        return False
    read_changes(m)
    port, source = some_lack(m, rng)
    return source >= 0 and lead(m, rng, port, source)


def lead(m: Row, rng: Row, port: int, source: int) -> int:
    """Leads dust from a part to an input on one of the shortest ways (Lee); whether there is one."""
    mark_spoilt(m)
    careful, start = random(rng, 4), random(rng, 4)
    to = m[PLACE + m[PORT_PART + port]]
    head, last = 0, begin_at(m, source)
    while head < last:
        at = m[QUEUE + head]
        head += 1
        if m[KIND + at] != DUST and careful and crowded(m, at, source, m[WANT + port]):
            continue
        if arrives(m, at, port, to):
            while at >= 0:
                if m[KIND + at] != DUST:
                    lay(m, at)
                at = m[CAME + at]
            return True
        if m[FAR + at] <= 14:
            last = begin_beside(m, at, start, last)
    return False
