"""Simulated annealing of a grid: moves of parts, dust and blocks.

Method: S. Kirkpatrick, C. Gelatt and M. Vecchi, "Optimization by Simulated Annealing" (Science 220, 1983), for the
placement of circuits as in C. Sechen and A. Sangiovanni-Vincentelli, "The TimberWolf Placement and Routing Package"
(IEEE Journal of Solid-State Circuits 20, 1985); routes by C. Y. Lee, "An Algorithm for Path Connections and Its
Applications" (IRE Transactions on Electronic Computers EC-10, 1961). Ours has parts, dust and blocks in one cost.

Everything that stands can stand: a move takes what is in its way, and what that carries, off the grid. Numbers at
random are those of S. Park and K. Miller, "Random Number Generators: Good Ones Are Hard to Find" (CACM 31, 1988).
"""

from __future__ import annotations

from circuitcheck.placing.grid import (
    ABOVE,
    AIR,
    BACK,
    BELOW,
    BLOCK,
    CAME,
    CODE,
    COMPARATOR,
    COST,
    COUNT,
    DETECTOR,
    DUST,
    FAR,
    HAVE,
    HOLDER,
    INSIDE,
    KIND,
    LAMP,
    LEVER,
    LOCK,
    MASK,
    OFFSET,
    OUTER,
    PARTS,
    PLACE,
    PORT_HOW,
    PORT_PART,
    PORTS,
    POWER,
    QUEUE,
    REPEATER,
    SEEN,
    SIDE,
    TORCH,
    WANT,
    WAY,
    WHO,
    WHOLE,
    Row,
    back_of,
    dust,
    is_solid,
    read,
    step,
)

MODULUS, MULTIPLIER = 2147483647, 48271
DUST_COST, ERROR = 1, 8
"""What a dust costs, and each thing that is wrong."""


def random(rng: Row, below: int) -> int:
    """A whole number at random, from 0."""
    rng[0] = rng[0] * MULTIPLIER % MODULUS
    return rng[0] // 7 % below


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
    """Takes what stands at a place off the grid."""
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
    if code in (REPEATER, COMPARATOR, DUST):
        return at + m[OFFSET + BELOW]
    return -1


def put(m: Row, part: int, at: int, way: int, by_hand: int) -> int:
    """Puts a part at a place, with the block that it needs; whether it can stand there at all."""
    code = m[CODE + part]
    holder = holder_of(m, code, at, way)
    if not m[INSIDE + at] or (holder >= 0 and not m[INSIDE + holder]):
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
    m[KIND + at] = code
    m[WAY + at] = way
    m[WHO + at] = part
    m[PLACE + part] = at
    if holder >= 0:
        bear(m, holder)
    return True


def some_way(rng: Row, code: int) -> int:
    """A way at random in which a part may face, or be held."""
    if code == TORCH:
        way = random(rng, 5)
        return BELOW if way == 4 else way
    if code in (LEVER, DETECTOR):
        return random(rng, 6)
    if code in (REPEATER, COMPARATOR):
        return random(rng, 4)
    return 0


def lay(m: Row, at: int) -> int:
    """Lays dust at a place, on a block."""
    below = at + m[OFFSET + BELOW]
    if not m[INSIDE + at] or not m[INSIDE + below]:
        return False
    clear(m, at)
    m[KIND + at] = DUST
    bear(m, below)
    return True


def some_part(m: Row, rng: Row) -> int:
    """A part at random; often one that has no place, or one of which an input is wrong."""
    parts = m[PARTS]
    part = random(rng, parts)
    if random(rng, 2):
        for turn in range(parts):
            other = (part + turn) % parts
            if m[PLACE + other] < 0:
                return other
    if random(rng, 3) == 0:
        ports = m[PORTS]
        first = random(rng, ports) if ports else 0
        for turn in range(ports):
            port = (first + turn) % ports
            if m[WANT + port] != m[HAVE + port] and m[PORT_PART + port] >= 0:
                return m[PORT_PART + port]
    return part


def somewhere(m: Row, rng: Row, near: int) -> int:
    """A place of the box at random: beside one, or anywhere."""
    whole = m[WHOLE]
    if near >= 0 and random(rng, 3):
        at = near
        for _ in range(1 + random(rng, 3)):
            at += m[OFFSET + random(rng, 6)]
            if not m[INSIDE + at]:
                return -1
        return at
    for _ in range(60):
        at = random(rng, whole)
        if m[INSIDE + at]:
            return at
    return -1


def is_free(m: Row, rng: Row, at: int) -> int:
    """Whether something may be put at a place: there is nothing that matters, or, now and then, there is."""
    kind = m[KIND + at]
    if kind in (AIR, DUST) or (kind == BLOCK and not supports(m, at)):
        return True
    return random(rng, 6) == 0


def partner(m: Row, rng: Row, part: int) -> int:
    """The place of a part that is to feed this one or be fed by it; -1 for none."""
    ports = m[PORTS]
    if ports == 0:
        return -1
    first = random(rng, ports)
    for turn in range(ports):
        port = (first + turn) % ports
        reader = m[PORT_PART + port]
        if reader == part and m[WANT + port]:
            start = random(rng, m[PARTS])
            for source in range(m[PARTS]):
                other = (start + source) % m[PARTS]
                if m[WANT + port] >> other & 1:
                    return m[PLACE + other]
        elif reader >= 0 and m[WANT + port] >> part & 1:
            return m[PLACE + reader]
    return -1


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


def begin(m: Row, at: int, last: int) -> int:
    """Takes a place into a search for a route, if dust may lie there; how many places the search has then."""
    if not m[INSIDE + at] or m[SEEN + at] == m[COUNT]:
        return last
    below = at + m[OFFSET + BELOW]
    kind, under = m[KIND + at], m[KIND + below]
    if kind != DUST:
        if kind not in (AIR, BLOCK) or (kind == BLOCK and supports(m, at)):
            return last
        if not m[INSIDE + below] or (under != AIR and not is_solid(under)):
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
    if code in (TORCH, LEVER):
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


def arrives(m: Row, at: int, port: int, reader: int) -> int:
    """Whether dust at a place could feed a port of what stands at another."""
    how, way = m[PORT_HOW + port], m[WAY + reader]
    if how == HOLDER:
        return is_beside(m, at, reader + m[OFFSET + way])
    if how == POWER:
        return is_beside(m, at, reader)
    if how == SIDE:
        return at - reader in (m[OFFSET + (way + 1) % 4], m[OFFSET + (way + 3) % 4])
    behind = reader + m[OFFSET + back_of(way)]
    return at == behind or (how == BACK and is_solid(m[KIND + behind]) and is_beside(m, at, behind) != 0)


def crowded(m: Row, at: int, source: int) -> int:
    """Whether new dust at a place would join dust that has power from other parts."""
    for direction in range(4):
        for down in range(2):
            other = step(m, at, direction, down)
            if other >= 0 and m[MASK + other] & ~(1 << source):
                return True
    return False


def route(m: Row, rng: Row) -> int:
    """Leads dust from a part to an input that lacks it, on one of the shortest ways (Lee)."""
    ports, parts = m[PORTS], m[PARTS]
    if ports == 0:
        return False
    read(m)
    port, first = random(rng, ports), random(rng, parts)
    source = -1
    for _ in range(ports):
        port = (port + 1) % ports
        lacks = m[WANT + port] & ~m[HAVE + port]
        reader = m[PORT_PART + port]
        if lacks and reader >= 0 and m[PLACE + reader] >= 0 and m[PORT_HOW + port] != LOCK:
            for other in range(parts):
                each = (first + other) % parts
                if lacks >> each & 1 and m[PLACE + each] >= 0:
                    source = each
            if source >= 0:
                break
    if source < 0:
        return False
    for at in range(m[WHOLE]):
        if m[KIND + at] == DUST:
            dust(m, at, 0)  # so that no other search is made during this one
    careful, start = random(rng, 4), random(rng, 4)
    to = m[PLACE + m[PORT_PART + port]]
    head, last = 0, begin_at(m, source)
    while head < last:
        at = m[QUEUE + head]
        head += 1
        if m[KIND + at] != DUST and careful and crowded(m, at, source):
            continue
        if arrives(m, at, port, to):
            while at >= 0:
                if m[KIND + at] != DUST:
                    lay(m, at)
                at = m[CAME + at]
            return True
        if m[FAR + at] > 14:
            continue
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
    return False


def make_move(m: Row, rng: Row, by_hand: int) -> int:
    """Makes one move at random; whether it could be made."""
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
    whole, parts, ports = m[WHOLE], m[PARTS], m[PORTS]
    to[KIND : KIND + whole] = m[KIND : KIND + whole]
    to[WAY : WAY + whole] = m[WAY : WAY + whole]
    to[WHO : WHO + whole] = m[WHO : WHO + whole]
    to[PLACE : PLACE + parts] = m[PLACE : PLACE + parts]
    to[HAVE : HAVE + ports] = m[HAVE : HAVE + ports]


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
            copy(kept, m)
            continue
        read(m)
        after = weighed(m)
        if after <= before or (after - before < len(accepted) and random(rng, 1000000) < accepted[after - before]):
            before = after
            copy(m, kept)
            if wrong(m) == 0:
                return left - 1
        else:
            copy(kept, m)
    return -1
