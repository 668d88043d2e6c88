"""The fast reading of a whole layout, and of what a move changed in it.

What is read at a place depends on what stands near it, and along dust on what it is joined to. So after a move only
the places near those that were changed are looked at, dust is followed from where its links or its light are others,
and only those ports are asked that are beside anything that is read otherwise. What was read before is journaled, and
comes back if the move is not taken.
"""

from __future__ import annotations

from circuitcheck.placing.fast_wiring import feeds, given_out, given_to, links_of, lit_by, losses, points_of, strongly
from circuitcheck.placing.grid import (
    ABOVE,
    AIR,
    AMISS,
    AMONG,
    CARRIES,
    CHANGED,
    CODE,
    COMPARATOR,
    COST,
    COUNT,
    DUST,
    DUSTS,
    EXACT,
    GAVE,
    GIVEN_AT,
    HAVE,
    INSIDE,
    JOINED,
    JOURNAL,
    JOURNALED,
    KIND,
    KNOWN,
    LIGHTS,
    LINK,
    LINKS,
    LISTED,
    LIT,
    LOSING,
    LOST,
    MASK,
    MISSING,
    NEAR,
    NO_DUST,
    OFFSET,
    OVERHEAD,
    PARTS,
    PLACE,
    POINTS,
    PORT_HOW,
    PORT_PART,
    PORTS,
    QUEUE,
    REPEATER,
    SEEN,
    STRAIGHT,
    STRAIGHT_IN,
    STRONG,
    TOUCHED,
    UNPLACED,
    UNWANTED,
    WANT,
    WAY,
    WHO,
    WHOLE,
    Row,
    back_of,
    bits_of,
    is_solid,
    note,
)


def read(m: Row) -> None:
    """Reads the whole grid: what feeds each port, and what is wrong, by its sort, into `cost`."""
    whole = m[WHOLE]
    for at in range(whole):
        for field in (GAVE, STRONG, LIT, POINTS, MASK, LIGHTS):
            m[field + at] = 0
        m[JOINED + at] = NO_DUST
    m[COUNT + 1] = m[KNOWN] = changed = 0
    for port in range(m[PORTS]):
        m[HAVE + port] = m[AMISS + port] = 0
    for at in range(whole):
        if m[KIND + at] != AIR:
            m[CHANGED + changed] = at
            changed += 1
    m[COUNT + 3] = changed
    read_changes(m)
    settle(m)


def read_changes(m: Row) -> None:
    """Reads what was changed since it was read."""
    m[COUNT] += 1
    number = m[COUNT]
    affected = 0
    for each in range(m[KNOWN], m[COUNT + 3]):
        at = m[CHANGED + each]
        if m[SEEN + at] != number:
            m[SEEN + at] = number
            affected = read_around(m, at, affected)
    m[KNOWN] = m[COUNT + 3]
    follow(m, read_dust(m, affected))
    ask_ports(m, number)
    count_wrong(m)


def settle(m: Row) -> None:
    """Takes what is read for good: nothing of it comes back any more."""
    m[COUNT + 3] = m[KNOWN] = m[JOURNALED] = 0


def take_back(m: Row) -> None:
    """Brings back what was read before, once what was changed stands again as it did."""
    if m[JOURNALED] < 0:
        read(m)
        return
    for each in range(m[JOURNALED] - 1, -1, -1):
        m[m[JOURNAL + 2 * each]] = m[JOURNAL + 2 * each + 1]
    settle(m)


def mark_near(m: Row, at: int, number: int) -> None:
    """Marks a place, and those beside it, as near what is read otherwise."""
    m[NEAR + at] = number
    for direction in range(6):
        m[NEAR + at + m[OFFSET + direction]] = number


def touch(m: Row, at: int, number: int, affected: int) -> int:
    """Lists a place at which dust is to be looked at; how many are listed."""
    if m[TOUCHED + at] == number:
        return affected
    m[TOUCHED + at] = number
    m[LISTED + affected] = at
    return affected + 1


def read_around(m: Row, at: int, affected: int) -> int:
    """Reads what is given to places around one that was changed, and lists where dust is to be looked at."""
    number = m[COUNT]
    mark_near(m, at, number)
    affected = touch(m, at, number, affected)
    for link in range(LINKS):
        affected = touch(m, at + m[LINK + link], number, affected)
    for direction in range(6):
        beside = at + m[OFFSET + direction]
        affected = touch(m, beside, number, affected)
        kind = m[KIND + beside]
        if not m[INSIDE + beside] and kind == AIR:
            continue
        gave = given_to(m, beside)
        if gave != m[GAVE + beside]:
            note(m, GAVE + beside, gave)
            mark_near(m, beside, number)
        strong = strongly(m, beside)
        if strong != m[STRONG + beside]:
            note(m, STRONG + beside, strong)
            mark_near(m, beside, number)
            if is_solid(kind):
                for around in range(6):
                    affected = touch(m, beside + m[OFFSET + around], number, affected)
    return affected


def read_dust(m: Row, affected: int) -> int:
    """Looks at listed places: where dust points, what it is joined to, and what lights it.

    Those are listed instead at which the links or the light are others, or dust is gone; how many they are.
    """
    number, kept = m[COUNT], 0
    for each in range(affected):
        at = m[LISTED + each]
        if m[KIND + at] != DUST:
            if m[JOINED + at] != NO_DUST:
                forget_dust(m, at)
            continue
        if m[JOINED + at] == NO_DUST:
            note(m, AMONG + at, m[COUNT + 1])
            note(m, DUSTS + m[COUNT + 1], at)
            note(m, COUNT + 1, m[COUNT + 1] + 1)
        links = links_of(m, at)
        points, lit = points_of(m, at, links), lit_by(m, at)
        if points != m[POINTS + at]:
            note(m, POINTS + at, points)
            mark_near(m, at, number)
        if links != m[JOINED + at] or lit != m[LIT + at]:
            note(m, JOINED + at, links)
            note(m, LIT + at, lit)
            m[LISTED + kept] = at
            kept += 1
    return kept


def forget_dust(m: Row, at: int) -> None:
    """Notes that there is no dust any more."""
    note(m, JOINED + at, NO_DUST)
    for field in (LIT, POINTS, MASK, LIGHTS):
        note(m, field + at, 0)
    note(m, COUNT + 1, m[COUNT + 1] - 1)
    last = m[DUSTS + m[COUNT + 1]]
    note(m, DUSTS + m[AMONG + at], last)
    note(m, AMONG + last, m[AMONG + at])


def follow(m: Row, listed: int) -> None:
    """Follows dust from listed places: what reaches it has to be found again."""
    near = m[COUNT]
    m[COUNT] += 1
    number = m[COUNT]
    for each in range(listed):
        start = m[LISTED + each]
        if m[SEEN + start] == number:
            continue
        m[SEEN + start] = number
        m[QUEUE] = start
        lit, first, last, both_ways = 0, 0, 1, True
        while first < last:
            at = m[QUEUE + first]
            first += 1
            lit |= m[LIT + at]
            links, link = m[JOINED + at] & (1 << LINKS) - 1, 0
            if links != m[JOINED + at] >> LINKS:
                both_ways = False
            while links:
                if links & 1:
                    other = at + m[LINK + link]
                    if m[SEEN + other] != number:
                        m[SEEN + other] = number
                        m[QUEUE + last] = other
                        last += 1
                links >>= 1
                link += 1
        reaches = lit if both_ways and last <= CARRIES else -1
        for place in range(last):
            at = m[QUEUE + place]
            if reaches < 0 or m[LOSING] or m[MASK + at] != reaches:
                mark_near(m, at, near)
            note(m, MASK + at, reaches)
            note(m, LIGHTS + at, lit)


def is_near(m: Row, at: int, number: int) -> int:
    """Whether a place is near one that is near what is read otherwise."""
    near = m[NEAR + at] == number
    for direction in range(6):
        near = near or m[NEAR + at + m[OFFSET + direction]] == number
    return near


def ask_ports(m: Row, number: int) -> None:
    """Asks the ports again that are near what is read otherwise."""
    parts = 0
    for part in range(m[PARTS]):
        if m[PLACE + part] >= 0 and is_near(m, m[PLACE + part], number):
            parts |= 1 << part
    for port in range(m[PORTS]):
        part = m[PORT_PART + port]
        if part < 0:
            given_out(m, port)
            continue
        at = m[PLACE + part]
        if at < 0:
            note(m, HAVE + port, 0)
            note(m, AMISS + port, 0)
        elif parts >> part & 1 or (m[PORT_HOW + port] == OVERHEAD and is_near(m, at + m[OFFSET + ABOVE], number)):
            losing = 1 if m[EXACT + port] != 0 else 0
            have = feeds(m, port, at, losing)
            note(m, HAVE + port, have)
            note(m, AMISS + port, losses(m, port, have) if losing else 0)
    for each in range(m[COUNT + 1]):
        if m[WHO + m[DUSTS + each]] <= GIVEN_AT:
            m[WHO + m[DUSTS + each]] = -1


def count_wrong(m: Row) -> None:
    """Counts what is wrong, by its sort, into `cost`."""
    missing = unwanted = lost = unplaced = straight = 0
    for port in range(m[PORTS]):
        want, have = m[WANT + port], m[HAVE + port]
        if want != have:
            missing += bits_of(want & ~have)
            unwanted += bits_of(have & ~want)
        lost += m[AMISS + port]
    for part in range(m[PARTS]):
        at = m[PLACE + part]
        if at < 0:
            unplaced += 1
        elif m[CODE + part] in (REPEATER, COMPARATOR):
            ahead = at + m[OFFSET + m[WAY + at]]
            points = m[KIND + ahead] in (REPEATER, COMPARATOR) and m[WAY + ahead] != back_of(m[WAY + at])
            if points != (m[STRAIGHT_IN + part] != 0):
                straight += 1
    note(m, COST + MISSING, missing)
    note(m, COST + UNWANTED, unwanted)
    note(m, COST + UNPLACED, unplaced)
    note(m, COST + LOST, lost)
    note(m, COST + STRAIGHT, straight)
