"""Classic mistakes of a build, found in its drawing: dead dust, weak blocks beside dust, stuck pistons."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Set
from dataclasses import replace

from circuitcheck.checks.drawing.built import matched
from circuitcheck.checks.drawing.wiring_graph import wiring
from circuitcheck.checks.finding import Finding
from circuitcheck.diagnostics import NOWHERE
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.drawing import At, Drawing, said
from circuitcheck.model.making import made_wiring
from circuitcheck.model.parts.base import Conducts, Part
from circuitcheck.space.drivers import DriverLookup
from circuitcheck.space.dust import Dusts
from circuitcheck.space.latches import why_no_latch
from circuitcheck.space.room import Room, neighbours

UNFED = "lead power to it: from behind, or by dust that points into it"
PISTON_UNFED = (
    "lead power to it, from any side but the one it faces; or to the place above it, if an update is to move it (D2)"
)
"""A piston has no back; and one that is to be stuck is powered from the place above alone (rules W9, D2)."""


def drawn_findings(circuit: Circuit, drawing: Drawing, meant: Circuit | None = None) -> Iterator[Finding]:
    """What a practised eye would see in a drawing; a stuck piston that `meant`, the circuit drawn, names is meant."""
    room = Room(drawing, circuit.rules)
    dusts = Dusts(room)
    giving = DriverLookup(room, dusts)
    yield from _dead_dust(circuit, dusts, giving)
    unlit = [drawing.name(place) for place in drawing.things if room.is_dust(place) and not giving.lights_run_of(place)]
    fed = _fed_by_strokes(circuit, unlit)
    yield from _weak_blocks(drawing, room, dusts, giving, fed)
    yield from _unfed(_lit(circuit, drawing, room, dusts, giving), drawing, fed)
    yield from _half_latches(circuit)
    for part in circuit.parts:
        if part.stuck and not (meant is not None and _is_meant(part, circuit, meant)):
            yield _stuck(part)
    if drawing.has_pistons:
        from circuitcheck.checks.drawing.meddling import meddling_findings

        yield from meddling_findings(circuit, drawing)


def _fed_by_strokes(circuit: Circuit, shown: Iterable[str]) -> Set[str]:
    """What is fed while one piston is out; of dust and blocks only of those in `shown`."""
    if not circuit.things_move:
        return frozenset()
    from circuitcheck.checks.drawing.after_strokes import after_strokes

    return after_strokes(circuit, shown).fed


def lit(circuit: Circuit) -> Circuit:
    """A drawn circuit as if its dead dust were lit, so that what follows from dead dust is not so in it.

    Dust is dead that is too far from what lights its run (rule P2), or beside a block that only dust powers (rule P4).
    """
    if circuit.drawing is None or all(part.powers for part in circuit.parts if part.conducts is Conducts.RUN):
        return circuit
    room = Room(circuit.drawing, circuit.rules)
    dusts = Dusts(room)
    return _lit(circuit, circuit.drawing, room, dusts, DriverLookup(room, dusts))


def _lit(circuit: Circuit, drawing: Drawing, room: Room, dusts: Dusts, giving: DriverLookup) -> Circuit:
    parts: list[Part] = []
    for part in circuit.parts:
        if part.conducts is Conducts.RUN and not part.powers and part.name in circuit.where:
            run = dusts.whole_run(circuit.where[part.name])
            behind = _lighting(run, giving) or {
                place
                for dust in _weakly_beside(run, room, giving)
                for place in _lighting(dusts.whole_run(dust), giving)
            }
            names = tuple(sorted(name for place in behind if (name := drawing.name(place)) in circuit.by_name))
            parts.append(made_wiring(part.word, part.name, part.span, dict.fromkeys(names, 0)))
        else:
            parts.append(part)
    return replace(circuit, parts=tuple(parts))


def _lighting(run: Iterable[At], giving: DriverLookup) -> set[At]:
    """The parts that light a run of dust, from beside it or through a block."""
    found = [giving.into_dust(place) for place in run]
    blocks = {block for sources in found for block in sources.blocks}
    return {place for sources in (*found, *map(giving.into_block, blocks)) for place in sources.parts}


def _weakly_beside(run: Iterable[At], room: Room, giving: DriverLookup) -> set[At]:
    """The dust that powers blocks beside a run of dust."""
    beside = {place for dust in run for _, place in neighbours(dust) if room.solid(place)}
    return {dust for block in beside for dust in giving.into_block(block).dust}


def _dead_dust(circuit: Circuit, dusts: Dusts, giving: DriverLookup) -> Iterator[Finding]:
    """Dust that is read and that no power reaches, though something stands at its run (rule P2): one dust of a run."""
    told: set[At] = set()
    for part in circuit.parts:
        at = circuit.where.get(part.name)
        if part.conducts is not Conducts.RUN or part.powers or at is None or at in told:
            continue
        if giving.lights_run_of(at):
            told |= dusts.whole_run(at)
            message = f"no power reaches the dust '{part.name}': it is over 15 dust from what feeds its run"
            yield Finding("P2", part.name, part.span, message, "put a repeater into the run")


def _weak_blocks(drawing: Drawing, room: Room, dusts: Dusts, giving: DriverLookup, fed: Set[str]) -> Iterator[Finding]:
    """Dust that nothing lights beside a block that only dust powers (P4); `fed` is what strokes bring power to."""
    told = {at for place in drawing.things if drawing.name(place) in fed for at in dusts.whole_run(place)}
    for block, thing in drawing.things.items():
        powered = giving.into_block(block) if thing.block_type.solid else None
        if powered is None or powered.parts or not any(map(giving.lights_run_of, powered.dust)):
            continue
        for _, beside in neighbours(block):
            if room.is_dust(beside) and beside not in told and not giving.lights_run_of(beside):
                told |= dusts.whole_run(beside)
                message = (
                    f"the dust at {said(beside)} lies beside a block that only dust powers ({said(block)}): "
                    "weak power does not light dust"
                )
                span = drawing.spans.get(beside, NOWHERE)
                hint = "put a repeater behind the block, or between"
                yield Finding("P4", drawing.name(beside), span, message, hint, where=said(beside))


def _unfed(circuit: Circuit, drawing: Drawing, fed: Set[str]) -> Iterator[Finding]:
    feeds = wiring(circuit).inputs
    wet = _wet(circuit, drawing)
    for place, thing in drawing.things.items():
        name = drawing.name(place)
        part = circuit.by_name.get(name)
        span = drawing.spans.get(place, NOWHERE)
        if part is not None and _watches_nothing(part) and not _watches_any(place, drawing, wet):
            message = f"the detector '{name}' watches what never changes: nothing behind it has a state"
            yield Finding("V2", name, span, message, "turn it round, or put what it is to watch behind it")
        elif thing.block_type.is_fed and part is not None and not feeds.get(name) and name not in fed:
            always = ": it is always on" if thing.is_inverter else ""
            message = f"the {thing.word} '{name}' is driven by nothing{always}"
            yield Finding("V2", name, span, message, PISTON_UNFED if thing.pushes else UNFED)


def _wet(circuit: Circuit, drawing: Drawing) -> Set[At]:
    """The places that runs let water come to or leave."""
    if not circuit.things_move:
        return frozenset()
    from circuitcheck.space.water import water_of

    water = water_of(drawing, circuit.rules)
    return water.places if water.followed else frozenset()


def _half_latches(circuit: Circuit) -> Iterator[Finding]:
    """Torches that are called the two sides of a latch, and do not hold each other (rule L1)."""
    for name, part in circuit.by_name.items():
        apart = why_no_latch(circuit.by_name, name)
        if apart is not None:
            message, hint = apart
            yield Finding("L1", name, part.span, message, hint)


def _is_meant(part: Part, drawn: Circuit, meant: Circuit) -> bool:
    pairs = matched(meant, drawn) or {part.name: part.name}
    named = next((here for here, there in pairs.items() if there == part.name), "")
    return named in meant.by_name and meant.by_name[named].stuck


def _watches_nothing(part: Part) -> bool:
    ports = part.ports()
    return bool(ports) and all(port.watches and not port.sources for port in ports)


def _watches_any(place: At, drawing: Drawing, watched: Set[At]) -> bool:
    """Whether what is at a place watches one of some others."""
    facing = drawing.things[place].facing
    return facing is not None and facing.back.from_(place) in watched


def _stuck(part: Part) -> Finding:
    above = ", ".join(f"'{name}'" for name in part.powers[:3])
    hears = [name for port in part.ports() if port.watches for name in port.sources]
    heard = ", ".join(f"'{name}'" for name in hears[:4]) + (", …" if len(hears) > 4 else "")
    told = f"it moves only when it gets an update from {heard}" if hears else "nothing ever updates it"
    message = f"the piston '{part.name}' is powered only from the place above it, by {above}: {told}"
    hint = "a detector, if that is meant; if not, lead power to the piston itself"
    return Finding("D2", part.name, part.span, message, hint)
