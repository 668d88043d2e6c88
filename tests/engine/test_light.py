"""The light at a place, and what cells can do in it (common practice, no source: G1 to G3, X2, X3)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import pytest

from circuitcheck.engine.light import Daylight
from circuitcheck.language.load import load_text
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.parts.cells import SPREADING, HeldBack, Need, chance_of_exactly, fading, taking
from circuitcheck.model.parts.sensor import SensorCell
from circuitcheck.model.rules import NEWEST, OLDER

NO_PARTS: dict[str, bool] = {}
PARTS = "lever flap\nlamp glow from flap\ntorch ember from flap\nsensor turf at bed fades\n"


def circuit(ways: str, rules: str = "older") -> Circuit:
    loaded = load_text(f"rules {rules}\nplace bed gets {ways}\n{PARTS}")
    assert loaded.valid, loaded.diagnostics
    return loaded.studies[0].circuit


def light(ways: str, sky: int, on: Mapping[str, bool] | None = None, rules: str = "older") -> int:
    made = circuit(ways, rules)
    return Daylight(made).light(made.places[0], sky, (on or {}).__getitem__)


@pytest.mark.parametrize(
    ("ways", "day", "night"),
    [
        ("sky", 15, 4),
        ("sky through 9 air, 2 glass, dust", 15, 4),
        ("sky through leaf", 14, 3),
        ("sky through leaf, water", 11, 0),
        ("sky through leaf, 2 water", 8, 0),
        ("sky through leaf, 4 water", 2, 0),
        ("sky through leaf, air", 13, 2),
        ("sky through aside", 14, 3),
        ("sky through 3 air, aside, air", 13, 2),
        ("sky through solid", 0, 0),
        ("sky through half", 0, 0),
        ("standing_light", 14, 14),
        ("standing_light through 3 air, leaf, water", 7, 7),
        ("standing_light through 20 air", 0, 0),
    ],
)
def test_each_block_takes_what_the_rules_say(ways: str, day: int, night: int) -> None:
    """G1, G2, G3, in order of the way; what night takes is taken at its end."""
    assert (light(ways, 15), light(ways, 4)) == (day, night)


def test_water_takes_less_under_newest() -> None:
    assert light("sky through 3 water", 15, rules="newest") == 12


def test_half_blocks_may_let_light_pass_as_a_clear_block_to_the_side_does() -> None:
    made = circuit("sky through half")
    lenient = replace(made, rules=replace(made.rules, half_blocks_stop_light=False))
    assert Daylight(lenient).light(lenient.places[0], 15, NO_PARTS.__getitem__) == 14


@pytest.mark.parametrize(("on", "level"), [(True, 15), (False, 0)])
def test_a_lamp_gives_15_while_it_is_lit(on: bool, level: int) -> None:
    assert light("glow", 15, {"glow": on}) == level


@pytest.mark.parametrize(("on", "level"), [(True, 4), (False, 0)])
def test_a_torch_gives_7_while_it_is_on_and_less_further_off(on: bool, level: int) -> None:
    assert light("ember through 3 aside", 15, {"ember": on}) == level


def test_the_brightest_way_counts_and_light_does_not_add_up() -> None:
    ways = "sky through 3 leaf, air or glow through 4 air"
    assert (light(ways, 15, {"glow": True}), light(ways, 4, {"glow": True}), light(ways, 4, {"glow": False})) == (
        11,
        11,
        0,
    )


@pytest.mark.parametrize(("when", "on", "level"), [("flap", True, 12), ("flap", False, 15), ("flap off", False, 12)])
def test_a_layer_is_there_only_while_its_part_is_so(when: str, on: bool, level: int) -> None:
    assert light(f"sky through water when {when}", 15, {"flap": on}) == level


def test_every_block_of_a_path_is_reported_with_its_level_in_full_sun() -> None:
    made = circuit("sky through leaf, 2 water")
    assert Daylight(made).along(made.places[0].paths[0], NO_PARTS.__getitem__) == [
        ("sky", 15),
        ("leaf", 14),
        ("water", 11),
        ("water", 8),
    ]


@pytest.mark.parametrize(
    ("ways", "sky", "states", "said"),
    [
        ("sky through leaf, water when flap off", 4, (False,), (0, True, True, False, False)),
        ("sky through leaf, water when flap off", 15, (False,), (11, True, False, True, False)),
        ("sky through leaf, water when flap off", 15, (True,), (13, False, False, True, True)),
        ("sky through leaf, water when flap off", 4, (True,), (2, False, False, False, False)),
        ("sky through solid", 15, (), (0, True, True, False, False)),
        ("sky through half", 15, (), (0, True, True, False, False)),
        ("sky", 4, (), (4, False, False, False, True)),
        ("sky", 9, (), (9, False, False, True, True)),
        ("sky", 8, (), (8, False, False, False, True)),
    ],
)
def test_what_cells_can_do_at_a_place(ways: str, sky: int, states: tuple[bool, ...], said: tuple[object, ...]) -> None:
    """X2, X3: (light, held back, fades, spreads, takes)."""
    found = Daylight(circuit(ways)).effects("bed", sky, states)
    assert (found.light, bool(found.held_back), *found[2:]) == said


def test_every_state_of_the_parts_of_a_place_is_looked_at() -> None:
    daylight = Daylight(circuit("sky through water when flap or glow through 2 air, water when flap"))
    assert set(daylight.parts["bed"]) == {"flap", "glow"}
    assert sorted(daylight.states("bed")) == [(False, False), (False, True), (True, False), (True, True)]


@pytest.mark.parametrize("level", range(16))
def test_the_limits_of_light(level: int) -> None:
    """X2: below 4, under what holds light back. X3: 9 or more to spread; 4 or more to be grown over, clear above."""
    assert fading(OLDER).met(level, HeldBack.FULLY) is (level < 4)
    assert not fading(OLDER).met(level, HeldBack.NOT)
    assert fading(NEWEST).met(level, HeldBack.FULLY)
    assert SPREADING.met(level, HeldBack.FULLY) is SPREADING.met(level, HeldBack.NOT) is (level >= 9)
    assert taking(OLDER).met(level, HeldBack.NOT) is (level >= 4)
    assert not taking(OLDER).met(level, HeldBack.FULLY)
    assert taking(NEWEST).met(level, HeldBack.NOT)
    assert Need(3, 5).met(level, HeldBack.FULLY) is (3 <= level <= 5)


@pytest.mark.parametrize("bare", [1, 2, 5, 45])
def test_the_chances_of_all_numbers_of_hits_make_one(bare: int) -> None:
    """X5: of k bare cells among 45 places, 4 tries hit none with the chance ((45 - k) / 45)^4."""
    from math import comb

    each = [comb(bare, hit) * chance_of_exactly(hit, bare) for hit in range(min(bare, 4) + 1)]
    assert sum(each) == pytest.approx(1.0)
    assert each[0] == pytest.approx(((45 - bare) / 45) ** 4)
    assert chance_of_exactly(bare, bare) == pytest.approx(0.0 if bare > 4 else each[-1])


@pytest.mark.parametrize(
    ("options", "needs"),
    [
        ("fades", "fades"),
        ("grows from rim", "grows"),
        ("becomes off chance 1/9 below 5", "becomes"),
        ("becomes off chance 1/9 becomes on chance 1/9 above 8", "becomes"),
        ("fades becomes off chance 1/9 below 5", "fades"),
    ],
)
def test_what_depends_on_light_needs_a_place(options: str, needs: str) -> None:
    loaded = load_text(f"sensor rim\nsensor turf {options}\ndetector stir watches turf\nlamp sign from stir\n")
    (mistake,) = loaded.diagnostics
    assert (mistake.code, mistake.span.line, mistake.span.column) == ("CKT303", 2, 8)
    assert mistake.message == f"what '{needs}' depends on light: say at which place the cells are"
    assert mistake.hint == "add 'at PLACE'"


def test_a_change_that_depends_on_no_light_needs_none() -> None:
    loaded = load_text("sensor turf becomes off chance 1/9\ndetector stir watches turf\nlamp sign from stir\n")
    assert loaded.valid


def test_the_cells_of_a_row_share_its_name_wherever_it_stands() -> None:
    """A cell in an instance, of one name or of a row, and where its line is."""
    text = "define eye (a) gives stir\n  sensor turf.1 to turf.2 becomes off chance 1/9\n"
    text += "  sensor fern becomes off chance 1/9\n  detector stir watches turf.1\n  torch t from a\nend\n"
    text += "lever rope\neye left (a rope)\n"
    made = load_text(text).studies[0].circuit
    rows = {part.name: (part.row, part.span.line) for part in made.parts if isinstance(part, SensorCell)}
    assert rows == {
        "left.turf.1": ("left.turf", 2),
        "left.turf.2": ("left.turf", 2),
        "left.fern": ("left.fern", 3),
    }
