"""What was found without being asked for: frozen values, printed elsewhere."""

from __future__ import annotations

from dataclasses import dataclass

from circuitcheck.diagnostics import Span
from circuitcheck.engine.record import Recording
from circuitcheck.model.claims import Act


@dataclass(frozen=True, slots=True)
class Cure:
    """A change of the circuit that was tried and made the check hold over all orders.

    >>> circuitcheck.Cure("a repeater of 1t before 'gate'").words
    "a repeater of 1t before 'gate'"
    """

    words: str
    notes: frozenset[tuple[str, str]] = frozenset()
    """What parts still note of themselves once it is cured, by part and rule: what else they noted follows from it."""


@dataclass(frozen=True, slots=True)
class Refusal:
    """Where a run ended early: its drawing makes a mistake there, or no rule says what follows.

    >>> circuitcheck.Refusal("M8", "gate", (2, 1, 4), "it breaks dust", at=11, title="the gate opens").at
    11
    """

    rule: str
    part: str
    place: tuple[int, int, int]
    """Where it happens: layer, row and column."""
    why: str
    at: int
    """The gt in which the run ended."""
    title: str
    """The check that ran, or the claim that was explored."""
    acts: tuple[Act, ...] = ()
    """What was done from outside by then."""
    stroke: str = ""
    """The last stroke before it, in words, if there was one."""
    hint: str = ""


CAUTION = "S1"
"""The rule whose findings are about harm to people: they are reported in every form of report (rule S1)."""


@dataclass(frozen=True, slots=True)
class Flashing:
    """The second in which lamps flash most (rule S1).

    >>> circuitcheck.Flashing(count=5, begins=10, ends=28, lamps=("bell",), quickest=12).by_itself
    False
    """

    count: int
    """How many flashes there are in it: pairs of opposing changes, of all lamps together."""
    begins: int
    """The gt of the first change that is counted."""
    ends: int
    lamps: tuple[str, ...]
    """Those that change in it, those that change most first."""
    quickest: int
    """How many gt the quickest four flashes take, from their first change to their last."""
    by_itself: bool = False
    """Whether nobody touches an input in that second, and nobody did for a second before."""
    trace: tuple[Act, ...] = ()
    """What is done from outside before a machine flashes by itself."""
    cure: Cure | None = None
    """The least change of those tried after which it flashes no more than is harmless."""
    recording: Recording | None = None
    """The run, where a machine flashes by itself."""


@dataclass(frozen=True, slots=True)
class Finding:
    """A classic mistake that was found without being asked for.

    >>> report = circuitcheck.verify_text('''
    ... lever rope
    ... dust  line  from rope  length 20
    ... lamp  bell  from line
    ... ''')
    >>> finding = report.findings[0]
    >>> finding.rule, finding.part
    ('P2', 'line')
    """

    rule: str
    part: str
    span: Span
    message: str
    hint: str = ""
    silenced: str = ""
    """The author's reason for silencing it, if silenced."""
    forbidden: bool = False
    """Whether the author makes it count as a failure."""
    where: str = ""
    """Of a drawn circuit: where the part stands."""
    flashing: Flashing | None = None
    """Of harmful flashing (rule S1): how much, when and of which lamps."""
    refusal: Refusal | None = None
    """Of what ended a run: when, where and after what."""

    @property
    def cautions(self) -> bool:
        """Whether it is about harm to people, so that nothing may hide it.

        >>> circuitcheck.Finding("P2", "line", circuitcheck.Span("", 1, 1, 1), "too long").cautions
        False
        """
        return self.rule == CAUTION

    @property
    def parts(self) -> tuple[str, ...]:
        """All the parts that it is about.

        >>> circuitcheck.Finding("P2", "line", circuitcheck.Span("", 1, 1, 1), "too long").parts
        ('line',)
        """
        return (self.part,) if self.flashing is None else self.flashing.lamps

    @property
    def flashes(self) -> int:
        """How many flashes there are in the second that it is about.

        >>> circuitcheck.Finding("P2", "line", circuitcheck.Span("", 1, 1, 1), "too long").flashes
        0
        """
        return 0 if self.flashing is None else self.flashing.count

    @property
    def by_itself(self) -> bool:
        """Whether it is about what a machine does by itself.

        >>> circuitcheck.Finding("P2", "line", circuitcheck.Span("", 1, 1, 1), "too long").by_itself
        False
        """
        return self.flashing is not None and self.flashing.by_itself


@dataclass(frozen=True, slots=True)
class FlashingSearch:
    """What came of looking for flashing that a machine makes by itself (rule S1), in every state that is quiet."""

    finding: Finding | None = None
    states: int = 0
    """How many states were looked at."""
    quiet: int = 0
    """In how many of them nobody has touched an input for a second."""
    touches: int = 0
    """Every trace on which inputs are touched in at most so many gt was looked at."""
    complete: bool = True
    """Whether every state was looked at, so that where nothing is found there is nothing."""
    limit: str = ""
    """What was hit, if not."""
