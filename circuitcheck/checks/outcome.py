"""What came out of a check or a claim: frozen values, printed elsewhere."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from circuitcheck.diagnostics import Span
from circuitcheck.engine.record import Recording
from circuitcheck.model.claims import Check, Claim, Expectation, atoms, conditions
from circuitcheck.model.rules import RuleSet


class Verdict(Enum):
    """What can be said of a check or a claim."""

    HOLDS = "holds"
    UNBROKEN = "not broken in these runs"
    FAILS = "fails"
    RACE = "hangs on an unknown order"
    OPEN_START = "hangs on an unknown start"
    FAILS_AS_SAID = "fails, as the file says it must"
    HOLDS_AGAINST_WORD = "holds, though the file says it fails"
    FAILS_OTHERWISE = "fails, but not for the reason the file gives"
    NOT_MET = "never came up in any run"
    UNDECIDED = "undecided"


GOOD = frozenset({Verdict.HOLDS, Verdict.UNBROKEN, Verdict.FAILS_AS_SAID})
OPEN = frozenset({Verdict.NOT_MET, Verdict.UNDECIDED})


@dataclass(frozen=True, slots=True)
class Cure:
    """A change of the circuit that was tried and made the check hold over all orders."""

    words: str


@dataclass(frozen=True, slots=True)
class Race:
    """Two parts whose order decides, the gt in which they tie, and a cure where one was found."""

    at: int
    first: str
    second: str
    by_hand: bool
    cure: Cure | None = None


@dataclass(frozen=True, slots=True)
class Failure:
    """One way in which something was broken: what, when, and the run in which it was."""

    broken: Claim | Expectation
    at: int
    recording: Recording
    check: Check | None
    """The check whose run it is."""
    latches: tuple[tuple[str, str], ...] = ()
    """For an expectation about latches: the state that each was in."""

    @property
    def signals(self) -> tuple[str, ...]:
        """The signals that what was broken speaks of."""
        broken = self.broken
        asked = (broken.condition,) if isinstance(broken, Expectation) else conditions(broken.body)
        return tuple(dict.fromkeys(atom.name for each in asked for atom in atoms(each)))


@dataclass(frozen=True, slots=True)
class Outcome:
    """The verdict on one check or claim, with the first way it broke, if it did."""

    title: str
    span: Span
    verdict: Verdict
    failure: Failure | None = None
    race: Race | None = None
    starts: tuple[tuple[str, int], ...] = ()
    """Where the start decides: parts and the levels they started at in the run that broke."""
    detail: str = ""
    runs: int = 0
    """For claims: how many checks' runs it was watched in."""


@dataclass(frozen=True, slots=True)
class Finding:
    """A classic mistake that was found without being asked for."""

    rule: str
    part: str
    span: Span
    message: str
    mend: str = ""
    silenced: str = ""
    """The author's reason for silencing it, if silenced."""
    forbidden: bool = False
    """Whether the author makes it count as a failure."""


@dataclass(frozen=True, slots=True)
class StudyResult:
    """Everything found about one study."""

    label: str
    circuit: str
    title: str
    rules: RuleSet
    parts: int
    outcomes: tuple[Outcome, ...]
    findings: tuple[Finding, ...]
