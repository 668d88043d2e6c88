"""Simulated annealing of a grid: moves of parts, dust and blocks.

Method: S. Kirkpatrick, C. Gelatt and M. Vecchi, "Optimization by Simulated Annealing" (Science 220, 1983), for the
placement of circuits as in C. Sechen and A. Sangiovanni-Vincentelli, "The TimberWolf Placement and Routing Package"
(IEEE Journal of Solid-State Circuits 20, 1985). Ours has parts, dust and blocks in one cost, and
moves of several steps beside small ones (`rerouting`).
"""

from __future__ import annotations

from circuitcheck.placing.choosing import is_free, partner, some_part, some_way, somewhere
from circuitcheck.placing.fast_reading import read, read_changes, settle, take_back
from circuitcheck.placing.grid import (
    ABOVE,
    AIR,
    BLOCK,
    CHANGED,
    CODE,
    COMPARATOR,
    COST,
    COUNT,
    DUST,
    INSIDE,
    KIND,
    OFFSET,
    PARTS,
    PLACE,
    REPEATER,
    TORCH,
    WAY,
    WHO,
    WHOLE,
    Row,
)
from circuitcheck.placing.putting import lay, leave, lift, put, supports
from circuitcheck.placing.random_numbers import random
from circuitcheck.placing.rerouting import move_and_reroute
from circuitcheck.placing.routing import route

DUST_COST, ERROR = 1, 8
"""What a dust costs, and each thing that is wrong."""
LEAVES = 2
"""What things cost more at places that they are to leave; a part costs `PART_WEIGHS` times as much."""
PART_WEIGHS = 3
REROUTED = 3
"""In how many of ten moves ways are led again: one of them takes as long as some twenty others."""


def move_part(m: Row, rng: Row, by_hand: int) -> int:
    """Places a part: near where it stands, near what it is wired to, or anywhere."""
    part = some_part(m, rng)
    near = m[PLACE + part] if random(rng, 2) else partner(m, rng, part)
    at = somewhere(m, rng, near)
    if at < 0 or not is_free(m, rng, at):
        return False
    return put(m, part, at, some_way(rng, m[CODE + part]), by_hand)


def turn_part(m: Row, rng: Row, by_hand: int) -> int:
    """Turns a part where it stands, or has another block hold it."""
    part = some_part(m, rng)
    at = m[PLACE + part]
    if at < 0:
        return False
    return put(m, part, at, some_way(rng, m[CODE + part]), by_hand)


def swap_parts(m: Row, rng: Row, by_hand: int) -> int:
    """Exchanges two parts, each the way that the other was."""
    one, other = some_part(m, rng), random(rng, m[PARTS])
    here, there = m[PLACE + one], m[PLACE + other]
    if one == other or here < 0 or there < 0:
        return False
    way, other_way = m[WAY + here], m[WAY + there]
    codes = (m[CODE + one], m[CODE + other])
    if codes[0] != codes[1]:
        if codes[0] == TORCH and other_way == ABOVE:
            return False
        if codes[1] == TORCH and way == ABOVE:
            return False
        if codes[0] in (REPEATER, COMPARATOR) and other_way >= ABOVE:
            other_way = random(rng, 4)
        if codes[1] in (REPEATER, COMPARATOR) and way >= ABOVE:
            way = random(rng, 4)
    leave(m, here)
    leave(m, there)
    return put(m, one, there, other_way, by_hand) and put(m, other, here, way, by_hand)


def move_dust(m: Row, rng: Row) -> int:
    """Lays dust somewhere, often beside dust or a part."""
    near = -1
    if random(rng, 3):
        near = m[PLACE + random(rng, m[PARTS])]
    at = somewhere(m, rng, near)
    if at < 0 or m[KIND + at] == DUST or not is_free(m, rng, at):
        return False
    return lay(m, at)


def move_away(m: Row, rng: Row) -> int:
    """Takes dust, or a block that carries nothing, off the grid."""
    at = somewhere(m, rng, -1)
    if at < 0:
        return False
    kind = m[KIND + at]
    if kind == DUST or (kind == BLOCK and not supports(m, at)):
        lift(m, at)
        return True
    return False


def move_block(m: Row, rng: Row) -> int:
    """Puts a block where air or dust is."""
    at = somewhere(m, rng, -1)
    if at < 0 or m[KIND + at] not in (AIR, DUST):
        return False
    lift(m, at)
    m[KIND + at] = BLOCK
    return True


def shift_dust(m: Row, rng: Row) -> int:
    """Moves a dust by one place."""
    at = somewhere(m, rng, -1)
    if at < 0 or m[KIND + at] != DUST:
        return False
    beside = at + m[OFFSET + random(rng, 6)]
    if not m[INSIDE + beside] or not is_free(m, rng, beside):
        return False
    lift(m, at)
    return lay(m, beside)


def make_move(m: Row, rng: Row, by_hand: int) -> int:
    """Makes one move at random; whether it could be made."""
    if random(rng, 10) < REROUTED:
        return move_and_reroute(m, rng, by_hand)
    which = random(rng, 23)
    if which < 7:
        return move_part(m, rng, by_hand)
    if which < 9:
        return turn_part(m, rng, by_hand)
    if which < 11:
        return swap_parts(m, rng, by_hand)
    if which < 14:
        return move_dust(m, rng)
    if which < 17:
        return move_away(m, rng)
    if which < 18:
        return move_block(m, rng)
    if which < 20:
        return shift_dust(m, rng)
    return route(m, rng)


def wrong(m: Row) -> int:
    """How much is wrong: none of it may be left."""
    found = 0
    for sort in range(5):
        found += m[COST + sort]
    return ERROR * found


def weighed(m: Row) -> int:
    """What a grid costs: all that is wrong, and its dust."""
    return wrong(m) + DUST_COST * m[COUNT + 1]


def copy(m: Row, to: Row) -> None:
    """Makes one memory hold the layout that another does."""
    whole, parts = m[WHOLE], m[PARTS]
    to[KIND : KIND + whole] = m[KIND : KIND + whole]
    to[WAY : WAY + whole] = m[WAY : WAY + whole]
    to[WHO : WHO + whole] = m[WHO : WHO + whole]
    to[PLACE : PLACE + parts] = m[PLACE : PLACE + parts]


def carry(m: Row, source: Row, to: Row) -> None:
    """Makes one memory hold what another does, at the places that were changed in the first."""
    for number in range(m[COUNT + 3]):
        at = m[CHANGED + number]
        for part in (source[WHO + at], to[WHO + at]):
            if part >= 0:
                to[PLACE + part] = source[PLACE + part]
        to[KIND + at] = source[KIND + at]
        to[WAY + at] = source[WAY + at]
        to[WHO + at] = source[WHO + at]


def keep(m: Row, kept: Row) -> None:
    """Goes on with what a move came to."""
    carry(m, m, kept)
    settle(m)


def undo(m: Row, kept: Row) -> None:
    """Brings back what was before a move."""
    carry(m, kept, m)
    take_back(m)


def is_taken(before: int, after: int, accepted: Row, rng: Row) -> int:
    """Whether a layout is gone on with that costs `after`, where it was `before` (Metropolis)."""
    if after <= before:
        return True
    return after - before < len(accepted) and random(rng, 1000000) < accepted[after - before]


def anneal(m: Row, kept: Row, rng: Row, accepted: Row, moves: int, by_hand: int) -> int:
    """Makes so many moves at one temperature, of which `accepted` has the chances. Returns the moves left once all is
    right, or -1.

    `kept` is a second grid, for what stood before a move.
    """
    read(m)
    before = weighed(m)
    copy(m, kept)
    for left in range(moves, 0, -1):
        if not make_move(m, rng, by_hand):
            undo(m, kept)
            continue
        read_changes(m)
        after = weighed(m)
        if is_taken(before, after, accepted, rng):
            before = after
            keep(m, kept)
            if wrong(m) == 0:
                return left - 1
        else:
            undo(m, kept)
    return -1


def weighed_with(m: Row, leaves: Row) -> int:
    """What a grid costs where things at some places are dearer, which they are to leave."""
    cost = weighed(m)
    for number in range(len(leaves)):
        at = leaves[number]
        if m[KIND + at] != AIR:
            cost += LEAVES * (PART_WEIGHS if m[WHO + at] >= 0 else 1)
    return cost


def wander(
    m: Row, kept: Row, rng: Row, accepted: Row, moves: int, by_hand: int, best: Row, leaves: Row, least: int
) -> int:
    """Makes so many moves at one temperature, with things dearer at the places that they are to leave.

    The layout that costs least, of those in which nothing is wrong, goes into `best` if it costs no more than `least`,
    which is -1 for none so far. Returns what it costs, or -1.
    """
    read(m)
    before = weighed_with(m, leaves)
    copy(m, kept)
    for _ in range(moves):
        if not make_move(m, rng, by_hand):
            undo(m, kept)
            continue
        read_changes(m)
        after = weighed_with(m, leaves)
        if not is_taken(before, after, accepted, rng):
            undo(m, kept)
            continue
        before = after
        keep(m, kept)
        if wrong(m) == 0 and (least < 0 or after <= least):
            least = after
            copy(m, best)
    return least
