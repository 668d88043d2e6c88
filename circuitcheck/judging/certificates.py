"""The certificate of a study whose claims were judged: what is certified of each, and why the others are not."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import NamedTuple

from circuitcheck.certificate.folder_files import (
    BROKEN,
    NOT_CERTIFIED,
    PROVED,
    SYSTEM,
    TRACE,
    Entry,
    Listed,
    folder_name,
    proof_files,
    sum_of,
    system_text,
    trace_text,
    whole,
)
from circuitcheck.certificate.three_questions import QUESTIONS
from circuitcheck.certificate.uncertified import Uncertified
from circuitcheck.checks.outcome import Outcome, Verdict
from circuitcheck.model.claims import Claim, Study
from circuitcheck.prove.certifying import certify, run_of
from circuitcheck.prove.meter import Limits, Meter, OverBudget

LONGER = 4
"""So many times the states that a claim has for its verdict it has for its certificate."""


class Files(NamedTuple):
    """The files that a study comes from."""

    main: str
    """The path of the one that was asked for."""
    define: str
    """The definition that was asked for, or nothing."""
    texts: Mapping[str, str]
    """All of them, by their paths."""


class Certificate(NamedTuple):
    """What is certified, and the files that certify it by their paths."""

    listing: Listed
    files: Mapping[str, str]


def certificate(
    study: Study,
    of: Files,
    outcomes: Iterable[Outcome],
    limits: Limits,
    begins: Callable[[str], None] = lambda title: None,
) -> Certificate:
    """A certificate of all claims of a study, given their verdicts."""
    entries: list[Entry] = []
    longer = limits._replace(states=LONGER * limits.states)
    budget = longer.meter()
    own: dict[str, Mapping[str, str]] = {}
    for place, (claim, outcome) in enumerate(zip(study.claims, outcomes, strict=False), 1):
        begins(claim.title)
        folder = folder_name(place, claim.title)
        try:
            entry, files = _of_claim(study, claim, outcome, folder, budget.part(longer.states, "for a certificate"))
            own[folder] = files
        except Uncertified as why:
            entry = Entry(claim.words, NOT_CERTIFIED, why=str(why))
        except OverBudget as why:
            entry = Entry(claim.words, NOT_CERTIFIED, why=f"no invariant was found: {why}")
        entries.append(entry)
    sums = {path: sum_of(text) for path, text in of.texts.items()}
    listing = Listed(of.main, of.define, sums, tuple(entries))
    return Certificate(listing, whole(listing, of.texts, own))


def _of_claim(study: Study, claim: Claim, outcome: Outcome, folder: str, meter: Meter) -> tuple[Entry, dict[str, str]]:
    """What certifies a claim. Raises Uncertified and OverBudget."""
    if outcome.verdict in (Verdict.PROVED, Verdict.VACUOUS):
        made = certify(study, claim, meter)
        proofs = {f"{which}.drat": made.proofs[which] for which in QUESTIONS}
        sums = tuple(map(sum_of, proofs.values()))
        return Entry(claim.words, PROVED, folder, made.case.inside, sums), {
            **proof_files(made.case, made.invariant),
            **proofs,
        }
    failure = outcome.failure
    if outcome.verdict is Verdict.FAILS and failure is not None and failure.check is not None:
        case, state, steps = run_of(study, claim, failure.check.acts, failure.at)
        trace = trace_text(state, steps)
        return Entry(claim.words, BROKEN, folder, case.inside, (sum_of(trace),)), {
            SYSTEM: system_text(case),
            TRACE: trace,
        }
    raise Uncertified(f"its verdict is: {outcome.verdict.value}")
