"""Looks for the invariant of a claim that was proved, on the system of its certificate, and writes its proofs.

The system is not the prover's: `circuitcheck.certificate` has encoded the rules again. So a claim that was proved by
walking, or by another formula, is proved once more here, of the parts that it names first and then of more around them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence, Set
from typing import NamedTuple

from circuitcheck.certificate.cases import Case, all_inside, case_of
from circuitcheck.certificate.claim_rules import named
from circuitcheck.certificate.gates import NO, YES, Model
from circuitcheck.certificate.part_rules import known
from circuitcheck.certificate.round_rules import GONE
from circuitcheck.certificate.three_questions import QUESTIONS, Clause, question
from circuitcheck.certificate.transition import Wired
from circuitcheck.certificate.uncertified import Uncertified
from circuitcheck.model.claims import Act, Claim, ForEver, Study
from circuitcheck.prove.carried_over import CarriedOver
from circuitcheck.prove.guesses import guessed, sampled
from circuitcheck.prove.interrupts import interruptible
from circuitcheck.prove.meter import NO_BOUND, Meter, OverBudget
from circuitcheck.prove.symbolic.formula import FALSE, TRUE, Formula
from circuitcheck.prove.symbolic.reachability import Search
from circuitcheck.prove.symbolic.sat import SOLVER, Sat, proof_of

MOST_UNROLLED = 1_500_000
"""How many variables a run may have that is looked for, all its steps together."""
MOST_ROUNDS = 100
"""How many rounds are counted, at most, of a claim about runs without end."""
FEW_ROUNDS = (4, 16)
"""What is tried as their number besides what random runs come to."""
LITTLE = 4
"""The share of the budget that each attempt with little of the circuit has: one part in so many."""

SHORT_SEARCH = 25_000
"""How many states an invariant is searched for clause by clause before it is guessed at."""
SHORTEST_SEARCH = 6_000
"""The same with little of the circuit."""
LONGER_SEARCH = 120_000
"""The same where the invariant of another claim helps: then it seldom takes half of that (the sluice: 51,000)."""
SHRINKS = 20
"""Clauses are left out until that leaves out no more than one of so many."""


class Certified(NamedTuple):
    """What makes a claim true."""

    case: Case
    invariant: tuple[Clause, ...]
    """Clauses over the latches of its system, in the numbers of DIMACS."""
    proofs: dict[str, str]
    """Of each question a proof that it has no answer, in the DRAT format."""


def certify(study: Study, claim: Claim, meter: Meter, carried: CarriedOver | None = None) -> Certified:
    """A certificate of a claim. Raises Uncertified where there can be none, and OverBudget.

    `carried` has what was found for other claims of the study, and what is found for this one is added to it.
    """
    carried = CarriedOver() if carried is None else carried
    wired = Wired(study.circuit)
    about = named(wired, claim.body)
    for inside, whole in _around(wired, about):
        try:
            for rounds in _rounds(study, claim, inside, wired, meter):
                case = case_of(study, claim, inside, wired, rounds)
                invariant = _tried(case, meter, whole, carried)
                if invariant is not None:
                    carried.keep(case.model, invariant)
                    return Certified(case, invariant, {which: _proof(case, invariant, which) for which in QUESTIONS})
        except OverBudget:
            if whole or not meter.left:
                raise
    if isinstance(claim.body, ForEver):
        raise Uncertified(f"no bound on the rounds that go by while it is owed was found, of up to {MOST_ROUNDS}")
    raise Uncertified(_not_of_the_system(wired, about))


def _rounds(study: Study, claim: Claim, inside: Sequence[str], wired: Wired, meter: Meter) -> Iterator[int]:
    """How many rounds may be the most in which what a claim owes is given; 0 where the claim is about no rounds.

    As many as random runs came to, or more; none if those go on without an end in sight. Raises OverBudget.
    """
    if not isinstance(claim.body, ForEver):
        yield 0
        return
    model = case_of(study, claim, inside, wired, MOST_ROUNDS).model
    rows = sampled(model, meter, rounds=1).rows
    if rows.get(model.bad >> 1):
        return
    gone = sum(bool(rows[latch.literal >> 1]) for latch in model.latches if latch.name.endswith(GONE))
    yield from sorted({max(gone, 1), *(each for each in (2 * gone + 1, *FEW_ROUNDS) if gone < each <= MOST_ROUNDS)})


def _not_of_the_system(wired: Wired, about: Iterable[str]) -> str:
    """Why a claim that holds has no certificate though the whole of its circuit was asked."""
    unknown = next((name for name in wired.upstream(about) if not known(wired.parts[name])), "")
    if unknown:
        return f"it takes what '{unknown}' does, a {wired.parts[unknown].word}, which certificates don't know"
    return "it holds, but not of the system of certificates, in which no order is kept"


def _tried(case: Case, meter: Meter, whole: bool, carried: CarriedOver) -> tuple[Clause, ...] | None:
    """The clauses of an invariant, by a short search or else by what random runs come to. Raises OverBudget.

    None where a run of the system breaks the claim.
    """
    own = meter if whole else meter.part(max(meter.left // LITTLE, 1))
    if sampled(case.model, own, rounds=1).rows.get(case.model.bad >> 1):
        return None
    hints = [*case.hints, *carried.about(case.model)]
    helped = len(hints) > len(case.hints)
    short = SHORTEST_SEARCH if not whole else LONGER_SEARCH if helped else SHORT_SEARCH
    try:
        return _invariant(case, hints, own.part(min(short, own.left)))
    except OverBudget:
        if not own.left:
            raise
    found = sampled(case.model, own)
    if found.rows.get(case.model.bad >> 1):
        return None
    # With little of the circuit guesses are enough at once, or seldom at all.
    return _invariant(case, [*hints, *guessed(case.model, found, own)], own, own.left if whole else SHORTEST_SEARCH)


def _around(wired: Wired, about: dict[str, None]) -> Iterator[tuple[list[str], bool]]:
    """Some parts, with more and more of what feeds them, each time twice as far away; and whether that is all."""
    everything = [name for name in wired.upstream(about) if known(wired.parts[name])]
    inside, steps = dict(about), 1
    while len(inside) < len(everything):
        yield list(inside), False
        for _ in range(steps):
            inside |= {name: None for name in wired.feeding(inside) if known(wired.parts[name])}
        steps *= 2
    yield everything, True


class _Searched:
    """The model of a case, for a search. Its variables are numbered one higher than in the file."""

    def __init__(self, case: Case) -> None:
        model = case.model
        self.formula = formula = Formula()
        for _ in range(model.most):
            formula.fresh()
        for gate, low, high in model.ands:
            both, one, other = map(literal_of, (gate, low, high))
            formula.add(-both, one)
            formula.add(-both, other)
            formula.add(both, -one, -other)
        self.state = [literal_of(latch.literal) for latch in model.latches]
        self.following = [literal_of(latch.then) for latch in model.latches]
        self.starts = [[latch.reset for latch in model.latches]]
        self.free = [place + 2 for place in range(len(model.inputs))]
        self.allowed = formula.fresh()
        self.valid = TRUE
        constraints = [literal_of(each) for each in model.constraints]
        formula.add(self.allowed, *(-each for each in constraints))
        for each in constraints:
            formula.add(-self.allowed, each)


def literal_of(literal: int) -> int:
    """A literal of an AIGER file as one of the formula."""
    if literal in (NO, YES):
        return TRUE if literal else FALSE
    return -(literal // 2 + 1) if literal & 1 else literal // 2 + 1


def _moved(clause: Sequence[int], by: int) -> Clause:
    return tuple(each + by if each > 0 else each - by for each in clause)


def _invariant(
    case: Case, hints: Iterable[Clause], meter: Meter, searches: int | None = None
) -> tuple[Clause, ...] | None:
    """The clauses of an invariant; None where a run of the system breaks the claim. Raises OverBudget.

    `searches` is how many states of the budget may be spent on what the hints leave open; all of them if none is given.
    """
    searched = _Searched(case)
    held = _kept_up(hints, searched, meter)
    own = meter if searches is None else meter.part(min(searches, meter.left))
    search = Search(searched, literal_of(case.model.bad), held, own)
    if search.run().run is not None:
        return None
    found = [*held, *(tuple(-each for each in cube) for cube in search.invariant)]
    return _needed(case, [_moved(clause, -1) for clause in found], meter)


def _kept_up(hints: Iterable[Clause], searched: _Searched, meter: Meter) -> list[Clause]:
    """Those hints that hold together: supposed all at once, and left out as a step breaks them (Houdini)."""
    start = dict(zip(searched.state, searched.starts[0], strict=True))
    then = dict(zip(searched.state, searched.following, strict=True))
    supposed = [_moved(clause, 1) for clause in dict.fromkeys(hints)]
    supposed = [each for each in supposed if any(start[abs(literal)] == int(literal > 0) for literal in each)]
    sat = Sat(searched.formula.clauses, meter)
    guards = {searched.formula.fresh(): clause for clause in supposed}
    after = {
        guard: [then[literal] if literal > 0 else -then[-literal] for literal in clause]
        for guard, clause in guards.items()
    }
    breaks = {guard: searched.formula.fresh() for guard in guards}
    for guard, clause in guards.items():
        sat.add(-guard, *clause)
        for literal in after[guard]:
            sat.add(-breaks[guard], -literal)
    while guards:
        some = searched.formula.fresh()
        sat.add(-some, *(breaks[guard] for guard in guards))
        if not sat.ask([*guards, searched.allowed, some]):
            break
        model = sat.model()
        guards = {guard: clause for guard, clause in guards.items() if not model.isdisjoint(after[guard])}
    return list(guards.values())


def _needed(case: Case, clauses: Sequence[Clause], meter: Meter) -> tuple[Clause, ...]:
    """The claim, and about as many of the clauses as a step needs to keep to all of them.

    Those that a step to all of them needs are kept to by it themselves, so that they are an invariant each time.
    """
    unbroken = (-(case.model.bad >> 1),)
    kept = sorted((clause for clause in dict.fromkeys(clauses) if clause != unbroken), key=len)
    while True:
        asked = question(case.model, [unbroken, *kept], "step")
        supposed = set(kept)
        most = max(abs(each) for clause in asked for each in clause)
        guards = {most + place: clause for place, clause in enumerate(kept, 1)}
        written = [clause for clause in asked if clause not in supposed]
        written += [(-guard, *clause) for guard, clause in guards.items()]
        sat = Sat(written, meter)
        possible = sat.ask(list(guards))
        assert not possible, "no step leads out of an invariant"
        core = sat.core()
        fewer = [clause for guard, clause in guards.items() if guard in core]
        if (len(kept) - len(fewer)) * SHRINKS <= len(kept):
            return (unbroken, *fewer)
        kept = fewer


def _proof(case: Case, invariant: Sequence[Clause], which: str) -> str:
    """The proof that a question has no answer."""
    proof = proof_of(question(case.model, invariant, which), Meter(NO_BOUND))
    assert proof is not None, f"the question '{which}' has an answer: {case.claim.title}"
    return proof


def run_of(study: Study, claim: Claim, acts: Sequence[Act], at: int) -> tuple[Case, list[int], list[list[int]]]:
    """A run of the system of a claim that breaks it at a gt, with these acts: the first state, and each step's inputs.

    Raises Uncertified where the system has none that was found.
    """
    from pysat.solvers import Solver

    wired = Wired(study.circuit)
    about = named(wired, claim.body)
    case = case_of(study, claim, [*about, *wired.upstream(about)], wired)
    all_inside(case)
    model, steps = case.model, at + 2
    if model.most * steps > MOST_UNROLLED:
        raise Uncertified("its run is too long for a trace")
    worked = {(act.at, f"{act.name} is worked") for act in acts}
    inputs = range(1, len(model.inputs) + 1)

    def numbered(literal: int, step: int) -> int:
        variable = literal >> 1 or model.most + 1
        number = variable + step * (model.most + 1)
        negated = literal == NO if variable > model.most else literal & 1
        return -number if negated else number

    with Solver(name=SOLVER) as solver:
        for step in range(steps):
            for clause in _one_step(model, worked, step, numbered):
                solver.add_clause(clause)
        solver.add_clause([numbered(model.bad, steps - 1)])
        with interruptible():
            possible = solver.solve()
        if not possible:
            raise Uncertified("the run that breaks it is none of the system of certificates")
        true = {each for each in solver.get_model() if each > 0}
    state = [int(numbered(latch.literal, 0) in true) for latch in model.latches]
    return case, state, [[int(numbered(2 * place, step) in true) for place in inputs] for step in range(steps)]


def _one_step(
    model: Model, worked: Set[tuple[int, str]], step: int, numbered: Callable[[int, int], int]
) -> Iterator[list[int]]:
    """The clauses of one step of an unrolled system, in which just these inputs are worked."""
    yield [numbered(YES, step)]
    for gate, low, high in model.ands:
        both, one, other = (numbered(each, step) for each in (gate, low, high))
        yield from ([-both, one], [-both, other], [both, -one, -other])
    for each in model.constraints:
        yield [numbered(each, step)]
    for place, name in enumerate(model.inputs, start=1):
        if name.endswith(" is worked"):
            yield [numbered(2 * place | int((step, name) not in worked), step)]
    for latch in model.latches:
        here = numbered(latch.literal, step)
        if step:
            came = numbered(latch.then, step - 1)
            yield from ([-here, came], [here, -came])
        elif latch.reset is not None:
            yield [here if latch.reset else -here]
