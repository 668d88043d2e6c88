"""Clauses about a system's states that are likely to hold, for a search to begin with. No certificate rests on them.

A part that does not wait gives what its inputs ask of it; the bits of a counter are in order; and where a part waits,
some input has changed not long ago.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator

from circuitcheck.certificate.behaviour import Behaviour
from circuitcheck.certificate.gates import Model
from circuitcheck.certificate.part_rules import LampRule, RepeaterRule, TorchRule
from circuitcheck.certificate.three_questions import Clause
from circuitcheck.certificate.transition import Transition

MOST_PAIRED = 12
"""Of a part with so many bits all pairs are tried; of more only neighbours, and the first of each kind."""


def hints(system: Transition, model: Model) -> list[Clause]:
    """Clauses over the latches of a model, in the numbers of DIMACS."""
    number = dict(zip(system.latches(), (latch.literal >> 1 for latch in model.latches), strict=False))
    found: dict[Clause, None] = {}
    for part in system.parts.values():
        found |= dict.fromkeys(_numbered(number, each) for each in _calm(system, part))
        own = system.held_by(part.name)
        near = own if len(own) <= MOST_PAIRED else [*own[:3], *own[-1:]]
        pairs = {*itertools.combinations(near, 2), *itertools.pairwise(own)}
        for one, other in sorted(pairs):
            for signs in itertools.product((0, 1), repeat=2):
                found[_numbered(number, [one ^ signs[0], other ^ signs[1]])] = None
    for row in system.rows:
        for one, other in itertools.pairwise(row):
            found[_numbered(number, [one, other ^ 1])] = None
        for part in system.parts.values():
            if part.waits:
                found |= {_numbered(number, [part.waiting ^ 1, bit]): None for bit in row}
    return list(found)


def _numbered(number: dict[int, int], clause: list[int]) -> Clause:
    return tuple(-number[each & ~1] if each & 1 else number[each] for each in clause)


def _calm(system: Transition, part: Behaviour) -> Iterator[list[int]]:
    """What is so of a part that does not wait."""
    if not part.waits or not isinstance(part, TorchRule | RepeaterRule | LampRule):
        return
    inverts = int(isinstance(part, TorchRule))
    sources, *locks = [[system.parts[name].at_level(1 + loss).on for name, loss in ways.items()] for ways in part.ports]
    locked = locks[0] if locks else []
    on = part.on ^ inverts
    yield [part.waiting, on ^ 1, *sources, *locked]
    for source in sources:
        yield [part.waiting, on, source ^ 1, *locked]
        if isinstance(part, LampRule):
            yield [on, source ^ 1]
