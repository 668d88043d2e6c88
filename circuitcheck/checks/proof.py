"""How far a claim was explored, what its proof depends on, and which torches can burn out before."""

from __future__ import annotations

from dataclasses import dataclass

from circuitcheck.model.claims import Act


@dataclass(frozen=True, slots=True)
class BurnOut:
    """A torch that the world can burn out (rule T4): when its eighth off comes on a shortest trace, and their span.

    >>> circuitcheck.BurnOut("slack", at=97, span=60, acts=()).torch
    'slack'
    """

    torch: str
    at: int
    span: int
    acts: tuple[Act, ...]
    """What the world does for it."""


@dataclass(frozen=True, slots=True)
class Leaning:
    """An assumption, in the file's words, and whether the claim holds without it; None if that was not decided.

    >>> circuitcheck.Leaning("at most 1 changes within 8t", holds_without=True).holds_without
    True
    """

    words: str
    holds_without: bool | None


@dataclass(frozen=True, slots=True)
class Proof:
    """How far a claim was explored.

    >>> report = circuitcheck.verify_text('''
    ... lever rope
    ... torch slack  from rope
    ... always "never both"  when rope then slack off within 2t unless rope off
    ... ''')
    >>> proof = report.outcomes[0].proof
    >>> proof.complete
    True
    """

    states: int
    depth: int
    """How many gt away from the start the farthest state is."""
    complete: bool
    """Whether all that can be reached was seen."""
    assumptions: tuple[str, ...] = ()
    """What the world was taken to do, in the file's words."""
    leanings: tuple[Leaning, ...] = ()
    """For each assumption, whether the proof depends on it; empty where that was not looked into."""
    limit: str = ""
    """What was hit, if not all was seen."""
    hints: tuple[str, ...] = ()
    """What would help to decide it, what helps most first."""
    solver: str = ""
    """The solver that finished what exploring could not: by an invariant, by induction over `depth` gt, or by a trace
    found."""
    clauses: int = 0
    """Of how many clauses the invariant is, where the solver found one."""
    rounds: int = 0
    """Of something that comes again and again or in the end, where the solver proved it: how many rounds of what it
    takes to hold again and again can go by, at most, while it is owed."""
    parts: int = 0
    """Of how many parts it is proved, whatever those do that feed them; 0 where that is all upstream."""
    unbroken_to: int = 0
    """Of a claim that is open: within how many gt no run at all breaks it, where the solver found that."""
    no_round_to: int = 0
    """Of a claim about runs without end that is open: within how many gt no run that breaks it comes back to where it
    was, where the solver found that."""
    rounds_sought: int = 0
    """Of such a claim: that it takes no more rounds than so many was tried last, and not proved."""
    clauses_kept: int = 0
    """Of the clauses that came nearest to an invariant: how many hold one step longer than the others. When that is
    all of them, they are one."""
    clauses_sought: int = 0
    """How many clauses those are; 0 where none were sought."""
    within: int | None = None
    """Of something that is always possible: in how many gt at the latest it can be brought about."""
    burn_outs: tuple[BurnOut, ...] = ()
    """Torches that have a say in the claim and that the world can burn out: until then it holds."""
    burn_outs_open: tuple[str, ...] = ()
    """Torches of which it was not decided within the budget."""
    trace: tuple[Act, ...] = ()
    """What the world does on a shortest counterexample to it; of what is always possible, to where it takes longest."""
    back: tuple[Act, ...] = ()
    """Of what is always possible: what brings it about from there, from gt 0 on."""
    back_from: int = 0
    """The gt, counted like those of `trace`, that gt 0 of `back` is; the gt before is the one `within` counts from."""
    round: tuple[int, int] | None = None
    """Of a trace without end: the gt after which it goes round, and how many gt a round takes."""
    seconds: float = 0.0
    shortest: bool = True
    """Of a trace that breaks the claim, whether none is shorter."""
