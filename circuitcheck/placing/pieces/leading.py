"""The ground on which routes of dust are led, and one route on it, on the way that costs least.

A place costs the more the more of what others have there it would spoil, and the more often it was fought for. Method:
P. Hart, N. Nilsson and B. Raphael, "A Formal Basis for the Heuristic Determination of Minimum Cost Paths" (IEEE
Transactions on Systems Science and Cybernetics 4, 1968), with the levels of dust as a bound on each way. Runs as it is,
on lists, and compiled, on arrays, with the same results.
"""

from __future__ import annotations

from typing import NamedTuple

from circuitcheck.placing.grid import ABOVE, BELOW, Row

FREE, SOLID, OTHER, OUTSIDE = range(4)
"""What stands at a place for good: nothing, a solid block, something else (or air that must stay), or it is outside."""
UNIT = 16
"""What a step costs where nobody else is."""
FORBIDDEN = -1
DUST_THERE, BLOCK_THERE, AIR_THERE = 1, 2, 3
"""What the net that is led has at a place; what is nearer to the end hides what comes after it there."""


class Ground(NamedTuple):
    """Rows of whole numbers, one for each place."""

    offset: Row
    """How far the next place is, for each of the six directions."""
    fixed: Row
    dust: Row
    """Of how many nets dust lies there."""
    block: Row
    """How many dusts stand on it."""
    air: Row
    """How many steps of dust need it not to be solid."""
    history: Row
    """What was added to its price so far."""
    dusts: Row
    """Which nets may lay dust there: where their numbers stand in `sets`; 0 for all."""
    blocks: Row
    """Which nets may put a block there."""
    sets: Row
    """Sets of nets: how many, and their numbers."""
    own: Row
    """What the net that is led has there: the number of its turn, times four, and which of the three below."""
    target: Row
    """The number of the search of which it is a target."""
    reached: Row
    """The number of the search that reached it, times two; one more once it is done with."""
    price: Row
    far: Row
    """How many steps it is from the source that is farthest."""
    came: Row
    heap: Row
    """Places by their price, the least first; the first number is how many."""
    rest: Row
    """How many steps it is from there at least to the next target."""
    tree: Row
    """Where a search begins: how many places, and the places."""
    ends: Row
    """Its targets: how many, and their places."""


def is_in(g: Ground, at: int, net: int) -> bool:
    """Whether a net is in a set of nets."""
    found = at == 0
    for number in range(1, g.sets[at] + 1):
        found = found or g.sets[at + number] == net
    return found


def push(g: Ground, at: int, price: int) -> None:
    """Puts a place into the heap."""
    g.heap[0] += 1
    here = g.heap[0]
    key = price << 24 | at
    while here > 1 and g.heap[here >> 1] > key:
        g.heap[here] = g.heap[here >> 1]
        here >>= 1
    g.heap[here] = key


def pop(g: Ground) -> int:
    """Takes the place that costs least out of the heap."""
    least, key, count = g.heap[1], g.heap[g.heap[0]], g.heap[0] - 1
    g.heap[0] = count
    here = 1
    while here * 2 <= count:
        child = here * 2
        if child < count and g.heap[child + 1] < g.heap[child]:
            child += 1
        if g.heap[child] >= key:
            break
        g.heap[here] = g.heap[child]
        here = child
    g.heap[here] = key
    return least & 0xFFFFFF


def own_at(g: Ground, at: int, turn: int) -> int:
    """What the net that is led has at a place: 0 for nothing."""
    own = g.own[at]
    return own & 3 if own >> 2 == turn else 0


def solid(g: Ground, at: int, turn: int) -> bool:
    """Whether a place is solid as things stand."""
    return g.fixed[at] == SOLID or g.block[at] > 0 or own_at(g, at, turn) == 2


def spoils(g: Ground, at: int, net: int, turn: int) -> int:
    """How much of other nets would be spoiled by dust at a place; FORBIDDEN where it can't lie."""
    below = at + g.offset[BELOW]
    if g.fixed[at] != FREE or g.fixed[below] > SOLID or not is_in(g, g.dusts[at], net):
        return FORBIDDEN
    if own_at(g, at, turn) == 2 or own_at(g, below, turn) & 1:
        return FORBIDDEN
    wrong = g.dust[at] + (1 if g.block[at] else 0)
    if g.fixed[below] == FREE:
        if not is_in(g, g.blocks[below], net):
            return FORBIDDEN
        wrong += g.dust[below] + g.air[below]
    covered = solid(g, at + g.offset[ABOVE], turn)
    for direction in range(4):
        beside = at + g.offset[direction]
        wrong += g.dust[beside]
        above, under = beside + g.offset[ABOVE], beside + g.offset[BELOW]
        if g.dust[above] and not covered:
            wrong += g.dust[above]
        if g.dust[under] and not solid(g, beside, turn):
            wrong += g.dust[under]
    return wrong


def take(g: Ground, dust: Row, under: Row, over: Row, count: int) -> None:
    """Takes the places of a net, whose numbers follow how many they are, or gives them back."""
    for number in range(1, dust[0] + 1):
        g.dust[dust[number]] += count
    for number in range(1, under[0] + 1):
        g.block[under[number]] += count
    for number in range(1, over[0] + 1):
        g.air[over[number]] += count


def write_own(g: Ground, dust: Row, under: Row, over: Row, turn: int) -> None:
    """Writes down what a net has, as the one that is led."""
    for number in range(1, over[0] + 1):
        g.own[over[number]] = turn << 2 | AIR_THERE
    for number in range(1, under[0] + 1):
        g.own[under[number]] = turn << 2 | BLOCK_THERE
    for number in range(1, dust[0] + 1):
        g.own[dust[number]] = turn << 2 | DUST_THERE


def fought(g: Ground, dust: Row, under: Row, over: Row, net: int, turn: int, dearer: int) -> int:
    """At how many places a net is in the way of another or of itself; they get dearer by so much."""
    take(g, dust, under, over, -1)
    write_own(g, dust, under, over, turn)
    wrong = 0
    for number in range(1, dust[0] + 1):
        at = dust[number]
        held = own_at(g, at + g.offset[BELOW], turn) == BLOCK_THERE or g.fixed[at + g.offset[BELOW]] == SOLID
        if not held or spoils(g, at, net, turn) != 0:
            g.history[at] += dearer
            wrong += 1
    for number in range(1, over[0] + 1):
        at = over[number]
        if g.block[at] or g.fixed[at] == SOLID or own_at(g, at, turn) == BLOCK_THERE:
            g.history[at] += dearer
            g.history[at + g.offset[ABOVE]] += dearer
            g.history[at + g.offset[BELOW]] += dearer
            wrong += 1
    for number in range(1, under[0] + 1):
        at = under[number]
        if own_at(g, at, turn) != BLOCK_THERE:
            g.history[at] += dearer
            g.history[at + g.offset[ABOVE]] += dearer
            wrong += 1
    take(g, dust, under, over, 1)
    return wrong


def rest_from(g: Ground, at: int) -> int:
    """How many steps it is at least to the next target: each goes one place aside, and one up or down at most."""
    across, deep, least = g.offset[2], g.offset[ABOVE], 1 << 20
    layer, row, column = at // deep, at % deep // across, at % across
    for number in range(1, g.ends[0] + 1):
        end = g.ends[number]
        aside = abs(end % deep // across - row) + abs(end % across - column)
        least = min(least, max(aside, abs(end // deep - layer)))
    return least


def lead(g: Ground, net: int, turn: int, search: int, pressing: int, most: int) -> int:
    """Leads a way from the places in `tree` to one of those that are a target; where it ends, or -1 where none can.

    `far` has how far each place in `tree` is. `pressing` is what a place that is spoiled costs more, in sixteenths;
    below 0 the shortest way is led, whatever it spoils. `most` is the greatest distance.
    """
    g.heap[0] = 0
    for number in range(1, g.tree[0] + 1):
        at = g.tree[number]
        price = 0
        if own_at(g, at, turn) != 1:
            wrong = spoils(g, at, net, turn)
            if wrong < 0:
                continue
            price = UNIT if pressing < 0 else (UNIT + g.history[at]) * (16 + wrong * pressing) >> 4
        if pressing < 0:
            price += UNIT * g.far[at]
        g.reached[at], g.price[at], g.came[at], g.rest[at] = search * 2, price, -1, rest_from(g, at)
        if g.far[at] + g.rest[at] <= most:
            push(g, at, price + g.rest[at] * UNIT)
    while g.heap[0]:
        at = pop(g)
        if g.reached[at] & 1:
            continue
        g.reached[at] = search * 2 + 1
        if g.target[at] == search:
            return at
        if g.far[at] < most:
            go_on(g, at, net, turn, search, pressing, most)
    return -1


def go_on(g: Ground, at: int, net: int, turn: int, search: int, pressing: int, most: int) -> None:
    """Goes one step on from a place: along, up and down in each of the four directions."""
    over = at + g.offset[ABOVE]
    for direction in range(4):
        beside = at + g.offset[direction]
        for climb in range(3):
            to, cut = beside, -1
            if climb == 1:
                to, cut = beside + g.offset[ABOVE], over
            elif climb == 2:
                to, cut = beside + g.offset[BELOW], beside
            if g.reached[to] == search * 2 + 1:
                continue
            if g.reached[to] < search * 2:
                if g.fixed[to] != FREE:
                    continue
                g.rest[to] = rest_from(g, to)
            if g.far[at] + 1 + g.rest[to] > most:
                continue
            broken = 0
            if cut >= 0:
                if g.fixed[cut] == SOLID or g.fixed[cut] == OUTSIDE or own_at(g, cut, turn) == 2:
                    continue
                broken = g.block[cut]
            if own_at(g, to, turn) == 1:
                continue  # from there the search began
            wrong = spoils(g, to, net, turn)
            if wrong < 0:
                continue
            price = g.price[at] + UNIT
            if pressing >= 0:
                price = g.price[at] + ((UNIT + g.history[to]) * (16 + (wrong + broken) * pressing) >> 4)
            if g.reached[to] != search * 2 or price < g.price[to]:
                g.reached[to], g.price[to], g.came[to], g.far[to] = search * 2, price, at, g.far[at] + 1
                push(g, to, price + g.rest[to] * UNIT)
