"""What a cure changes besides: what the circuit computes, its reactions, its costs, the time checks have to spare."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import NamedTuple

from circuitcheck.curing.edits import Change
from circuitcheck.curing.source_text import Source
from circuitcheck.curing.spare import Spare, spare
from circuitcheck.diagnostics import NOWHERE
from circuitcheck.engine import work
from circuitcheck.explain.compare import Comparison, compare
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.claims import Study
from circuitcheck.sweeps.faults import Fault, faults
from circuitcheck.sweeps.variants import first_failing, share_of

COMPARING = 3_000_000
"""How much work (`engine.work`) comparing takes at most."""
STATES = 20_000
"""How many states are looked at for a claim to see whether it notices a fault."""
MOST_FAULTS = 12
"""How many faults of what was changed are tried."""


class Besides(NamedTuple):
    """What a cure comes to, beside curing."""

    comparison: Comparison | None
    """The circuit as it stands and the cured one; None if that is more work than is done for it."""
    spare: tuple[Spare, ...]
    """What checks have more or less to spare, or what those have that did not hold."""
    unnoticed: tuple[str, ...]
    """Faults of what was changed that no check and no claim notices."""
    faults: int
    """How many of them were tried."""


def besides(source: Source, change: Change) -> Besides | None:
    """What a change makes otherwise in the first circuit of the file that it changes; None where it changes none."""
    cured = source.read(source.changed_text(change))
    own = {study.label: study for study in source.loaded.studies}
    for study in cured.studies:
        before = own.get(study.label)
        names = frozenset() if before is None else changed_parts(before.circuit, study.circuit)
        if before is not None and names:
            unnoticed, tried = _unnoticed(study, names)
            return Besides(_compared(before.circuit, study.circuit), tuple(spare(before, study)), unnoticed, tried)
    return None


def changed_parts(one: Circuit, other: Circuit) -> frozenset[str]:
    """The parts that two circuits do not have alike."""
    parts = [{each.name: replace(each, span=NOWHERE) for each in circuit.by_name.values()} for circuit in (one, other)]
    return frozenset(name for name in {**parts[0], **parts[1]} if parts[0].get(name) != parts[1].get(name))


def _compared(before: Circuit, after: Circuit) -> Comparison | None:
    try:
        with work.bounded(COMPARING):
            return compare(before, after)
    except work.Undecided:
        return None


def _unnoticed(study: Study, names: frozenset[str]) -> tuple[tuple[str, ...], int]:
    """The faults of some parts that nothing notices, and how many were tried."""
    found: list[str] = []
    tried = 0
    for fault in _faults_of(study, names):
        if tried == MOST_FAULTS:
            break
        tried += 1
        verdict, _ = first_failing((study._replace(circuit=fault.circuit), STATES, share_of(STATES, MOST_FAULTS)))
        if verdict.holds is True:
            found.append(fault.words)
    return tuple(found), tried


def _faults_of(study: Study, names: frozenset[str]) -> Iterator[Fault]:
    for fault in faults(study.circuit):
        if changed_parts(study.circuit, fault.circuit) & names and any(f"'{name}'" in fault.words for name in names):
            yield fault
