"""The light at places against shortest paths through a graph of the blocks, found by NetworkX.

Source: NetworkX (networkx.org), Dijkstra's algorithm. A block is an edge that costs what it takes of the light, a
source is an edge that costs what it lacks of 15, and the light is 15 less the shortest path from the light to the
cell, never below 0. What sources give and blocks take: common practice, no source; rules G1, G2, G3.
"""

from __future__ import annotations

import random
from collections.abc import Mapping
from typing import NamedTuple

import networkx
import pytest

from circuitcheck.engine.light import Daylight

from .laws import circuit_of

CLEAR = ("air", "glass")
LAST = ("air", "leaf", "water", "half", "solid")
LAMPS = {"lantern": 15, "beacon": 15, "brand": 7, "spill": 7}
"""The lamps and torches with what they give (rule G1)."""
GATES = ("sluice", "hatch")
STANDING = 14

HEAD = """language 1
lever     sluice
lever     hatch
lever     rope
lamp      lantern  from rope
lamp      beacon   from sluice
torch     brand    from rope
torch     spill    from hatch
"""


class Block(NamedTuple):
    """Some blocks in a row, there while a part is on or off."""

    number: int
    thing: str
    part: str = ""
    on: bool = True

    @property
    def words(self) -> str:
        """As it is written in a file."""
        when = f" when {self.part} {'on' if self.on else 'off'}" if self.part else ""
        return f"{self.number} {self.thing}{when}"


Ways = list[tuple[str, list[Block]]]


class Settings(NamedTuple):
    """The settings that light depends on."""

    water: int
    half_stops: bool


def drawn_ways(source: random.Random) -> Ways:
    """Some ways to one place; all of them end in the same block."""
    last = drawn_block(source, LAST)._replace(number=1)
    ways = []
    for _ in range(source.randrange(1, 5)):
        start = source.choice(["sky", "sky", "standing_light", *LAMPS])
        things = (*CLEAR, *CLEAR, "aside", "leaf", "water", "half", "solid")
        blocks = [drawn_block(source, things) for _ in range(source.randrange(4))]
        ways.append((start, [*blocks, last]))
    return ways


def drawn_block(source: random.Random, things: tuple[str, ...]) -> Block:
    part = source.choice(["", "", *GATES, *LAMPS])
    return Block(source.randrange(1, 5), source.choice(things), part, source.random() < 0.5)


def graph_of(ways: Ways, sky: int, on: Mapping[str, bool], settings: Settings) -> networkx.DiGraph[object]:
    """From the light to the cell. Each place on a way is there twice where full sun can reach it: in it, and below."""
    graph: networkx.DiGraph[object] = networkx.DiGraph()
    graph.add_nodes_from(["light", "cell"])
    for way, (start, blocks) in enumerate(ways):
        if start == "sky":
            graph.add_edge("light", (way, 0, "sun"), weight=15 - sky)
        elif start == "standing_light":
            graph.add_edge("light", (way, 0, "below"), weight=15 - STANDING)
        elif on[start]:
            graph.add_edge("light", (way, 0, "below"), weight=15 - LAMPS[start])
        passed = [
            block.thing if not block.part or on[block.part] is block.on else "air"
            for block in blocks
            for _ in range(block.number)
        ]
        for at, thing in enumerate(passed):
            takes = {"water": settings.water, "leaf": 1, "aside": 1, **dict.fromkeys(CLEAR, 1)}
            if not settings.half_stops:
                takes["half"] = 1
            if thing in CLEAR:
                graph.add_edge((way, at, "sun"), (way, at + 1, "sun"), weight=0)
            elif thing in takes:
                graph.add_edge((way, at, "sun"), (way, at + 1, "below"), weight=takes[thing])
            if thing in takes:
                graph.add_edge((way, at, "below"), (way, at + 1, "below"), weight=takes[thing])
        for kind in ("sun", "below"):
            graph.add_edge((way, len(passed), kind), "cell", weight=0)
    return graph


def light_by_paths(graph: networkx.DiGraph[object]) -> int:
    """What is left of 15 on the shortest path; nothing where there is none."""
    lengths = networkx.single_source_dijkstra_path_length(graph, "light")
    return max(15 - int(lengths["cell"]), 0) if "cell" in lengths else 0


def text_of(ways: Ways, settings: Settings) -> str:
    words = " or ".join(f"{start} through {', '.join(block.words for block in blocks)}" for start, blocks in ways)
    return (
        HEAD
        + f"setting water_takes {settings.water}\n"
        + f"setting half_blocks_stop_light {'yes' if settings.half_stops else 'no'}\n"
        + f"place bed gets {words}\n"
    )


@pytest.mark.parametrize("water", [1, 3])
@pytest.mark.parametrize("half_stops", [True, False])
@pytest.mark.parametrize("seed", range(3))
def test_the_light_is_what_the_shortest_path_leaves(water: int, half_stops: bool, seed: int) -> None:
    # A half block whose face lets light through takes 1, like any block of which the rules say nothing else.
    source = random.Random(f"{water}/{half_stops}/{seed}")
    settings = Settings(water, half_stops)
    seen = set()
    for _ in range(25):
        ways = drawn_ways(source)
        circuit = circuit_of(text_of(ways, settings))
        (place,) = circuit.places
        daylight = Daylight(circuit)
        for _ in range(3):
            on = {name: source.random() < 0.5 for name in (*LAMPS, *GATES)}
            for sky in range(16):
                expected = light_by_paths(graph_of(ways, sky, on, settings))
                assert daylight.light(place, sky, on.__getitem__) == expected, (ways, sky, on)
                seen.add(expected)
    # The draw reaches darkness, full light, and most of what lies between.
    assert {0, 15} <= seen
    assert len(seen) >= 12


@pytest.mark.parametrize("rules", ["older", "newer", "newest"])
def test_under_each_set_of_rules_the_light_is_what_the_shortest_path_leaves(rules: str) -> None:
    # Half blocks stop light under all of them; water takes 1 under newest, else 3 (table of settings).
    source = random.Random(rules)
    settings = Settings(1 if rules == "newest" else 3, True)
    for _ in range(25):
        ways = drawn_ways(source)
        lines = [line for line in text_of(ways, settings).splitlines() if not line.startswith("setting")]
        circuit = circuit_of("\n".join([*lines, f"rules {rules}", ""]))
        daylight = Daylight(circuit)
        on = {name: source.random() < 0.5 for name in (*LAMPS, *GATES)}
        for sky in range(16):
            expected = light_by_paths(graph_of(ways, sky, on, settings))
            assert daylight.light(circuit.places[0], sky, on.__getitem__) == expected, (ways, sky, on)


def test_two_ways_that_share_nothing_are_two_sources() -> None:
    # By hand: a lamp behind five blocks leaves 10, the sun below a leaf and two of water leaves 8, at night nothing.
    ways: Ways = [("lantern", [Block(3, "air"), Block(2, "leaf")]), ("sky", [Block(2, "water"), Block(1, "leaf")])]
    settings = Settings(3, True)
    lit = {name: name == "lantern" for name in (*LAMPS, *GATES)}
    dark = dict.fromkeys(lit, False)
    assert [light_by_paths(graph_of(ways, 15, on, settings)) for on in (lit, dark)] == [10, 8]
    assert [light_by_paths(graph_of(ways, 4, on, settings)) for on in (lit, dark)] == [10, 0]
