"""Where the pieces stand, before any dust is led: near to those that they are joined with, and apart enough for dust.

By simulated annealing, as standard cells are placed: C. Sechen and A. Sangiovanni-Vincentelli, "The TimberWolf
Placement and Routing Package" (IEEE Journal of Solid-State Circuits SC-20, 1985). Runs as it is, on lists, and
compiled, on arrays, with the same results.
"""

from __future__ import annotations

from typing import NamedTuple

from circuitcheck.placing.grid import Row
from circuitcheck.placing.random_numbers import random

STANDS = 8
"""In how many ways a piece may stand: four turns, with its nets at its pins in their order or the other way round."""
HOT = 1500
"""How warm it is at first: a fifteenth of what a move may make worse at once, as a rule."""


class Arrangement(NamedTuple):
    """Rows of whole numbers: the pieces, how they may stand, and the ends of nets."""

    at: Row
    """For each piece its layer, row and column, and which of its stands it has."""
    low: Row
    """For each stand of each piece the least place of its box, from the piece."""
    high: Row
    tall: Row
    """How much higher than its box nothing may stand, for each piece."""
    ends: Row
    """For each piece where its ends begin in the next two; one more at last."""
    end_net: Row
    end_at: Row
    """For each end and stand where it is, from the piece."""
    nets: Row
    """For each net where its ends begin in the next two; one more at last."""
    net_piece: Row
    """The piece of an end of a net."""
    net_end: Row
    """The number of the end; below 0, less one, where it is not a source."""
    bounds: Row
    """The least and the greatest layer, row and column, the room between pieces aside and upward, how far dust is meant
    to go at most, and the price of a place of the box around all."""


def end_place(a: Arrangement, piece: int, end: int, axis: int) -> int:
    """The layer, row or column of an end."""
    return a.at[piece * 4 + axis] + a.end_at[(end * STANDS + a.at[piece * 4 + 3]) * 3 + axis]


def net_cost(a: Arrangement, net: int) -> int:
    """How far the sources of a net are from its inputs, those that are too far counted more."""
    cost = 0
    first, last = a.nets[net], a.nets[net + 1]
    for one in range(first, last):
        if a.net_end[one] < 0:
            continue
        for other in range(first, last):
            source = a.net_end[other] >= 0
            if one == other or (source and other > one):
                continue
            end = a.net_end[other] if source else -1 - a.net_end[other]
            up = abs(end_place(a, a.net_piece[one], a.net_end[one], 0) - end_place(a, a.net_piece[other], end, 0))
            far = 0
            for axis in range(1, 3):
                far += abs(
                    end_place(a, a.net_piece[one], a.net_end[one], axis) - end_place(a, a.net_piece[other], end, axis)
                )
            far = max(far, up)
            cost += far + (far - a.bounds[8]) ** 2 * 4 if far > a.bounds[8] else far
    return cost


def overlap(a: Arrangement, one: int, other: int) -> int:
    """By how many places two pieces are too near to each other."""
    size = 1
    for axis in range(3):
        here, there = a.at[one * 4 + axis], a.at[other * 4 + axis]
        mine, theirs = (one * STANDS + a.at[one * 4 + 3]) * 3 + axis, (other * STANDS + a.at[other * 4 + 3]) * 3 + axis
        room = a.bounds[7] if axis == 0 else a.bounds[6]
        high, others = here + a.high[mine], there + a.high[theirs]
        if axis == 0:
            high += a.tall[one]
            others += a.tall[other]
        size *= max(0, min(high, others) + room - max(here + a.low[mine], there + a.low[theirs]) + 1)
        if size == 0:
            return 0
    return min(size, 60)


def piece_cost(a: Arrangement, piece: int, count: int) -> int:
    """What a piece costs where it stands."""
    cost = 0
    for end in range(a.ends[piece], a.ends[piece + 1]):
        cost += net_cost(a, a.end_net[end])
    for other in range(count):
        if other != piece:
            cost += overlap(a, piece, other) * 12
    return cost


def box_cost(a: Arrangement, count: int) -> int:
    """What the box around all pieces costs."""
    size = 1
    for axis in range(3):
        least, most = 1 << 20, -1
        for piece in range(count):
            at, stand = a.at[piece * 4 + axis], (piece * STANDS + a.at[piece * 4 + 3]) * 3 + axis
            least, most = min(least, at + a.low[stand]), max(most, at + a.high[stand])
        size *= most - least + 3
    return size * a.bounds[9] // 16


def fits(a: Arrangement, piece: int) -> bool:
    """Whether a piece stands within the bounds."""
    for axis in range(3):
        at, stand = a.at[piece * 4 + axis], (piece * STANDS + a.at[piece * 4 + 3]) * 3 + axis
        if at + a.low[stand] < a.bounds[axis] or at + a.high[stand] > a.bounds[3 + axis]:
            return False
    return True


def shift(a: Arrangement, piece: int, count: int, rng: Row, reach: int) -> None:
    """Moves a piece a little, turns it, or takes it near to one that it is joined with."""
    sort = random(rng, 4)
    if sort == 0:
        a.at[piece * 4 + 3] = random(rng, STANDS)
    elif sort == 1 and a.ends[piece] < a.ends[piece + 1]:
        net = a.end_net[a.ends[piece] + random(rng, a.ends[piece + 1] - a.ends[piece])]
        other = a.net_piece[a.nets[net] + random(rng, a.nets[net + 1] - a.nets[net])]
        for axis in range(3):
            a.at[piece * 4 + axis] = a.at[other * 4 + axis] + random(rng, 11) - 5
    else:
        for axis in range(3):
            a.at[piece * 4 + axis] += random(rng, 2 * reach + 1) - reach


def arrange(a: Arrangement, rng: Row, kept: Row, first: int, last: int, moves: int) -> None:
    """Makes the moves from the first to the last, of so many in all, from hot to cold."""
    count = len(a.tall)
    box = box_cost(a, count)
    for move in range(first, last):
        warm = HOT * (moves - move) // moves * (moves - move) // moves + 1
        piece, other = random(rng, count), -1
        if random(rng, 5) == 0:
            other = random(rng, count)
        if other == piece:
            continue
        before = box + piece_cost(a, piece, count) + (piece_cost(a, other, count) if other >= 0 else 0)
        for number in range(4):
            kept[number] = a.at[piece * 4 + number]
            if other >= 0:
                kept[4 + number] = a.at[other * 4 + number]
        if other >= 0:
            for axis in range(3):
                a.at[piece * 4 + axis], a.at[other * 4 + axis] = kept[4 + axis], kept[axis]
        else:
            shift(a, piece, count, rng, 1 + 5 * (moves - move) // moves)
        good = fits(a, piece) and (other < 0 or fits(a, other))
        if good:
            now = box_cost(a, count)
            after = now + piece_cost(a, piece, count) + (piece_cost(a, other, count) if other >= 0 else 0)
            # worse by an amount that is exponential on average, as in Metropolis' rule, in whole numbers
            worse = 0
            while random(rng, 8) < 5 and worse < 64:
                worse += 1
            good = after - before <= worse * warm // 32
            if good:
                box = now
        if not good:
            for number in range(4):
                a.at[piece * 4 + number] = kept[number]
                if other >= 0:
                    a.at[other * 4 + number] = kept[4 + number]
