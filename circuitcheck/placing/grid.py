"""A fast reading of drawings: the rules of wiring in space (W1 to W10) in another form, for whoever lays out.

A layouter knows which part is which. So each part has one bit, what feeds a port is a whole number, and no two graphs
need to be matched. Everything stands in flat rows of whole numbers. This is the rules a second time: `space` has them
for all else, has the last word on every layout, and is held against this by a test on random drawings.

The functions here, and in the other modules of `compiled.MODULES`, run as they are, on lists, and compiled, on arrays,
with the same results: whole numbers only, no sets and no objects.
"""

from __future__ import annotations

from collections.abc import MutableSequence

Row = MutableSequence[int]

AIR, BLOCK, DUST, TORCH, LEVER, REPEATER, COMPARATOR, DETECTOR, LAMP, ENTRY, EXIT, PISTON, OTHER = range(13)
"""What stands at a place; buttons count as levers. Dust for which a place is sought is a part as well: where power
comes in from outside, and where it is given out. What is no solid block and stays as it is, is a piston or another."""
NORTH, EAST, SOUTH, WEST, ABOVE, BELOW = range(6)
HOLDER, POWER, BACK, LOCK, SIDE, WATCHED, GIVEN, BESIDE, OVERHEAD = range(9)
"""How a port is fed: what powers its holder, a lamp, from behind, locks, sides, what is watched; dust given out; a
piston from all sides but its front, and the place above it."""
CARRIES = 15
"""As many levels are lost at most that anything is left (rule P2), and one more."""
NEVER = 99
"""More levels than can be lost."""
GIVEN_AT = -2
"""What `who` has for dust that the first port gives out; one less for each port after it."""
MISSING, UNWANTED, UNPLACED, LOST, STRAIGHT = range(5)
"""What a cost is made of."""


MOST_PLACES, MOST_PARTS, MOST_PORTS = 8192, 62, 254
"""What has room: places, with one of air all around them; parts, each of which is a bit of a number; ports."""
WHOLE, PARTS, PORTS = range(3)
"""Where in the memory stands how many places, parts and ports there are."""
COUNT, COST, OFFSET = 4, 8, 16
"""The number of the latest search, how many dust there are, a scratch number, and how many places were changed; what is
wrong, by its sort; and how far the next place is, for each of the six directions."""
PLACE, CODE, STRAIGHT_IN, LOSES = range(64, 5 * 64, 64)
"""For each part: where it stands (-1 for none), what it is, whether it is to point straight into another, and how many
levels are lost on the way from it to the port that is looked at."""
FACE = 1600
"""For each part that is dust: to which side dust from outside joins it, or `BELOW` for none."""
PORT_PART, PORT_HOW, WANT, EXACT, HAVE = range(320, 320 + 5 * 256, 256)
"""For each port: whose it is (-1 for dust given out), how it is fed, the bits of what is to feed it, the bits of those
of which the levels lost are felt (-1 where only their order is), and the bits of what feeds it."""
FIELDS = range(2048, 2048 + 21 * MOST_PLACES, MOST_PLACES)
KIND, WAY, WHO, INSIDE, OUTER, MAY, STAYS, *_MORE = FIELDS
GAVE, STRONG, LIT, POINTS, MASK, QUEUE, FAR, SEEN, CAME, NOUGHT, NONE, DUSTS, CHANGED, SPOILS = _MORE
"""For each place: what stands there; which way it faces, or on which side it is held; the number of the part, -1 for
none; whether something may be put there; whether it can be reached from outside, but not from below; the bits of the
parts that may stand there; the number of what stays there as it is, 0 for nothing; which parts give to a part there,
and power a block there; and where there is dust, which parts light it, the bits of the ways in which it points, which
parts reach it (-1 where that is not known yet), and where a search stands that goes along it, or along free places: how
far it is, in which search it was found, and from where. Then 0 and -1 for each, to begin with; and lists: the places of
all dust, in their order, and those that a move has changed, some of them more than once. The last has for each place
which parts may not power a block there, while a route is sought."""
DOT = 6
"""The way of dust that is set to a dot: alone it points nowhere."""
WANT_LOST = 2048 + 21 * MOST_PLACES
"""For each port and part: how many levels are to be lost, or in which order."""
MEMORY = WANT_LOST + MOST_PORTS * MOST_PARTS


def is_solid(kind: int) -> int:
    """Whether it is a solid block (rule W1)."""
    return kind in (BLOCK, LAMP)


def kind_of(code: int) -> int:
    """What stands where a part does."""
    return DUST if code in (ENTRY, EXIT) else code


def bits_of(number: int) -> int:
    """How many bits are set."""
    found = 0
    while number:
        number &= number - 1
        found += 1
    return found


def back_of(way: int) -> int:
    """The opposite direction."""
    if way >= ABOVE:
        return ABOVE + BELOW - way
    return (way + 2) % 4


def give(m: Row) -> None:
    """What each part gives to, beside dust (rules W5, W6, W7)."""
    whole = m[WHOLE]
    m[GAVE : GAVE + whole] = m[NOUGHT : NOUGHT + whole]
    m[STRONG : STRONG + whole] = m[NOUGHT : NOUGHT + whole]
    m[MASK : MASK + whole] = m[NONE : NONE + whole]
    for part in range(m[PARTS]):
        at = m[PLACE + part]
        if at < 0:
            continue
        code, way, bit = m[CODE + part], m[WAY + at], 1 << part
        if code in (TORCH, LEVER):
            holder = at + m[OFFSET + way]
            for direction in range(6):
                beside = at + m[OFFSET + direction]
                if beside != holder:
                    m[GAVE + beside] |= bit
            if code == TORCH:
                m[STRONG + at + m[OFFSET + ABOVE]] |= bit
            else:
                m[STRONG + holder] |= bit
        elif code in (REPEATER, COMPARATOR, DETECTOR):
            front = at + m[OFFSET + way]
            m[GAVE + front] |= bit
            m[STRONG + front] |= bit


def joins_dust(m: Row, beside: int, direction: int) -> int:
    """Whether a part counts as a join for dust that has it in some direction (rule W3)."""
    kind = m[KIND + beside]
    if kind in (TORCH, LEVER, COMPARATOR):
        return True
    if kind == REPEATER:
        return m[WAY + beside] % 2 == direction % 2
    return kind == DETECTOR and m[WAY + beside] == back_of(direction)


def step(m: Row, at: int, direction: int, down: int) -> int:
    """The dust that dust is joined to in some direction; -1 for none (rule W2).

    Where dust lies both a step up and a step down there, `down` asks for the lower.
    """
    beside = at + m[OFFSET + direction]
    if m[KIND + beside] == DUST:
        return -1 if down else beside
    if down:
        lower = beside + m[OFFSET + BELOW]
        return lower if m[KIND + lower] == DUST and not is_solid(m[KIND + beside]) else -1
    higher = beside + m[OFFSET + ABOVE]
    if m[KIND + higher] == DUST and not is_solid(m[KIND + at + m[OFFSET + ABOVE]]):
        return higher
    return -1


def look_at_dust(m: Row) -> None:
    """Where all dust points (rule W3), and what lights it (rule W8)."""
    dusts = 0
    for at in range(m[WHOLE]):
        if m[KIND + at] != DUST:
            continue
        m[DUSTS + dusts] = at
        dusts += 1
        part = m[WHO + at]
        joined = 1 << m[WAY + at] if part >= 0 and m[WAY + at] < ABOVE else 0
        for direction in range(4):
            if (
                step(m, at, direction, 0) >= 0
                or step(m, at, direction, 1) >= 0
                or joins_dust(m, at + m[OFFSET + direction], direction)
            ):
                joined |= 1 << direction
        if joined == 0:
            joined = 0 if m[WAY + at] == DOT else 15
        elif joined & 10 == 0:
            joined = 5
        elif joined & 5 == 0:
            joined = 10
        m[POINTS + at] = joined
        lit = m[GAVE + at]
        if part >= 0 and m[CODE + part] == ENTRY:
            lit |= 1 << part
        for direction in range(6):
            beside = at + m[OFFSET + direction]
            if is_solid(m[KIND + beside]):
                lit |= m[STRONG + beside]
        m[LIT + at] = lit
    m[COUNT + 1] = dusts


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
        lit = m[LIT + at]
        if losing:
            for part in range(m[PARTS]):
                if lit >> part & 1 and m[FAR + at] < m[LOSES + part]:
                    m[LOSES + part] = m[FAR + at]
        found |= lit
        if m[FAR + at] + 1 >= CARRIES:
            continue
        for direction in range(4):
            for down in range(2):
                other = step(m, at, direction, down)
                if other < 0 or m[SEEN + other] == number:
                    continue
                beside = at + m[OFFSET + direction]
                if other != beside and not down and not is_solid(m[KIND + beside]):
                    continue  # down a step power comes only where the upper dust lies on a solid block
                m[SEEN + other] = number
                m[FAR + other] = m[FAR + at] + 1
                m[QUEUE + last] = other
                last += 1
    return found


def dust(m: Row, at: int, losing: int) -> int:
    """The parts whose power reaches dust; kept, but where losses are asked for."""
    if losing:
        return search(m, at, 1)
    if m[MASK + at] < 0:
        m[MASK + at] = search(m, at, 0)
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


def losses(m: Row, port: int) -> int:
    """How many of the levels lost on the way to a port, which `lost` has, are not as they are to be."""
    wrong, parts = 0, m[PARTS]
    both = m[WANT + port] & m[HAVE + port]
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
    """Finds dust to give out: its place, or -1 where there is none; what is wrong with it goes into `count`.

    Of dust that an earlier port gives out there is no more: each has one name.
    """
    best, least, where = NEVER, 0, -1
    for number in range(m[COUNT + 1]):
        at = m[DUSTS + number]
        if m[WHO + at] != -1:
            continue
        m[HAVE + port] = dust(m, at, 0)
        wrong = bits_of(m[HAVE + port] ^ m[WANT + port])
        if wrong < best:
            feeds(m, port, at, 1)
            lost = losses(m, port)
            if wrong + lost < best:
                best, least, where = wrong + lost, lost, at
    m[HAVE + port] = 0
    m[COUNT + 2] = least
    if where >= 0:
        m[HAVE + port] = dust(m, where, 0)
        m[WHO + where] = GIVEN_AT - port
    return where


def read(m: Row) -> None:
    """Reads the whole grid: what feeds each port, and what is wrong, by its sort, into `cost`."""
    give(m)
    look_at_dust(m)
    for sort in range(5):
        m[COST + sort] = 0
    for port in range(m[PORTS]):
        part, lost = m[PORT_PART + port], 0
        if part < 0:
            given_out(m, port)
            lost = m[COUNT + 2]
        elif m[PLACE + part] < 0:
            m[HAVE + port] = 0
        else:
            losing = 1 if m[EXACT + port] != 0 else 0
            m[HAVE + port] = feeds(m, port, m[PLACE + part], losing)
            if losing:
                lost = losses(m, port)
        m[COST + MISSING] += bits_of(m[WANT + port] & ~m[HAVE + port])
        m[COST + UNWANTED] += bits_of(m[HAVE + port] & ~m[WANT + port])
        m[COST + LOST] += lost
    for number in range(m[COUNT + 1]):
        at = m[DUSTS + number]
        if m[WHO + at] <= GIVEN_AT:
            m[WHO + at] = -1
    for part in range(m[PARTS]):
        at = m[PLACE + part]
        if at < 0:
            m[COST + UNPLACED] += 1
        elif m[CODE + part] in (REPEATER, COMPARATOR):
            ahead = at + m[OFFSET + m[WAY + at]]
            points = m[KIND + ahead] in (REPEATER, COMPARATOR) and m[WAY + ahead] != back_of(m[WAY + at])
            if points != (m[STRAIGHT_IN + part] != 0):
                m[COST + STRAIGHT] += 1
