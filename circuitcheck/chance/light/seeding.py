"""What grows cells over again once all that can fade have faded, and whether the machine's own light has a say."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from circuitcheck.checks.sensing import Change, changes, hindrance, rows
from circuitcheck.engine.light import Daylight
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.light import PHASES, SKY, STANDING_LIGHT, Layer, LightPath, Place
from circuitcheck.model.parts.cells import SPREADING, Need

Able = dict[tuple[str, str], tuple[str, ...]]
"""For each sensor that is grown over and each that grows over it, the phases in which that can happen."""


def reseeding(circuit: Circuit) -> Iterator[str]:
    """What re-seeds each sensor, and whether it would without the light of lamps and torches, in words."""
    able = _able(circuit)
    without = _able(_without_own_light(circuit))
    for row, change in _grown_over(circuit):
        if not any(able[row, source] for source in _sources(change)):
            yield f"nothing re-seeds '{row}': {_why_not(circuit, row, change)}"
            continue
        for source, phases in ((source, able[row, source]) for source in _sources(change)):
            if not phases:
                faded = rows(circuit)[source][0].fades
                why = "has faded as well" if faded else "never has light enough while the bare cells take"
                yield f"'{row}' is not re-seeded from '{source}', which {why}"
                continue
            lost = [phase for phase in phases if phase not in without[row, source]]
            own = f", and by the machine's own light alone in {', '.join(lost)}" if lost else ""
            yield f"'{row}' is re-seeded from '{source}' in {', '.join(phases)}{own}"
    lit = (path.source for place in circuit.places for path in place.paths)
    if able == without and not {SKY, STANDING_LIGHT}.issuperset(lit):
        yield "the machine's own light makes no difference to that"


def _grown_over(circuit: Circuit) -> Iterator[tuple[str, Change]]:
    for row, cells in rows(circuit).items():
        yield from ((row, change) for change in changes(circuit, cells) if change.sources)


def _sources(change: Change) -> tuple[str, ...]:
    return tuple(dict.fromkeys(source.row for source in change.sources))


def _able(circuit: Circuit) -> Able:
    """Sensors that have faded can't; all others can where they have light enough, and the bare cells take."""
    daylight, found = Daylight(circuit), Able()
    for row, change in _grown_over(circuit):
        place = rows(circuit)[row][0].place
        for source in change.sources:
            found[row, source.row] = tuple(
                phase
                for phase in PHASES
                if not source.fades
                and _ever(daylight, circuit, source.place, phase, SPREADING)
                and _ever(daylight, circuit, place, phase, change.need)
            )
    return found


def _ever(daylight: Daylight, circuit: Circuit, place: str, phase: str, need: Need) -> bool:
    """Whether a place ever has what is needed in a phase, whatever the parts do."""
    skies = [stretch.sky for stretch in circuit.cycle.stretches() if stretch.phase == phase and place]
    effects = (daylight.effects(place, sky, states) for sky in skies for states in daylight.states(place))
    return any(need.met(each.light, each.held_back) for each in effects)


def _without_own_light(circuit: Circuit) -> Circuit:
    """The circuit with its lamps and torches giving no light to any place."""
    places = (
        place._replace(
            paths=tuple(each for each in place.paths if each.source in (SKY, STANDING_LIGHT)) or (_dark(place),)
        )
        for place in circuit.places
    )
    return replace(circuit, places=tuple(places))


def _dark(place: Place) -> LightPath:
    """A path by which no light comes, ending in the block that all paths to a place end in."""
    return LightPath(SKY, (Layer(1, "solid"), *place.paths[0].layers[-1:]))


def _why_not(circuit: Circuit, row: str, change: Change) -> str:
    if all(source.fades for source in change.sources):
        return "all that could grow over it has faded as well"
    return hindrance(circuit, rows(circuit)[row][0], change, {each.sky for each in circuit.cycle.stretches()}).words
