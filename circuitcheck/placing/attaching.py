"""Moves that put a part straight to another that feeds it, or that it feeds: without dust between them.

At random such a place and way would hardly ever be met, and where a repeater locks another there is no other way.
"""

from __future__ import annotations

from circuitcheck.placing.choosing import is_free, some_source, some_way
from circuitcheck.placing.grid import (
    ABOVE,
    AIR,
    BACK,
    BELOW,
    CODE,
    COMPARATOR,
    DUST,
    ENTRY,
    EXIT,
    HOLDER,
    INSIDE,
    KIND,
    LAMP,
    LEVER,
    LOCK,
    OFFSET,
    PLACE,
    PORT_HOW,
    PORT_PART,
    PORTS,
    POWER,
    REPEATER,
    SIDE,
    TORCH,
    WAY,
    Row,
    back_of,
    is_solid,
)
from circuitcheck.placing.putting import bear, put
from circuitcheck.placing.random_numbers import random
from circuitcheck.placing.routing import rip_up


def put_at(m: Row, rng: Row, part: int, at: int, way: int, by_hand: int) -> int:
    """Puts a part at a place if that is free, with its dust ripped up."""
    flat = m[CODE + part] in (REPEATER, COMPARATOR) and way >= ABOVE
    if flat or not m[INSIDE + at] or not is_free(m, rng, at):
        return False
    rip_up(m, 1 << part, random(rng, 3) == 0)
    return put(m, part, at, way, by_hand)


def power_block(m: Row, rng: Row, part: int, block: int, by_hand: int) -> int:
    """Puts a part where it powers a block, which is put there if need be."""
    code = m[CODE + part]
    if not m[INSIDE + block] or code in (LAMP, ENTRY, EXIT):
        return False
    if code == TORCH:
        at, way = block + m[OFFSET + BELOW], some_way(rng, code)
    else:
        direction = random(rng, 6)
        at, way = block + m[OFFSET + direction], back_of(direction)
    if not put_at(m, rng, part, at, way, by_hand):
        return False
    if m[KIND + block] in (AIR, DUST):
        bear(m, block)
    return True


def source_to_reader(m: Row, rng: Row, port: int, source: int, by_hand: int) -> int:
    """Puts a part where it feeds a port of one that has its place."""
    at, how, code = m[PLACE + m[PORT_PART + port]], m[PORT_HOW + port], m[CODE + source]
    way = m[WAY + at]
    if how == HOLDER:
        return power_block(m, rng, source, at + m[OFFSET + way], by_hand)
    if how == POWER:
        return power_block(m, rng, source, at, by_hand)
    direction = (way + 1 + 2 * random(rng, 2)) % 4 if how in (LOCK, SIDE) else back_of(way)
    to = at + m[OFFSET + direction]
    if how == BACK and random(rng, 3) == 0:
        return power_block(m, rng, source, to, by_hand)
    facing = some_way(rng, code) if code in (TORCH, LEVER) else back_of(direction)
    return put_at(m, rng, source, to, facing, by_hand)


def hold_on(m: Row, rng: Row, part: int, block: int, by_hand: int) -> int:
    """Puts a torch on a block, which is put there if need be."""
    side, kind = random(rng, 6), m[KIND + block]
    if side == BELOW or not m[INSIDE + block] or not (kind in (AIR, DUST) or is_solid(kind)):
        return False
    return put_at(m, rng, part, block + m[OFFSET + side], back_of(side), by_hand)


def reader_to_source(m: Row, rng: Row, port: int, source: int, by_hand: int) -> int:
    """Puts a part where one that has its place feeds a port of it."""
    reader, how = m[PORT_PART + port], m[PORT_HOW + port]
    code, at = m[CODE + source], m[PLACE + source]
    way = m[WAY + at]
    given = random(rng, 6) if code in (TORCH, LEVER) else way
    to = at + m[OFFSET + given]
    if how == HOLDER:
        if code == TORCH:
            to = at + m[OFFSET + ABOVE]
        elif code == LEVER:
            to = at + m[OFFSET + way]
        return hold_on(m, rng, reader, to, by_hand)
    facing = (given + 1 + 2 * random(rng, 2)) % 4 if how in (LOCK, SIDE) else given
    return put_at(m, rng, reader, to, 0 if how == POWER else facing, by_hand)


def attach(m: Row, rng: Row, by_hand: int) -> int:
    """Puts a part straight to where it feeds another, or is fed by it; whether it could be done."""
    if m[PORTS] == 0:
        return False
    port = random(rng, m[PORTS])
    reader, source = m[PORT_PART + port], some_source(m, rng, port)
    if reader < 0 or source < 0 or reader == source or m[CODE + source] == LAMP:
        return False
    if m[PLACE + reader] >= 0 and (m[PLACE + source] < 0 or random(rng, 2)):
        return source_to_reader(m, rng, port, source, by_hand)
    return m[PLACE + source] >= 0 and reader_to_source(m, rng, port, source, by_hand)
