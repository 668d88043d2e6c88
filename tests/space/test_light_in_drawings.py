"""Light in drawings against shortest paths through a graph of their places, found by NetworkX.

Source: NetworkX (networkx.org), Dijkstra's algorithm. What sources give and blocks take: common practice, no source;
rules G1, G2 and G3.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import replace
from itertools import product

import pytest

from circuitcheck.engine.light import Daylight
from circuitcheck.language.load import load_text
from circuitcheck.model.drawing import At, Drawing
from circuitcheck.model.parts.sensor import SensorCell
from circuitcheck.model.rules import NEWER, RuleSet
from circuitcheck.space.light import Lighting, shining
from circuitcheck.space.room import Room

from .building import circuit_of, drawn, side
from .lighting import FULL_SUN, GIVES, SOLID, Letters, graph_of, letters_of, lit

CLUTTER = "SSSSSSSS%%%~~~^^__GGG.........." + "OO]"
"""The letters of random drawings, by how often they are drawn."""
DETERMINED = 4
"""The least level on which anything hangs: what a cell needs in order not to fade, or to be grown over (X2, X3)."""


def strewn(
    source: random.Random,
    size: tuple[int, int, int],
    letters: str = CLUTTER,
    floor: str = "SSSSGO",
    fixed: Letters | None = None,
    walls: bool = False,
) -> Letters:
    """Blocks strewn over a floor, with torches, standing lights and dust where there is something to hold them.

    With `walls` there are solid blocks all around, so that light comes from above alone.
    """
    found: Letters = {}
    layers, rows, columns = size
    for at in ((a, b, c) for a in range(1, layers + 1) for b in range(1, rows + 1) for c in range(1, columns + 1)):
        wall = walls and (at[1] in (1, rows) or at[2] in (1, columns))
        found[at] = "S" if wall else source.choice(floor if at[0] == 1 else letters)
    found |= fixed or {}
    for at, letter in list(found.items()):
        below = found.get((at[0] - 1, at[1], at[2]), ".")
        if letter == "." and below in "SO" and source.random() < 0.25:
            found[at] = source.choice("T*--")
        elif letter == "." and found.get((at[0], at[1], at[2] - 1), ".") in "SO" and source.random() < 0.1:
            found[at] = "W"
    return found


def layers_of(letters: Letters) -> tuple[str, ...]:
    """The rows of letters that draw these places."""
    most = [max(place[axis] for place in letters) for axis in range(3)]
    return tuple(
        "/".join(
            "".join(letters[layer, row, column] for column in range(1, most[2] + 1)) for row in range(1, most[1] + 1)
        )
        for layer in range(1, most[0] + 1)
    )


def drawing_of(letters: Letters) -> Drawing:
    (study,) = load_text(drawn(layers_of(letters))).studies
    assert study.circuit.drawing is not None
    return study.circuit.drawing


def all_there(_part: str) -> bool:
    return True


# The light of one source everywhere in a drawing

SETTINGS = [(3, True), (1, True), (3, False)]
"""Levels that water takes, and whether half blocks stop light (settings `water_takes`, `half_blocks_stop_light`)."""


def rules_of(water: int, half_stops: bool) -> RuleSet:
    return replace(NEWER, water_takes=water, half_blocks_stop_light=half_stops)


def open_places(letters: Letters) -> Iterator[At]:
    return (place for place, letter in letters.items() if letter not in SOLID)


@pytest.mark.parametrize(("water", "half_stops"), SETTINGS)
@pytest.mark.parametrize("seed", range(3))
def test_full_sun_comes_as_far_as_the_shortest_path(water: int, half_stops: bool, seed: int) -> None:
    """Source: NetworkX, Dijkstra's algorithm; common practice, no source; rules G1 to G3."""
    source = random.Random(f"sun {seed}")
    seen = set()
    for number in range(8):
        size = source.choice([(4, 4, 5), (6, 4, 4), (3, 5, 6)])
        letters = strewn(source, size, CLUTTER + "%~", walls=bool(number % 2))
        expected = lit(graph_of(letters, water, half_stops), "sky", FULL_SUN)
        flood = Lighting(Room(drawing_of(letters), rules_of(water, half_stops)), all_there).from_sky()
        for place in open_places(letters):
            assert flood.levels.get(place, 0) == expected(place), (layers_of(letters), place)
            seen.add(expected(place))
    assert {0, 15} <= seen
    assert len(seen) >= 6


@pytest.mark.parametrize(("water", "half_stops"), SETTINGS)
@pytest.mark.parametrize("seed", range(2))
def test_lamps_torches_and_standing_lights_come_as_far_as_the_shortest_path(
    water: int, half_stops: bool, seed: int
) -> None:
    """Source: NetworkX, Dijkstra's algorithm; common practice, no source; rules G1 to G3."""
    source = random.Random(f"lamps {seed}")
    sources = set()
    for _ in range(5):
        letters = strewn(source, (4, 4, 5), CLUTTER + "..........OO")
        graph = graph_of(letters, water, half_stops)
        room = Room(drawing_of(letters), rules_of(water, half_stops))
        given = dict(shining(room))
        assert given == {place: GIVES[letter] for place, letter in letters.items() if letter in GIVES}
        lighting = Lighting(room, all_there)
        for shines, level in given.items():
            expected, flood = lit(graph, shines, level), lighting.from_places({shines: level})
            for place in open_places(letters):
                assert flood.levels.get(place, 0) == expected(place), (layers_of(letters), shines, place)
        sources |= {letters[place] for place in given}
    assert sources >= {"O", "T", "*"}


def shaft(*letters: str) -> tuple[str, ...]:
    """A shaft of solid blocks, with these letters in it from the top down."""
    return side(*(f"SSS/S{letter}S/SSS" for letter in letters))


BY_HAND = [
    ("under open sky", side(".", "."), (1, 1, 1), 15),
    ("glass and dust let full sun through", shaft("-", "G", "G", "."), (1, 2, 2), 15),
    ("a leaf takes 1, and then every clear block", shaft("%", "G", "G", "G"), (1, 2, 2), 11),
    ("below a leaf three of water: 14, 11, 8, 5", shaft("%", "~", "~", "~"), (1, 2, 2), 5),
    ("around an edge", ("SSS/S.S/S.S", "SSS/SSS/SSS"), (1, 2, 2), 13),
    ("an upper half block from above", shaft("^", "."), (1, 2, 2), 0),
    ("a lower half block from above", shaft("_", "."), (1, 2, 2), 0),
    ("in a lower half block", shaft("_"), (1, 2, 2), 15),
    ("in an upper half block", shaft("^"), (1, 2, 2), 0),
    ("a half block from the side", ("SSSSS/.^.SS/SSSSS", "SSSSS/SSSSS/SSSSS"), (1, 2, 3), 12),
    ("a piston stops it", shaft("[", "."), (1, 2, 2), 0),
    ("a closed room", shaft("S", "."), (1, 2, 2), 0),
]
"""The light at a place by day, calculated by hand from G1 to G3."""


@pytest.mark.parametrize(("says", "layers", "place", "level"), BY_HAND, ids=[each[0] for each in BY_HAND])
def test_full_sun_by_hand(says: str, layers: tuple[str, ...], place: At, level: int) -> None:
    """Common practice, no source; rules G1 to G3: both the program and the graph that it is held against."""
    letters = letters_of(layers)
    assert lit(graph_of(letters), "sky", FULL_SUN)(place) == level, says
    assert Lighting(Room(drawing_of(letters), NEWER), all_there).from_sky().levels.get(place, 0) == level


# The light on cells, in the circuit that a drawing is


def expected_at(drawing: Drawing, letters: Letters, cells: list[At], on: dict[str, bool]) -> dict[At, tuple[int, int]]:
    """For the place above each cell what comes of full sun, and the brightest of all else that is lit."""
    here = {at: there(letter, on) for at, letter in letters.items()}
    graph = graph_of(here)
    sun = lit(graph, "sky", FULL_SUN)
    burning = [at for at, letter in here.items() if letter == "*" or (letter in GIVES and on[drawing.name(at)])]
    others = [lit(graph, at, GIVES[here[at]]) for at in burning]
    found = {}
    for cell in cells:
        above = (cell[0] + 1, cell[1], cell[2])
        open_above = here.get(above, ".") not in SOLID
        found[cell] = (sun(above), max([0, *(other(above) for other in others)])) if open_above else (0, 0)
    return found


def there(letter: str, on: dict[str, bool]) -> str:
    """What stands where something comes and goes with a lever."""
    comes = {"≈": ("~", True), "¤": ("%", False)}
    if letter not in comes:
        return letter
    thing, while_on = comes[letter]
    return thing if on["pond"] is while_on else "."


def bed(source: random.Random, number: int) -> Letters:
    """Cells in a floor under clutter of which some comes and goes with a lever; no half blocks right above cells."""
    fixed: Letters = {(1, 1, 1): "S", (2, 1, 1): "b", (4, 3, 3): "O", (1, 3, 3): "m"}
    clutter = "SSSSSSSS%%~~≈≈¤¤GG........^_"
    letters = strewn(source, (4, 5, 5), clutter, "SSSSGm", fixed, walls=bool(number % 2))
    for at, letter in letters.items():
        if letter in "^_" and letters[at[0] - 1, at[1], at[2]] == "m":
            letters[at] = "~"
    return letters


@pytest.mark.parametrize("seed", range(6))
def test_the_light_on_cells_is_that_of_the_shortest_path(seed: int) -> None:
    """Source: NetworkX, Dijkstra's algorithm; common practice, no source; rules G1 to G3, X2.

    Light below 4 decides nothing, and what is below is not told apart.
    """
    source = random.Random(f"cells {seed}")
    seen = set()
    for number in range(3):
        letters = bed(source, number)
        circuit = circuit_of(drawn(layers_of(letters)))
        assert circuit.drawing is not None
        daylight = Daylight(circuit)
        names = [part.name for part in circuit.parts if part.word in ("torch", "lamp", "lever")]
        cells = {part.name: part.place for part in circuit.parts if isinstance(part, SensorCell)}
        for _ in range(3):
            on = {name: source.random() < 0.5 for name in names}
            expected = expected_at(circuit.drawing, letters, [circuit.where[name] for name in cells], on)
            for (name, place), sky in product(cells.items(), (FULL_SUN, 11, 7, 4)):
                sun, others = expected[circuit.where[name]]
                level = max(sun - (FULL_SUN - sky), others, DETERMINED - 1)
                light = daylight.light(daylight.places[place], sky, on.__getitem__)
                assert max(light, DETERMINED - 1) == level, (layers_of(letters), name, sky, on)
                seen.add(level)
    assert len(seen) >= 6


@pytest.mark.parametrize(("block", "home", "out"), [("S", 15, 0), ("G", 15, 15)])
def test_a_block_that_a_piston_moves_over_a_cell_takes_its_light(block: str, home: int, out: int) -> None:
    """Common practice, no source; rules G2, G3 and O3: the cell lies under the place where the block comes to."""
    layers = ("SSSSSS/SSSmSS/SSSSSS", f"SSSSSS/b]{block}.SS/SSSSSS")
    circuit = circuit_of(drawn(layers))
    daylight = Daylight(circuit)
    (place,) = circuit.places
    assert place.parts == ("paddle.block",)
    assert daylight.light(place, FULL_SUN, {"paddle.block": False}.__getitem__) == home
    assert daylight.light(place, FULL_SUN, {"paddle.block": True}.__getitem__) == out


def test_a_block_that_a_stuck_piston_moves_over_a_cell_takes_its_light_too() -> None:
    """Common practice, no source; rules W9, O3 and G3: the same, with a lever two places above the piston alone."""
    layers = ("SSSSSS/SSSmSS/SSSSSS", "SSSSSS/S]S.SS/SSSSSS", "....../....../......", "....../.u..../......")
    circuit = circuit_of(drawn((*layers, "....../.S..../......")))
    daylight = Daylight(circuit)
    (place,) = circuit.places
    assert daylight.light(place, FULL_SUN, lambda _: False) == FULL_SUN
    assert daylight.light(place, FULL_SUN, lambda _: True) == 0
