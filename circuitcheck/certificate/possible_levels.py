"""Which levels a part may give, and a place have (rules P1 to P5, K1): never fewer than it can."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Mapping, Sequence

from circuitcheck.certificate.level_rules import ComparatorRule, made
from circuitcheck.certificate.part_rules import measures, rule_of
from circuitcheck.certificate.power_ways import FULL, Ways
from circuitcheck.model.parts.base import Part

Possible = Mapping[str, Iterable[int]]
"""Of each part the levels that it may give."""


def any_level(part: Part) -> tuple[int, ...]:
    """What a part may give if nothing is known of it."""
    return tuple(range(FULL + 1)) if part.graded else (0, FULL)


def may_read(ways: Ways, possible: Possible) -> set[int]:
    """The levels that a place may have."""
    each = [{max(level - loss, 0) for level in possible[name]} for name, loss in ways.items()]
    least = max(map(min, each), default=0)
    return {least, *(level for levels in each for level in levels if level > least)}


def may_make(part: Part, ports: Sequence[Ways], possible: Possible) -> set[int]:
    """What a comparator may make of its inputs."""
    back, side = may_read(ports[0], possible), may_read(ports[1], possible) if len(ports) > 1 else {0}
    return {made(part, *pair) for pair in itertools.product(back, side)}


def steps_of(
    parts: Mapping[str, Part],
    ports: Mapping[str, Sequence[Ways]],
    inside: Sequence[str],
    starts: Iterable[Mapping[str, int]],
) -> dict[str, tuple[int, ...]]:
    """The levels above none that the parts of a system, and those that feed it, may give, lowest first."""
    fed = dict.fromkeys(name for each in inside for ways in ports[each] for name in ways)
    possible: dict[str, set[int]] = {name: set(any_level(parts[name])) for name in (*fed, *inside)}
    for name in fed:
        if name not in inside and parts[name].graded:
            possible[name] = _asked_for(name, parts, ports, inside)
    compared = [(name, parts[name]) for name in inside if rule_of(parts[name]) is ComparatorRule]
    for name, _ in compared:
        possible[name] = {0, *(start[name] for start in starts)}
    grows = True
    while grows:
        grows = False
        for name, part in compared:
            more = may_make(part, ports[name], possible) - possible[name]
            possible[name] |= more
            grows = grows or bool(more)
    return {name: tuple(sorted(levels - {0})) or (FULL,) for name, levels in possible.items()}


def _asked_for(
    name: str, parts: Mapping[str, Part], ports: Mapping[str, Sequence[Ways]], inside: Sequence[str]
) -> set[int]:
    """What a part left free gives: a level for each that others tell apart."""
    readers = [(each, ways[name]) for each in inside for ways in ports[each] if name in ways]
    if any(measures(parts[each]) for each, _ in readers):
        return set(any_level(parts[name]))
    return {0, *(1 + loss for _, loss in readers)}
