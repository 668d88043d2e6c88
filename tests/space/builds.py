"""Machines drawn and said in words as well, and ways to turn drawings: what the tests of whole drawings share."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import NamedTuple

from circuitcheck.checks.outcome import Outcome
from circuitcheck.verify import verify_text

from .building import layer_lines, legend_of, side


class Machine(NamedTuple):
    """A machine in words, its layers from the bottom up, and words that are nearly the same machine."""

    name: str
    words: str
    layers: tuple[str, ...]
    wrong: str


GATE = Machine(
    "two levers hold a gate shut",
    """lever     rope
lever     pond
dust      upper   from rope  length 2
repeater  winch   from upper
dust      beyond  from winch
dust      lower   from pond  length 6
torch     flame   from beyond, lower
lamp      bell    from flame
""",
    ("SSSSSSS/SSSSSSS/SSSSSSS", "a-->-SW/.....-O/b-----."),
    """lever     rope
lever     pond
dust      upper   from rope  length 2
dust      lower   from pond  length 6
torch     flame   from upper, lower
lamp      bell    from flame
""",
)
LATCH = Machine(
    "two torches that hold each other",
    """lever  rope
lever  pond
latch  gate  set rope  reset pond
lamp   bell  from gate
""",
    ("SSS/SSS/SSS/SSS/SSS", "s../SW-/-.-/-ES/..n", ".../.O./.../.../..."),
    """lever  rope
lever  pond
latch  gate  set rope  reset pond
lamp   bell  from gate, gate.inverse
""",
)
LOCK = Machine(
    "a comparator locks a repeater",
    """lever       rope
lever       pond
lever       race
dust        far     from rope   length 3
dust        near    from pond   length 4
comparator  scale   from far    side near
repeater    first   from race
repeater    second  from first  locked by scale
lamp        bell    from second
""",
    ("SSSSSS/SSSSSS/SSSSSS/SSSSSS", ".SSSSc/....-↓/a---}↓/.....O", ".b---./....../....../......"),
    """lever       rope
lever       pond
lever       race
dust        far     from rope   length 3
dust        near    from pond   length 5
comparator  scale   from far    side near
repeater    first   from race
repeater    second  from first  locked by scale
lamp        bell    from second
""",
)
STEPS = Machine(
    "up a step of glass, and not down",
    """lever       rope
lever       pond
dust        low    from rope
dust        high   from rope  length 2
comparator  lower  from low
comparator  upper  from high, pond
lamp        bell   from lower
lamp        sign   from upper
""",
    ("....../SS..../.S..../......", "..S.../a-GS../.Y..../.O....", "..b.../..-}O./....../......"),
    """lever       rope
lever       pond
dust        low    from rope, pond
dust        high   from rope, pond  length 2
comparator  lower  from low
comparator  upper  from high
lamp        bell   from lower
lamp        sign   from upper
""",
)
STUCK = Machine(
    "a stuck piston and what watches it",
    """lever     race
lever     pond
repeater  winch   from pond
detector  wedge   arming race  hears winch
detector  ripple  watches wedge
lamp      bell    from ripple
""",
    side("..S...", "..u...", "......", "OdP.<b", "....SS"),
    """lever     race
lever     pond
repeater  winch   from pond
detector  wedge   arming race  hears pond
detector  ripple  watches wedge
lamp      bell    from ripple
""",
)
PUSH = Machine(
    "a piston with power of its own",
    """lever     rope
repeater  winch   from rope
piston    paddle  from winch
detector  ripple  watches paddle
lamp      bell    from ripple
""",
    ("SSSSS/SSSSS/SSSSS", "...../b>]DO/....."),
    """lever     rope
repeater  winch   from rope
piston    paddle  from winch
detector  ripple  watches winch
lamp      bell    from ripple
""",
)
TURF = Machine(
    "a bed of turf below water, by the sky and a lamp",
    """lever     rope
lamp      bell     from rope
place     bed      gets sky through water or bell through aside, water or lantern through 8 aside, water
sensor    turf     at bed  fades
detector  ripple   watches turf
lamp      lantern  from ripple
""",
    (".../.Q./...", ".../.⇓./...", "SSS/SmS/SSS", "SSS/S~S/SSS", ".../O../...", ".../a../..."),
    """lever     rope
lamp      bell     from rope
place     bed      gets sky through 2 water or bell through 2 water
sensor    turf     at bed  fades
detector  ripple   watches turf
lamp      lantern  from ripple
""",
)
MACHINES = (GATE, LATCH, LOCK, STEPS, STUCK, PUSH, TURF)

# Turning, by letters and by the directions that the legend names

Layers = tuple[str, ...]
CLOCKWISE = {"north": "east", "east": "south", "south": "west", "west": "north"}
MIRRORED = {"east": "west", "west": "east"}


class Drawn(NamedTuple):
    """A drawing: the lines of its legend, and its layers from the bottom up."""

    legend: tuple[str, ...]
    layers: Layers


Turn = Callable[[Drawn], Drawn]


def drawn_of(layers: Layers) -> Drawn:
    return Drawn(tuple(legend_of(layers)), layers)


def _renamed(legend: tuple[str, ...], names: dict[str, str]) -> tuple[str, ...]:
    return tuple(re.sub(r"\b(north|east|south|west)\b", lambda at: names.get(at[0], at[0]), line) for line in legend)


def right(drawn: Drawn) -> Drawn:
    """Turned clockwise as seen from above: what was the north row is the east column."""
    layers = tuple(
        "/".join("".join(row) for row in zip(*layer.split("/")[::-1], strict=True)) for layer in drawn.layers
    )
    return Drawn(_renamed(drawn.legend, CLOCKWISE), layers)


def around(drawn: Drawn) -> Drawn:
    return right(right(drawn))


def left(drawn: Drawn) -> Drawn:
    return right(around(drawn))


def mirrored(drawn: Drawn) -> Drawn:
    """East and west exchanged."""
    layers = tuple("/".join(row[::-1] for row in layer.split("/")) for layer in drawn.layers)
    return Drawn(_renamed(drawn.legend, MIRRORED), layers)


def padded(drawn: Drawn, north: int, east: int, south: int, west: int, above: int, below: int) -> Drawn:
    """With air on all sides, and floors of solid blocks below."""
    wide = [[f"{'.' * west}{row}{'.' * east}" for row in layer.split("/")] for layer in drawn.layers]
    width = len(wide[0][0])
    empty, floor = "." * width, "S" * width
    high = [[*[empty] * north, *layer, *[empty] * south] for layer in wide]
    rows = len(high[0])
    layers = [*[[floor] * rows] * below, *high, *[[empty] * rows] * above]
    needed = [line for line in legend_of(("S.",)) if line not in drawn.legend]
    return Drawn((drawn.legend[0], *needed, *drawn.legend[1:]), tuple("/".join(layer) for layer in layers))


def file_of(drawn: Drawn, words: str) -> str:
    return "\n".join(["language 1", words, *drawn.legend, "drawing", *layer_lines(drawn.layers), "end", ""])


def outcome_of(text: str) -> Outcome:
    """What the program says of a drawing beside a circuit in words."""
    report = verify_text(text)
    assert report.diagnostics == (), report.diagnostics
    (outcome,) = [each for each in report.outcomes if each.title == "the drawing is the circuit"]
    return outcome
