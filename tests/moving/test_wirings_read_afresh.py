"""The wiring of random boxes while things are moved: read apart, read afresh as a whole, and read by a second reading.

Common practice, no source; rules M4, M9 and W1 to W10.
"""

from __future__ import annotations

import random

import pytest
from space.plain import PlainReading

from circuitcheck.model.drawing import At, Drawing
from circuitcheck.model.rules import FULL_POWER, NEWER
from circuitcheck.space.configuration import AT_HOME, Configuration
from circuitcheck.space.scene import displacement
from circuitcheck.space.strokes import Strokes
from circuitcheck.space.wirings import Inputs, Wirings

from .building import LETTERS, next_of, wiring_of

LYING = "--rqnk"
HELD = "TbB"
STANDING = "SSSSSGhOO>AV)(^uwDN<Cd"


def random_build(seed: int, rows: int, columns: int) -> Drawing:
    """A box in three layers on a floor, in which everything can stand."""
    chosen = random.Random(seed)
    things = {(1, row, column): LETTERS["S"] for row in range(1, rows + 1) for column in range(1, columns + 1)}
    for layer in (2, 3, 4):
        for row in range(1, rows + 1):
            for column in range(1, columns + 1):
                below = things.get((layer - 1, row, column))
                holds = below is not None and below.block_type.solid
                letters = [STANDING, LYING, HELD] if holds else [STANDING]
                if chosen.random() < (0.5 if layer < 4 else 0.25):
                    kind = chosen.choices(letters, [1, 2.5, 1][: len(letters)])[0]
                    things[layer, row, column] = LETTERS[chosen.choice(kind)]
    return Drawing(things, {}, size=(4, rows, columns))


def read_afresh(drawing: Drawing, reader: Wirings, now: Configuration) -> dict[str, Inputs]:
    """The wiring of the drawing as it stands, all of it read at once."""
    found = dict(Wirings(reader.standing(now), NEWER).home.home)
    missing = {drawing.name(home) for home, each in drawing.things.items() if each.is_part} - set(found)
    return found | dict.fromkeys(missing, Inputs(None))


@pytest.mark.parametrize(("rows", "columns", "seeds"), [(7, 7, range(30)), (2, 30, range(40))], ids=["square", "long"])
def test_what_is_read_apart_is_what_is_read_of_the_whole(rows: int, columns: int, seeds: range) -> None:
    """M9: in random boxes, on random ways through their configurations. In long ones much is read apart."""
    differ = apart = 0
    for seed in seeds:
        drawing = random_build(seed, rows, columns)
        strokes, reader = Strokes(drawing, NEWER), Wirings(drawing, NEWER)
        if not strokes.pistons:
            continue
        chosen, now = random.Random(seed), AT_HOME
        for _ in range(10):
            now = next_of(strokes, now, chosen) or now
            wiring = wiring_of(reader, now)
            assert {**wiring.home, **wiring.changed} == read_afresh(drawing, reader, now), seed
            differ += bool(wiring.changed)
            apart += len(reader._apart(displacement(drawing, now))) > 1
    assert differ > 100
    assert apart > 40


@pytest.mark.parametrize("seeds", [range(100, 112), range(120, 132)], ids=str)
def test_each_port_reads_what_a_second_reading_of_the_rules_finds_as_things_stand(seeds: range) -> None:
    """W1 to W9: the plain reading lets each part give and looks where it arrives, in the opposite direction."""
    felt = 0
    for seed in seeds:
        drawing = random_build(seed, 6, 6)
        strokes, reader = Strokes(drawing, NEWER), Wirings(drawing, NEWER)
        chosen, now = random.Random(seed), AT_HOME
        for _ in range(6 if strokes.pistons else 0):
            now = next_of(strokes, now, chosen) or now
            standing = reader.standing(now)
            plain = PlainReading(standing, NEWER)
            for place, thing in standing.things.items():
                if thing.is_part and thing.word != "detector":
                    found = ports_of(plain, place)
                    wired = dict(wiring_of(reader, now).of(standing.name(place)).ports)
                    assert {port: dict(drivers) for port, drivers in wired.items()} == found, (seed, place)
                    felt += any(found.values())
    assert felt > 200


def ports_of(plain: PlainReading, place: At) -> dict[str, dict[str, int]]:
    """What feeds each port of the part at a place, with the levels lost, as the plain reading has it."""
    found: dict[str, dict[str, int]] = {}
    for giver in plain.powers:
        for port, level in plain.ports(place, giver):
            known = found.setdefault(port, {})
            if level:
                lost = FULL_POWER - level
                known[plain.names[giver]] = min(lost, known.get(plain.names[giver], lost))
    return found
