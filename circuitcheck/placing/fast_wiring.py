"""A fast reading of drawings, place by place: the rules of wiring in space (W1 to W10) in another form.

This is the rules a second time: `space` has them for all else, has the last word on every layout, and is held against
this by a test on random drawings.
"""

from __future__ import annotations

from circuitcheck.placing.grid import (
    ABOVE,
    AMISS,
    BACK,
    BELOW,
    BESIDE,
    CARRIES,
    CODE,
    COMPARATOR,
    COUNT,
    DETECTOR,
    DOT,
    DUST,
    DUSTS,
    ENTRY,
    EXACT,
    FAR,
    GAVE,
    GIVEN,
    GIVEN_AT,
    HAVE,
    HOLDER,
    JOINED,
    KIND,
    LEVER,
    LINK,
    LINKS,
    LIT,
    LOCK,
    LOSES,
    MASK,
    NEVER,
    OFFSET,
    OVERHEAD,
    PARTS,
    POINTS,
    PORT_HOW,
    POWER,
    QUEUE,
    REPEATER,
    SEEN,
    STRONG,
    TORCH,
    WANT,
    WANT_LOST,
    WATCHED,
    WAY,
    WHO,
    Row,
    back_of,
    bits_of,
    is_solid,
    note,
)


def given_to(m: Row, at: int) -> int:
    """The parts that give to a place, beside dust (rules W5, W6, W7)."""
    found = 0
    for direction in range(6):
        found |= given_by(m, at + m[OFFSET + direction], at)
    return found


def strongly(m: Row, at: int) -> int:
    """The parts that power a block at a place strongly (rules W5, W6, W7)."""
    found = 0
    for direction in range(6):
        giver = at + m[OFFSET + direction]
        part = m[WHO + giver]
        if part < 0:
            continue
        kind, onto = m[KIND + giver], giver + m[OFFSET + m[WAY + giver]]
        if kind == TORCH:
            found |= 1 << part if direction == BELOW else 0
        elif kind in (LEVER, REPEATER, COMPARATOR, DETECTOR) and onto == at:
            found |= 1 << part
    return found


def joins_dust(m: Row, beside: int, direction: int) -> int:
    """Whether a part counts as a join for dust that has it in some direction (rule W3)."""
    kind = m[KIND + beside]
    if kind in (TORCH, LEVER, COMPARATOR):
        return True
    if kind == REPEATER:
        return m[WAY + beside] % 2 == direction % 2
    return kind == DETECTOR and m[WAY + beside] == back_of(direction)


def links_of(m: Row, at: int) -> int:
    """The bits of the links by which dust is joined to other dust, and higher up of those by which power comes (W2)."""
    joined = comes = 0
    covered = is_solid(m[KIND + at + m[OFFSET + ABOVE]])
    for direction in range(4):
        beside, bit = at + m[OFFSET + direction], 1 << 3 * direction
        kind = m[KIND + beside]
        if kind == DUST:
            joined |= bit
            comes |= bit
            continue
        solid = is_solid(kind)
        if not covered and m[KIND + beside + m[OFFSET + ABOVE]] == DUST:
            joined |= bit << 1
            if solid:  # down a step power comes only where the upper dust lies on a solid block
                comes |= bit << 1
        if not solid and m[KIND + beside + m[OFFSET + BELOW]] == DUST:
            joined |= bit << 2
            comes |= bit << 2
    return joined | comes << LINKS


def points_of(m: Row, at: int, links: int) -> int:
    """The bits of the ways in which dust points that has such links (rule W3)."""
    way = m[WAY + at]
    joined = 1 << way if m[WHO + at] >= 0 and way < ABOVE else 0
    for direction in range(4):
        if links >> 3 * direction & 7 or joins_dust(m, at + m[OFFSET + direction], direction):
            joined |= 1 << direction
    if joined == 0:
        return 0 if way == DOT else 15
    if joined & 10 == 0:
        return 5
    return joined if joined & 5 else 10


def lit_by(m: Row, at: int) -> int:
    """The parts that light dust (rule W8)."""
    part, lit = m[WHO + at], m[GAVE + at]
    if part >= 0 and m[CODE + part] == ENTRY:
        lit |= 1 << part
    for direction in range(6):
        beside = at + m[OFFSET + direction]
        if is_solid(m[KIND + beside]):
            lit |= m[STRONG + beside]
    return lit


def search(m: Row, start: int, losing: int) -> int:
    """The parts whose power reaches dust (rules P2, W2); where `losing`, what each loses at least goes into `lost`."""
    m[COUNT] += 1
    number = m[COUNT]
    m[QUEUE + 0] = start
    m[SEEN + start] = number
    m[FAR + start] = 0
    found, first, last = 0, 0, 1
    while first < last:
        at = m[QUEUE + first]
        first += 1
        lit, far = m[LIT + at], m[FAR + at]
        if losing:
            for part in range(m[PARTS]):
                if lit >> part & 1 and far < m[LOSES + part]:
                    m[LOSES + part] = far
        found |= lit
        if far + 1 >= CARRIES:
            continue
        links, link = m[JOINED + at] >> LINKS, 0
        while links:
            if links & 1:
                other = at + m[LINK + link]
                if m[SEEN + other] != number:
                    m[SEEN + other] = number
                    m[FAR + other] = far + 1
                    m[QUEUE + last] = other
                    last += 1
            links >>= 1
            link += 1
    return found


def dust(m: Row, at: int, losing: int) -> int:
    """The parts whose power reaches dust; kept, but where losses are asked for."""
    if losing:
        return search(m, at, 1)
    if m[MASK + at] < 0:
        note(m, MASK + at, search(m, at, 0))
    return m[MASK + at]


def direct(m: Row, parts: int, losing: int) -> int:
    """Parts that give to a port with nothing lost."""
    if losing and parts:
        for part in range(m[PARTS]):
            if parts >> part & 1:
                m[LOSES + part] = 0
    return parts


def pointing(m: Row, at: int, losing: int) -> int:
    """What dust that points into a place brings there (rule W4)."""
    found = 0
    for direction in range(4):
        beside = at + m[OFFSET + direction]
        if m[KIND + beside] == DUST and m[POINTS + beside] >> back_of(direction) & 1:
            found |= dust(m, beside, losing)
    return found


def into_block(m: Row, block: int, losing: int) -> int:
    """What powers a solid block: strongly the parts, weakly the dust (rules P4, W4 to W7)."""
    found = direct(m, m[STRONG + block], losing) | pointing(m, block, losing)
    above = block + m[OFFSET + ABOVE]
    if m[KIND + above] == DUST:
        found |= dust(m, above, losing)
    return found


def into_lamp(m: Row, at: int, losing: int) -> int:
    """What lights a lamp, as a part and as a block (rules O2, W4, W8)."""
    found = direct(m, m[GAVE + at], losing) | into_block(m, at, losing)
    for direction in range(6):
        beside = at + m[OFFSET + direction]
        if is_solid(m[KIND + beside]):
            found |= into_block(m, beside, losing)
    return found


def given_by(m: Row, giver: int, at: int) -> int:
    """The bit of the part at one place, if it gives to a part at another beside it; else 0."""
    part = m[WHO + giver]
    if part < 0:
        return 0
    kind, onto = m[KIND + giver], giver + m[OFFSET + m[WAY + giver]]
    if kind in (TORCH, LEVER):
        return 1 << part if onto != at else 0
    if kind in (REPEATER, COMPARATOR, DETECTOR) and onto == at:
        return 1 << part
    return 0


def from_side(m: Row, at: int, direction: int, losing: int) -> int:
    """What feeds a repeater or comparator from one side (rules W4, W6, W8)."""
    beside = at + m[OFFSET + direction]
    if m[KIND + beside] == DUST:
        return dust(m, beside, losing) if m[POINTS + beside] >> back_of(direction) & 1 else 0
    if is_solid(m[KIND + beside]):
        return into_block(m, beside, losing)
    return direct(m, given_by(m, beside, at), losing)


def from_sides(m: Row, at: int, only_locks: int, losing: int) -> int:
    """What the sides of a repeater or comparator take (rule W6)."""
    found = 0
    for turn in range(1, 4, 2):
        direction = (m[WAY + at] + turn) % 4
        beside = at + m[OFFSET + direction]
        kind = m[KIND + beside]
        if kind in (REPEATER, COMPARATOR) or (kind == DETECTOR and not only_locks):
            found |= direct(m, given_by(m, beside, at), losing)
        elif kind == DUST and not only_locks:
            found |= from_side(m, at, direction, losing)
    return found


def beside_piston(m: Row, at: int, but: int, losing: int) -> int:
    """What would power a part at a place, all around but through one side (rules W4 to W9)."""
    found = 0
    for direction in range(6):
        if direction != but:
            found |= from_side(m, at, direction, losing)
    return found


def watched(m: Row, at: int, losing: int) -> int:
    """What a detector watches: what is behind it, be it dust or a part."""
    beside = at + m[OFFSET + back_of(m[WAY + at])]
    if m[KIND + beside] == DUST:
        return dust(m, beside, losing)
    return direct(m, 1 << m[WHO + beside], losing) if m[WHO + beside] >= 0 else 0


def feeds(m: Row, port: int, at: int, losing: int) -> int:
    """The parts that feed a port of what stands at a place."""
    how = m[PORT_HOW + port]
    if losing:
        for part in range(m[PARTS]):
            m[LOSES + part] = NEVER
    if how == HOLDER:
        return into_block(m, at + m[OFFSET + m[WAY + at]], losing)
    if how == POWER:
        return into_lamp(m, at, losing)
    if how == BACK:
        return from_side(m, at, back_of(m[WAY + at]), losing)
    if how == WATCHED:
        return watched(m, at, losing)
    if how == GIVEN:
        return dust(m, at, losing)
    if how == BESIDE:
        return beside_piston(m, at, m[WAY + at], losing)
    if how == OVERHEAD:
        above = at + m[OFFSET + ABOVE]
        if beside_piston(m, above, BELOW, 0) & ~beside_piston(m, at, m[WAY + at], 0) == 0:
            return 0  # what it feels anyway makes no difference there
        return beside_piston(m, above, BELOW, losing)
    return from_sides(m, at, 1 if how == LOCK else 0, losing)


def losses(m: Row, port: int, have: int) -> int:
    """How many of the levels lost on the way to a port, which `lost` has, are not as they are to be.

    `have` has the bits of what feeds it.
    """
    wrong, parts = 0, m[PARTS]
    both = m[WANT + port] & have
    for part in range(parts):
        if not both >> part & 1:
            continue
        lost = m[LOSES + part]
        if m[EXACT + port] < 0:
            lost = 0
            for level in range(m[LOSES + part]):
                for other in range(parts):
                    if both >> other & 1 and m[LOSES + other] == level:
                        lost += 1
                        break
        elif not m[EXACT + port] >> part & 1:
            continue
        if lost != m[WANT_LOST + port * parts + part]:
            wrong += 1
    return wrong


def given_out(m: Row, port: int) -> int:
    """Finds dust to give out: its place, or -1 where there is none; what feeds it is noted, and what is wrong with it.

    Of dust that an earlier port gives out there is no more: each has one name. Of equal dust it is the first by place.
    """
    best, amiss, where = NEVER, 0, -1
    for number in range(m[COUNT + 1]):
        at = m[DUSTS + number]
        if m[WHO + at] != -1:
            continue
        have = dust(m, at, 0)
        wrong = bits_of(have ^ m[WANT + port])
        if wrong <= best:
            lost = 0
            if m[EXACT + port]:
                feeds(m, port, at, 1)
                lost = losses(m, port, have)
            if wrong + lost < best or (wrong + lost == best and at < where):
                best, amiss, where = wrong + lost, lost, at
    note(m, HAVE + port, dust(m, where, 0) if where >= 0 else 0)
    note(m, AMISS + port, amiss)
    if where >= 0:
        m[WHO + where] = GIVEN_AT - port
    return where
