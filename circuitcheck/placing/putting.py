"""Putting things on a grid and taking them off, so that all that stands there can stand.

What is in the way of something, and what that carries, goes off the grid.
"""

from __future__ import annotations

from circuitcheck.placing.grid import (
    ABOVE,
    AIR,
    BELOW,
    BLOCK,
    CHANGED,
    CODE,
    COMPARATOR,
    COUNT,
    DUST,
    ENTRY,
    EXIT,
    FACE,
    INSIDE,
    KIND,
    LAMP,
    LEVER,
    MAY,
    OFFSET,
    OUTER,
    PLACE,
    REPEATER,
    STAYS,
    TORCH,
    WAY,
    WHO,
    Row,
    back_of,
    is_solid,
    kind_of,
)


def supports(m: Row, at: int) -> int:
    """Whether a block at a place has something on it, or held by it."""
    for direction in range(6):
        beside = at + m[OFFSET + direction]
        kind = m[KIND + beside]
        if kind in (TORCH, LEVER) and m[WAY + beside] == back_of(direction):
            return True
        if direction == ABOVE and kind in (DUST, REPEATER, COMPARATOR):
            return True
    return False


def lift(m: Row, at: int) -> None:
    """Takes what stands at a place off the grid, and notes the place: nothing is changed that was not emptied first."""
    m[CHANGED + m[COUNT + 3]] = at
    m[COUNT + 3] += 1
    part = m[WHO + at]
    if part >= 0:
        m[PLACE + part] = -1
    m[KIND + at] = AIR
    m[WAY + at] = 0
    m[WHO + at] = -1


def clear(m: Row, at: int) -> None:
    """The same, with all that it carries."""
    solid = is_solid(m[KIND + at])
    lift(m, at)
    if not solid:
        return
    for direction in range(6):
        beside = at + m[OFFSET + direction]
        kind = m[KIND + beside]
        if (kind in (TORCH, LEVER) and m[WAY + beside] == back_of(direction)) or (
            direction == ABOVE and kind in (DUST, REPEATER, COMPARATOR)
        ):
            lift(m, beside)


def leave(m: Row, at: int) -> None:
    """Takes a part away; where it was a lamp that carries something, a block stays."""
    carries = is_solid(m[KIND + at]) and supports(m, at)
    lift(m, at)
    if carries:
        m[KIND + at] = BLOCK


def bear(m: Row, at: int) -> None:
    """Makes sure that a block stands at a place."""
    if not is_solid(m[KIND + at]):
        clear(m, at)
        m[KIND + at] = BLOCK


def holder_of(m: Row, code: int, at: int, way: int) -> int:
    """Where the block stands that something needs; -1 where it needs none."""
    if code in (TORCH, LEVER):
        return at + m[OFFSET + way]
    if code in (REPEATER, COMPARATOR, DUST, ENTRY, EXIT):
        return at + m[OFFSET + BELOW]
    return -1


def put(m: Row, part: int, at: int, way: int, by_hand: int) -> int:
    """Puts a part at a place, with the block that it needs; whether it can stand there at all."""
    code = m[CODE + part]
    holder = holder_of(m, code, at, way)
    if not m[INSIDE + at] or (holder >= 0 and not m[INSIDE + holder] and not is_solid(m[KIND + holder])):
        return False
    if m[PLACE + part] >= 0 and m[STAYS + m[PLACE + part]]:
        return False
    if not m[MAY + at] >> part & 1:
        return False
    if by_hand and code == LEVER and not m[OUTER + at]:
        return False
    if m[PLACE + part] >= 0:
        leave(m, m[PLACE + part])
    carried = code == LAMP and m[KIND + at] == BLOCK
    if carried:
        lift(m, at)
    else:
        clear(m, at)
    m[KIND + at] = kind_of(code)
    m[WAY + at] = m[FACE + part] if code in (ENTRY, EXIT) else way
    m[WHO + at] = part
    m[PLACE + part] = at
    if holder >= 0:
        bear(m, holder)
    return True


def lay(m: Row, at: int) -> int:
    """Lays dust at a place, on a block."""
    below = at + m[OFFSET + BELOW]
    if not m[INSIDE + at] or (not m[INSIDE + below] and not is_solid(m[KIND + below])):
        return False
    clear(m, at)
    m[KIND + at] = DUST
    bear(m, below)
    return True
