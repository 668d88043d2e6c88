"""Whether a certificate that no smaller circuit will do is one.

Its files are made again of the circuit and its list, and compared byte for byte; each proof is checked by a DRAT
checker; and of each netlist that no proof excludes the prover says again that it does not keep all that is asked.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import NamedTuple

from circuitcheck.certificate.checking import Verifies
from circuitcheck.certificate.folder_files import CIRCUIT, LIST, README, sum_of
from circuitcheck.certificate.uncertified import Uncertified
from circuitcheck.checks.outcome import FAILING
from circuitcheck.designing.burnt_rounds import Burning, burning_behind
from circuitcheck.designing.exclusion_files import (
    alone_name,
    asked_of_all,
    kinds_files,
    proof_names,
    readme,
)
from circuitcheck.designing.exclusion_list import Alone, ExclusionList, Kinds, folder_of
from circuitcheck.designing.fewest_parts import asked_of, refutes
from circuitcheck.designing.frame import CantDesign, Frame
from circuitcheck.designing.open_netlists import OpenNetlists
from circuitcheck.judging.door import judged_as_asked, judged_until_failing
from circuitcheck.prove.meter import Limits, OverBudget


class CheckedKinds(NamedTuple):
    """What checking one choice of kinds came to."""

    kinds: Kinds
    wrong: tuple[str, ...]
    """What is wrong with it: each a file and what is wrong there."""


def checked_kinds(
    frame: Frame,
    listing: ExclusionList,
    files: Mapping[str, str],
    verifies: Verifies,
    begins: Callable[[str], None],
) -> Iterator[CheckedKinds]:
    """What checking each choice of kinds of a list comes to. `files` are those of the folder, by their paths in it."""
    for place, kinds in enumerate(listing.kinds, 1):
        folder = folder_of(place, kinds.words)
        own = {path.removeprefix(f"{folder}/"): text for path, text in files.items() if path.startswith(f"{folder}/")}
        begins(folder)
        try:
            wrong = tuple(f"{folder}/{each}" for each in _of_kinds(kinds, frame, listing.states, own, verifies))
        except (KeyError, IndexError, CantDesign, Uncertified):
            wrong = (f"{LIST}: what it says of {folder} is not of this circuit",)
        yield CheckedKinds(kinds, wrong)


def _of_kinds(kinds: Kinds, frame: Frame, states: int, own: Mapping[str, str], verifies: Verifies) -> Iterator[str]:
    """What is wrong with the files of some kinds. May raise what those raise that make them."""
    netlists = OpenNetlists(frame, kinds.words, asked_of(frame))
    made = kinds_files(kinds, netlists, frame)
    for name, text in made.items():
        if own.get(name) != text:
            yield f"{name}: {'it is not what the circuit and the list make it' if name in own else 'it is missing'}"
    for name, its_sum in proof_names(kinds):
        proof = own.get(f"{name}.drat")
        if proof is None:
            yield f"{name}.drat: it is missing"
        elif sum_of(proof) != its_sum:
            yield f"{name}.drat: it is not the file that the list knows"
        elif not verifies(made[f"{name}.cnf"], proof):
            yield f"{name}.drat: it does not prove that {name}.cnf has no answer"
    for place, alone in enumerate(kinds.alone, 1):
        if not _is_excluded(alone, frame, states):
            yield f"{alone_name(place)}: the prover does not say that it fails"


def _is_excluded(alone: Alone, frame: Frame, states: int) -> bool:
    """Whether the prover excludes a netlist, with those that go with it."""
    study, limits = frame.study_with(alone.netlist), Limits(states)
    try:
        if alone.behind:
            on = frozenset(part.name for part in frame.circuit.inputs if part.start)
            burnt = asked_of(frame).unburnt and burning_behind(alone.netlist, on, study, limits, limits.meter())
            return burnt == Burning(frozenset(alone.behind), frozenset(alone.still))
        if any(outcome.verdict in FAILING for outcome in judged_until_failing(study, limits, limits.meter())):
            return True
        return any(map(refutes, judged_as_asked(study, limits, limits.meter()).outcomes))
    except OverBudget:
        return False


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
