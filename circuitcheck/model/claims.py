"""What is asked of a circuit: conditions on its signals, claims over time, and checks that drive it.

Named tuples, as in the syntax tree: the cheapest classes to make again at each start. Times and durations are in gt;
levels from 0 to 15. A condition reads the end of a gt. Names are full names of parts.
"""

from __future__ import annotations

from collections.abc import Iterator
from enum import Enum
from typing import NamedTuple

from circuitcheck.diagnostics import NOWHERE, Span
from circuitcheck.model.circuit import Circuit


class Test(Enum):
    """What is asked of one signal."""

    __test__ = False  # its name must not make pytest collect it

    ON = "is_on"
    OFF = "is_off"
    LEVEL = "is_level"
    AT_LEAST = "is_at_least"
    AT_MOST = "is_at_most"
    RISES = "rises"
    FALLS = "falls"
    CHANGES = "changes"
    SET = "is_set"
    RESET = "is_reset"
    FORBIDDEN = "is_forbidden"
    UNKNOWN = "is_unknown"


EDGES = frozenset({Test.RISES, Test.FALLS, Test.CHANGES})
LATCH_TESTS = frozenset({Test.SET, Test.RESET, Test.FORBIDDEN, Test.UNKNOWN})


class Atom(NamedTuple):
    """One question about one signal. `level` counts for LEVEL, AT_LEAST and AT_MOST only."""

    name: str
    test: Test = Test.ON
    level: int = 0
    span: Span = NOWHERE


class Not(NamedTuple):
    part: Condition


class AllOf(NamedTuple):
    parts: tuple[Condition, ...]


class AnyOf(NamedTuple):
    parts: tuple[Condition, ...]


Condition = Atom | Not | AllOf | AnyOf


def atoms(condition: Condition) -> Iterator[Atom]:
    """Every atom of a condition, left to right."""
    if isinstance(condition, Atom):
        yield condition
    elif isinstance(condition, Not):
        yield from atoms(condition.part)
    else:
        for part in condition.parts:
            yield from atoms(part)


class Invariant(NamedTuple):
    """The condition holds at the end of every gt."""

    condition: Condition


class Response(NamedTuple):
    """Each time the trigger holds, the goal holds in the same gt or at most `within` gt later.

    `unless` withdraws what is still owed: it counts in the trigger's gt and in every gt until the answer.
    """

    trigger: Condition
    goal: Condition
    within: int
    unless: Condition | None = None


class Until(NamedTuple):
    """From each trigger on, `held` holds in every gt before the first in which `release` holds, if that ever comes."""

    trigger: Condition
    held: Condition
    release: Condition


class Steady(NamedTuple):
    """In the `duration` gt after each gt in which the trigger holds, the signal doesn't change."""

    trigger: Condition
    name: str
    duration: int


class Relation(NamedTuple):
    """A signal is the inverse of another, or follows it.

    Moments at which they are wrong to each other are allowed, but no more than `within` gt of them in a row.
    """

    name: str
    other: str
    inverted: bool
    within: int


class Lengths(NamedTuple):
    """Every whole pulse (or gap) of a signal lasts from `least` to `most` gt.

    One that was there at the start or is there at the end is held to `most` only: its length isn't known.
    """

    name: str
    of_gaps: bool
    least: int | None
    most: int | None


class Delay(NamedTuple):
    """From each `start` edge to the next `end` edge it takes from `least` to `most` gt.

    Further start edges before the answer belong to the same wait. An edge is not its own answer, so that from rise to
    rise of one signal is its period.
    """

    start: Atom
    end: Atom
    least: int | None
    most: int | None


class Possible(NamedTuple):
    """From every state that can be reached, the world can bring the condition about, whatever the unknown orders.

    If `rest`, nothing may wait any more by then.
    """

    condition: Condition | None
    rest: bool = False


class Unraced(NamedTuple):
    """The levels of these signals never depend on an unknown order (rule C5)."""

    names: tuple[str, ...]


class Unburnt(NamedTuple):
    """None of these torches ever burns out (rule T4)."""

    names: tuple[str, ...]


class Eventually(NamedTuple):
    """Each time the trigger holds, the goal holds in the same gt or a later one, however late.

    If there is a `meanwhile`, it holds in every gt before. Only runs count in which each condition of `given` holds
    again and again.
    """

    trigger: Condition
    goal: Condition
    meanwhile: Condition | None = None
    given: tuple[Condition, ...] = ()


class Recurring(NamedTuple):
    """The condition holds again and again: after each gt there is a later one in which it does.

    Only runs count in which each condition of `given` holds again and again.
    """

    condition: Condition
    given: tuple[Condition, ...] = ()


class Resting(NamedTuple):
    """Whenever inputs change no more, there comes a gt from which on nothing waits."""


class TimeBound(NamedTuple):
    """What a response is held to: `median` and `mean` at most `time`, a `share` of all within it, `missed` at most."""

    kind: str
    share: float = 0.0
    """Of `share` and `missed`: a part of all nights (or days), from 0 to 1."""
    time: int = 0
    words: str = ""


ABRUPT = "abrupt"
"""Days without dusk and dawn: their time is given to the night and the day."""
DAYS = ("wet", "stormy", ABRUPT)
"""What days a response may be claimed of, instead of the file's own in fair weather."""


class Timely(NamedTuple):
    """From the beginning of a phase of the day to an edge of a signal it takes no longer than this, by chance."""

    phase: str
    edge: Atom
    bounds: tuple[TimeBound, ...]
    days: str = ""
    """One of `DAYS`, or nothing for the file's own in fair weather."""


Watched = Invariant | Response | Until | Steady | Relation | Lengths | Delay
"""What can be watched in a single run."""
ForEver = Eventually | Recurring | Resting
"""What only a run without end can break."""
Body = Watched | Possible | Unraced | Unburnt | Timely | ForEver
"""Everything that can be claimed. What is no `Watched` refers to all runs together, and can only be computed."""


def conditions(body: Body) -> tuple[Condition, ...]:
    """Every condition of a body, with plain questions standing for bare names."""
    if isinstance(body, Invariant):
        return (body.condition,)
    if isinstance(body, Response):
        return (body.trigger, body.goal, *((body.unless,) if body.unless else ()))
    if isinstance(body, Until):
        return (body.trigger, body.held, body.release)
    if isinstance(body, Steady):
        return (body.trigger, Atom(body.name))
    if isinstance(body, Relation):
        return (Atom(body.name), Atom(body.other))
    if isinstance(body, Lengths):
        return (Atom(body.name),)
    if isinstance(body, Delay):
        return (body.start, body.end)
    if isinstance(body, Timely):
        return (body.edge,)
    if isinstance(body, Eventually):
        return (body.trigger, body.goal, *((body.meanwhile,) if body.meanwhile else ()), *body.given)
    if isinstance(body, Recurring):
        return (body.condition, *body.given)
    if isinstance(body, Resting):
        return ()
    if isinstance(body, Possible):
        return () if body.condition is None else (body.condition,)
    return tuple(Atom(name) for name in body.names)


class Claim(NamedTuple):
    """Something that is to hold in every run. `words` is the claim as its author wrote it.

    >>> report = circuitcheck.verify_text('''
    ... lever rope
    ... never "the rope is on"  rope
    ... check "a pull"
    ...   at 1s  rope on
    ... end
    ... ''')
    >>> report.outcomes[1].failure.broken.words
    'never "the rope is on"  rope'
    """

    title: str
    body: Body
    span: Span
    words: str = ""
    fails_because: str = ""
    skipped: str = ""
    """The author's reason for setting it aside, if it is."""


class Act(NamedTuple):
    """An outside action at a gt."""

    at: int
    name: str
    verb: str
    level: int
    span: Span


class Expectation(NamedTuple):
    """A condition at the end of each gt from `start` to before `end`, or, if `eventually`, of one of them."""

    start: int
    end: int
    condition: Condition
    span: Span
    eventually: bool = False
    words: str = ""


class Check(NamedTuple):
    """A timed scenario: what is done, what is expected, what must hold throughout, and when it ends (gt).

    >>> check = failure.check
    >>> check.title, check.acts[0].at, check.until
    ('the rope is off in the end', 20, 40)
    """

    title: str
    acts: tuple[Act, ...]
    expectations: tuple[Expectation, ...]
    throughout: tuple[Claim, ...]
    until: int
    span: Span
    fails_because: str = ""
    skipped: str = ""
    """The author's reason for setting it aside, if it is."""


class Silence(NamedTuple):
    """Findings of a rule that the author has judged: about these parts, or all parts where none are named."""

    rule: str
    names: tuple[str, ...]
    reason: str
    span: Span = NOWHERE


class Forbidding(NamedTuple):
    """A rule whose findings count as failures."""

    rule: str
    span: Span = NOWHERE


class Holding(NamedTuple):
    """An assumption: each of these inputs keeps still for at least `at_least` gt between two changes."""

    names: tuple[str, ...]
    at_least: int
    words: str


class RateLimit(NamedTuple):
    """An assumption: in any `within` gt in a row, inputs change at most `most` times, all taken together."""

    most: int
    within: int
    words: str


Assumption = Holding | RateLimit


class Study(NamedTuple):
    """One circuit and all that is asked of it. A file makes one for each set of values it is asked under."""

    circuit: Circuit
    checks: tuple[Check, ...]
    claims: tuple[Claim, ...]
    label: str = ""
    """What tells it from the file's other studies: a definition's name, values; empty for the file's own circuit."""
    silences: tuple[Silence, ...] = ()
    forbidden: tuple[Forbidding, ...] = ()
    assumptions: tuple[Assumption, ...] = ()
    """What the world is taken to do when the claims are proved."""
    skipped: tuple[Check | Claim, ...] = ()
    """What the author has skipped: in neither `checks` nor `claims`, so that nobody runs it by mistake."""
    drawn: Circuit | None = None
    """The circuit as it is drawn as well, which must be this one up to names."""


def without_skipped(study: Study) -> Study:
    """The study with what its author has skipped taken out of its checks and claims."""
    asked: tuple[Check | Claim, ...] = (*study.checks, *study.claims)
    return study._replace(
        checks=tuple(each for each in study.checks if not each.skipped),
        claims=tuple(each for each in study.claims if not each.skipped),
        skipped=tuple(each for each in asked if each.skipped),
    )
