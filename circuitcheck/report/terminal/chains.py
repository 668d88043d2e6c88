"""Which chains of causes a report has told already, so that each is reported once and referred to from then on."""

from __future__ import annotations

from typing import NamedTuple

from circuitcheck.checks.outcome import Failure
from circuitcheck.explain.cause import Hindrance, Step, Why

WORTH = 3
"""How many steps must have been reported before a chain is distinguished from there on only."""


class Known(NamedTuple):
    """What of a chain was reported before, and under which title."""

    title: str
    steps: int
    """How many of its first steps were told."""
    wholly: bool


NOTHING_KNOWN = Known("", 0, False)


class Chains:
    """The chains told so far of one circuit."""

    def __init__(self) -> None:
        self._steps: dict[tuple[Step, ...], str] = {}
        self._ends: dict[tuple[tuple[Step, ...], tuple[Hindrance, ...]], str] = {}
        self._pictures: set[tuple[str, int]] = set()

    def known(self, each: Why) -> Known:
        """What of a chain was reported under another title before."""
        told = next((count for count in range(len(each.steps), 0, -1) if each.steps[:count] in self._steps), 0)
        whole = self._ends.get((each.steps, each.hindrances))
        if whole is not None:
            return Known(whole, len(each.steps), True)
        title = self._steps[each.steps[:told]] if told else ""
        if told and told == len(each.steps) and not each.hindrances:
            return Known(title, told, True)
        return Known(title, told, False) if told >= WORTH else NOTHING_KNOWN

    def told(self, each: Why, title: str) -> None:
        """Takes down that a chain has been reported."""
        for count in range(1, len(each.steps) + 1):
            self._steps.setdefault(each.steps[:count], title)
        if each.steps or each.hindrances:
            self._ends.setdefault((each.steps, each.hindrances), title)

    def drawn(self, failure: Failure) -> bool:
        """Whether a picture of this moment of this run has been drawn; from here on it has."""
        key = ("" if failure.check is None else failure.check.title, failure.at)
        drawn = key in self._pictures
        self._pictures.add(key)
        return drawn
