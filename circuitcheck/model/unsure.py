"""The rules of strokes and water that are not certain, and which of them a run has come to (V6).

Where such a rule comes to decide something, whoever runs it says so (`reached`); who wants to know which ones a run has
come to collects them (`collected`). Like the clock of `engine.work` this is one place a process: the rules are used
deep inside, and what they are used for is nobody's business there.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import NamedTuple

from circuitcheck.model.rules import RULE_SETS, RuleSet, having, set_of


class Unsure(NamedTuple):
    """A rule, or a line of one, that is not certain."""

    rule: str
    takes: str
    """What the program takes to be so."""
    under: tuple[str, ...]
    """The sets of rules under which it is not certain."""
    setting: str = ""
    """The setting that says it; empty where there is none, so that nothing else can be tried."""
    other: bool | int | str = ""
    """The other value of that setting."""

    @property
    def tried(self) -> str:
        """The setting and its other value, as an author would write them; empty where there is none."""
        said = {True: "yes", False: "no"}.get(self.other, self.other) if isinstance(self.other, bool) else self.other
        return f"{self.setting} {said}" if self.setting else ""

    def otherwise(self, rules: RuleSet) -> RuleSet:
        """A set of rules with this one as it might be as well."""
        return having(rules, self.setting, self.other)


OLDER, NEWER, NEWEST = RULE_SETS
UNSURE = {
    "lands_late": Unsure("M3", "a stroke lands late in a gt", (OLDER,), "piston_lands", "wait"),
    "starts_in_turn": Unsure("M2", "a piston starts in a moment of its own, and not as it is updated", (OLDER,)),
    "told_at_start": Unsure("M5", "the start of a stroke updates what is around all places that it changes", (OLDER,)),
    "cut_at_start": Unsure("M9", "a stroke cuts wiring at its start, and not at its landing", (OLDER,)),
    "lets_go": Unsure(
        "M6", "a short stroke of a sticky piston lets go of its block", (OLDER,), "sticky_lets_go", False
    ),
    "feels_start": Unsure("M10", "a detector feels the start of a stroke", (NEWER,), "detector_feels", "landing"),
    "feels_landing": Unsure("M10", "a detector feels the landing of a stroke", (OLDER,), "detector_feels", "start"),
    "motion_holds": Unsure("M4", "what is in motion holds water back", (OLDER, NEWER), "motion_holds_water", False),
    "class_4": Unsure("Z2", "water looks among the waits of class 4", (OLDER, NEWER), "water_looks", "after_waits"),
    "hole_reach": Unsure("Z4", "water feels a hole 5 places off", (OLDER, NEWER, NEWEST), "hole_reach", 4),
    "moved_in_pulse": Unsure("M10", "a detector that is moved in its pulse gives none as it lands", (NEWER, NEWEST)),
    "three_sources": Unsure(
        "Z3", "a source with three more beside it spreads in the look in which its fall begins", (OLDER, NEWER, NEWEST)
    ),
    "source_below_water": Unsure("Z5", "water becomes a source even below water", (OLDER, NEWER, NEWEST)),
    "flow_fades": Unsure("Z9", "any water above a cell lets it fade", (OLDER, NEWER), "flow_fades", "full"),
    "landings_in_turn": Unsure(
        "M13", "strokes that land in one gt land in the order in which they started", (OLDER, NEWER, NEWEST)
    ),
    "looks_in_turn": Unsure("Z10", "looks of one gt come in the order in which they began", (OLDER, NEWER, NEWEST)),
    "lit_in_motion": Unsure(
        "M4", "to light, what is in motion stands where it was until it lands", (OLDER, NEWER, NEWEST)
    ),
    "feels_looks": Unsure("Z8", "a detector does not feel that the water it watches begins to look", (NEWER,)),
}
"""All that are followed, by a key of their own."""


class _Collected:
    """What is being collected in this process."""

    keys: set[str] | None = None


def reached(rules: RuleSet, key: str) -> None:
    """Says that a run has come to where a rule decides; one that its author has set is no matter of doubt any more."""
    if _Collected.keys is not None and doubtful(rules, key):
        _Collected.keys.add(key)


def doubtful(rules: RuleSet, key: str) -> bool:
    """Whether it would say something new that a rule decides: for what takes long to find out."""
    if _Collected.keys is None or key in _Collected.keys:
        return False
    unsure = UNSURE[key]
    return unsure.setting not in rules.chosen and set_of(rules) in unsure.under


@contextmanager
def collected() -> Iterator[set[str]]:
    """The keys of the rules that are come to inside; who collects outside collects them as well."""
    outer, mine = _Collected.keys, set[str]()
    _Collected.keys = mine
    try:
        yield mine
    finally:
        _Collected.keys = outer
        also(mine)


@contextmanager
def unheard() -> Iterator[None]:
    """What is come to inside is only tried out, and counts for nobody."""
    outer, _Collected.keys = _Collected.keys, None
    try:
        yield
    finally:
        _Collected.keys = outer


def also(keys: set[str] | frozenset[str]) -> None:
    """Takes rules as come to that were come to before, where what they led to is used again."""
    if _Collected.keys is not None:
        _Collected.keys |= keys
