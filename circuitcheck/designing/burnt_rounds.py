"""Rounds of torches that burn out whatever reads them: then no netlist with the same parts behind them will do.

What a torch does depends on the parts behind it alone: what powers it, what powers that, and so on. So where one in a
round burns out (rule T4), all netlists in which the same stands behind it are excluded at once. That holds where these
parts rest in one way only: of several, what reads them could decide from which the circuit begins (rule C6). Inputs
that are off all through that run say nothing there: torches may be powered by them as well, or not.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Set
from typing import NamedTuple

from circuitcheck.checks.outcome import FAILING, Outcome
from circuitcheck.designing.netlist import TORCH, Netlist
from circuitcheck.diagnostics import NOWHERE
from circuitcheck.judging.door import judged_until_failing
from circuitcheck.model.claims import Claim, Study, Unburnt, Watched, atoms, conditions
from circuitcheck.prove.meter import Limits, Meter


class Burning(NamedTuple):
    """Parts in which a torch burns out, whatever reads them."""

    parts: frozenset[str]
    """All that stand behind one."""
    still: frozenset[str] = frozenset()
    """Inputs that may power them or not: they are off all the while. None where a repeater is among the parts, since
    whether one points straight into it depends on all that it reads (rule C3)."""


def needed_by_claims(study: Study, ends: Iterable[str]) -> bool:
    """Each of some names is one that a claim on runs is about: then whatever feeds them may not burn out."""
    bodies = [claim.body for claim in study.claims if not claim.fails_because]
    watched = [each for body in bodies if isinstance(body, Watched) for each in conditions(body)]
    return set(ends) <= {atom.name for condition in watched for atom in atoms(condition)}


def burning_behind(netlist: Netlist, on: Set[str], study: Study, limits: Limits, budget: Meter) -> Burning | None:
    """A torch that burns out with all parts behind it, fewest first; None if there is none. Raises OverBudget."""
    for behind, outcome in burning_rounds(netlist, study, limits, budget):
        found = excluded_behind(netlist, on, study, behind, outcome)
        if found is not None:
            return found
    return None


def burning_rounds(
    netlist: Netlist, study: Study, limits: Limits, budget: Meter
) -> Iterator[tuple[frozenset[str], Outcome]]:
    """All parts behind each torch in a round that burns out, and the run in which it does. May raise OverBudget."""
    for torch, behind in rounds(netlist):
        claim = Claim(f"'{torch}' does not burn out", Unburnt((torch,)), NOWHERE)
        alone = study._replace(checks=(), claims=(claim,))
        for outcome in judged_until_failing(alone, limits, budget):
            if outcome.verdict in FAILING:
                yield behind, outcome


def excluded_behind(
    netlist: Netlist, on: Set[str], study: Study, behind: frozenset[str], outcome: Outcome
) -> Burning | None:
    """What is excluded with a netlist where the parts behind a torch burn it out in a run; None if they may not.

    `on` are the inputs that are on before anything is worked.
    """
    if len(rests(netlist, behind, on)) != 1:
        return None
    kinds, run = dict(netlist.kinds), outcome.failure.check if outcome.failure is not None else None
    if run is None or any(kinds[name].word != TORCH for name in behind):
        return Burning(behind)
    still = {part.name for part in study.circuit.inputs} - on - {act.name for act in run.acts}
    return Burning(behind, frozenset(still))


def rounds(netlist: Netlist) -> list[tuple[str, frozenset[str]]]:
    """Each torch that is behind itself, with all parts behind it; those with fewest first."""
    torches = [name for name, kind in netlist.kinds if kind.word == TORCH]
    found = [(name, behind(netlist, name)) for name in torches]
    return sorted([each for each in found if each[0] in each[1]], key=lambda each: len(each[1]))


def behind(netlist: Netlist, name: str) -> frozenset[str]:
    """The parts that feed one, directly or through others."""
    sources, kinds = dict(netlist.sources), dict(netlist.kinds)
    queue = [each for each in sources[name] if each in kinds]
    found = set(queue)
    while queue:
        new = [each for each in sources[queue.pop()] if each in kinds and each not in found]
        found.update(new)
        queue += new
    return frozenset(found)


def rests(netlist: Netlist, parts: Set[str], on: Set[str]) -> list[frozenset[str]]:
    """Each way in which some parts, which nothing else feeds but inputs, can rest: which of them are on."""
    kinds, sources = dict(netlist.kinds), dict(netlist.sources)

    def rest(lit: frozenset[str]) -> bool:
        powers = ((name, any(each in lit or each in on for each in sources[name])) for name in parts)
        return all((name in lit) == (power != (kinds[name].word == TORCH)) for name, power in powers)

    return [lit for lit in _subsets(sorted(parts)) if rest(lit)]


def _subsets(names: list[str]) -> Iterator[frozenset[str]]:
    for bits in itertools.product((False, True), repeat=len(names)):
        yield frozenset(itertools.compress(names, bits))
