"""Machines driven by chance, calculated plainly: gt by gt, cell by cell, nothing taken together.

It is what the product's fast ways are held against. Only the engine's own gt is taken from the product (and, for days
on end, its calendar). What light does, what a cell may do, and with what chance, is written here once more from the
rules G1, G2, G3, X1, X2 and X3 (common practice, no source).
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from itertools import product
from typing import NamedTuple

from circuitcheck.chance.days.calendar import Calendar
from circuitcheck.engine.program import Program, read
from circuitcheck.engine.simulator import Simulator, restore
from circuitcheck.engine.start import starts
from circuitcheck.engine.state import State
from circuitcheck.engine.step import Action, act, run_game_tick
from circuitcheck.language.load import load_text
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.claims import Atom, Test
from circuitcheck.model.light import Layer, LightPath, Place
from circuitcheck.model.parts.sensor import SensorCell

WITHOUT_BURN_OUT = -1
TRIES, PLACES_AROUND = 4, 45
SUN, MOON, NIGHT_LIGHT = 15, 4, 14
GIVES = {"lamp": 15, "torch": 7}
PHASES = ("day", "dusk", "night", "dawn")
IN_TIME = {"dusk": ("dusk", "night"), "night": ("night",), "dawn": ("dawn", "next day"), "day": ("next day",)}
"""In which phases it still counts what is due from the beginning of a phase on."""
WRONG = {"dusk": "day", "night": "day", "dawn": "night", "day": "night"}

MOST_KNOWN = 20_000


class TooManyStates(Exception):
    """There are more states than a test should look at."""


Changes = frozenset[int]
"""The cells that change in one gt, by number."""
Ways = list[tuple[float, Changes]]
"""What may change, each with its chance."""


def circuit_of(text: str) -> Circuit:
    """The circuit of a text that is known to be valid."""
    loaded = load_text(text)
    assert loaded.valid, (text, [each.message for each in loaded.diagnostics])
    return loaded.studies[0].circuit


class Spot(NamedTuple):
    """What lies above a cell."""

    light: int
    held_back: bool


class Bed:
    """The machine of a circuit, without burn-out, with its cells and what the rules let them do."""

    def __init__(self, circuit: Circuit) -> None:
        quiet = replace(circuit, rules=replace(circuit.rules, burn_out_window=WITHOUT_BURN_OUT))
        self.circuit = quiet
        self.program = program = Program(quiet)
        self.cells = {program.number[part.name]: part for part in quiet.parts if isinstance(part, SensorCell)}
        self.in_reach: dict[int, list[int]] = {
            source: [target for target, cell in self.cells.items() if program.names[source] in cell.grows]
            for source in self.cells
        }

    def start(self) -> Simulator:
        """The end of gt 0, the gt before the first day."""
        (only,) = starts(self.program)
        return Simulator(self.program, 0, only.levels).tell_everyone()[0]

    def level(self, name: str, levels: Sequence[int]) -> int:
        return read(self.program.probe(name), levels)

    # Light

    def spots(self, sky: int, levels: Sequence[int]) -> dict[str, Spot]:
        """The light above the cells of each place (rules G1 to G3), and whether what lies there holds light back."""
        lit = {name: self.level(name, levels) > 0 for place in self.circuit.places for name in place.parts}
        return {"": Spot(0, False), **{place.name: self._spot(place, sky, lit) for place in self.circuit.places}}

    def _spot(self, place: Place, sky: int, lit: dict[str, bool]) -> Spot:
        light = max(self._arrives(way, sky, lit) for way in place.paths)
        last = place.paths[0].layers[-1:]
        return Spot(light, any(each.thing in ("water", "half", "solid") and _there(each, lit) for each in last))

    def _arrives(self, way: LightPath, sky: int, lit: dict[str, bool]) -> int:
        rules, from_sky = self.circuit.rules, way.source == "sky"
        if from_sky:
            level = SUN
        elif way.source == "standing_light":
            level = NIGHT_LIGHT
        else:
            level = GIVES[self.circuit.by_name[way.source].word] if lit[way.source] else 0
        for layer in way.layers:
            thing = layer.thing if _there(layer, lit) else "air"
            for _ in range(layer.number):
                if thing == "solid" or (thing == "half" and rules.half_blocks_stop_light):
                    level = 0
                elif thing == "water":
                    level -= rules.water_takes
                elif not (from_sky and level == SUN and thing in ("air", "glass", "dust")):
                    level -= 1
                level = max(level, 0)
        return max(level - (SUN - sky), 0) if from_sky else level

    # What a cell may do

    def own_chances(self, cell: int, grown: bool, spot: Spot) -> list[float]:
        """The chances of the changes that the author has named and that can happen now."""
        return [
            each.chance.of / each.chance.within
            for each in self.cells[cell].becomes
            if each.on != grown
            and each.need.least <= spot.light <= each.need.most
            and each.need.held_back in (None, spot.held_back)
        ]

    def fades(self, cell: int, spot: Spot) -> bool:
        """Whether the cell fades if it is grown and drawn (rule X2)."""
        dark = spot.light < 4 or not self.circuit.rules.change_needs_light
        return self.cells[cell].fades and spot.held_back and dark

    def takes(self, cell: int, levels: Sequence[int], spots: dict[str, Spot]) -> bool:
        """Whether a try at the cell takes (rule X3)."""
        spot = spots[self.cells[cell].place]
        light_enough = spot.light >= 4 or not self.circuit.rules.change_needs_light
        return levels[cell] == 0 and light_enough and not spot.held_back

    @property
    def draw_chance(self) -> float:
        chance = self.circuit.rules.draw_chance
        return chance.of / chance.within


def _there(layer: Layer, lit: dict[str, bool]) -> bool:
    return layer.when is None or lit[layer.when.part] == layer.when.on


def has_edge(edge: Atom, before: int, after: int) -> bool:
    """Whether a signal has its edge between two levels."""
    if edge.test is Test.RISES:
        return before == 0 and after > 0
    if edge.test is Test.FALLS:
        return before > 0 and after == 0
    return before != after


def so_already(edge: Atom, level: int) -> bool:
    """Whether a signal is what the edge would make it."""
    return (edge.test is Test.RISES and level > 0) or (edge.test is Test.FALLS and level == 0)


# Days, each cell drawn by itself


class PlainRun(NamedTuple):
    """Some days simulated."""

    edges: tuple[tuple[int, ...], ...]
    """For each edge, when it was, in gt from the beginning of the first day."""
    drawn: tuple[int, ...]
    """When any cell changed."""
    levels: tuple[tuple[int, ...], ...]
    """For each edge, the level of its signal at the end of each gt."""


def plain_days(
    circuit: Circuit, days: int, seed: int | str, edges: Sequence[Atom], case: str = "fair", faded: bool = False
) -> PlainRun:
    """Lives through consecutive days, drawing every cell in every gt by its own rule."""
    bed, chance = Bed(circuit), random.Random(seed)
    simulator = bed.start()
    if faded:
        gone = [cell for cell, part in bed.cells.items() if part.fades and simulator.levels[cell]]
        simulator = act([simulator], [Action(cell, "throw") for cell in gone])[0]
    found: list[list[int]] = [[] for _ in edges]
    levels: list[list[int]] = [[] for _ in edges]
    drawn: list[int] = []
    before = [bed.level(edge.name, simulator.levels) for edge in edges]
    for phase in Calendar(circuit.cycle, days, case).phases:
        fresh = True
        for now in range(phase.begin, phase.end):
            simulator.now = now + 1
            if simulator.next_due() == now + 1:
                simulator, fresh = simulator.run(now + 1)[0], True
            if phase.sky is not None:
                if fresh:
                    doers = _doers(bed, simulator.levels, phase.sky)
                changed = {cell for doer in doers for cell in doer(chance)}
                fresh = bool(changed)
                if changed:
                    drawn.append(now)
                    simulator = act([simulator], [Action(cell, "throw") for cell in sorted(changed)])[0]
            for place, edge in enumerate(edges):
                after = bed.level(edge.name, simulator.levels)
                if has_edge(edge, before[place], after):
                    found[place].append(now)
                before[place] = after
                levels[place].append(after)
    return PlainRun(tuple(map(tuple, found)), tuple(drawn), tuple(map(tuple, levels)))


Doer = Callable[[random.Random], list[int]]
"""Draws one cell for one gt: which cells change."""


def _doers(bed: Bed, levels: Sequence[int], sky: int) -> list[Doer]:
    """For each cell, how it is drawn while the levels and the sky stay as they are."""
    spots = bed.spots(sky, levels)
    return [_doer(bed, cell, levels[cell] > 0, spots, tuple(levels)) for cell in bed.cells]


def _doer(bed: Bed, cell: int, grown: bool, spots: dict[str, Spot], levels: Sequence[int]) -> Doer:
    spot = spots[bed.cells[cell].place]
    own = bed.own_chances(cell, grown, spot)
    fades, spreads = bed.fades(cell, spot), spot.light >= 9
    takes = [bed.takes(target, levels, spots) for target in bed.in_reach[cell]]

    def draw(chance: random.Random) -> list[int]:
        changed = [cell for each in own if chance.random() < each]
        if grown and chance.random() < bed.draw_chance:
            if fades:
                changed.append(cell)
            elif spreads:
                for _ in range(TRIES):
                    tried = chance.randrange(PLACES_AROUND)
                    if tried < len(takes) and takes[tried]:
                        changed.append(bed.in_reach[cell][tried])
        return changed

    return draw


# Every way of chance


class Enumerated(NamedTuple):
    """The whole distribution of the first edge from the beginning of a phase on."""

    chances: list[float]
    """By gt, from 1 on: the chance that it is the first edge; of those ways on which it is not so already."""
    already: float
    false_alarms: float
    open_order: bool
    """Whether an order was open (rule C5) anywhere, and one was taken."""


def enumerated(
    circuit: Circuit, phase: str, edge: Atom, horizon: int = 1_000_000, most: int = MOST_KNOWN
) -> Enumerated:
    """Every way of chance, gt by gt, up to `horizon` gt from the beginning of the phase on. Raises TooManyStates.

    Of open orders the first is taken.
    """
    bed = _Everywhere(Bed(circuit), edge, most)
    skies = list(_two_days(circuit))
    begin = next(now for now, (day, name, _) in enumerate(skies) if now and _due(phase, day, name))
    masses = {bed.number(bed.bed.start().snapshot()): 1.0}
    alarms, already = 0.0, 0.0
    chances = [0.0]
    for now, (day, name, sky) in enumerate(skies):
        if now == begin:
            already = sum(mass for state, mass in masses.items() if so_already(edge, bed.levels[state]))
            masses = {state: mass for state, mass in masses.items() if not so_already(edge, bed.levels[state])}
        if now >= begin and (not _due(phase, day, name) or len(chances) > horizon):
            break
        later: dict[int, float] = {}
        at_edge = 0.0
        for state, mass in masses.items():
            for chance, after, seen in bed.following(state, sky):
                at_edge += mass * chance if seen else 0.0
                if not seen or now < begin:
                    later[after] = later.get(after, 0.0) + mass * chance
        masses = later
        if now >= begin:
            chances.append(at_edge)
        elif name == WRONG[phase] and day == 0:
            alarms += at_edge
    left = 1.0 - already
    return Enumerated([each / left for each in chances] if left > 1e-14 else [0.0], already, alarms, bed.open_order)


def _due(phase: str, day: int, name: str) -> bool:
    return (name if day == 0 else f"next {name}") in IN_TIME[phase]


def _two_days(circuit: Circuit) -> Iterator[tuple[int, str, int]]:
    """Each gt of two days: the day, its phase, and the sky (rule G1: ten equal steps at dusk and dawn)."""
    cycle = circuit.cycle
    for day in range(2):
        for name, length in zip(PHASES, (cycle.day, cycle.dusk, cycle.night, cycle.dawn), strict=True):
            for at in range(length):
                # The step that a gt lies in: the k-th of ten begins at the k-th tenth of the phase, in whole gt.
                step = max(each for each in range(10) if length * each // 10 <= at)
                yield day, name, {"day": SUN, "dusk": 14 - step, "night": MOON, "dawn": 5 + step}[name]


Following = list[tuple[float, int, bool]]
"""What can follow a state: each with its chance, by its number, and whether the edge is there."""


class _Everywhere:
    """What can follow each state. What the engine made of a state once it makes of it again, and is not asked twice.

    States are numbered: looking them up by all that they hold took most of the time.
    """

    def __init__(self, bed: Bed, edge: Atom, most: int) -> None:
        self.bed = bed
        self.open_order = False
        self.levels: list[int] = []
        """For each state, the level of the signal that is asked about."""
        self._edge = edge
        self._most = most
        self._states: list[State] = []
        self._numbers: dict[State, int] = {}
        self._known: dict[tuple[int, int], Following] = {}

    def number(self, state: State) -> int:
        known = self._numbers.get(state)
        if known is None:
            known = self._numbers[state] = len(self._states)
            self._states.append(state)
            self.levels.append(self.bed.level(self._edge.name, state.levels))
        return known

    def following(self, number: int, sky: int) -> Following:
        known = self._known.get((number, sky))
        if known is None:
            if len(self._known) >= self._most:
                raise TooManyStates
            known = self._known[number, sky] = []
            for chance, state in self._following(self._states[number], sky):
                after = self.number(state)
                known.append((chance, after, has_edge(self._edge, self.levels[number], self.levels[after])))
        return known

    def _following(self, state: State, sky: int) -> Iterator[tuple[float, State]]:
        simulator = restore(self.bed.program, state, -1)
        simulator.now = 0
        moving = self.bed.program.moving  # then the draws come before pistons start (rule C2)
        middle = self._first(simulator.run_waits() if moving else run_game_tick([simulator], ()))
        for chance, changed in _together(self.bed, middle.levels, sky):
            actions = [Action(cell, "throw") for cell in sorted(changed)]
            drawn = act([restore(self.bed.program, middle, 0)], actions)
            yield chance, self._first([later for each in drawn for later in each.run(0)] if moving else drawn)

    def _first(self, simulators: Sequence[Simulator]) -> State:
        found = dict.fromkeys(simulator.snapshot() for simulator in simulators)
        self.open_order = self.open_order or len(found) > 1
        return next(iter(found))


def _together(bed: Bed, levels: Sequence[int], sky: int) -> Iterator[tuple[float, Changes]]:
    """Every choice of what each cell does in one gt, with the chance of that choice."""
    spots = bed.spots(sky, levels)
    ways = [_ways(bed, cell, levels, spots) for cell in bed.cells]
    total: dict[Changes, float] = {}
    for chosen in product(*ways):
        chance, changed = 1.0, frozenset[int]()
        for each, more in chosen:
            chance, changed = chance * each, changed | more
        total[changed] = total.get(changed, 0.0) + chance
    for changed, chance in total.items():
        yield chance, changed


def _ways(bed: Bed, cell: int, levels: Sequence[int], spots: dict[str, Spot]) -> Ways:
    """What one cell may change, each of its own changes and each try told apart."""
    spot, grown = spots[bed.cells[cell].place], levels[cell] > 0
    mine, nothing = frozenset({cell}), frozenset[int]()
    ways: Ways = [(1.0, nothing)]
    for own in bed.own_chances(cell, grown, spot):
        ways = [pair for each in ways for pair in _either(each, own, mine)]
    drawn = bed.draw_chance if grown else 0.0
    if bed.fades(cell, spot):
        ways = [pair for each in ways for pair in _either(each, drawn, mine)] if drawn else ways
    elif drawn and spot.light >= 9:
        places = [target if bed.takes(target, levels, spots) else -1 for target in bed.in_reach[cell]]
        elsewhere = (PLACES_AROUND - len(places)) / PLACES_AROUND
        one_try = [(1 / PLACES_AROUND, place) for place in places] + [(elsewhere, -1)]
        tried: dict[Changes, float] = {nothing: 1.0 - drawn}
        for tries in product(one_try, repeat=TRIES):
            chance = drawn
            for each, _ in tries:
                chance *= each
            hit = frozenset(place for _, place in tries if place >= 0)
            tried[hit] = tried.get(hit, 0.0) + chance
        ways = [(one * other, more | hit) for one, more in ways for hit, other in tried.items()]
    kept: dict[Changes, float] = {}
    for chance, changed in ways:
        kept[changed] = kept.get(changed, 0.0) + chance
    return [(chance, changed) for changed, chance in kept.items() if chance > 0.0]


def _either(way: tuple[float, Changes], chance: float, more: Changes) -> Ways:
    return [(way[0] * (1.0 - chance), way[1]), (way[0] * chance, way[1] | more)]
