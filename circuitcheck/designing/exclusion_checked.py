"""Whether a certificate that no smaller circuit will do is one.

Its files are made again of the circuit and its list, and compared byte for byte; each proof is checked by a DRAT
checker; and of each netlist that no proof excludes the prover says again that it does not keep all that is asked. What
it may look at for that is bounded whatever the list says, and past the bound that is undecided.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from time import monotonic
from typing import NamedTuple

from circuitcheck.certificate.checking import Verifies
from circuitcheck.certificate.folder_files import CIRCUIT, LIST, README, sum_of
from circuitcheck.certificate.uncertified import Uncertified
from circuitcheck.checks.outcome import FAILING, Outcome
from circuitcheck.designing.burnt_rounds import Burning, burning_behind
from circuitcheck.designing.exclusion_files import (
    alone_name,
    asked_of_all,
    kinds_files,
    proof_names,
    readme,
)
from circuitcheck.designing.exclusion_list import Alone, ExclusionList, Kinds, folder_of
from circuitcheck.designing.fewest_parts import WORK_A_STATE, asked_of, is_kept, refutes
from circuitcheck.designing.frame import CantDesign, Frame
from circuitcheck.designing.open_netlists import OpenNetlists
from circuitcheck.engine import work
from circuitcheck.judging.door import judged_as_asked, judged_until_failing
from circuitcheck.prove.meter import OUT_OF_TIME, Limits, Meter, OverBudget


class CheckedKinds(NamedTuple):
    """What checking one choice of kinds came to."""

    kinds: Kinds
    wrong: tuple[str, ...]
    """What is wrong with it: each a file and what is wrong there."""
    undecided: tuple[str, ...]
    """What was not checked within the bounds, and why: each a file."""


class Bounds(NamedTuple):
    """How far a certificate is checked."""

    limits: Limits
    """How much the prover may look at for one netlist, and until when anything is checked."""
    budget: Meter
    """What it may look at for all of them."""

    @property
    def over(self) -> bool:
        """Whether it is too late to check anything more."""
        return bool(self.limits.until) and monotonic() > self.limits.until


def checked_kinds(
    frame: Frame,
    listing: ExclusionList,
    files: Mapping[str, str],
    verifies: Verifies,
    begins: Callable[[str], None],
    bounds: Bounds,
) -> Iterator[CheckedKinds]:
    """What checking each choice of kinds of a list comes to. `files` are those of the folder, by their paths in it."""
    for place, kinds in enumerate(listing.kinds, 1):
        folder = folder_of(place, kinds.words)
        own = {path.removeprefix(f"{folder}/"): text for path, text in files.items() if path.startswith(f"{folder}/")}
        begins(folder)
        if bounds.over:
            yield CheckedKinds(kinds, (), (f"{folder}: {OUT_OF_TIME}",))
            continue
        try:
            found = [*_files(kinds, frame, own, verifies, bounds), *_alone(kinds, frame, listing.states, bounds)]
        except (KeyError, IndexError, CantDesign, Uncertified):
            yield CheckedKinds(kinds, (f"{LIST}: what it says of {folder} is not of this circuit",), ())
            continue
        wrong, undecided = (tuple(f"{folder}/{each}" for each, of in found if of is so) for so in (False, None))
        yield CheckedKinds(kinds, wrong, undecided)


Told = tuple[str, bool | None]
"""A file and what is to be said of it: that it is wrong, or with None that this is undecided."""


def _files(kinds: Kinds, frame: Frame, own: Mapping[str, str], verifies: Verifies, bounds: Bounds) -> Iterator[Told]:
    """What is wrong with the files of some kinds. May raise what those raise that make them."""
    netlists = OpenNetlists(frame, kinds.words, asked_of(frame))
    made = kinds_files(kinds, netlists, frame)
    for name, text in made.items():
        if own.get(name) != text:
            why = "it is not what the circuit and the list make it" if name in own else "it is missing"
            yield f"{name}: {why}", False
    for name, its_sum in proof_names(kinds):
        proof = own.get(f"{name}.drat")
        if proof is None:
            yield f"{name}.drat: it is missing", False
        elif sum_of(proof) != its_sum:
            yield f"{name}.drat: it is not the file that the list knows", False
        elif bounds.over:
            yield f"{name}.drat: {OUT_OF_TIME}", None
        elif not verifies(made[f"{name}.cnf"], proof):
            yield f"{name}.drat: it does not prove that {name}.cnf has no answer", False


def _alone(kinds: Kinds, frame: Frame, states: int, bounds: Bounds) -> Iterator[Told]:
    """Which netlists of some kinds the prover does not exclude; the list says that it does within so many states."""
    allowed = bounds.limits.states
    limits = bounds.limits._replace(states=min(states, allowed))
    for place, alone in enumerate(kinds.alone, 1):
        if bounds.over:
            yield f"{alone_name(place)}: {OUT_OF_TIME}", None
            continue
        try:
            excluded = _is_excluded(alone, frame, limits, bounds.budget)
        except OverBudget as over:
            yield f"{alone_name(place)}: {over}", None
            continue
        if excluded is None and bounds.budget.full:
            yield f"{alone_name(place)}: {OUT_OF_TIME}", None
        elif excluded is None and not bounds.budget.left:
            yield f"{alone_name(place)}: all that the prover may look at was used up", None
        elif excluded is None and states > allowed:
            yield f"{alone_name(place)}: {allowed:,} states do not decide it; the list says {states:,}", None
        elif not excluded:
            yield f"{alone_name(place)}: the prover does not say that it fails", False


def _is_excluded(alone: Alone, frame: Frame, limits: Limits, budget: Meter) -> bool | None:
    """Whether the prover excludes a netlist, with those that go with it; None where that is not decided.

    Raises OverBudget where all that may be looked at has been.
    """
    if not budget.left:
        raise OverBudget("all that the prover may look at was used up")
    study, most = frame.study_with(alone.netlist), limits.meter().most
    outcomes: tuple[Outcome, ...] = ()
    begun = work.done()
    try:
        if alone.behind:
            on = frozenset(part.name for part in frame.circuit.inputs if part.start)
            burnt = asked_of(frame).unburnt and burning_behind(alone.netlist, on, study, limits, budget.part(most))
            return burnt == Burning(frozenset(alone.behind), frozenset(alone.still)) or None
        if any(outcome.verdict in FAILING for outcome in judged_until_failing(study, limits, budget.part(most))):
            return True
        outcomes = judged_as_asked(study, limits, budget.part(most)).outcomes
    except OverBudget:
        pass
    finally:
        with suppress(OverBudget):  # it is told before the next netlist
            budget.count((work.done() - begun) // WORK_A_STATE)
    if any(map(refutes, outcomes)):
        return True
    return False if outcomes and all(map(is_kept, outcomes)) else None


def strays(frame: Frame, listing: ExclusionList, files: Mapping[str, str]) -> list[str]:
    """What is wrong with the folder as a whole: what it leaves out, its README, and files that belong to nothing."""
    circuit = f"{CIRCUIT}/{listing.main}"
    known = {README, LIST, circuit}
    found = []
    if circuit not in files:
        found.append(f"{circuit}: it is missing")
    elif sum_of(files[circuit]) != listing.source:
        found.append(f"{circuit}: it is not the file that the list knows")
    if not listing.kinds:
        found.append(f"{LIST}: it excludes nothing")
    excluded = [(dict(each.words), each.ticks) for each in listing.kinds]
    left = [words for words, ticks in asked_of_all(*listing.below, frame) if not _covered(words, ticks, excluded)]
    found += [f"{LIST}: it leaves out {', '.join(words.values()) or 'no part at all'}" for words in left]
    for place, kinds in enumerate(listing.kinds, 1):
        names = [f"{name}.{ending}" for name, _ in proof_names(kinds) for ending in ("cnf", "drat")]
        names += [alone_name(number) for number, _ in enumerate(kinds.alone, 1)]
        known |= {f"{folder_of(place, kinds.words)}/{name}" for name in names}
    found += [f"{path}: it belongs to nothing that is excluded" for path in sorted(set(files) - known)]
    if files.get(README) != readme(listing):
        found.append(f"{README}: {'it is not what the list makes it' if README in files else 'it is missing'}")
    return found


def _covered(words: dict[str, str], ticks: int | None, excluded: list[tuple[dict[str, str], int | None]]) -> bool:
    """Whether some kinds are in a list, with all of as many ticks."""
    return any(each == words and (most is None or (ticks is not None and most >= ticks)) for each, most in excluded)
