"""Whether a certificate is one: its files made again, compared byte for byte, and its proofs checked.

Nothing here runs the engine, the prover or a solver. The systems and questions come from the second encoding of the
rules, the proofs are checked by a DRAT checker (the extra `certificate`).
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator, Mapping
from typing import NamedTuple

from circuitcheck.certificate.cases import Case, all_inside, case_of
from circuitcheck.certificate.claim_rules import named
from circuitcheck.certificate.folder_files import (
    BROKEN,
    CIRCUIT,
    INVARIANT,
    LIST,
    NOT_CERTIFIED,
    PROVED,
    README,
    SYSTEM,
    TRACE,
    Entry,
    Listed,
    Unreadable,
    breaks,
    invariant_of,
    proof_files,
    readme,
    sum_of,
    system_text,
    trace_of,
)
from circuitcheck.certificate.three_questions import QUESTIONS
from circuitcheck.certificate.transition import Wired
from circuitcheck.certificate.uncertified import Uncertified
from circuitcheck.model.claims import Claim, ForEver, Study

Verifies = Callable[[str, str], bool]
"""Whether a proof, in the DRAT format, shows that clauses, in the DIMACS format, have no answer."""


class Checked(NamedTuple):
    """What checking one claim came to."""

    entry: Entry
    wrong: tuple[str, ...] = ()
    """What is wrong with it: each a file and what is wrong there."""


def drat_checker() -> Verifies:
    """The DRAT checker. Raises ImportError where the extra is missing."""
    from dratify import check_proof, parse_dimacs

    def verifies(clauses: str, proof: str) -> bool:
        # What a proof takes back only makes it quicker to check, so nothing is taken back: the checker would keep what
        # a clause has forced though the clause is gone, and then accept steps that do not follow.
        try:
            result = check_proof(parse_dimacs(clauses), proof, apply_deletions=False)
        except ValueError:
            return False
        return bool(result.ok and result.reached_empty)

    return verifies


def checked(
    study: Study, listing: Listed, files: Mapping[str, str], verifies: Verifies, begins: Callable[[str], None]
) -> Iterator[Checked]:
    """What checking each claim of a study comes to. `files` are all files of the folder, by their paths in it."""
    left: dict[str, list[Claim]] = {}
    for each in study.claims:  # those that one line claims of several parts have the same words
        left.setdefault(each.words, []).append(each)
    for entry in listing.entries:
        begins(entry.words)
        same = left.get(entry.words)
        claim = same.pop(0) if same else None
        if claim is None:
            yield Checked(entry, (f"{LIST}: the circuit claims no such thing",))
        elif entry.kind == NOT_CERTIFIED:
            yield Checked(entry)
        else:
            yield Checked(entry, tuple(_of_claim(study, claim, entry, files, verifies)))
    for words in (each.words for same in left.values() for each in same):
        yield Checked(Entry(words, NOT_CERTIFIED), (f"{LIST}: it says nothing of this claim",))


def strays(listing: Listed, files: Mapping[str, str]) -> list[str]:
    """What is wrong with the folder as a whole: its README, the circuit's files, and files that belong to nothing."""
    known = {README, LIST}
    found = []
    for path, its_sum in listing.sources.items():
        own = f"{CIRCUIT}/{path}"
        known.add(own)
        if own not in files:
            found.append(f"{own}: it is missing")
        elif sum_of(files[own]) != its_sum:
            found.append(f"{own}: it is not the file that the list knows")
    for entry in listing.entries:
        names = (SYSTEM, TRACE) if entry.kind == BROKEN else _names_of_proof()
        known |= {f"{entry.folder}/{name}" for name in names}
    found += [f"{path}: it belongs to no claim" for path in sorted(set(files) - known)]
    if files.get(README) != readme(listing.entries, listing.main):
        found.append(f"{README}: {_differs(files, README)}")
    return found


def _names_of_proof() -> tuple[str, ...]:
    both = (f"{which}.{ending}" for which in QUESTIONS for ending in ("cnf", "drat"))
    return (SYSTEM, "witness.aag", INVARIANT, *both)


def _differs(files: Mapping[str, str], path: str) -> str:
    return "it is not what the circuit and the list make it" if path in files else "it is missing"


def _of_claim(study: Study, claim: Claim, entry: Entry, files: Mapping[str, str], verifies: Verifies) -> Iterator[str]:
    """What is wrong with the certificate of a claim."""
    try:
        case = _case(study, claim, entry)
    except Uncertified as why:
        yield f"{LIST}: the claim can't be certified so: {why}"
        return
    own = {path.removeprefix(f"{entry.folder}/"): text for path, text in files.items()}
    ours = tuple(f"{which}.drat" for which in QUESTIONS) if entry.kind == PROVED else (TRACE,)
    for name, known in itertools.zip_longest(ours, entry.sums[: len(ours)]):
        if name in own and sum_of(own[name]) != known:
            yield f"{entry.folder}/{name}: it is not the file that the list knows"
    if entry.kind == PROVED:
        yield from (f"{entry.folder}/{each}" for each in _of_proof(case, own, verifies))
    elif entry.kind == BROKEN:
        yield from (f"{entry.folder}/{each}" for each in _of_trace(case, own))
    else:
        yield f"{LIST}: a claim is proved, broken or not certified, and not '{entry.kind}'"


def _case(study: Study, claim: Claim, entry: Entry) -> Case:
    """The claim's system, of the parts that the list names. Whichever these are, a proof on it is one.

    A run of it is none of the circuit if it leaves free what has a say in the claim.
    """
    wired = Wired(study.circuit)
    missing = [name for name in (*named(wired, claim.body), *entry.inside) if name not in wired.parts]
    if missing:
        raise Uncertified(f"there is no part '{missing[0]}'")
    outside = [name for name in named(wired, claim.body) if name not in entry.inside]
    if outside:
        raise Uncertified(f"its system has to hold '{outside[0]}', which it is about")
    if entry.rounds and not isinstance(claim.body, ForEver):
        raise Uncertified("it is about no run without end, so that no rounds are counted")
    if entry.rounds and entry.kind != PROVED:  # a run that goes on for more rounds may end all the same
        raise Uncertified("a number of rounds proves it if no run goes beyond; a run that does breaks nothing")
    case = case_of(study, claim, entry.inside, wired, entry.rounds)
    if entry.kind == BROKEN:
        all_inside(case)
    return case


def _of_proof(case: Case, own: Mapping[str, str], verifies: Verifies) -> Iterator[str]:
    if own.get(SYSTEM) != system_text(case):
        yield f"{SYSTEM}: {_differs(own, SYSTEM)}"
        return
    if INVARIANT not in own:
        yield f"{INVARIANT}: it is missing"
        return
    try:
        invariant = invariant_of(own[INVARIANT], case.model)
    except Unreadable as why:
        yield f"{INVARIANT}: {why}"
        return
    made = proof_files(case, invariant)
    yield from (f"{name}: {_differs(own, name)}" for name, text in made.items() if own.get(name) != text)
    for which in QUESTIONS:
        proof = own.get(f"{which}.drat")
        if proof is None:
            yield f"{which}.drat: it is missing"
        elif not verifies(made[f"{which}.cnf"], proof):
            yield f"{which}.drat: it does not prove that {which}.cnf has no answer"


def _of_trace(case: Case, own: Mapping[str, str]) -> Iterator[str]:
    if own.get(SYSTEM) != system_text(case):
        yield f"{SYSTEM}: {_differs(own, SYSTEM)}"
        return
    if TRACE not in own:
        yield f"{TRACE}: it is missing"
        return
    try:
        wrong = breaks(case.model, *trace_of(own[TRACE], case.model))
    except Unreadable as why:
        wrong = str(why)
    if wrong:
        yield f"{TRACE}: {wrong}"
