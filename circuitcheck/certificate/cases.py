"""A claim as a case: the system that it is certified on."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from circuitcheck.certificate.claim_rules import assume, broken, named
from circuitcheck.certificate.gates import Model
from circuitcheck.certificate.hints import hints
from circuitcheck.certificate.part_rules import known
from circuitcheck.certificate.round_rules import too_many_rounds
from circuitcheck.certificate.three_questions import Clause
from circuitcheck.certificate.transition import Transition, Wired
from circuitcheck.certificate.uncertified import Uncertified
from circuitcheck.model.claims import Claim, ForEver, Study


class Case(NamedTuple):
    """A claim with its system."""

    claim: Claim
    inside: tuple[str, ...]
    """The parts in the system."""
    left_free: tuple[str, ...]
    """Those that feed them and may do anything."""
    model: Model
    hints: tuple[Clause, ...]
    """Clauses over its latches that are likely to hold; no certificate rests on them."""
    rounds: int = 0
    """Of a claim about runs without end: how many rounds may go by while something is owed."""


def case_of(study: Study, claim: Claim, inside: Iterable[str], wired: Wired | None = None, rounds: int = 0) -> Case:
    """The case of a claim with some parts in its system. Raises Uncertified."""
    body = claim.body
    wired = wired or Wired(study.circuit)
    unknown = next((part for part in map(wired.parts.__getitem__, named(wired, body)) if not known(part)), None)
    if unknown is not None:
        raise Uncertified(f"it is about '{unknown.name}', a {unknown.word}, which certificates don't know")
    system = Transition(wired, inside)
    assume(system, study.assumptions)
    bad = too_many_rounds(system, body, rounds) if isinstance(body, ForEver) and rounds else broken(system, body)
    model = system.numbered(bad)
    kept = tuple(name for name in system.parts if name not in system.left_free)
    return Case(claim, kept, system.left_free, model, tuple(hints(system, model)), rounds)


def all_inside(case: Case) -> None:
    """Raises Uncertified where a run of a case need not be one of the circuit, as a part in it may do anything."""
    if case.left_free:
        raise Uncertified(f"the run that breaks it is one of a system in which '{case.left_free[0]}' may do anything")
