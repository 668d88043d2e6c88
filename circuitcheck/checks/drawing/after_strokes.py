"""What a drawing feeds and reads only once a piston has moved something (rule M9): it is not idle, nor is it dead."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import islice
from typing import NamedTuple

from circuitcheck.model.circuit import Circuit
from circuitcheck.space.strokes import Strokes
from circuitcheck.space.wirings import TooMany, Wirings

MOST_STROKES = 200
"""How many pistons are tried, one at a time."""


class AfterStrokes(NamedTuple):
    """By name, all that is fed, and all that something reads, otherwise than at home while some one piston is out."""

    fed: frozenset[str] = frozenset()
    read: frozenset[str] = frozenset()


def after_strokes(circuit: Circuit, shown: Iterable[str] = ()) -> AfterStrokes:
    """What is fed and read while one piston is out, where things move; of dust and blocks only of those in `shown`."""
    assert circuit.drawing is not None
    strokes = Strokes(circuit.drawing, circuit.rules)
    wirings = Wirings(circuit.drawing, circuit.rules, frozenset(shown))
    fed: set[str] = set()
    read: set[str] = set()
    for stroke in islice(strokes.one_at_a_time(), MOST_STROKES):
        wiring = wirings.wiring(stroke.landed)
        if isinstance(wiring, TooMany):
            break
        for name, inputs in wiring.changed.items():
            drivers = {driver for _, found in inputs.ports for driver, _ in found}
            fed |= {name} if drivers else set()
            read |= drivers
    return AfterStrokes(frozenset(fed), frozenset(read))
