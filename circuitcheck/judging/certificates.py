"""The certificate of a study whose claims were judged: what is certified of each, and why the others are not."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Iterator, Mapping
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
)
from circuitcheck.certificate.three_questions import QUESTIONS
from circuitcheck.certificate.uncertified import Uncertified
from circuitcheck.checks.outcome import Outcome, Verdict
from circuitcheck.model.claims import Claim, Study
from circuitcheck.prove.carried_over import CarriedOver
from circuitcheck.prove.certifying import certify, run_of
from circuitcheck.prove.meter import OUT_OF_TIME, Limits, Meter, OverBudget

CERTIFIABLE = (Verdict.PROVED, Verdict.VACUOUS)
"""The verdicts whose certificate is an invariant."""
LEAST = 60_000
"""So many states a claim has for its certificate at least, as long as the file's budget lasts."""
NOT_REACHED = "it was stopped before this claim was done"


class Files(NamedTuple):
    """The files that a study comes from."""

    main: str
    """The path of the one that was asked for."""
    define: str
    """The definition that was asked for, or nothing."""
    texts: Mapping[str, str]
    """All of them, by their paths."""


class Done(NamedTuple):
    """What came of one claim."""

    place: int
    """Which of the study's claims it is, from 0 on."""
    entry: Entry
    files: Mapping[str, str]
    """The files of its folder by their names; none if it is not certified."""


def nothing_yet(study: Study, of: Files) -> Listed:
    """The list of a certificate in which nothing is certified yet."""
    sums = {path: sum_of(text) for path, text in of.texts.items()}
    entries = (Entry(claim.words, NOT_CERTIFIED, why=NOT_REACHED) for claim in study.claims)
    return Listed(of.main, of.define, sums, tuple(entries))


def with_done(listing: Listed, done: Done) -> Listed:
    """A list with what came of one claim more."""
    entries = [*listing.entries]
    entries[done.place] = done.entry
    return listing._replace(entries=tuple(entries))


def certificates(
    study: Study,
    outcomes: Iterable[Outcome],
    limits: Limits,
    begins: Callable[[str], None] = lambda title: None,
) -> Iterator[Done]:
    """What certifies each claim of a study, given their verdicts, as it is found.

    All share the budget of one file. Each claim has an equal share of what is left; what others leave over goes to
    those that theirs was not enough for, which come once more.
    """
    budget = limits.meter()
    carried = CarriedOver()
    asked = list(enumerate(zip(study.claims, outcomes, strict=False)))
    shares = sum(outcome.verdict in CERTIFIABLE for _, (_, outcome) in asked)
    once_more = []
    for place, (claim, outcome) in asked:
        begins(claim.title)
        share = _share(budget, shares)
        shares -= outcome.verdict in CERTIFIABLE
        had = share.left
        done, ran_out = _done(study, place, outcome, share, carried)
        if ran_out:
            once_more.append((place, claim, outcome, had))
        yield done
    for left, (place, claim, outcome, had) in zip(itertools.count(len(once_more), -1), once_more, strict=False):
        share = _share(budget, left)
        if share.left > had:
            begins(f"once more: {claim.title}")
            yield _done(study, place, outcome, share, carried)[0]


def _share(budget: Meter, among: int) -> Meter:
    """The budget of one claim, where so many have a share in it."""
    return budget.part(max(budget.left // max(among, 1), LEAST), "for a certificate")


def _done(study: Study, place: int, outcome: Outcome, meter: Meter, carried: CarriedOver) -> tuple[Done, bool]:
    """What came of one claim, and whether its budget ran out."""
    claim = study.claims[place]
    folder = folder_name(place + 1, claim.title)
    try:
        if outcome.verdict in CERTIFIABLE and not meter.left:
            raise OverBudget("the others took all of the file's budget")
        entry, files = _of_claim(study, claim, outcome, folder, meter, carried)
    except Uncertified as why:
        return Done(place, Entry(claim.words, NOT_CERTIFIED, why=str(why)), {}), False
    except OverBudget as why:
        more = "seconds: --seconds" if str(why).startswith(OUT_OF_TIME) else "states: --states"
        found = f"no invariant was found: {why}; what would help: more {more}"
        return Done(place, Entry(claim.words, NOT_CERTIFIED, why=found), {}), True
    return Done(place, entry, files), False


def _of_claim(
    study: Study, claim: Claim, outcome: Outcome, folder: str, meter: Meter, carried: CarriedOver
) -> tuple[Entry, dict[str, str]]:
    """What certifies a claim. Raises Uncertified and OverBudget."""
    if outcome.verdict in CERTIFIABLE:
        made = certify(study, claim, meter, carried)
        proofs = {f"{which}.drat": made.proofs[which] for which in QUESTIONS}
        sums = tuple(map(sum_of, proofs.values()))
        return Entry(claim.words, PROVED, folder, made.case.inside, sums, rounds=made.case.rounds), {
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
