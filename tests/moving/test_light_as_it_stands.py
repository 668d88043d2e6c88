"""The light on cells while things move: what runs go by, what `light` shows, and the drawing as it then stands, read as
any drawing is.

Common practice, no source: G1, G2, M4, M6, Z9. Looked at whenever nothing is in motion: until a thing lands, light
takes it to stand where it was (M4).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from random import Random

import pytest

from circuitcheck.engine.light import Daylight
from circuitcheck.engine.program import Program
from circuitcheck.engine.simulator import Simulator
from circuitcheck.engine.start import starts
from circuitcheck.engine.step import Action, merge, run_game_tick
from circuitcheck.language.load import load_text
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.drawing import MATTERS, At, Drawing, Thing
from circuitcheck.model.light import FULL_SUN
from circuitcheck.plans.layer_light import levels_of
from circuitcheck.space.configuration import Phase
from circuitcheck.space.light import Lighting, shining
from circuitcheck.space.room import Room
from circuitcheck.space.scene import displacement, scene

from .test_light_of_left_blocks import LONG, ROOF

STUCK = ("    ..PS...\n    kr.....", "  r  repeater  facing east  delay 1t  named tick\n")
PUSHED = (ROOF + LONG).replace(STUCK[0], "    .kPS...\n    .......").replace(STUCK[1], "")
"""A lever right beside the piston calls it: its block stays where it was pushed to."""
PULLED = PUSHED.replace("named bolt", "sticky  named bolt")
"""Or it is pulled home again, or let go after a stroke that was too short (M6)."""
PLANKS = (Path(__file__).parent / "plankwatch.circuit").read_text(encoding="utf-8")
WATER = Thing(MATTERS["water"])
GAPS = (1, 2, 3, 5, 9, 20, 40)


def run(program: Program, draw: Random, until: int) -> Iterator[Simulator]:
    """The states at the ends of some gt, in one order, while what people work is changed at random."""
    simulators = Simulator(program, 0, starts(program)[0].levels).tell_everyone()[:1]
    inputs, due = [part for part in program.circuit.inputs if part.cell is None], 0
    for gt in range(until):
        actions = []
        if gt == due:
            part = draw.choice(inputs)
            actions, due = [Action(program.number[part.name], draw.choice(sorted(part.verbs)))], gt + draw.choice(GAPS)
        simulators[0].now = gt
        simulators = merge(run_game_tick(simulators, actions))[:1]
        yield simulators[0]


def as_it_stands(program: Program, simulator: Simulator) -> Drawing:
    """What stands where at this moment, with the water that there is."""
    motion, now = program.motion, simulator.configuration
    assert motion is not None
    assert now is not None
    drawing = scene(motion.drawing, displacement(motion.drawing, now))
    things = dict(drawing.things)
    for at, device in motion.flow.device_at.items():
        if simulator.levels[device]:
            things.setdefault(at, WATER)
        elif at in things and things[at].word == "water":
            del things[at]
    return replace(drawing, things=things, names=dict(drawing.names))


def brightest(levels: tuple[dict[At, int], dict[At, int]], at: At) -> int:
    return max(each.get(at, 0) for each in levels)


def read_anew(drawing: Drawing, circuit: Circuit, on: frozenset[str]) -> tuple[dict[At, int], dict[At, int]]:
    """The light of the sky and of lamps in a drawing in which nothing comes or goes any more."""
    room = Room(drawing, circuit.rules)
    lit = {at: level for at, level in shining(room) if drawing.things[at].word == "light" or drawing.name(at) in on}
    lighting = Lighting(room, on.__contains__)
    return dict(lighting.from_sky().levels), dict(lighting.from_places(lit).levels)


@pytest.mark.parametrize(("text", "runs"), [(PUSHED, 4), (PULLED, 4), (PLANKS, 1)], ids=["pushed", "pulled", "planks"])
def test_runs_and_reports_go_by_the_light_of_the_drawing_as_it_stands(text: str, runs: int) -> None:
    circuit = load_text(text).studies[0].circuit
    assert circuit.drawing is not None
    program, daylight = Program(circuit), Daylight(circuit)
    above = {place: tuple(map(int, place.name.split("_")[1:])) for place in circuit.places}
    seen = set[tuple[str, int]]()
    for seed in range(runs):
        for simulator in run(program, Random(seed), 100):
            now = simulator.configuration
            assert now is not None
            if now.moving or any(phase is not Phase.OUT for _, phase in now.phases):
                continue
            on = frozenset(name for name, level in zip(program.names, simulator.levels, strict=True) if level)
            anew = read_anew(as_it_stands(program, simulator), circuit, on)
            shown = levels_of(circuit, circuit.drawing, on)
            for place, (layer, row, column) in above.items():
                level = brightest(anew, (layer, row, column))
                assert brightest(shown, (layer, row, column)) == level
                assert daylight.light(place, FULL_SUN, on.__contains__) == level
                seen.add((place.name, level))
    assert len(seen) > len(above), "the light never changes"
