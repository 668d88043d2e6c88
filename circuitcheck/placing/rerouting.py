"""Moves of several steps, judged once: parts go elsewhere, the dust that served them is ripped up and led again.

A part that is moved alone leaves its ways broken and costs so much that the move is hardly ever taken; the way is what
has to be found again before it is judged.

Method: W. Dees and P. Karger, "Automated Rip-Up and Reroute Techniques" (19th Design Automation Conference, 1982).
"""

from __future__ import annotations

from circuitcheck.placing.attaching import attach
from circuitcheck.placing.choosing import is_free, partner, some_part, some_way, somewhere
from circuitcheck.placing.fast_reading import read_changes
from circuitcheck.placing.fast_wiring import links_of
from circuitcheck.placing.grid import (
    ABOVE,
    AIR,
    BLOCK,
    CAME,
    CODE,
    COUNT,
    DUST,
    DUSTS,
    INSIDE,
    KIND,
    LIGHTS,
    LINK,
    LINKS,
    LIT,
    OFFSET,
    PARTS,
    PLACE,
    PORT_PART,
    PORTS,
    QUEUE,
    SOUTH,
    WANT,
    WAY,
    WHO,
    Row,
)
from circuitcheck.placing.putting import leave, lift, put, supports
from circuitcheck.placing.random_numbers import random
from circuitcheck.placing.routing import arrives, lacking, lead, rip_up

MOST_LED, MOST_TRIED = 4, 4
"""How many ways are led at most, and how many places are tried for a part that lost its own."""


def lead_again(m: Row, rng: Row) -> None:
    """Leads dust to inputs that lack a source, each once, in some order."""
    read_changes(m)
    ports, led = m[PORTS], 0
    first = random(rng, ports) if ports else 0
    for turn in range(ports):
        port = (first + turn) % ports
        for source in range(m[PARTS] if lacking(m, port) else 0):
            if led < MOST_LED and lacking(m, port) >> source & 1 and m[PLACE + source] >= 0:
                led += 1
                if lead(m, rng, port, source):
                    read_changes(m)


def serves(m: Row, at: int) -> int:
    """Whether dust brings an input what it wants, or may be what the circuit gives out."""
    reached = m[LIGHTS + at]
    for port in range(m[PORTS]):
        reader = m[PORT_PART + port]
        if not reached & m[WANT + port]:
            continue
        if reader < 0:
            if reached == m[WANT + port]:
                return True
        elif m[PLACE + reader] >= 0 and arrives(m, at, port, m[PLACE + reader]):
            return True
    return False


def beyond(m: Row, at: int) -> int:
    """The dust that a loose end is joined to, -1 for none; -2 for dust that is joined to more."""
    found, links = -1, links_of(m, at)
    for link in range(LINKS):
        if links >> link & 1:
            if found >= 0:
                return -2
            found = at + m[LINK + link]
    return found


def trim(m: Row) -> None:
    """Takes out dust that no part lights, and loose ends that serve nothing and that no part lights itself."""
    read_changes(m)
    for number in range(m[COUNT + 1]):
        at = m[DUSTS + number]
        while at >= 0 and m[KIND + at] == DUST and m[WHO + at] < 0 and m[INSIDE + at]:
            following = beyond(m, at)
            if m[LIGHTS + at] and (following == -2 or m[LIT + at] or serves(m, at)):
                break
            lift(m, at)
            at = following


def home(m: Row, rng: Row, by_hand: int) -> None:
    """Gives parts that have no place one, near what they are wired to."""
    for part in range(m[PARTS]):
        for _ in range(MOST_TRIED):
            if m[PLACE + part] >= 0:
                break
            at = somewhere(m, rng, partner(m, rng, part))
            if at < 0 or m[WHO + at] >= 0:
                continue
            if m[KIND + at] in (AIR, DUST) or (m[KIND + at] == BLOCK and not supports(m, at)):
                put(m, part, at, some_way(rng, m[CODE + part]), by_hand)


def elsewhere(m: Row, rng: Row, part: int, by_hand: int) -> int:
    """Puts a part elsewhere."""
    near = m[PLACE + part] if random(rng, 2) else partner(m, rng, part)
    at = somewhere(m, rng, near)
    if at < 0 or not is_free(m, rng, at):
        return False
    rip_up(m, 1 << part, random(rng, 3) == 0)
    return put(m, part, at, some_way(rng, m[CODE + part]), by_hand)


def turned(m: Row, rng: Row, part: int, by_hand: int) -> int:
    """Turns a part where it stands."""
    at = m[PLACE + part]
    if at < 0:
        return False
    rip_up(m, 1 << part, random(rng, 3) == 0)
    return put(m, part, at, some_way(rng, m[CODE + part]), by_hand)


def exchanged(m: Row, rng: Row, part: int, by_hand: int) -> int:
    """Exchanges a part with another, each the way that the other was, if both are of one kind."""
    other = random(rng, m[PARTS])
    here, there = m[PLACE + part], m[PLACE + other]
    if other == part or here < 0 or there < 0:
        return False
    way, other_way = m[WAY + here], m[WAY + there]
    if m[CODE + part] != m[CODE + other]:
        way, other_way = some_way(rng, m[CODE + other]), some_way(rng, m[CODE + part])
    if not (m[INSIDE + here] and m[INSIDE + there]):
        return False
    rip_up(m, 1 << part | 1 << other, random(rng, 3) == 0)
    leave(m, here)
    leave(m, there)
    return put(m, part, there, other_way, by_hand) and put(m, other, here, way, by_hand)


def are_near(m: Row, one: int, other: int, layers: int, rows: int, columns: int) -> int:
    """Whether two places are so many layers, rows and columns apart at most."""
    deep, across = m[OFFSET + ABOVE], m[OFFSET + SOUTH]
    return (
        abs(one // deep - other // deep) <= layers
        and abs(one % deep // across - other % deep // across) <= rows
        and abs(one % across - other % across) <= columns
    )


def shift_together(m: Row, rng: Row, by_hand: int) -> int:
    """Moves parts that stand near each other by a place or two, all of them the same way."""
    center = m[PLACE + random(rng, m[PARTS])]
    layers, rows, columns = random(rng, 3), random(rng, 3), random(rng, 3)
    by = m[OFFSET + random(rng, 6)]
    if random(rng, 2):
        by += m[OFFSET + random(rng, 6)]
    if center < 0 or by == 0:
        return False
    together = 0
    for part in range(m[PARTS]):
        at = m[PLACE + part]
        if at >= 0 and are_near(m, at, center, layers, rows, columns):
            if not (m[INSIDE + at] and m[INSIDE + at + by]):
                return False
            together |= 1 << part
            m[QUEUE + part] = at
            m[CAME + part] = m[WAY + at]
    rip_up(m, together, random(rng, 3) == 0)
    for part in range(m[PARTS]):
        if together >> part & 1:
            leave(m, m[QUEUE + part])
    for part in range(m[PARTS]):
        if together >> part & 1:
            put(m, part, m[QUEUE + part] + by, m[CAME + part], by_hand)
    return True


def rearrange(m: Row, rng: Row, by_hand: int) -> int:
    """Moves parts, or rips dust up only; whether it could be done."""
    part, which = some_part(m, rng), random(rng, 12)
    if which < 4:
        return elsewhere(m, rng, part, by_hand)
    if which < 5:
        return turned(m, rng, part, by_hand)
    if which < 6:
        return exchanged(m, rng, part, by_hand)
    if which < 8:
        other = part if which < 7 else random(rng, m[PARTS])
        rip_up(m, 1 << part | 1 << other, True)
        return True
    if which < 10:
        return attach(m, rng, by_hand)
    return shift_together(m, rng, by_hand)


def move_and_reroute(m: Row, rng: Row, by_hand: int) -> int:
    """Moves parts, and leads again what is broken then; whether it could be done."""
    read_changes(m)
    if not rearrange(m, rng, by_hand):
        return False
    home(m, rng, by_hand)
    lead_again(m, rng)
    trim(m)
    return True
