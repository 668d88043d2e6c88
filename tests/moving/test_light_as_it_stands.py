"""The light on cells while things move: what runs go by, what `light` shows, and the drawing as it then stands, read as
any drawing is.

Common practice, no source: G1, G2, M4, M6, Z9. Looked at whenever nothing is in motion: until a thing lands, light
takes it to stand where it was (M4).
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import replace
from itertools import groupby
from pathlib import Path
from random import Random

import pytest

from circuitcheck.chance.machine.draws import Draws
from circuitcheck.chance.machine.units import Units
from circuitcheck.engine.light import Daylight
from circuitcheck.engine.program import Program
from circuitcheck.engine.refused import RunRefused
from circuitcheck.engine.simulator import Simulator
from circuitcheck.engine.start import starts
from circuitcheck.engine.step import Action, merge, run_game_tick
from circuitcheck.language.load import load_text
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.drawing import MATTERS, At, Drawing, Thing
from circuitcheck.model.light import FULL_SUN, Place
from circuitcheck.plans.layer_light import levels_of, on_in
from circuitcheck.space.configuration import Configuration, Phase
from circuitcheck.space.light import Lighting, shining
from circuitcheck.space.room import Room
from circuitcheck.space.scene import displacement, scene

from .building import checked
from .test_light_of_left_blocks import LONG, ROOF, SHORT, STICKY, TWO

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


def at_of(place: Place) -> At:
    layer, row, column = map(int, place.name.split("_")[1:])
    return layer, row, column


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
    above = {place: at_of(place) for place in circuit.places}
    seen = set[tuple[str, int]]()
    for seed in range(runs):
        for simulator in run(program, Random(seed), 100):
            now = simulator.configuration
            if now is None or not resting(now):
                continue
            on = frozenset(name for name, level in zip(program.names, simulator.levels, strict=True) if level)
            anew = read_anew(as_it_stands(program, simulator), circuit, on)
            shown = levels_of(circuit, circuit.drawing, on_in(program, simulator.levels, now))
            for place, at in above.items():
                level = brightest(anew, at)
                assert brightest(shown, at) == level
                assert daylight.light(place, FULL_SUN, on.__contains__) == level
                seen.add((place.name, level))
    assert len(seen) > len(above), "the light never changes"


def resting(now: Configuration | None) -> bool:
    """Whether nothing is in motion."""
    return now is not None and not now.moving and all(phase is Phase.OUT for _, phase in now.phases)


def is_left(now: Configuration) -> bool:
    """Whether something stays away from its home while all pistons are home."""
    return bool(now.places) and not now.phases


PANE = (
    (ROOF + LONG)
    .replace("    ..PS...", "    ..Pg...")
    .replace("    .S.....", "    .S.S...")
    .replace("  S  block", "  S  block\n  g  glass", 1)
)
"""The roof is of glass, below a block: light comes through it from the side, and through no head."""


@pytest.mark.parametrize(
    ("text", "levels"),
    [
        (ROOF + LONG, [0, FULL_SUN]),
        ((ROOF + SHORT).replace(*STICKY), [0, FULL_SUN]),
        (TWO, [0, FULL_SUN]),
        (PANE, [13, 0, 13]),
    ],
    ids=["left by a plain piston", "let go by a sticky one", "two roofs", "a pane"],
)
def test_light_follows_what_a_stuck_piston_leaves_out(text: str, levels: list[int]) -> None:
    """What chance goes by. Over the cell the roof is gone then: the sun comes straight down; it loses 1 for each step
    aside (G2)."""
    study = load_text(text).studies[0]
    program, (place,) = Program(study.circuit), study.circuit.places
    draws, above, found = Draws(program, Units(program, ())), at_of(place), list[int]()
    for gt, (simulator,) in enumerate(checked(program, study.checks[0])):
        if resting(simulator.configuration):
            on = frozenset(name for name, level in zip(program.names, simulator.levels, strict=True) if level)
            found.append(read_anew(as_it_stands(program, simulator), study.circuit, on)[0].get(above, 0))
            assert draws.effects(FULL_SUN, simulator.levels)[place.name].light == found[-1], gt
    assert [level for level, _ in groupby(found)] == levels


def roofs(draw: Random) -> str:
    """Stuck pistons, each with a roof before it over cells, among blocks, glass and leaves drawn by lot."""
    wide, deep = 7, 3 * draw.choice((1, 2))
    ground = [[["S"] * wide for _ in range(deep)] for _ in range(2)]
    cells, holes, floor, above, top = [*ground, *([["."] * wide for _ in range(deep)] for _ in range(3))]
    plain = draw.random() < 0.5
    for row in range(1, deep, 3):
        roof = draw.choice("SSSgl")
        floor[row][2], floor[row][3], floor[row + 1][:2] = "P", roof, "kr"
        floor[row][4] = roof if plain and draw.random() < 0.4 else "."
        above[row][1], top[row][1] = "S", "a"
        for column in draw.sample(range(3, wide), 2):
            cells[row][column], holes[row][column] = "t", draw.choice("...g")
        for beside in (row - 1, row, row + 1):
            for column in range(3, wide):
                if draw.random() < 0.35 and beside != row:
                    floor[beside][column] = draw.choice("SSg")
                if draw.random() < 0.45:
                    above[beside][column] = draw.choice("SSSgl")
                if draw.random() < 0.3:
                    holes[beside][column] = "."
    rows = ("\n".join(f"    {''.join(row)}" for row in layer) for layer in (cells, holes, floor, above, top))
    drawn = "".join(f"\n  layer {number}\n{each}\n  end" for number, each in enumerate(rows, 1))
    legend = ROOF.partition("drawing")[0].replace(
        "  d  detector  facing east  named ear\n  o  lamp      named bell\n", ""
    )
    more = "".join(f"  {letter}  {word}\n" for letter, word in (("g", "glass"), ("l", "leaf")) if letter in drawn)
    legend = legend.replace("  a  lever", f"{more}  a  lever")
    return f"{legend if plain else legend.replace(*STICKY)}drawing{drawn}\nend\n"


def test_light_is_that_of_the_drawing_as_it_stands_in_builds_by_lot() -> None:
    """On the cells, and at each place as the bench shows it."""
    compared = 0
    for seed in range(10):
        circuit = load_text(roofs(Random(seed))).studies[0].circuit
        assert circuit.drawing is not None
        program, daylight = Program(circuit), Daylight(circuit)
        places = {place.name: place for place in circuit.places}
        lit = {
            (layer + 1, row, column): places[part.cell.place]
            for part in circuit.parts
            if part.cell is not None
            for layer, row, column in [circuit.where[part.name]]
        }
        with suppress(RunRefused):  # a piston may break what hangs on a block
            for simulator in run(program, Random(seed), 60):
                now = simulator.configuration
                if now is None or not resting(now):
                    continue
                on = frozenset(name for name, level in zip(program.names, simulator.levels, strict=True) if level)
                anew = read_anew(as_it_stands(program, simulator), circuit, on)[0]
                shown = levels_of(circuit, circuit.drawing, on_in(program, simulator.levels, now))[0]
                assert {at: level for at, level in shown.items() if level} == anew, seed
                for at, place in lit.items():
                    assert daylight.light(place, FULL_SUN, on.__contains__) == anew.get(at, 0), (seed, at)
                compared += is_left(now)
    assert compared > 10
