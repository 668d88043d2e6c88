"""The wirings of the drawings that were read last, which serve whoever asks for them next.

All that is asked of one file is asked of one drawing, also under the other value of a rule that is not certain.
"""

from __future__ import annotations

from collections import deque

from circuitcheck.model.drawing import At, Drawing
from circuitcheck.model.rules import RuleSet
from circuitcheck.space.wirings import MOST_WIRINGS, Wirings

FEW = 4
"""Wirings serve the next who asks while they are fewer than one in so many of those that are read of a drawing."""
_Asked = tuple[bool, frozenset[str], frozenset[At]]
_KEPT: deque[tuple[Drawing, _Asked, Wirings]] = deque(maxlen=4)


def wirings_of(drawing: Drawing, rules: RuleSet, shown: frozenset[str], water: frozenset[At]) -> Wirings:
    """The wirings of a drawing; those read for others serve again under any rules that make no difference to them."""
    asked = (rules.power_above_piston, shown, water)
    for known, mine, kept in _KEPT:
        if known is drawing and mine == asked and kept.known * FEW < MOST_WIRINGS:
            return kept
    made = Wirings(drawing, rules, shown, water)
    _KEPT.append((drawing, asked, made))
    return made
