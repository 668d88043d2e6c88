"""Maps of light, and which places are nearest to a threshold: against levels calculated by hand, and plainly.

Common practice, no source: rules G1 to G3 (light), X2 (a cell fades below 4) and X3 (it makes tries from 9 on, and
takes with 4 or more).
"""

from __future__ import annotations

import random

import pytest

from circuitcheck.chance.light.budget import budgets
from circuitcheck.chance.light.margins import margins
from circuitcheck.engine.program import Program
from circuitcheck.engine.start import starts
from circuitcheck.language.load import load_text
from circuitcheck.plans.layer_light import layer_light, levels_of
from circuitcheck.report.lines import plain
from circuitcheck.report.terminal.light_budget import light_lines
from circuitcheck.report.terminal.lightmap import map_data, map_lines, margin_lines

from .drawings import drawn_of, file_of, side
from .light_by_hand import Levels, Light
from .pairs import letters_of

Layers = tuple[str, ...]
GIVES = {"O": 15, "*": 14, **dict.fromkeys("TWENZ", 7)}
"""What lit lamps, standing lights and torches that are on give (G1)."""


def on_at_the_start(layers: Layers, names: str = "", head: str = "") -> frozenset[str]:
    program = Program(drawn_of(*layers, names=names, head=head)[0])
    levels = zip(program.names, starts(program)[0].levels, strict=True)
    return frozenset(name for name, level in levels if level)


def maps_of(layers: Layers, layer: int, names: str = "", head: str = "") -> list[list[list[str]]]:
    """The three maps of a layer as they are printed, row by row: by day, at night, and of lamps alone."""
    circuit, drawing = drawn_of(*layers, names=names, head=head)
    light = layer_light(circuit, drawing, layer, on_at_the_start(layers, names, head))
    shown = plain(map_lines(light, 100)).splitlines()
    found: list[list[list[str]]] = []
    for row in shown:
        cells = row.split()
        if row.startswith("  ") and not cells[0].isdecimal():
            found.append([])
        elif row.startswith("   ") and cells != [str(number) for number in range(1, len(cells) + 1)]:
            found[-1].append(cells[1:])
    return [each for each in found if each]


# Worked out by hand

SHAFT = ("SSS/SSS/SSS", "SSS/S.S/SSS", "SSS/S~S/SSS", "SSS/S%S/SSS", "SSS/S.S/SSS")
DOWN_THE_SHAFT = {5: ("15", "4"), 4: ("14", "3"), 3: ("11", "."), 2: ("10", ".")}
"""Sky 15; a leaf takes 1, water 3, and then air 1, since it is full sun no more. Night takes 11 at the end (G1)."""


@pytest.mark.parametrize("layer", DOWN_THE_SHAFT)
def test_down_a_shaft_leaves_and_water_take_what_the_table_says(layer: int) -> None:
    day, night, lamps = maps_of(SHAFT, layer)
    assert (day[1][1], night[1][1], lamps[1][1]) == (*DOWN_THE_SHAFT[layer], ".")
    assert day[0] == ["##", "##", "##"]


def test_below_a_roof_light_comes_in_from_the_sides_by_one_a_block() -> None:
    """Full sun stands beside the roof; under it 14, and one less a step from the nearest side."""
    layers = ("SSSSS/SSSSS/SSSSS/SSSSS/SSSSS", "...../...../...../...../.....", "SSSSS/SSSSS/SSSSS/SSSSS/SSSSS")
    day, night, _ = maps_of(layers, 2)
    assert day == [["14"] * 5, ["14", "13", "13", "13", "14"], ["14", "13", "12", "13", "14"], day[1], day[0]]
    assert night == [[str(int(level) - 11) for level in row] for row in day]


def test_data_has_the_levels_in_figures_and_nothing_where_light_does_not_pass() -> None:
    circuit, drawing = drawn_of(*SHAFT)
    found = map_data(layer_light(circuit, drawing, 4, frozenset()))
    shut = [None, None, None]
    assert found["by_day"] == [shut, [None, 14, None], shut]
    assert found["at_night"] == [shut, [None, 3, None], shut]
    assert found["of_lamps"] == [shut, [None, 0, None], shut]
    assert (found["layer"], found["lit"]) == (4, [])


def tunnel(row: str) -> Layers:
    """A row shut in by solid blocks on all sides."""
    shut = "S" * len(row)
    return (f"{shut}/{shut}/{shut}", f"{shut}/{row}/{shut}", f"{shut}/{shut}/{shut}")


@pytest.mark.parametrize(
    ("row", "levels"),
    [
        ("SiO...............S", "## 14 ## 14 13 12 11 10 9 8 7 6 5 4 3 2 1 . ##"),
        ("ST........S", "## 7 6 5 4 3 2 1 . . ##"),
        ("S*........S", "## 14 13 12 11 10 9 8 7 6 ##"),
        ("SaO...S", "## . ## . . . ##"),
        ("ST...*S", "## 10 11 12 13 14 ##"),
        ("S*~.~.S", "## 14 11 10 7 6 ##"),
    ],
    ids=["a lit lamp", "a torch", "a standing light", "a dark lamp", "the brightest", "water"],
)
def test_in_a_tunnel_each_light_falls_by_one_a_block(row: str, levels: str) -> None:
    """Rules G1 and G2; no sky comes in, so that day and night are alike."""
    assert [each[1] for each in maps_of(tunnel(row), 2)] == [levels.split()] * 3


def test_a_torch_that_a_lever_turns_off_does_not_shine() -> None:
    """Rule T1: the lever stands on the torch's block."""
    floor, row, _ = tunnel("SSSW..S")
    layers = (floor, row, "SSSSSSS/SSiSSSS/SSSSSSS", floor)
    assert [each[1] for each in maps_of(layers, 2)] == [["##", "##", "##", ".", ".", ".", "##"]] * 3


def test_water_takes_1_under_newest() -> None:
    """Rule G2, setting water_takes."""
    day, _, _ = maps_of(SHAFT, 3, head="rules newest")
    assert day[1][1] == "13"


@pytest.mark.parametrize(
    ("half", "head", "below"),
    [("^", "", "."), ("_", "", "."), ("^", "setting half_blocks_stop_light no", "13")],
)
def test_a_half_block_stops_light_through_its_full_face(half: str, head: str, below: str) -> None:
    """Rule G3: an upper one from above, a lower one on the way out; with the setting `no` it takes 1, then air 1."""
    layers = ("SSS/SSS/SSS", "SSS/S.S/SSS", f"SSS/S{half}S/SSS", "SSS/S.S/SSS")
    assert maps_of(layers, 2, head=head)[0][1][1] == below


def test_a_block_before_a_piston_is_shown_where_it_is_drawn_though_power_calls_it_at_the_start() -> None:
    """Rule M3: a drawn piston starts at home, and one with power is called in gt 0."""
    home = ("15", "##", "##", "15", "15")
    assert maps_of(side("a]S..", "SSSSS"), 2)[0][0] == [*home]
    assert maps_of(side("i]S..", "SSSSS"), 2)[0][0] == [*home]


# Against the plain reckoning

MADE: list[tuple[Layers, str]] = [
    (SHAFT, ""),
    (("SSSS/SSSS", "iO../..~%", "..^^/G...", "S.S./~.%S"), ""),
    (("SSSSS/SSSSS/SSSSS", "T.~../..SW./*...%", "SSS~./SSS../S^^^S"), ""),
    (("SSSSS/SSSSS/SSSSS", "T.~../..SW./*...%", "SSS~./SSS../S__^S"), "setting half_blocks_stop_light no"),
    (("SSSSS/SSSSS/SSSSS", "T~~../~~SW./*~~~%", "SSS~./SSS~./S~~GS"), "rules newest"),
]


def reckoned(layers: Layers, head: str, on: frozenset[str]) -> tuple[Levels, Levels]:
    """The light of the sky, and of what shines, by the letters alone."""
    _, drawing = drawn_of(*layers, head=head)
    letters = letters_of(layers)
    light = Light(letters, drawing.size, 1 if "newest" in head else 3, "half_blocks_stop_light no" not in head)
    shine = {place: GIVES[letter] for place, letter in letters.items() if letter in GIVES}
    shine = {place: level for place, level in shine.items() if letters[place] == "*" or drawing.name(place) in on}
    return light.of_the_sky(), light.of(shine)


def compare(layers: Layers, head: str) -> None:
    """Asserts that every level of a drawing is as it is calculated plainly."""
    circuit, drawing = drawn_of(*layers, head=head)
    on = on_at_the_start(layers, head=head)
    sky, lamps = levels_of(circuit, drawing, on)
    plain_sky, plain_lamps = reckoned(layers, head, on)
    high, deep, wide = drawing.size
    inside = [(a, b, c) for a in range(1, high + 1) for b in range(1, deep + 1) for c in range(1, wide + 1)]
    for place in inside:
        if drawing.things.get(place) is None or not drawing.things[place].block_type.solid:
            assert sky.get(place, 0) == plain_sky.get(place, 0), (layers, head, place)
            assert lamps.get(place, 0) == plain_lamps.get(place, 0), (layers, head, place)


@pytest.mark.parametrize(("layers", "head"), MADE)
def test_every_level_of_a_drawing_is_as_it_is_calculated_plainly(layers: Layers, head: str) -> None:
    compare(layers, head)


def test_every_level_of_drawings_at_random_is_as_it_is_calculated_plainly() -> None:
    draw = random.Random(8)
    heads = ["", "rules newest", "setting half_blocks_stop_light no", "rules older"]
    tried = 0
    while tried < 60:
        layers = (
            "SSSSS/SSSSS/SSSSS",
            *("/".join("".join(draw.choices("S.G~%^_OT*i", k=5)) for _ in range(3)) for _ in "123"),
        )
        head = draw.choice(heads)
        if load_text(file_of(*layers, head=head)).diagnostics:
            layers = tuple(layer.replace("T", ".").replace("i", ".").replace("*", ".") for layer in layers)
        tried += 1
        compare(layers, head)


# Margins


def nearest(layers: Layers, names: str, head: str = "") -> dict[tuple[str, str], tuple[str, int]]:
    """For each thing that cells can do at a place: under which sky it is decided most narrowly, and by how much."""
    circuit, _ = drawn_of(*layers, names=names, head=head)
    return {(each.place, each.words): (each.sky, each.to_spare) for each in margins(budgets(circuit))}


def of_a_pit(*lids: str) -> tuple[Layers, str]:
    """A cell at the bottom of a shaft with these things above it, the lowest first."""
    shaft = [f"SSS/S{lid}S/SSS" for lid in lids]
    return ("SSS/SmS/SSS", *shaft), "turf 1 2 2"


@pytest.mark.parametrize(
    ("lids", "sky", "to_spare"),
    [
        # The light above the cell by day, in rain (3 less), in a storm (5 less) and at night (11 less); below 4 is met.
        ("~", "night", 2),  # 12, 9, 7, 1: 3 - 1 to spare; in a storm 4 levels too many
        ("~%", "stormy", -3),  # 11, 8, 6, 0: 3 levels too many is nearer than 3 to spare at night
        ("~~%", "stormy", 0),  # 8, 5, 3, 0: met by nothing to spare
        ("~~%%", "wet", -1),  # 7, 4, 2, 0: one level too many in rain, and one to spare in a storm
        ("~~~", "wet", 0),  # 6, 3, 1, 0
    ],
)
def test_how_near_a_cell_is_to_fading(lids: str, sky: str, to_spare: int) -> None:
    """Rules X2 and G2."""
    layers, names = of_a_pit(*lids)
    assert nearest(layers, names) == {("above_2_2_2", "fade"): (sky, to_spare)}


def test_how_near_cells_are_to_growing_over_each_other() -> None:
    """Rule X3, open sky: 15, 12, 10 and 4. It takes from 4 on: at night just so. Tries from 9 on: in a storm by 1."""
    found = nearest(("gg",), "")
    assert {words: told for (_, words), told in found.items()} == {
        "be grown over": ("night", 0),
        "grow over others": ("stormy", 1),
    }


def test_under_newest_no_light_is_near_to_anything_that_fades_or_takes() -> None:
    """Rules X2 and X3: there only tries take light."""
    layers, names = of_a_pit("~")
    assert nearest(layers, names, "rules newest") == {}
    assert {words for _, words in nearest(("gg",), "", "rules newest")} == {"grow over others"}


@pytest.mark.parametrize(
    ("column", "lit", "to_spare"),
    [(5, False, 2), (6, False, 2), (7, False, 2), (8, True, -2), (9, True, -1), (10, True, 0), (11, True, 1)],
)
def test_a_lamp_that_may_be_lit_is_looked_at_both_ways(column: int, lit: bool, to_spare: int) -> None:
    """From its 15 one is lost above the lamp and one a column, and water takes 3 (G1, G2); below 4 a cell fades (X2).

    While the lamp is dark there is 1 at night, 2 to spare; of two that are as near, the dark one is reported.
    """
    bare = "." * (column - 2)
    names = f"turf 2 1 1, bell 2 1 {column}, rope 2 1 {column + 1}"
    circuit, _ = drawn_of("S" * (column + 1), f"m{bare}Oa", f"~.{bare}.", names=names)
    (margin,) = margins(budgets(circuit))
    assert (margin.sky, margin.parts, margin.to_spare) == ("night", (("bell", lit),), to_spare)


def test_only_cells_that_can_do_it_are_named_where_cells_share_a_place() -> None:
    """Two cells in the same light: one fades and grows over the other, which nothing grows over below water (X3)."""
    circuit, _ = drawn_of("SSSS/SmgS/SSSS", "SSSS/S~~S/SSSS", names="turf 1 2 2, fern 1 2 3")
    found = {(margin.words, margin.cells) for margin in margins(budgets(circuit))}
    assert found == {("fade", ("turf",)), ("grow over others", ("turf",))}


def test_what_the_block_above_forbids_is_not_said_to_be_met() -> None:
    """Rule X2: a cell right below leaves never fades, though it gets 3 by day, since leaves hold nothing back."""
    layers, names = of_a_pit(*"%%%~~~")
    circuit, _ = drawn_of(*layers, names=names)
    (place,) = budgets(circuit)
    assert [(met.demand.words, met.so) for setup in place.setups for met in setup.met] == [("fade", (False,) * 4)]
    assert margins([place]) == []


def test_margins_come_with_the_narrowest_first_and_in_words() -> None:
    circuit, _ = drawn_of(*of_a_pit("~", "~", "%")[0], names="turf 1 2 2")
    told = plain(margin_lines(margins(budgets(circuit)), 100))
    assert "0 to spare  turf can fade in a storm" in told
    several, _ = drawn_of("gg..m", "....~", names="turf 1 1 5")
    widths = [each.to_spare if each.to_spare >= 0 else -each.to_spare - 1 for each in margins(budgets(several))]
    assert widths == sorted(widths)
    assert len(widths) >= 3


# The table of a place, of a drawing with all its light

FAR = ("SSSSSSSSSSSSS/SSSSSSSSSSSSS", "mm.........../.........Oa..", "~~.........../.............")


def test_a_lit_lamp_that_decides_nothing_is_in_the_table_all_the_same() -> None:
    """Rules G1, G2: 15 less one up, nine or eight aside and three for the water; by day the sky's 15 less 3."""
    circuit, _ = drawn_of(*FAR, names="turf 2 1 1, fern 2 1 2, bell 2 2 10, rope 2 2 11")
    lights = {
        met.demand.row: {setup.parts: setup.light for setup in place.setups}
        for place in budgets(circuit)
        for met in place.setups[0].met
    }
    dark, lit = ((("bell", False),), (("bell", True),))
    assert lights["turf"] == {dark: (12, 9, 7, 1), lit: (12, 9, 7, 2)}
    assert lights["fern"] == {dark: (12, 9, 7, 1), lit: (12, 9, 7, 3)}


def test_the_table_the_margins_and_the_map_tell_the_same_light_at_night() -> None:
    """On random drawings with lamps lit from the start; maps and tables go different ways to it."""
    chance = random.Random(8)
    met = 0
    for _ in range(40):
        floor = "".join(chance.choice("mm.O*") for _ in range(9))
        above = "".join(chance.choice("..~%") if letter == "m" else "." for letter in floor)
        circuit, drawing = drawn_of("S" * 9, floor, above)
        found = layer_light(circuit, drawing, 3, frozenset())
        for place in budgets(circuit):
            _, layer, row, column = place.place.name.split("_")
            assert (layer, row) == ("3", "1")
            dark = next(each for each in place.setups if not any(on for _, on in each.parts))
            assert found.at_night[0][int(column) - 1] == dark.light[3]
            assert found.by_day[0][int(column) - 1] == dark.light[0]
            met += 1
    assert met > 40


def test_where_too_many_dim_lamps_give_light_it_is_said_that_they_are_left_out() -> None:
    """Rules G1, G2: lamps 11 or 13 aside give 15 - 1 - 11 = 3 or 1; from 4 on, cells may be grown over (X3)."""
    lamps = [
        ["O" if row + column in (11, 13) else "a" if row + column == 12 else "." for column in range(14)]
        for row in range(6)
    ]
    lamps[0][0] = "g"
    circuit, _ = drawn_of("/".join(["S" * 14] * 6), "/".join(map("".join, lamps)), "/".join(["." * 14] * 6))
    (place,) = budgets(circuit)
    assert place.dim_left_out
    assert "left out" in plain(light_lines(place, circuit.cycle, 100))
    assert not any(each.dim_left_out for each in budgets(drawn_of(*FAR)[0]))
