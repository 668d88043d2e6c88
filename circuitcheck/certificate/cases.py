"""A claim as a case: the system that it is certified on."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from circuitcheck.certificate.claim_rules import assume, broken
from circuitcheck.certificate.gates import Model
from circuitcheck.certificate.hints import hints
from circuitcheck.certificate.three_questions import Clause
from circuitcheck.certificate.transition import Transition, Wired
from circuitcheck.model.claims import Claim, Study


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


def case_of(study: Study, claim: Claim, inside: Iterable[str], wired: Wired | None = None) -> Case:
    """The case of a claim with some parts in its system. Raises Uncertified."""
    system = Transition(wired or Wired(study.circuit), inside)
    assume(system, study.assumptions)
    model = system.numbered(broken(system, claim.body))
    kept = tuple(name for name in system.parts if name not in system.left_free)
    return Case(claim, kept, system.left_free, model, tuple(hints(system, model)))
