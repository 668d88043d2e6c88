"""When the cells of a sensor can change, and why they can't: light, what is above them, chance (rules X1 to X3)."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from circuitcheck.checks.outcome import Finding
from circuitcheck.engine.light import Daylight
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.parts.sensor import SPREADING, Cell, Need, taking, withering

NO_LIGHT_NEEDED = Need()


class Change(NamedTuple):
    """One way in which the cells of a sensor may change, and what it takes."""

    words: str
    """As in "it can …"."""
    to_on: bool
    need: Need
    rule: str
    chance: float
    """That a cell is drawn, in each gt."""
    sources: tuple[Cell, ...] = ()
    """The cells that it takes as well, in light of their own."""


def rows(circuit: Circuit) -> dict[str, list[Cell]]:
    """The cells of each sensor, by the name that they share."""
    found: dict[str, list[Cell]] = {}
    for part in circuit.parts:
        if isinstance(part, Cell):
            found.setdefault(part.row, []).append(part)
    return found


def changes(circuit: Circuit, cells: Sequence[Cell]) -> Iterator[Change]:
    """Every way in which the cells of one sensor may change; all of them are alike but for what grows over them."""
    cell, rules = cells[0], circuit.rules
    drawn = rules.draw_chance.number
    if cell.withers:
        yield Change("wither", False, withering(rules), "X2", drawn)
    sources = dict.fromkeys(name for each in cells for name in each.grows)
    if sources:
        named = (circuit.by_name[name] for name in sources)
        known = tuple(part for part in named if isinstance(part, Cell))
        yield Change("be grown over", True, taking(rules), "X3", drawn, known)
    for each in cell.becomes:
        title = f" (“{each.title}”)" if each.title else ""
        words = f"become {'on' if each.on else 'off'}{title}"
        yield Change(words, each.on, each.need, "X1", each.chance.number)


def hindrance(circuit: Circuit, cell: Cell, change: Change, skies: Iterable[int]) -> str:
    """Why no cell can change in this way under any of some skies, whatever the parts do; empty if one can."""
    levels = tuple(skies)
    if not change.chance:
        return "its chance is 0" if change.rule == "X1" else "nothing is ever drawn: the chance is 0"
    daylight = Daylight(circuit)
    here = _unmet(daylight, cell.place, change.need, levels)
    if here or not change.sources:
        return here
    there = [_unmet(daylight, source.place, SPREADING, levels) for source in change.sources]
    return f"what could grow over it can't: {there[0]}" if all(there) else ""


def _unmet(daylight: Daylight, place: str, need: Need, skies: Sequence[int]) -> str:
    """Why a place never has what is needed; empty if it has."""
    if not place:
        return "" if need == NO_LIGHT_NEEDED else "it is at no place"
    found = [daylight.effects(place, sky, states) for sky in skies for states in daylight.states(place)]
    if any(need.met(each.light, each.held_back) for each in found):
        return ""
    fitting = [each.light for each in found if need.held_back in (None, each.held_back)]
    if not fitting:
        return (
            f"nothing above it at '{place}' holds light back"
            if need.held_back
            else f"what is above it at '{place}' holds light back"
        )
    if min(fitting) > need.most:
        return f"the light at '{place}' is {min(fitting)} or more, and it takes {need.most} or less"
    return f"the light at '{place}' is {max(fitting)} or less, and it takes {need.least} or more"


def still(circuit: Circuit) -> Iterator[Finding]:
    """The sensors that never change, though their author says how they may (V4)."""
    skies = {stretch.sky for stretch in circuit.cycle.stretches()}
    for row, cells in rows(circuit).items():
        possible = list(changes(circuit, cells))
        if not possible:
            continue
        hindered = {change: hindrance(circuit, cells[0], change, skies) for change in possible}
        free = [change for change, why in hindered.items() if not why]
        starts = {bool(cell.start) for cell in cells}
        if any(change.to_on not in starts or starts == {True, False} for change in free):
            continue
        if free:
            why = "it starts grown, and can only be grown over" if True in starts else "it starts bare and can't grow"
        else:
            why = "; ".join(f"it can't {change.words} ({change.rule}): {why}" for change, why in hindered.items())
        message = f"the sensor '{row}' never changes: {why}"
        yield Finding("V4", cells[0].name, cells[0].span, message, "'circuitcheck light' shows the light at its place")
