"""Things that pistons move, built wrongly: one that is not there, or stands a place beside where it is drawn."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import NamedTuple

from circuitcheck.diagnostics import Diagnostic
from circuitcheck.engine import work
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.drawing import At, Drawing, said
from circuitcheck.model.parts.base import Conducts, Part
from circuitcheck.model.rules import RuleSet
from circuitcheck.space.circuit import redrawn
from circuitcheck.space.room import neighbours

WIRING = (Conducts.RUN, Conducts.BLOCK)


class Misplaced(NamedTuple):
    """A drawing with one of the things that a piston moves not where it belongs; not read yet."""

    words: str
    name: str
    to: At | None
    """Where it stands instead; None where it is not there."""
    drawing: Drawing


def left_out(circuit: Circuit) -> Iterator[Misplaced]:
    """The circuit's drawing without each of the things that a piston moves."""
    for at, words in _moved(circuit):
        assert circuit.drawing is not None
        yield Misplaced(f"{words} is missing", circuit.drawing.name(at), None, circuit.drawing.without(at))


def beside(circuit: Circuit) -> Iterator[Misplaced]:
    """The circuit's drawing with each of them at each free place beside its own, within the drawing."""
    for at, words in _moved(circuit):
        drawing = circuit.drawing
        assert drawing is not None
        for _, to in neighbours(at):
            inside = all(1 <= number <= most for number, most in zip(to, drawing.size, strict=True))
            if inside and to not in drawing.things:
                stands = f"{words} stands at {said(to)} instead"
                yield Misplaced(stands, drawing.name(at), to, drawing.moved(at, to))


def rebuilt(circuit: Circuit, drawing: Drawing) -> Circuit | Diagnostic:
    """A circuit as another drawing of it is read, in which all can be asked for that could be before."""
    kept = {at: name for at, name in _wires(circuit) if drawing.things.get(at) is not None and at not in drawing.names}
    work.count(work.WIRING * len(drawing.things))
    again = redrawn(circuit, replace(drawing, names={**kept, **drawing.names}))
    if isinstance(again, Diagnostic):
        return again
    gone = [part for name, part in circuit.by_name.items() if name not in again.by_name]
    # Two torches of which one no longer holds the other are no latch: it is asked for by what its sides do.
    latches = [part for part in circuit.parts if part.latch is not None and part.name not in again.latches]
    return replace(again, parts=(*again.parts, *map(_dead, gone), *latches))


def _wires(circuit: Circuit) -> Iterator[tuple[At, str]]:
    """The dust and blocks of a drawn circuit that may be asked for, by their places."""
    assert circuit.drawing is not None
    for name, part in circuit.by_name.items():
        at = circuit.where.get(name)
        if at is not None and part.conducts in WIRING and not part.behaves and circuit.drawing.name(at) == name:
            yield at, name


def _dead(part: Part) -> Part:
    """A part that is not there any more: nothing feeds it."""
    for source in {source for port in part.ports() for source in port.sources}:
        part = part.rewired(source, None)
    return part


def _moved(circuit: Circuit) -> Iterator[tuple[At, str]]:
    """The things that some piston moves in its first stroke or can pull home, and what to call each; no parts."""
    drawing = circuit.drawing
    if drawing is None or not circuit.things_move:
        return
    for at, piston in sorted(_by_piston(drawing, circuit.rules).items()):
        thing, name = drawing.things[at], drawing.names.get(at)
        what = f"'{name}'" if name else f"at {said(at)}"
        yield at, f"the {thing.called} {what}, which '{drawing.name(piston)}' moves,"


def _by_piston(drawing: Drawing, rules: RuleSet) -> dict[At, At]:
    from circuitcheck.space.occupied import is_movable  # what moves is imported only where something does
    from circuitcheck.space.strokes import Strokes

    strokes, found = Strokes(drawing, rules), dict[At, At]()
    for each in strokes.one_at_a_time():
        pulls = "sticky" in drawing.things[each.piston].flags
        within = strokes.facing(each.piston).from_(each.head)
        for home in (*(home for home, _ in each.moves), *((within,) if pulls else ())):
            thing = drawing.things.get(home)
            if thing is not None and is_movable(thing) and not thing.is_part:
                found.setdefault(home, each.piston)
    return found
