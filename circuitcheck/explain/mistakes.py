"""Which single mistake of the builder fits what he sees: circuits with one thing wrong, run beside his observations."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from circuitcheck.checks.run import Notebook, Track, run_check
from circuitcheck.checks.watches import Broken
from circuitcheck.diagnostics import Diagnostic
from circuitcheck.engine import work
from circuitcheck.engine.power import is_block, is_line
from circuitcheck.engine.program import Program, read
from circuitcheck.engine.start import TooManyStarts, starts
from circuitcheck.engine.work import Undecided
from circuitcheck.explain.misplaced import Misplaced, beside, left_out, rebuilt
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.claims import Check, atoms
from circuitcheck.model.parts.base import Latch, Part

MOST_TRIED = 1_500
"""How many mistakes are tried on one circuit."""
MOST_WORK = 12_000_000
"""How much work (`engine.work`) is done over all mistakes that are tried."""
TRIAL_SHARE = 20
"""The part of it that one mistake may take: one in so many."""
MOST_TOLD = 12


@dataclass(frozen=True, slots=True)
class Mistake:
    """One thing built wrongly. `weight` says how common it is: the author's judgement, common practice, no source."""

    words: str
    weight: int
    circuit: Circuit
    left_out: str = ""
    """The part that is not there, or does nothing where it stands: whoever looks at it does not see it on."""


@dataclass(frozen=True, slots=True)
class Question:
    """A further look that would tell the mistakes apart: which signal when, and what each answer would mean."""

    signal: str
    at: int
    if_on: tuple[str, ...]
    if_off: tuple[str, ...]
    """A part that is not there counts as off."""
    may_be_missing: bool


@dataclass(frozen=True, slots=True)
class Diagnosis:
    """What fits the observations."""

    sound: bool
    """Whether the circuit as it is written would look so too."""
    fitting: tuple[Mistake, ...]
    """The mistakes that fit, likeliest first."""
    tried: int
    unfollowed: int
    """How many of them were not followed to the end of what was seen, so that they may fit as well or not."""
    complete: bool
    """Whether every mistake of the kinds known was tried."""
    question: Question | None
    as_designed: tuple[tuple[str, int], ...]
    """Where the circuit as it is written would look so too: each signal that was seen, and the last gt in which."""


def mistakes(circuit: Circuit) -> Iterator[Mistake]:
    """Every single mistake of the kinds known, one by one."""
    feeding = _sources(circuit)
    yield from _misplaced(circuit, left_out(circuit), 5)
    for part in circuit.by_name.values():
        for each in part.mistakes():
            changed = circuit.with_part(part, each.part)
            yield Mistake(each.words, each.likely, replace(changed, parts=(*changed.parts, *each.added)))
        yield from _left_out(circuit, part, feeding)
        yield from _weak_block(circuit, part)
        yield from _missing_path(circuit, part)
    for latch in circuit.latches.values():
        yield from _wrong_side(circuit, latch)
    yield from _misplaced(circuit, beside(circuit), 4)


def _misplaced(circuit: Circuit, places: Iterable[Misplaced], weight: int) -> Iterator[Mistake]:
    """Things that pistons move, not where they belong; where the rest can stand so."""
    for each in places:
        built = rebuilt(circuit, each.drawing)
        if not isinstance(built, Diagnostic):
            yield Mistake(each.words, weight, built, "" if each.to else each.name)


def _left_out(circuit: Circuit, part: Part, feeding: set[str]) -> Iterator[Mistake]:
    """A part that gives nothing: left out, or turned round where it has a direction."""
    if part.verbs or is_line(part) or is_block(part) or part.name not in feeding:
        return
    words = f"the {part.word} '{part.name}' is missing{', or turned round' if part.directed else ''}"
    without = tuple(each if each is part else each.rewired(part.name, None) for each in circuit.parts)
    yield Mistake(words, 5, replace(circuit, parts=without), part.name)


def _sources(circuit: Circuit) -> set[str]:
    return {source for part in circuit.parts for port in part.ports() if not port.watches for source in port.sources}


def _weak_block(circuit: Circuit, part: Part) -> Iterator[Mistake]:
    if is_line(part):
        for source in part.powers:
            if is_block(circuit.by_name[source]):
                words = f"the block '{source}' is only weakly powered, so that the dust '{part.name}' stays dark (P4)"
                yield Mistake(words, 6, circuit.with_part(part, part.rewired(source, None)))


def _missing_path(circuit: Circuit, part: Part) -> Iterator[Mistake]:
    """One connection of several that was not made; with a single one the part would be seen to be missing."""
    sources = {source for port in part.ports() if not port.watches for source in port.sources}
    for source in sorted(sources) if len(sources) > 1 else ():
        words = f"the path from '{source}' to '{part.name}' is missing"
        yield Mistake(words, 6, circuit.with_part(part, part.rewired(source, None)))


def _wrong_side(circuit: Circuit, latch: Latch) -> Iterator[Mistake]:
    sides = (latch.name, latch.inverse)
    for side, other in (sides, sides[::-1]):
        for part in circuit.parts:
            if part.name not in sides and any(side in port.sources for port in part.ports() if not port.watches):
                words = f"'{part.name}' is taken from '{other}' instead of '{side}', the wrong side of the latch"
                yield Mistake(words, 7, circuit.with_part(part, part.rewired(side, other)))


# Trying them


def diagnose(circuit: Circuit, seen: Check, told: Callable[[int], None] = lambda tried: None) -> Diagnosis:
    """Which mistakes fit what was seen: the actions and expectations of a check, read as observations.

    `told` is called with how many mistakes have been tried.
    """
    as_written = _fitting_tracks(circuit, seen)
    sound = as_written is not None and bool(as_written[1])
    fitting: list[tuple[Mistake, Program, list[Track]]] = []
    begun = work.done()
    tried, unfollowed, complete = 0, 0, True
    for mistake in mistakes(circuit):
        if tried == MOST_TRIED or work.done() - begun >= MOST_WORK:
            complete = False
            break
        tried += 1
        found = _fitting_tracks(mistake.circuit, seen)
        if found is None:
            unfollowed += 1
        elif found[1]:
            fitting.append((mistake, *found))
        told(tried)
    fitting.sort(key=lambda each: -each[0].weight)
    question = _question(circuit, fitting, seen.until)
    seen_so = tuple(_last_seen(seen).items()) if sound else ()
    fits = tuple(mistake for mistake, _, _ in fitting)
    return Diagnosis(sound, fits, tried, unfollowed, complete, question, seen_so)


def _last_seen(seen: Check) -> dict[str, int]:
    """Each signal that was looked at, with the last gt in which it was."""
    last: dict[str, int] = {}
    for each in seen.expectations:
        last |= {atom.name: max(each.end - 1, last.get(atom.name, 0)) for atom in atoms(each.condition)}
    return last


def _fitting_tracks(circuit: Circuit, seen: Check) -> tuple[Program, list[Track]] | None:
    """Every trace of a circuit that shows all that was seen; None where it was not followed to its end."""
    try:
        with work.bounded(MOST_WORK // TRIAL_SHARE):
            program = Program(circuit)
            run = run_check(program, starts(program), seen, (), Notebook())
    except (TooManyStarts, Undecided):
        return None
    if run.limit:
        return None
    fits = [track for track in run.tracks if not any(isinstance(state, Broken) for state in track.watches)]
    return program, fits


def _question(circuit: Circuit, fitting: Sequence[tuple[Mistake, Program, list[Track]]], at: int) -> Question | None:
    """The signal whose state at the end splits what fits most evenly. What may go either way stands on both sides."""
    if len(fitting) < 2:
        return None
    best: Question | None = None
    most = 0
    for name, part in circuit.by_name.items():
        if part.verbs:
            continue
        on: list[str] = []
        off: list[str] = []
        missing = any(mistake.left_out == name for mistake, _, _ in fitting[:MOST_TOLD])
        for mistake, program, tracks in fitting[:MOST_TOLD]:
            lit = {
                name != mistake.left_out and read(program.probe(name), track.simulator.levels) > 0 for track in tracks
            }
            on += [mistake.words] if True in lit else []
            off += [mistake.words] if False in lit else []
        apart = min(len(set(on) - set(off)), len(set(off) - set(on)))
        if apart > most:
            best, most = Question(name, at, tuple(on), tuple(off), missing), apart
    return best
