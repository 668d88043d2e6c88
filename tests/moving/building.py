"""What the tests of strokes share: builds out of letters, and a stroke led through its steps.

A build is its layers from the bottom up, the rows of a layer with a `/` between them.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from typing import NamedTuple

from circuitcheck.engine.program import Program
from circuitcheck.engine.simulator import Simulator
from circuitcheck.engine.start import starts
from circuitcheck.engine.step import Action, merge, run_game_tick
from circuitcheck.model.claims import Check
from circuitcheck.model.drawing import (
    ABOVE,
    BELOW,
    EAST,
    MATTERS,
    NORTH,
    SOUTH,
    WEST,
    At,
    Direction,
    Drawing,
    Thing,
)
from circuitcheck.model.rules import NEWER, RuleSet
from circuitcheck.space.configuration import AT_HOME, Configuration, Phase, Stroke
from circuitcheck.space.strokes import Blocked, Breaks, Step, Strokes
from circuitcheck.space.wirings import Wiring, Wirings


def thing(word: str, facing: Direction | None = None, on: Direction | None = None, **more: str) -> Thing:
    """A thing of a kind; `more` is its shape, its end, or `flag`."""
    flags = frozenset({more["flag"]}) if "flag" in more else frozenset()
    on = on or (MATTERS[word].held[0] if MATTERS[word].held else None)
    return Thing(MATTERS[word], facing=facing, on=on, flags=flags, shape=more.get("shape", ""), end=more.get("end", ""))


LETTERS = {
    "S": thing("block"),
    "F": thing("block", shape="fixed"),
    "G": thing("glass"),
    "h": thing("half", end="top"),
    "_": thing("half", end="bottom"),
    "O": thing("lamp"),
    "C": thing("sensor"),
    "D": thing("detector", EAST),
    "d": thing("detector", WEST),
    "N": thing("detector", NORTH),
    "-": thing("dust"),
    "T": thing("torch"),
    "W": thing("torch", on=WEST),
    "E": thing("torch", on=EAST),
    "Z": thing("torch", on=NORTH),
    "*": thing("light"),
    "r": thing("repeater", EAST),
    "q": thing("repeater", WEST),
    "n": thing("repeater", NORTH),
    "k": thing("comparator", EAST),
    "b": thing("lever"),
    "B": thing("button"),
    "L": thing("leaf"),
    "~": thing("water"),
    ">": thing("piston", EAST, flag="sticky"),
    "<": thing("piston", WEST, flag="sticky"),
    "A": thing("piston", NORTH, flag="sticky"),
    "V": thing("piston", SOUTH, flag="sticky"),
    "u": thing("piston", ABOVE, flag="sticky"),
    "w": thing("piston", BELOW, flag="sticky"),
    ")": thing("piston", EAST),
    "(": thing("piston", WEST),
    "^": thing("piston", NORTH),
    "v": thing("piston", SOUTH),
}


def shaft(bottom: str) -> str:
    """Layers 1 and 2 of a text: solid ground, the first with this middle row, the second with a shaft down to it."""
    rows = (("SSSSSSS", bottom, "SSSSSSS"), ("SSSSSSS", "SSS.SSS", "SSSSSSS"))
    layers = ((f"layer {number}", *(f"  {row}" for row in each), "end") for number, each in enumerate(rows, 1))
    return "".join(f"\n  {line}" for each in layers for line in each)


def drawing_of(*layers: str) -> Drawing:
    """The drawing of some layers, in which nothing has a name of its own."""
    things = {
        (number, row, column): LETTERS[letter]
        for number, layer in enumerate(layers, 1)
        for row, letters in enumerate(layer.split("/"), 1)
        for column, letter in enumerate(letters, 1)
        if letter != "."
    }
    rows = layers[0].split("/")
    return Drawing(things, {}, size=(len(layers), len(rows), len(rows[0])))


def strokes_of(*layers: str, rules: RuleSet = NEWER) -> Strokes:
    """The strokes of a drawing."""
    return Strokes(drawing_of(*layers), rules)


def at(column: int, row: int = 1, layer: int = 1) -> At:
    """A place in a build of one row, by its column."""
    return (layer, row, column)


def ats(*columns: int) -> tuple[At, ...]:
    """Places in a build of one row."""
    return tuple(map(at, columns))


def started(strokes: Strokes, now: Configuration = AT_HOME, piston: At | None = None) -> Step:
    """The step of a piston, or of the only one, that starts to go out and can."""
    step = strokes.start_out(now, strokes.pistons[0] if piston is None else piston)
    assert isinstance(step, Step), step
    return step


def started_home(strokes: Strokes, now: Configuration, piston: At | None = None) -> Step:
    """The step of a piston, or of the only one, that starts to go home."""
    step = strokes.start_home(now, strokes.pistons[0] if piston is None else piston)
    assert isinstance(step, Step), step
    return step


def landed(strokes: Strokes, now: Configuration, out: bool = True, piston: At | None = None) -> Step:
    """The step in which all that is in motion by a stroke lands."""
    return strokes.land(now, Stroke(strokes.pistons[0] if piston is None else piston, out))


def out(strokes: Strokes, piston: At | None = None, now: Configuration = AT_HOME) -> Configuration:
    """The configuration once a piston has gone out from another one."""
    return landed(strokes, started(strokes, now, piston).after, True, piston).after


def home(strokes: Strokes, now: Configuration, piston: At | None = None) -> Configuration:
    """The configuration once a piston has gone home from another one."""
    return landed(strokes, started_home(strokes, now, piston).after, False, piston).after


class Refused(NamedTuple):
    """Why a stroke is not made: `blocked` or `breaks`, and the places."""

    how: str
    places: tuple[At, ...]


def refused(strokes: Strokes, now: Configuration = AT_HOME, piston: At | None = None) -> Refused:
    """Why a piston, or the only one, can't go out."""
    found = strokes.start_out(now, strokes.pistons[0] if piston is None else piston)
    if isinstance(found, Blocked):
        return Refused("blocked", (found.place,))
    assert isinstance(found, Breaks), found
    return Refused("breaks", tuple(each.place for each in found.broken))


def next_of(strokes: Strokes, now: Configuration, chosen: random.Random, short: bool = True) -> Configuration | None:
    """One random step from a configuration; None where the stroke can't be made."""
    under_way = now.under_way
    if under_way and chosen.random() < 0.5:
        return strokes.land(now, chosen.choice(under_way)).after
    piston = chosen.choice(strokes.pistons)
    phase = now.phase(piston)
    if phase is Phase.GOING_HOME or (phase is Phase.GOING_OUT and not short):
        return None
    step = strokes.start_out(now, piston) if phase is Phase.HOME else strokes.start_home(now, piston)
    return step.after if isinstance(step, Step) else None


def wiring_of(reader: Wirings, now: Configuration) -> Wiring:
    found = reader.wiring(now)
    assert isinstance(found, Wiring)
    return found


def checked(program: Program, check: Check) -> Iterator[list[Simulator]]:
    """The states at the ends of the gt of a check."""
    simulators = Simulator(program, 0, starts(program)[0].levels).tell_everyone()
    for gt in range(check.until + 1):
        for simulator in simulators:
            simulator.now = gt
        acts = [Action(program.number[act.name], act.verb) for act in check.acts if act.at == gt]
        simulators = merge(run_game_tick(simulators, acts))
        yield simulators
