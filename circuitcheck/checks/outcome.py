"""What came out of a check or a claim: frozen values, printed elsewhere."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum
from typing import TYPE_CHECKING

from circuitcheck.checks.conditions import deciding
from circuitcheck.checks.finding import Cure, Finding, FlashingSearch, Refusal
from circuitcheck.diagnostics import Span
from circuitcheck.engine.program import read
from circuitcheck.engine.record import Recording
from circuitcheck.model.claims import (
    Check,
    Claim,
    Condition,
    Expectation,
    Invariant,
    Response,
    Resting,
    Test,
    Until,
    atoms,
    conditions,
)
from circuitcheck.model.rules import RuleSet

if TYPE_CHECKING:
    from circuitcheck.checks.drawing.drawn_box import DrawnBox
    from circuitcheck.checks.proof import Proof
    from circuitcheck.model.drawing import At


class Verdict(Enum):
    """What can be said of a check or a claim.

    >>> mill.verify().outcomes[0].verdict is circuitcheck.Verdict.HOLDS
    True
    """

    HOLDS = "holds"
    PROVED = "proved"
    UNBROKEN = "not broken in these runs"
    HOLDS_IF = "holds, if rules that are not certain are as taken"
    FAILS = "fails"
    FAILS_IF = "fails, if rules that are not certain are as taken"
    RACE = "depends on an unknown order"
    OPEN_START = "depends on an unknown start"
    FAILS_AS_SAID = "fails, as the file says"
    HOLDS_AGAINST_WORD = "holds, though the file says it fails"
    FAILS_OTHERWISE = "fails, but not for the reason the file gives"
    NOT_MET = "its trigger occurred in no run"
    VACUOUS = "proved, but its trigger never occurs"
    UNDECIDED = "undecided"
    SKIPPED = "skipped, as the file says"


GOOD = frozenset({Verdict.HOLDS, Verdict.PROVED, Verdict.UNBROKEN, Verdict.FAILS_AS_SAID, Verdict.HOLDS_IF})
OPEN = frozenset({Verdict.NOT_MET, Verdict.VACUOUS, Verdict.UNDECIDED})
FAILING = frozenset(Verdict) - GOOD - OPEN - {Verdict.SKIPPED}


@dataclass(frozen=True, slots=True)
class Race:
    """Two parts whose order decides, the gt in which they tie, and a cure where one was found.

    >>> report = circuitcheck.verify_text('''
    ... lever one
    ... lever other
    ... latch gate  set one  reset other  starts reset
    ... check "both let go"
    ...   at 1s  one on, other on
    ...   at 2s  one off, other off
    ...   by 3s  expect gate set
    ... end
    ... ''')
    >>> race = report.outcomes[0].race
    >>> race.first, race.second, race.at
    ('one', 'other', 40)
    """

    at: int
    first: str
    second: str
    by_hand: bool
    cure: Cure | None = None
    cure_sought: bool = True


@dataclass(frozen=True, slots=True)
class Failure:
    """One way in which something was broken: what, when, and the run in which it was.

    >>> report = circuitcheck.verify_text('''
    ... lever rope
    ... check "it is on from the start"
    ...   at 1s  expect rope
    ... end
    ... ''')
    >>> failure = report.outcomes[0].failure
    >>> failure.at
    20
    """

    broken: Claim | Expectation
    at: int
    recording: Recording
    check: Check | None
    """The check whose run it is."""
    latches: tuple[tuple[str, str], ...] = ()
    """For an expectation about latches: the state that each was in."""
    since: int | None = None
    """Of something that took too long or not long enough: the gt from which it counts."""

    @property
    def signals(self) -> tuple[str, ...]:
        """The signals that what was broken refers to, those that decide first.

        >>> report = circuitcheck.verify_text('''
        ... lever rope
        ... check "it is on from the start"
        ...   at 1s  expect rope
        ... end
        ... ''')
        >>> failure = report.outcomes[0].failure
        >>> failure.signals
        ('rope',)
        """
        broken = self.broken
        if isinstance(broken, Claim) and isinstance(broken.body, Resting):
            return self.recording.changing(self.since or 0, self.at)
        asked = (broken.condition,) if isinstance(broken, Expectation) else conditions(broken.body)
        return tuple(dict.fromkeys([*self.deciding, *(atom.name for each in asked for atom in atoms(each))]))

    @property
    def deciding(self) -> tuple[str, ...]:
        """The signals that broke it: of several that were to be on together, those that were off.

        Where a latch is forbidden, what is on at its inputs (rule L1). Empty where no one condition was broken.

        >>> report = circuitcheck.verify_text('''
        ... lever rope
        ... check "it is on from the start"
        ...   at 1s  expect rope
        ... end
        ... ''')
        >>> failure = report.outcomes[0].failure
        >>> failure.deciding
        ('rope',)
        """
        condition = _broken_condition(self.broken)
        if condition is None:
            return ()
        program = self.recording.program
        now, before = self.recording.levels_at(self.at), self.recording.levels_at(max(self.at - 1, 0))
        names: dict[str, None] = {}
        for atom in deciding(condition, program, now, before):
            latch = program.circuit.latches.get(atom.name) if atom.test is Test.FORBIDDEN else None
            inputs = (*latch.set_by, *latch.reset_by) if latch is not None else ()
            names |= dict.fromkeys([*(name for name in inputs if read(program.probe(name), now)), atom.name])
        return tuple(names)


def _broken_condition(broken: Claim | Expectation) -> Condition | None:
    """The condition that did not hold when something broke."""
    if isinstance(broken, Expectation):
        return broken.condition
    body = broken.body
    if isinstance(body, Invariant):
        return body.condition
    if isinstance(body, Response):
        return body.goal
    return body.held if isinstance(body, Until) else None


@dataclass(frozen=True, slots=True)
class Given:
    """A rule that is not certain, and that a verdict depends on or may depend on (V6).

    >>> circuitcheck.Given("M10", "a detector feels the start of a stroke", "detector_feels landing").rule
    'M10'
    """

    rule: str
    takes: str
    """What the program takes to be so."""
    tried: str = ""
    """The setting and its other value, where it has one."""
    otherwise: Verdict | None = None
    """What it comes to under that; None where nothing else can be tried."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """The verdict on one check or claim, with its first failure, if it fails.

    >>> outcome = mill.verify().outcomes[0]
    >>> outcome.failure is None, outcome.span.line
    (True, 8)
    """

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
    proof: Proof | None = None
    """For claims that were explored: how far."""
    differences: tuple[str, ...] = ()
    """Of a drawing that is not the circuit: in what it differs."""
    given: tuple[Given, ...] = ()
    """The rules that are not certain and that the verdict depends on, or may depend on."""
    relied: frozenset[str] = frozenset()
    """All rules that are not certain and that its runs came to, by their keys in `model.unsure`."""
    refusal: Refusal | None = None
    """Where the drawing makes a mistake that ended its run."""

    @property
    def undetermined(self) -> bool:
        """Whether an order or a start that nothing decides broke it, so that nothing is mended but by deciding it.

        >>> mill.verify().outcomes[0].undetermined
        False
        """
        return self.race is not None or bool(self.starts)


def full_title(label: str, title: str) -> str:
    """The title of a check or claim with the label of its study, which tells it from others in its file."""
    return f"{label}: {title}" if label else title


@dataclass(frozen=True, slots=True)
class StudyResult:
    """Everything found about one study: the outcomes of its checks, then of its claims, then what is skipped.

    >>> result = mill.verify().results[0]
    >>> result.circuit, result.parts
    ('mill', 5)
    """

    label: str
    circuit: str
    title: str
    rules: RuleSet
    parts: int
    outcomes: tuple[Outcome, ...]
    findings: tuple[Finding, ...]
    flashing: FlashingSearch | None = None
    """What came of looking for flashing that it makes by itself; None where nobody looked."""
    where: Mapping[str, At] = field(default_factory=dict)
    """Of a circuit that is drawn: where its parts stand."""
    box: DrawnBox | None = None
    """Of a circuit that is drawn: how large its box is, and how many places it takes at least."""
