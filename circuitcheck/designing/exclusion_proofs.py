"""Makes the certificate that no smaller circuit will do, of what a search has excluded.

The search excludes by cores, the bits because of which a run refutes a netlist. Here those are picked that are needed;
that a run refutes all netlists with one of its cores is proved by a solver once more, and that nothing is left besides.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple

from circuitcheck.certificate.folder_files import sum_of
from circuitcheck.certificate.three_questions import Clause
from circuitcheck.designing.exclusion_files import (
    REST,
    asked_of_all,
    core_of,
    kinds_files,
    rest_clauses,
    run_clauses,
    run_name,
    under_all_names,
)
from circuitcheck.designing.exclusion_list import MOST_GT, Alone, Below, Core, Kinds, Run, in_words
from circuitcheck.designing.fewest_parts import OfKinds, Searched, asked_of
from circuitcheck.designing.frame import Frame
from circuitcheck.designing.open_netlists import OpenNetlists
from circuitcheck.designing.proposing import Excluded
from circuitcheck.designing.unrolled import Stimulus
from circuitcheck.prove.meter import Meter, OverBudget
from circuitcheck.prove.symbolic.sat import Sat, proof_of
from circuitcheck.prove.symbolic.trimmed_proof import trimmed


class NotCertified(Exception):
    """Why there is no certificate of what was excluded."""


class Done(NamedTuple):
    """What excludes all netlists of some kinds, with its files, and what is excluded in all once they are there."""

    kinds: Kinds
    files: dict[str, str]
    below: Below


def excluded_below(frame: Frame, found: Searched) -> Below:
    """What a search has excluded, as far as it has decided on all of it."""
    parts = len(frame.named)
    for without in found.without:
        if without.undecided:
            return Below(parts, None)
        parts = without.parts + 1
    netlist = found.netlist
    own = (each.undecided for each in found.excluded if len(each.words) == parts)
    if netlist is None or any(ticks < netlist.ticks for each in own for ticks in each):
        return Below(parts, None)
    return Below(parts, netlist.ticks)


def proofs(
    frame: Frame, found: Searched, below: Below, meter: Meter, begins: Callable[[str], None] = lambda what: None
) -> Iterator[Done]:
    """What certifies that there is nothing below, kinds by kinds. Raises NotCertified where one can't be certified."""
    asked = asked_of(frame)
    left = list(asked_of_all(*below, frame))
    for place, (words, ticks) in enumerate(left):
        begins(f"the certificate: {in_words(words)}, {place + 1} of {len(left)} choices of kinds")
        of = next(each for each in found.excluded if dict(each.words) == words)
        netlists = OpenNetlists(frame, words, asked)
        try:
            kinds, files = _of_kinds(of, ticks, netlists, frame, meter)
        except OverBudget as why:
            raise NotCertified(f"{in_words(words)}: {why}") from why
        following = left[place + 1 : place + 2]
        reached = below if not following else Below(len(following[0][0]), None)
        yield Done(kinds, files, reached)


def _of_kinds(
    of: OfKinds, ticks: int | None, netlists: OpenNetlists, frame: Frame, meter: Meter
) -> tuple[Kinds, dict[str, str]]:
    """What excludes all netlists of some kinds, with its files. Raises NotCertified and OverBudget."""
    needed = _needed([each for each in of.excluded if _counts(each, ticks)], ticks, netlists, meter)
    cores: dict[Stimulus, list[Core]] = {}
    alone = []
    for each in needed:
        if each.run is not None:
            cores.setdefault(each.run, []).append(core_of(each.literals, netlists))
        elif each.netlist is not None:
            alone.append(Alone(each.netlist, tuple(sorted(each.behind)), tuple(sorted(each.still))))
    proved = [_proved(run_clauses(run, own, netlists), meter) for run, own in cores.items()]
    runs = [Run(run, tuple(own), sum_of(proof)) for (run, own), proof in zip(cores.items(), proved, strict=True)]
    kinds = Kinds(netlists.words, ticks, tuple(runs), tuple(alone), "")
    last = _proved(rest_clauses(kinds, netlists), meter)
    kinds = kinds._replace(proof=sum_of(last))
    files = kinds_files(kinds, netlists, frame)
    files |= {f"{run_name(place)}.drat": proof for place, proof in enumerate(proved, 1)}
    return kinds, files | {f"{REST}.drat": last}


def _counts(excluded: Excluded, ticks: int | None) -> bool:
    """Whether something may be needed: what has more ticks than are asked about is none of those that are left."""
    if excluded.run is not None:
        return excluded.run.gt <= MOST_GT
    return excluded.netlist is not None and (ticks is None or excluded.netlist.ticks <= ticks)


def _needed(excluded: Sequence[Excluded], ticks: int | None, netlists: OpenNetlists, meter: Meter) -> list[Excluded]:
    """Of what was excluded as little as leaves nothing: none of it can be left out. Raises NotCertified."""
    formula = netlists.sensible()
    for clause in () if ticks is None else netlists.too_slow(ticks):
        formula.add(*clause)
    guards: dict[int, Excluded] = {}
    for each in sorted(excluded, key=_cost):
        guard = formula.fresh()
        guards[guard] = each
        for clause in under_all_names(each.literals, netlists):
            formula.add(-guard, *clause)
    sat = Sat(formula.clauses, meter)
    if sat.ask(list(guards)):
        raise NotCertified(f"{in_words(netlists.words)}: a run that is needed is longer than {MOST_GT:,} gt")
    core = sat.core()
    for guard in reversed(guards):
        if guard in core and not sat.ask([each for each in core if each != guard]):
            core = sat.core()
    return [each for guard, each in guards.items() if guard in core]


def _cost(excluded: Excluded) -> tuple[bool, int]:
    """How dear it is to check: runs first, the shortest first of them."""
    return excluded.run is None, 0 if excluded.run is None else excluded.run.gt


def _proved(clauses: Sequence[Clause], meter: Meter) -> str:
    proof = proof_of(clauses, meter)
    assert proof is not None, "what the search has excluded is excluded"
    return trimmed(clauses, proof)
