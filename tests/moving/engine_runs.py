"""The program's own runs of small boxes, shown as the plain stepper shows its own, so that the two can be compared."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from random import Random

from circuitcheck.engine.program import Program
from circuitcheck.engine.refused import RunRefused
from circuitcheck.engine.simulator import Simulator
from circuitcheck.engine.start import the_start
from circuitcheck.engine.step import Action as Worked
from circuitcheck.engine.step import merge, run_game_tick
from circuitcheck.language.load import load_text
from circuitcheck.model.circuit import Circuit
from circuitcheck.space.circuit import read
from circuitcheck.space.configuration import Phase
from circuitcheck.space.occupied import head_of
from circuitcheck.space.water import water_of

from .plain.printing import printed
from .plain.runs import History, Shot
from .plain.things import FALLING, SOURCE, Action, Box, Place, Settings, box

SAID = {8: SOURCE, 9: FALLING}
NO_LEVEL = ("block", "glass", "half", "dust")


class Unread(Exception):
    """The program does not read a box, or does not follow what the settings ask for."""


def circuit_of(made: Box, settings: Settings) -> Circuit:
    """The circuit of a box, as the program reads its text; all dust is named, so that its level can be asked for."""
    nameless = {place: replace(thing, name="") for place, thing in made.things.items()}
    loaded = load_text(printed(box(made.size, nameless, made.water), settings=settings))
    if loaded.diagnostics:
        raise Unread(loaded.diagnostics[0].code)
    drawing = loaded.studies[0].circuit.drawing
    assert drawing is not None
    dust = {at: drawing.name(at) for at, thing in drawing.things.items() if thing.word == "dust"}
    rules = replace(
        loaded.rules,
        water_looks="after_waits" if settings.water_looks == "after_waits" else "class_4",
        piston_lands="wait" if settings.piston_lands == "wait" else "late",
        water_step=settings.water_step,
        hole_reach=settings.hole_reach,
    )
    found = read(replace(drawing, names=dust), rules)
    assert not found.mistakes
    return found.circuit


class Runs:
    """The runs of one box, gt by gt."""

    def __init__(self, made: Box, settings: Settings | None = None) -> None:
        settings = settings or Settings()
        self._box = made
        circuit = circuit_of(made, settings)
        self._program = Program(circuit)
        assert circuit.drawing is not None
        self._drawing = circuit.drawing
        if made.water and not water_of(circuit.drawing, circuit.rules).followed:
            raise Unread("water that is not at rest at the start")
        self._names = {thing.name: self._drawing.name(place) for place, thing in made.things.items()}
        self._soil = {thing.name for thing in made.things.values() if thing.kind == "soil"}
        self._gt = -1
        self.simulators: list[Simulator] = []
        self.refused: list[tuple[Simulator, RunRefused]] = []

    def step(self, actions: Sequence[Action], of: Sequence[Simulator] | None = None) -> list[Simulator]:
        """All that comes of one more gt."""
        worked = [
            Worked(self._program.number[self._names[action.name]], "on" if action.level else "off")
            for action in actions
        ]
        self._gt += 1
        if any(action.name in self._soil and not action.drawn for action in actions):
            raise Unread("a cell that changes by hand")
        if not self._gt:
            self.simulators = Simulator(self._program, 0, the_start(self._program).levels).tell_everyone()
            if any(self._water(simulator) != self._box.water for simulator in self.simulators):
                raise Unread("water that is not at rest at the start")
            return self.simulators
        self.refused = []
        found: list[Simulator] = []
        for simulator in self.simulators:
            simulator.now = self._gt
            try:
                found += run_game_tick([simulator.copy()], worked)
            except RunRefused as refused:
                self.refused.append((simulator, refused))
        self.simulators = merge(found)
        return self.simulators

    def shot(self, simulator: Simulator) -> Shot:
        """What shows of a simulator. Raises Unread where nothing can move: dust has no gauge there."""
        number = self._program.number
        if self._program.motion is None and any(thing.kind == "dust" for thing in self._box.things.values()):
            raise Unread("dust where nothing can move")
        levels = {
            thing.name: simulator.levels[number[self._names[thing.name]]]
            for thing in self._box.things.values()
            if thing.kind not in NO_LEVEL
        }
        levels |= {name: int(levels[name] > 0) for name in self._soil}
        dust = {
            place: simulator.levels[number[self._names[thing.name]]]
            for place, thing in self._box.things.items()
            if thing.kind == "dust"
        }
        things = self._things(simulator)
        water = tuple(sorted(self._water(simulator).items()))
        return Shot(tuple(sorted(levels.items())), tuple(sorted(dust.items())), tuple(sorted(things.items())), water)

    def felt(self, shown: Shot) -> Shot:
        """What shows, but for water that no part feels: of its orders the program follows one only."""
        motion = self._program.motion
        unfelt = {} if motion is None else {motion.flow.place_of[device]: device for device in motion.unfelt}
        return replace(shown, water=tuple((at, level) for at, level in shown.water if at not in unfelt))

    def _water(self, simulator: Simulator) -> Mapping[Place, str]:
        flow = None if self._program.motion is None else self._program.motion.flow
        if flow is None or not flow.place_of:
            return self._box.water
        wet = ((at, simulator.levels[device]) for device, at in flow.place_of.items())
        return {at: SAID.get(level, str(level)) for at, level in wet if level}

    def _things(self, simulator: Simulator) -> Mapping[Place, str]:
        now = simulator.configuration
        if now is None:
            return {place: thing.name for place, thing in self._box.things.items()}
        moving = dict(now.moving)
        found = {
            now.place(place): "motion" if place in moving else thing.name for place, thing in self._box.things.items()
        }
        for home, phase in now.phases:
            head = head_of(self._drawing, now, home)
            if phase is Phase.OUT:
                found[head] = f"head of {self._box.things[home].name}"
            elif phase is Phase.GOING_OUT:
                found[head] = "motion"
        return found


def histories(made: Box, actions: Sequence[Action], until: int, settings: Settings | None = None) -> set[History]:
    """All histories of a box by the program; what can be asked of them is what the plain stepper's show, but water."""
    runs = Runs(made, settings)
    going: list[tuple[list[Simulator], tuple[Shot, ...]]] = []
    ended: set[History] = set()
    for gt in range(until + 1):
        mine = [action for action in actions if action.gt == gt]
        following: dict[tuple[Shot, ...], list[Simulator]] = {}
        for simulators, past in going or [([], ())]:
            runs.simulators, runs._gt = simulators, gt - 1
            for simulator in runs.step(mine):
                following.setdefault((*past, runs.shot(simulator)), []).append(simulator)
            for _, refused in runs.refused if gt else ():
                ended.add(History(past, (refused.rule, refused.at, gt)))
        going = [(merge(each), past) for past, each in following.items()]
    return ended | {History(past) for _, past in going}


def one_history(
    made: Box, actions: Sequence[Action], until: int, chance: Random, settings: Settings | None = None
) -> History:
    """One history of a box by the program, each unknown order drawn by chance."""
    runs, shots = Runs(made, settings), list[Shot]()
    for gt in range(until + 1):
        found = runs.step([action for action in actions if action.gt == gt])
        if runs.refused:
            _, refused = runs.refused[0]
            return History(tuple(shots), (refused.rule, refused.at, gt))
        runs.simulators = [chance.choice(found)]
        shots.append(runs.shot(runs.simulators[0]))
    return History(tuple(shots))
