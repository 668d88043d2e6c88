"""What came out of a check or a claim: frozen values, printed elsewhere."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum
from typing import TYPE_CHECKING

from circuitcheck.checks.conditions import deciding
from circuitcheck.diagnostics import Span
from circuitcheck.engine.program import read
from circuitcheck.engine.record import Recording
from circuitcheck.model.claims import (
    Act,
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
class Cure:
    """A change of the circuit that was tried and made the check hold over all orders.

    >>> circuitcheck.Cure("a repeater of 1t before 'gate'").words
    "a repeater of 1t before 'gate'"
    """

    words: str
    notes: frozenset[tuple[str, str]] = frozenset()
    """What parts still note of themselves once it is cured, by part and rule: what else they noted follows from it."""


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
