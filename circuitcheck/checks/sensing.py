"""When the cells of a sensor can change, and why they can't: light, what is above them, chance (rules X1 to X3)."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from circuitcheck.checks.finding import Finding
from circuitcheck.engine.light import Daylight
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.parts.cells import SPREADING, Cell, Need, cells_of, fading, taking

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


class Hindrance(NamedTuple):
    """Why something can't change, and the rules behind it; no words if it can."""

    words: str = ""
    rules: tuple[str, ...] = ()


def rows(circuit: Circuit) -> dict[str, list[Cell]]:
    """The cells of each sensor, by the name that they share; cells of one name that differ stand apart."""
    kinds: dict[tuple[object, ...], list[Cell]] = {}
    for cell in cells_of(circuit.parts):
        kinds.setdefault((cell.row, cell.place, cell.fades, cell.becomes, bool(cell.grows)), []).append(cell)
    names = [cells[0].row for cells in kinds.values()]
    return {cells[0].row if names.count(cells[0].row) == 1 else cells[0].name: cells for cells in kinds.values()}


def changes(circuit: Circuit, cells: Sequence[Cell]) -> Iterator[Change]:
    """Every way in which the cells of one sensor may change; all of them are alike but for what grows over them."""
    cell, rules = cells[0], circuit.rules
    drawn = rules.draw_chance.number
    if cell.fades:
        yield Change("fade", False, fading(rules), "X2", drawn)
    sources = dict.fromkeys(name for each in cells for name in each.grows)
    if sources:
        known = tuple(cells_of(circuit.by_name[name] for name in sources))
        yield Change("be grown over", True, taking(rules), "X3", drawn, known)
    for each in cell.becomes:
        title = f" (“{each.title}”)" if each.title else ""
        words = f"become {'on' if each.on else 'off'}{title}"
        yield Change(words, each.on, each.need, "X1", each.chance.number)


def hindrance(circuit: Circuit, cell: Cell, change: Change, skies: Iterable[int]) -> Hindrance:
    """Why no cell can change in this way under any of some skies, whatever the parts do."""
    levels = tuple(skies)
    if not change.chance:
        none = "its chance is 0" if change.rule == "X1" else "nothing is ever drawn: the chance is 0"
        return Hindrance(none, ("X1",))
    light = _light_of(circuit)
    here = light.unmet(cell.place, change.need, levels)
    if here.words or not change.sources:
        return here
    there = [light.unmet(place, SPREADING, levels) for place in dict.fromkeys(each.place for each in change.sources)]
    if not all(each.words for each in there):
        return Hindrance()
    return there[0]._replace(words=f"what could grow over it can't: {there[0].words}")


class _Light:
    """The light of one circuit, and what has been found of its places."""

    def __init__(self, circuit: Circuit) -> None:
        self.circuit = circuit
        self._daylight = Daylight(circuit)
        self._known: dict[tuple[str, Need, tuple[int, ...]], Hindrance] = {}

    def unmet(self, place: str, need: Need, skies: tuple[int, ...]) -> Hindrance:
        """Why a place never has what is needed."""
        key = (place, need, skies)
        if key not in self._known:
            self._known[key] = _unmet(self._daylight, place, need, skies)
        return self._known[key]


_LIGHTS: deque[_Light] = deque(maxlen=4)


def _light_of(circuit: Circuit) -> _Light:
    """The light of a circuit, which is asked about cell by cell."""
    known = next((each for each in _LIGHTS if each.circuit is circuit), None)
    if known is None:
        known = _Light(circuit)
        _LIGHTS.append(known)
    return known


def _unmet(daylight: Daylight, place: str, need: Need, skies: Sequence[int]) -> Hindrance:
    if not place:
        return Hindrance() if need == NO_LIGHT_NEEDED else Hindrance("it is at no place")
    found = [daylight.effects(place, sky, states) for sky in skies for states in daylight.states(place)]
    if any(need.met(each.light, each.held_back) for each in found):
        return Hindrance()
    fitting = [each.light for each in found if need.fits(each.held_back)]
    if not fitting:
        if need.held_back:
            return Hindrance(f"nothing above it at '{place}' holds light back, as water or a solid block would")
        return Hindrance(f"what is above it at '{place}' holds light back")
    stops = any(layer.thing in ("solid", "half") for path in daylight.places[place].paths for layer in path.layers)
    rules = ("G1", "G2", *(["G3"] if stops else []))
    if min(fitting) > need.most:
        return Hindrance(f"the light at '{place}' is {min(fitting)} or more, and it takes {need.most} or less", rules)
    return Hindrance(f"the light at '{place}' is {max(fitting)} or less, and it takes {need.least} or more", rules)


def still(circuit: Circuit) -> Iterator[Finding]:
    """The sensors that never change, though their author says how they may (V4)."""
    skies = {stretch.sky for stretch in circuit.cycle.stretches()}
    sources = {name for cell in cells_of(circuit.parts) for name in cell.grows}
    for row, cells in rows(circuit).items():
        possible = list(changes(circuit, cells))
        if not possible and any(cell.name in sources for cell in cells):
            continue  # it is there to grow over others
        why = why_still(circuit, cells, skies) if possible else "the file does not say how its cells can change"
        if why:
            hint = "'circuitcheck light' shows the light at its place" if possible else "add fades, grows or becomes"
            if possible and circuit.things_move:
                why, hint = _with_water_that_is_left(circuit, cells, why, hint)
            yield Finding("V4", cells[0].name, cells[0].span, f"the sensor '{row}' never changes: {why}", hint)


def _with_water_that_is_left(circuit: Circuit, cells: Sequence[Cell], why: str, hint: str) -> tuple[str, str]:
    """Why cells never change, and what to do: first of all that water is not followed, if it could come above them."""
    from circuitcheck.checks.drawing.water_left import could_come_to, water_left

    left = water_left(circuit) if any(could_come_to(circuit, cell.name) for cell in cells) else None
    if left is None:
        return why, hint
    return f"{left.message} ({left.rule}), and there {why}", left.hint


def why_still(circuit: Circuit, cells: Sequence[Cell], skies: Iterable[int]) -> str:
    """Why no cell of a sensor can change under some skies, from its start on; empty if one can."""
    levels = tuple(skies)
    hindered = {change: hindrance(circuit, cells[0], change, levels) for change in changes(circuit, cells)}
    free = [change for change, why in hindered.items() if not why.words]
    starts = {bool(cell.start) for cell in cells}
    if any(change.to_on not in starts or starts == {True, False} for change in free):
        return ""
    kept = [f"it can't {each.words} ({each.rule}): {why.words}" for each, why in hindered.items() if why.words]
    if free and True in starts:
        kept.insert(0, "its cells are grown from the start, and can only grow: add 'starts off'")
    elif free:
        kept.insert(0, "its cells are bare from the start, and nothing grows them")
    return "; ".join(kept)
