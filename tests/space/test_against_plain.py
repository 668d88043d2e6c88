"""Random drawings read by the program and by the plain reading of `plain.py`: what feeds what, and what is lost.

Common practice, no source; rules W1 to W10. One thing is left open: where nothing but what powers a piston itself would
power the place above it, that second power is taken to be no more than the first.
"""

from __future__ import annotations

import random

import pytest

from circuitcheck.model.drawing import AROUND, BELOW, MATTERS, At, Direction, Drawing, Thing
from circuitcheck.model.rules import NEWER, OLDER, RuleSet
from circuitcheck.space.circuit import read

from .building import felt_inputs
from .plain import PARTS, Inputs, PlainReading

LAYERS, ROWS, COLUMNS = 3, 4, 5
LYING = ("dust", "dust", "dust", "dust", "dust", "repeater", "repeater", "comparator", "comparator")
HUNG = ("torch", "torch", "lever", "button")


def thing(
    word: str,
    facing: Direction | None = None,
    on: Direction | None = None,
    shape: str = "",
    end: str = "",
    short: bool = False,
) -> Thing:
    numbers = (("delay", 2),) if word == "repeater" else ()
    flags = frozenset({"short"}) if short else frozenset()
    return Thing(MATTERS[word], facing=facing, on=on, shape=shape, end=end, numbers=numbers, flags=flags)


def drawn(source: random.Random, rules: RuleSet) -> Drawing:
    """A floor, blocks strewn over two layers, and parts wherever they can stand."""
    things: dict[At, Thing] = {}
    for row in range(1, ROWS + 1):
        for column in range(1, COLUMNS + 1):
            floor = source.choice(["block"] * 8 + ["lamp", "sensor", "glass", "half"])
            things[1, row, column] = thing(floor, end="top" if floor == "half" else "")
    for layer in range(2, LAYERS + 1):
        places = [(layer, row, column) for row in range(1, ROWS + 1) for column in range(1, COLUMNS + 1)]
        source.shuffle(places)
        for place in places:
            if source.random() < 0.25:
                things[place] = thing(source.choice(["block"] * 5 + ["lamp", "glass"]))
        for place in places:
            if place not in things and source.random() < 0.75:
                made = part(source, rules, things, place)
                if made is not None:
                    things[place] = made
    return Drawing(dict(sorted(things.items())), {}, size=(LAYERS, ROWS, COLUMNS))


def part(source: random.Random, rules: RuleSet, things: dict[At, Thing], place: At) -> Thing | None:
    """Something that can stand at a place, or nothing."""
    word = source.choice([*LYING, *HUNG, "detector", "piston"])
    solid = [way for way in Direction if way.from_(place) in things and things[way.from_(place)].block_type.solid]
    if word in LYING:
        under = things.get(BELOW.from_(place))
        lies = under is not None and under.word in ("block", "lamp", "sensor", "half", "glass")
        if not lies or (under is not None and under.word == "glass" and not rules.dust_on_clear):
            return None
        dot = word == "dust" and rules.dust_dots and source.random() < 0.1
        return thing(word, None if word == "dust" else source.choice(AROUND), shape="dot" if dot else "")
    if word in HUNG:
        holders = [way for way in MATTERS[word].held if way in solid]
        return thing(word, on=source.choice(holders), short=word == "button") if holders else None
    facing = source.choice(list(Direction))
    if word == "piston":
        return thing(word, facing) if all(each.word != "piston" for each in things.values()) else None
    return thing(word, facing)


def said(inputs: dict[str, Inputs]) -> dict[str, Inputs]:
    """What is compared: of a piston its own power, what it answers to above beyond that, what it hears then."""
    found = {}
    for name, feeds in inputs.items():
        own = {source for port, source in feeds if port == "power"}
        above = {source for port, source in feeds if port in ("above", "arming")}
        kept: Inputs = {}
        for (port, source), lost in feeds.items():
            if port in ("above", "arming") and above - own:
                kept["above", source] = lost
            elif port == "heard" and above - own and source not in own:
                kept["heard", source] = 0
            elif port not in ("above", "arming", "heard"):
                kept[port, source] = lost
        found[name] = kept
    return {name: feeds for name, feeds in found.items() if not name.endswith(".block")}


@pytest.mark.parametrize("rules", [OLDER, NEWER], ids=lambda rules: rules.name)
@pytest.mark.parametrize("seed", range(6))
def test_random_drawings_are_read_as_the_plain_reading_reads_them(seed: int, rules: RuleSet) -> None:
    """Common practice, no source; rules W1 to W10."""
    source = random.Random(f"{seed}/{rules.name}")
    ports: dict[str, int] = {}
    losses = set()
    for _ in range(60):
        drawing = drawn(source, rules)
        made = read(drawing, rules)
        if any(each.code == "CKT602" for each in made.mistakes):
            continue  # more lamps and torches around a cell than are looked at
        assert made.mistakes == ()
        expected = said(PlainReading(drawing, rules).inputs())
        assert said(felt_inputs(made.circuit)) == expected
        for feeds in expected.values():
            for (port, _), lost in feeds.items():
                ports[port] = ports.get(port, 0) + 1
                losses.add(lost)
    assert set(ports) >= {"power", "back", "side", "block", "watched"}
    assert losses >= {0, 1, 2}


def test_the_draw_reaches_pistons_that_are_powered_from_above_and_hear() -> None:
    """Of all these drawings some have a piston that answers to the place above it alone, and hears something."""
    source = random.Random("pistons")
    seen: set[str] = set()
    for _ in range(300):
        for name, feeds in PlainReading(drawn(source, NEWER), NEWER).inputs().items():
            if name.startswith("piston"):
                seen |= {port for port, _ in feeds}
    assert seen >= {"power", "above", "arming", "heard"}
    assert "piston" in PARTS
