"""How good the checks are: single faults put into a circuit, and which of them nothing notices."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import NamedTuple

from circuitcheck.diagnostics import Diagnostic
from circuitcheck.engine import work
from circuitcheck.engine.power import is_block
from circuitcheck.explain.misplaced import beside, left_out, rebuilt
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.claims import Act, Study
from circuitcheck.model.drawing import Drawing
from circuitcheck.model.parts.base import Latch, Part
from circuitcheck.model.rules import FULL_POWER
from circuitcheck.sweeps.stimulus import alike, asked_alike, stimulus
from circuitcheck.sweeps.tasks import LEAST_JUDGED, NOT_JUDGED, Sweep
from circuitcheck.sweeps.variants import Verdicts, first_failing, share_of, work_for

STIMULUS_SHARE = 150
"""The part of a sweep's work that goes into what would show one fault: one in so many."""
GOLDEN = (5**0.5 - 1) / 2
"""The multiples of this are spread evenly below 1, however many are taken (H. Weyl's equidistribution, 1916)."""


class Fault(NamedTuple):
    """One thing built or set wrongly."""

    words: str
    circuit: Circuit
    drawing: Drawing | None = None
    """What is drawn instead of the circuit's drawing, to be read when the fault is judged."""

    def built(self) -> Circuit | Diagnostic:
        """The circuit with the fault; or why it can't stand so."""
        return self.circuit if self.drawing is None else rebuilt(self.circuit, self.drawing)


class Noticed(NamedTuple):
    """What became of a fault: noticed by a check or claim, or not; then what would show it, if anything can."""

    fault: Fault
    verdicts: Verdicts
    shown_by: tuple[Act, ...] | None
    """For a fault that nothing notices: a stimulus after which an output differs; None if none was found."""
    at: int
    """The gt in which the output differs then."""
    alike: bool
    """Whether it is no fault: every part behaves as before, whatever is done."""

    @property
    def detected(self) -> bool:
        """Whether some check or claim fails with it."""
        return self.verdicts.holds is False

    @property
    def missed(self) -> bool:
        """Whether it is a fault, and all that is asked holds with it."""
        return self.verdicts.holds is True and not self.alike

    @property
    def undecided(self) -> bool:
        """Whether it was judged, and nothing was seen to fail, but not all was decided."""
        return self.verdicts.tried and self.verdicts.holds is None and not self.alike


def faults(circuit: Circuit) -> Iterator[Fault]:
    """Every single fault of the kinds known."""
    for part in circuit.by_name.values():
        if part.verbs:
            continue
        yield from _taken_out(circuit, part)
        for fault in part.faults():
            changed = circuit.with_part(part, fault.part)
            yield Fault(fault.words, replace(changed, parts=(*changed.parts, *fault.added)))
        if part.start is not None and part.name not in circuit.latches and not part.name.endswith(".inverse"):
            words = f"'{part.name}' starts {'off' if part.start else 'on'}"
            yield Fault(words, circuit.with_part(part, replace(part, start=0 if part.start else FULL_POWER)))
    for latch in circuit.latches.values():
        yield from _latch(circuit, latch)
    for each in (*left_out(circuit), *beside(circuit)):
        yield Fault(each.words, circuit, each.drawing)


def _taken_out(circuit: Circuit, part: Part) -> Iterator[Fault]:
    """Nothing that it fed is fed by it any more; it stays where it is only in name."""
    if is_block(part) or any(
        part.name in port.sources for each in circuit.parts for port in each.ports() if port.watches
    ):
        return
    words = f"the {part.word} '{part.name}' is taken out"
    at = circuit.where.get(part.name)
    if circuit.drawing is not None and circuit.things_move and at is not None and part.name not in circuit.latches:
        # What it feeds once something has moved is read from the drawing.
        yield Fault(words, circuit, circuit.drawing.without(at))
        return
    parts = tuple(each if each is part else each.rewired(part.name, None) for each in circuit.parts)
    if parts != circuit.parts:
        yield Fault(words, replace(circuit, parts=parts))


def _latch(circuit: Circuit, latch: Latch) -> Iterator[Fault]:
    side, inverse = circuit.by_name[latch.name], circuit.by_name[latch.inverse]
    yield Fault(f"the sides of the latch '{latch.name}' are crossed", _swapped(circuit, latch.crossed(side, inverse)))
    flipped = latch.flipped(side, inverse)
    if flipped:
        starts = "set" if flipped[side].start else "reset"
        yield Fault(f"the latch '{latch.name}' starts {starts}", _swapped(circuit, flipped))


def _swapped(circuit: Circuit, others: dict[Part, Part]) -> Circuit:
    return replace(circuit, parts=tuple(others.get(part, part) for part in circuit.parts))


# Who notices


Task = tuple[Study, Fault, int, int, bool]
"""What is asked, a fault in its circuit, how many states are looked at for each claim, how much work is done, and
whether all holds without the fault."""


class Faults(Sweep[Task, Noticed]):
    """A study's checks and claims on every faulty circuit."""

    def __init__(self, study: Study, states: int, holds: bool = False, sound: int = 0) -> None:
        """`holds` says that all holds without a fault, where that is known: it does then as well with what is none.

        `sound` is how much work it was to know that. With a fault it may be as much and more: less would decide
        nothing, however many faults it were done for.
        """
        self._faults = list(faults(study.circuit))
        share = max(share_of(states, len(self._faults)), 2 * sound)
        # Where the work lasts for some of them only, these are some of each kind and of each part of the machine.
        self._turns = sorted(range(len(self._faults)), key=lambda place: place * GOLDEN % 1)
        tasks = [(study, self._faults[place], states, share, holds) for place in self._turns]
        super().__init__(_noticed, tasks, max(work_for(states), LEAST_JUDGED * sound))

    def found(self, left_out: str = NOT_JUDGED) -> list[Noticed]:
        """What became of each fault so far; `left_out` is why faults that were not judged were not."""
        without = Verdicts(None, reason=left_out, tried=False)
        found = [Noticed(fault, without, None, 0, False) for fault in self._faults]
        for turn, noticed in self.results.items():
            found[self._turns[turn]] = noticed
        return found


def _noticed(task: Task) -> tuple[Noticed, int]:
    study, fault, states, share, holds = task
    begun = work.done()
    circuit = fault.built()
    if isinstance(circuit, Diagnostic):
        return Noticed(fault, Verdicts(None, reason=circuit.message), None, 0, False), work.done() - begun
    if holds and alike(study.circuit, circuit) and asked_alike(study, circuit):
        return Noticed(fault, Verdicts(True), None, 0, True), work.done() - begun
    verdict, spent = first_failing((study._replace(circuit=circuit), states, share))
    if verdict.holds is False:
        return Noticed(fault, verdict, None, 0, False), spent
    begun = work.done()
    if alike(study.circuit, circuit):
        return Noticed(fault, verdict, None, 0, True), spent + work.done() - begun
    try:
        with work.bounded(work_for(states) // STIMULUS_SHARE):
            shown_by, at = stimulus(study.circuit, circuit, study.assumptions) or (None, 0)
    except work.OutOfWork:
        shown_by, at = None, 0
    return Noticed(fault, verdict, shown_by, at, False), spent + work.done() - begun
