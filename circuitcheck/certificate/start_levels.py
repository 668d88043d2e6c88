"""Where a circuit may start (rules C6, L5), as far as the parts of a system go, and never less than that."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Mapping, Sequence

from circuitcheck.certificate.level_rules import ComparatorRule
from circuitcheck.certificate.part_rules import LampRule, PistonRule, RepeaterRule, TorchRule, rule_of
from circuitcheck.certificate.possible_levels import any_level, may_make, may_read
from circuitcheck.certificate.power_ways import FULL, Ways
from circuitcheck.certificate.uncertified import Uncertified
from circuitcheck.model.parts.base import Part

MOST_STARTS = 64
MOST_TRIED = 4_096
"""How many assignments are looked at to see whether any rests."""

Levels = dict[str, int]
"""Of each part the level that it gives."""
Ports = Mapping[str, Sequence[Ways]]
"""What feeds the inputs of each part."""


def start_levels(parts: Mapping[str, Part], ports: Ports, inside: Sequence[str]) -> list[Levels]:
    """Every way in which the parts of a system may start.

    Levels that follow are those; of the rest, all in which every part rests, or all there are, if the whole circuit may
    have no rest. Raises Uncertified where those are too many.
    """
    declared = {name: part.start for name, part in parts.items() if part.start is not None}
    known = _following(parts, ports, declared)
    unknown = {name: any_level(parts[name]) for name in parts if name not in known}
    own = {name: levels for name, levels in unknown.items() if name in inside}
    if math.prod(map(len, own.values())) > MOST_TRIED:
        raise Uncertified(f"it may start in more than {MOST_STARTS} ways: say how its parts start")
    checked = [name for name in parts if name not in declared]
    rests = all(rule_of(parts[name]) for name in unknown) and any(
        _rest(parts, ports, levels, checked) for levels in itertools.islice(_each(known, unknown), MOST_TRIED)
    )
    found = []
    for levels in _each(known, own):
        if not rests or _rest(parts, ports, levels, [name for name in inside if name not in declared]):
            found.append({name: levels[name] for name in inside})
            if len(found) > MOST_STARTS:
                raise Uncertified(f"it may start in more than {MOST_STARTS} ways: say how its parts start")
    return found


def _each(known: Levels, unknown: Mapping[str, Sequence[int]]) -> Iterator[Levels]:
    for levels in itertools.product(*unknown.values()):
        yield {**known, **dict(zip(unknown, levels, strict=True))}


def _following(parts: Mapping[str, Part], ports: Ports, known: Levels) -> Levels:
    """Adds the levels that follow from those known."""
    while True:
        more = {}
        for name in (each for each in parts if each not in known):
            levels = _allowed(parts, name, ports[name], known)
            if len(levels) == 1:
                more[name] = min(levels)
        if not more:
            return known
        known = {**known, **more}


def _rest(parts: Mapping[str, Part], ports: Ports, levels: Levels, names: Sequence[str]) -> bool:
    return all(levels[name] in _allowed(parts, name, ports[name], levels) for name in names)


def _allowed(parts: Mapping[str, Part], name: str, ports: Sequence[Ways], known: Levels) -> set[int]:
    """The levels at which a part may rest, as far as is known what it reads."""
    part, rule = parts[name], rule_of(parts[name])
    if rule is None:
        return {*any_level(part)}
    fed = {each for ways in ports for each in ways}
    possible = {each: (known[each],) if each in known else any_level(parts[each]) for each in fed}
    if rule is ComparatorRule:
        return may_make(part, ports, possible)
    powered = [{FULL if level else 0 for level in may_read(ways, possible)} for ways in ports]
    if rule is TorchRule:
        return {FULL - level for level in powered[0]}
    if rule is RepeaterRule:
        return {0, FULL} if len(ports) > 1 and FULL in powered[1] else powered[0]
    return powered[0] if rule in (LampRule, PistonRule) else {0}
