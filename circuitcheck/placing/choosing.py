"""What a move is about, chosen at random: a part, a place, a way."""

from __future__ import annotations

from circuitcheck.placing.grid import (
    AIR,
    BELOW,
    BLOCK,
    COMPARATOR,
    DETECTOR,
    DUST,
    HAVE,
    INSIDE,
    KIND,
    LEVER,
    OFFSET,
    PARTS,
    PLACE,
    PORT_PART,
    PORTS,
    REPEATER,
    TORCH,
    WANT,
    WHO,
    WHOLE,
    Row,
)
from circuitcheck.placing.putting import supports
from circuitcheck.placing.random_numbers import random


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
    if m[WHO + at] < 0 and (kind in (AIR, DUST) or (kind == BLOCK and not supports(m, at))):
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


def some_source(m: Row, rng: Row, port: int) -> int:
    """A part at random of those that are to feed a port; -1 for none."""
    parts = m[PARTS]
    start = random(rng, parts)
    for turn in range(parts):
        source = (start + turn) % parts
        if m[WANT + port] >> source & 1:
            return source
    return -1
