"""What must be so of an invariant, as three sets of clauses that nothing can make true together (DIMACS).

Nothing starts outside it; no step leads out of it; and where it holds, the claim is not broken. A variable has the same
number here as in the AIGER file, and its gates have the clauses of G. S. Tseitin, "On the complexity of derivation in
propositional calculus" (1968).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from circuitcheck.certificate.gates import NO, YES, Model

Clause = tuple[int, ...]
"""Of numbers as in DIMACS: a variable, or minus it where it is false."""
Clauses = list[Clause]
QUESTIONS = ("start", "step", "claim")


def question(model: Model, invariant: Sequence[Clause], which: str) -> Clauses:
    """One of the three questions. The invariant's variables are latches."""
    then = {latch.literal >> 1: latch.then for latch in model.latches}
    if which == "claim":
        asked: Clauses = [*invariant, *_is(model.bad)]
        return _with_gates(model, asked, [model.bad])
    if which == "step":
        after = [[then[abs(each)] ^ int(each < 0) for each in clause] for clause in invariant]
        outside = _outside(model.most, after)
        return _with_gates(model, [*invariant, *outside], [each for clause in after for each in clause])
    starts = [latch.literal ^ 1 ^ latch.reset for latch in model.latches if latch.reset is not None]
    within = [[2 * abs(each) | int(each < 0) for each in clause] for clause in invariant]
    return _with_gates(model, [*((_dimacs(each),) for each in starts), *_outside(model.most, within)], [])


def written(clauses: Sequence[Clause], about: str) -> str:
    """Clauses in the DIMACS format."""
    most = max((abs(each) for clause in clauses for each in clause), default=0)
    lines = [f"c {about}", f"p cnf {most} {len(clauses)}"]
    lines += [" ".join(map(str, (*clause, 0))) for clause in clauses]
    return "\n".join(lines) + "\n"


def _outside(most: int, invariant: Sequence[Sequence[int]]) -> Clauses:
    """Some clause of an invariant, of literals as in AIGER, is false."""
    found: Clauses = []
    broken = []
    for place, clause in enumerate(invariant, most + 1):
        if YES in clause:
            continue
        broken.append(place)
        found += [(-place, -_dimacs(each)) for each in clause if each != NO]
    return [*found, tuple(broken)]


def _with_gates(model: Model, clauses: Clauses, literals: Iterable[int]) -> Clauses:
    """Clauses with what the constraints say, and the gates that these and some literals come from."""
    found = [*clauses]
    for constraint in model.constraints:
        found += _is(constraint)
    ands = {gate >> 1: (low, high) for gate, low, high in model.ands}
    needed: set[int] = set()
    stack = [each >> 1 for each in (*literals, *model.constraints)]
    while stack:
        variable = stack.pop()
        if variable in ands and variable not in needed:
            needed.add(variable)
            stack += [each >> 1 for each in ands[variable]]
    for variable in sorted(needed):
        low, high = map(_dimacs, ands[variable])
        found += [(-variable, low), (-variable, high), (variable, -low, -high)]
    return found


def _is(literal: int) -> Clauses:
    return [] if literal == YES else [()] if literal == NO else [(_dimacs(literal),)]


def _dimacs(literal: int) -> int:
    return -(literal >> 1) if literal & 1 else literal >> 1
