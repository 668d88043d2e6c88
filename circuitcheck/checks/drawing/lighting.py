"""In what the light on cells differs between a circuit and its drawing, as far as it lets other things happen."""

from __future__ import annotations

from collections import Counter
from collections.abc import Container, Iterator, Mapping
from itertools import product

from circuitcheck.engine.light import Daylight, Effects, can_be
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.drawing import said
from circuitcheck.model.light import BLOCK, FULL_SUN, MOONLIGHT
from circuitcheck.model.parts.cells import Cell, HeldBack, Need, cells_of
from circuitcheck.space.light_on_cells import followed

Can = tuple[bool, bool, bool, tuple[Need, ...]]


def light_differences(circuit: Circuit, drawn: Circuit, pairs: Mapping[str, str]) -> Iterator[str]:
    """Cells whose light lets other things happen in the drawing than in the circuit.

    Parts of the drawing that no part of the circuit is paired with may have a say in its light too.
    """
    mine, theirs = Daylight(circuit), Daylight(drawn)
    spreading = {source for cell in cells_of(circuit.parts) for source in cell.grows}
    ours, drawn_cells = ({cell.name: cell for cell in cells_of(each.parts)} for each in (circuit, drawn))
    told: set[tuple[object, ...]] = set()
    back = {there: here for here, there in pairs.items()}
    back |= dict(_blocks_called(circuit, drawn, back))
    # A part that is paired with none may be called as a part of the circuit is, and is another all the same.
    back |= {each: f"{each} (the other)" for each in drawn.by_name if each not in back and each in circuit.by_name}
    for name, other in pairs.items():
        one, two = ours.get(name), drawn_cells.get(other)
        if one is None or two is None or not one.place:
            continue
        key = (one.place, two.place, can(one, spreading))
        if key in told or not any(key[-1]):
            continue
        told.add(key)
        parts = list(
            dict.fromkeys([*mine.parts[one.place], *(back.get(each, each) for each in theirs.parts[two.place])])
        )
        for states in product((False, True), repeat=len(parts)):
            on = dict(zip(parts, states, strict=True))
            if not can_be(on):
                continue
            difference = _lit_otherwise(mine, theirs, (one, two), key[-1], on, back)
            if difference:
                where = drawn.where.get(other)
                yield f"the light on '{other}'{f' ({said(where)})' if where else ''} is another: {difference}"
                break


def _blocks_called(circuit: Circuit, drawn: Circuit, back: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    """What a circuit calls each block that the light of its drawing follows by itself: as it calls its piston, where it
    does not follow the block, since a text has no name for it."""
    lit = {part for place in circuit.places for part in place.parts}
    for block, piston in followed(drawn).items():
        here = back.get(piston)
        if here is not None:
            yield block, f"{here}{BLOCK}" if f"{here}{BLOCK}" in lit else here


def _lit_otherwise(
    mine: Daylight,
    theirs: Daylight,
    cells: tuple[Cell, Cell],
    can_do: Can,
    on: Mapping[str, bool],
    back: Mapping[str, str],
) -> str:
    one, two = cells
    for sky in range(FULL_SUN, MOONLIGHT - 1, -1):
        here = mine.effects(one.place, sky, tuple(on[part] for part in mine.parts[one.place]))
        there = theirs.effects(two.place, sky, tuple(on[back.get(part, part)] for part in theirs.parts[two.place]))
        if _deeds(here, can_do) != _deeds(there, can_do):
            states = ", ".join(f"'{part}' {'on' if state else 'off'}" for part, state in on.items())
            while_ = f" while {states}" if states else ""
            held = {HeldBack.NOT: "", HeldBack.SHALLOW: ", shallow water above", HeldBack.FULLY: ", held back above"}
            return (
                f"with {sky} from the sky{while_} it is {here.light}{held[here.held_back]} in the circuit, "
                f"{there.light}{held[there.held_back]} in the drawing"
            )
    return ""


def can(cell: Cell, spreading: Container[str]) -> Can:
    """What may happen to a cell at all: it fades, grows over others, is grown over, changes as its author says."""
    return (cell.fades, cell.name in spreading, bool(cell.grows), tuple(each.need for each in cell.becomes))


def _deeds(effects: Effects, can_do: Can) -> tuple[object, ...]:
    """What does happen to a cell in some light, of what may."""
    fades, spreads, taken, needs = can_do
    own = tuple(need.met(effects.light, effects.held_back) for need in needs)
    return (effects.fades and fades, effects.spreads and spreads, effects.takes and taken, own)


def light_told(circuit: Circuit) -> dict[str, object]:
    """For each cell what the light lets happen to it, over all skies and states, whatever the parts are called."""
    daylight = Daylight(circuit)
    spreading = {source for cell in cells_of(circuit.parts) for source in cell.grows}
    found: dict[str, object] = {}
    known: dict[object, object] = {}
    blocks = followed(circuit)
    for cell in cells_of(circuit.parts):
        if cell.place:
            key = (cell.place, can(cell, spreading))
            if key not in known:
                skies, parts = range(MOONLIGHT, FULL_SUN + 1), daylight.parts[cell.place]
                states = [
                    each
                    for each in daylight.states(cell.place)
                    if _as_pistons(dict(zip(parts, each, strict=True)), blocks)
                ]
                effects = (daylight.effects(cell.place, sky, each) for sky in skies for each in states)
                known[key] = tuple(sorted(Counter(repr(_deeds(each, key[1])) for each in effects).items()))
            found[cell.name] = known[key]
    return found


def _as_pistons(on: Mapping[str, bool], blocks: Mapping[str, str]) -> bool:
    """Whether each block that light follows by itself is where its piston is: a text knows of none that is left out."""
    return all(on[part] is on.get(blocks[part], on[part]) for part in on if part in blocks)
