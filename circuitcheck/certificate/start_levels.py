"""Where a circuit may start (rules C6, L5), as far as the parts of a system go, and never less than that."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping, Sequence

from circuitcheck.certificate.part_rules import RULES, LampRule, RepeaterRule, TorchRule
from circuitcheck.certificate.power_ways import Ways
from circuitcheck.certificate.uncertified import Uncertified
from circuitcheck.model.parts.base import Part

MOST_STARTS = 64
MOST_TRIED = 4_096
"""How many assignments are looked at to see whether any rests."""

Levels = dict[str, int]
"""Of each part whether it is on."""
Ports = Mapping[str, Sequence[Ways]]
"""What feeds the inputs of each part."""


def start_levels(parts: Mapping[str, Part], ports: Ports, inside: Sequence[str]) -> list[Levels]:
    """Every way in which the parts of a system may start.

    Levels that follow are those; of the rest, all in which every part rests, or all there are, if the whole circuit may
    have no rest. Raises Uncertified where those are too many.
    """
    declared = {name: int(part.start > 0) for name, part in parts.items() if part.start is not None}
    known = _following(parts, ports, declared)
    unknown = [name for name in parts if name not in known]
    own = [name for name in inside if name not in known]
    if 2 ** len(own) > MOST_TRIED:
        raise Uncertified(f"it may start in more than {MOST_STARTS} ways: say how its parts start")
    checked = [name for name in parts if name not in declared]
    rests = all(type(parts[name]) in RULES for name in unknown) and any(
        _rest(parts, ports, levels, checked) for levels in itertools.islice(_each(known, unknown), MOST_TRIED)
    )
    found = []
    for levels in _each(known, own):
        if not rests or _rest(parts, ports, levels, [name for name in inside if name not in declared]):
            found.append({name: levels[name] for name in inside})
            if len(found) > MOST_STARTS:
                raise Uncertified(f"it may start in more than {MOST_STARTS} ways: say how its parts start")
    return found


def _each(known: Levels, unknown: Sequence[str]) -> Iterator[Levels]:
    for bits in itertools.product((0, 1), repeat=len(unknown)):
        yield {**known, **dict(zip(unknown, bits, strict=True))}


def _following(parts: Mapping[str, Part], ports: Ports, known: Levels) -> Levels:
    """Adds the levels that follow from those known."""
    while True:
        more = {
            name: min(ways)
            for name, part in parts.items()
            if name not in known and len(ways := _allowed(part, ports[name], known)) == 1
        }
        if not more:
            return known
        known = {**known, **more}


def _rest(parts: Mapping[str, Part], ports: Ports, levels: Levels, names: Sequence[str]) -> bool:
    return all(levels[name] in _allowed(parts[name], ports[name], levels) for name in names)


def _allowed(part: Part, ports: Sequence[Ways], known: Levels) -> set[int]:
    """The levels at which a part may rest, as far as is known what it reads."""
    rule = RULES.get(type(part))
    if rule is None:
        return {0, 1}
    if rule is TorchRule:
        return {1 - each for each in _readings(ports[0], known)}
    if rule is RepeaterRule:
        locked = len(ports) > 1 and 1 in _readings(ports[1], known)
        return {0, 1} if locked else _readings(ports[0], known)
    return _readings(ports[0], known) if rule is LampRule else {0}


def _readings(ways: Ways, known: Levels) -> set[int]:
    """What a place may read; 1 for: there is power."""
    given = [known.get(name) for name in ways]
    if 1 in given:
        return {1}
    return {0, 1} if None in given else {0}
