"""Lines about sensors, places, the phases of the day and responses: what they mean, and each mistake in them.

What is expected stands in `grammar/README.md` (sensor, Light and the time of day, Responses); what the words mean is
common practice, no source: rules G1 to G3 and X1 to X5 of `grammar/RULES.md`.
"""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from circuitcheck.language.load import Loaded, load_text
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.claims import Claim, Timely
from circuitcheck.model.light import Condition, Layer, Place
from circuitcheck.model.parts.sensor import SensorCell
from circuitcheck.model.rules import Chance

from .mistakes import told

BED = "place bed gets sky through leaf, water\n"
TURF = BED + "sensor turf cells 3 at bed fades\n"
WATCHED = TURF + "detector stir.* watches turf.*\njunction row joins stir.*\n"


def read(text: str, folder: Path | str = ".") -> Loaded:
    loaded = load_text(text, folder=folder)
    assert loaded.diagnostics == ()
    return loaded


def circuit(text: str) -> Circuit:
    return read(text).studies[0].circuit


def cells(made: Circuit) -> dict[str, SensorCell]:
    return {part.name: part for part in made.parts if isinstance(part, SensorCell)}


def cell(text: str) -> SensorCell:
    return next(iter(cells(circuit(text)).values()))


def place(text: str) -> Place:
    (made,) = circuit(text).places
    return made


def claims(text: str) -> list[tuple[Claim, Timely]]:
    found = read(text).studies[0].claims
    return [(each, each.body) for each in found if isinstance(each.body, Timely)]


# What the lines mean


def test_cells_make_a_row_whose_cells_share_all_that_the_line_says() -> None:
    found = cells(circuit(TURF))
    assert list(found) == ["turf.1", "turf.2", "turf.3"]
    assert {(each.row, each.place, each.fades, each.start) for each in found.values()} == {("turf", "bed", True, 15)}


@pytest.mark.parametrize("number", [1, 1000])
def test_the_least_and_the_most_cells_can_be_had(number: int) -> None:
    assert len(cells(circuit(f"sensor turf cells {number}\n"))) == number


def test_one_cell_by_number_is_a_row_of_one_and_a_bare_name_is_no_row() -> None:
    assert list(cells(circuit("sensor turf cells 1\n"))) == ["turf.1"]
    assert list(cells(circuit("sensor turf\n"))) == ["turf"]
    assert cell("sensor turf\n").row == "turf"


def test_a_row_may_be_named_by_its_numbers_in_place_of_cells() -> None:
    assert list(cells(circuit("sensor turf.2 to turf.4\n"))) == ["turf.2", "turf.3", "turf.4"]


def test_a_given_value_may_say_how_many_cells_there_are() -> None:
    assert len(cells(circuit("given many 5\nsensor turf cells many\n"))) == 5


def test_a_star_row_grows_each_from_its_own_number() -> None:
    made = cells(circuit(BED + "sensor rim cells 3 at bed\nsensor turf.* at bed grows from rim.*\n"))
    assert [made[f"turf.{number}"].grows for number in (1, 2, 3)] == [("rim.1",), ("rim.2",), ("rim.3",)]


def test_a_counted_row_grows_each_from_all_that_is_named_itself_as_well() -> None:
    made = cells(circuit(BED + "sensor rim cells 2 at bed\nsensor turf cells 2 at bed grows from rim.*, turf.*\n"))
    assert {made[name].grows for name in ("turf.1", "turf.2")} == {("rim.1", "rim.2", "turf.1", "turf.2")}


@pytest.mark.parametrize(("word", "level"), [("on", 15), ("off", 0)])
def test_cells_start_as_the_line_says(word: str, level: int) -> None:
    assert cell(f"sensor turf cells 2 starts {word}\n").start == level


def test_a_change_of_ones_own_has_its_chance_its_light_and_its_title() -> None:
    text = (
        'place pane gets sky\nsensor frost at pane becomes off "freezes" chance 1/400 below 5 '
        "becomes on chance 0/7 above 8 becomes on chance 1/1\n"
    )
    found = [(each.on, each.chance, each.need.least, each.need.most, each.title) for each in cell(text).becomes]
    # Below 5 is light of 0 to 4; above 8 is 9 to 15, the brightest (G1).
    assert found == [
        (False, Chance(1, 400), 0, 4, "freezes"),
        (True, Chance(0, 7), 9, 15, ""),
        (True, Chance(1, 1), 0, 15, ""),
    ]


@pytest.mark.parametrize(
    ("words", "least", "most"),
    [("below 1", 0, 0), ("below 15", 0, 14), ("above 0", 1, 15), ("above 14", 15, 15)],
)
def test_the_outermost_bounds_of_light_leave_one_level_on_a_side(words: str, least: int, most: int) -> None:
    need = cell(f"place pane gets sky\nsensor frost at pane becomes off chance 1/2 {words}\n").becomes[0].need
    assert (need.least, need.most, need.held_back) == (least, most, None)


def test_a_place_has_several_ways_with_counted_and_conditioned_layers() -> None:
    made = place(
        "lever rope\nlamp lantern from rope\nplace pool gets sky through leaf, 2 water when rope off "
        "or lantern through 4 aside, 2 water when rope off or standing_light through water when rope off\n"
    )
    shut = Condition("rope", False)
    assert [(way.source, way.layers) for way in made.paths] == [
        ("sky", (Layer(1, "leaf"), Layer(2, "water", shut))),
        ("lantern", (Layer(4, "aside"), Layer(2, "water", shut))),
        ("standing_light", (Layer(1, "water", shut),)),
    ]


@pytest.mark.parametrize(("words", "on"), [("when rope", True), ("when rope on", True), ("when rope off", False)])
def test_a_layer_is_there_while_a_part_is_on_unless_the_file_says_off(words: str, on: bool) -> None:
    made = place(f"lever rope\nplace bed gets sky through water {words}\n")
    assert made.paths[0].layers == (Layer(1, "water", Condition("rope", on)),)


def test_a_torch_and_the_longest_layer_can_be_on_a_way() -> None:
    made = place("lever rope\ntorch ember from rope\nplace bed gets ember through 64 air\n")
    assert (made.paths[0].source, made.paths[0].layers) == ("ember", (Layer(64, "air"),))


def test_names_of_places_are_a_space_of_their_own() -> None:
    assert cell("place turf gets sky through water\nsensor turf at turf fades\n").place == "turf"


def test_a_place_may_stand_below_the_sensor_that_lies_there() -> None:
    assert cell("sensor turf at bed fades\n" + BED).place == "bed"


def test_a_cycle_says_how_long_each_phase_is_in_game_ticks() -> None:
    cycle = circuit("cycle 100s dusk 5s, day 60s, dawn 0t, night 35s\n" + TURF).cycle
    assert (cycle.day, cycle.dusk, cycle.night, cycle.dawn) == (1200, 100, 700, 0)


def test_without_a_cycle_a_day_has_twenty_minutes() -> None:
    # Common practice, no source; the lengths are from memory, as the reference says.
    cycle = circuit(TURF).cycle
    assert (cycle.day, cycle.dusk, cycle.night, cycle.dawn) == (12_000, 1_800, 8_400, 1_800)


def test_settings_of_chance_and_water_are_for_this_file() -> None:
    rules = circuit("rules older\nsetting draw_chance 1/64\nsetting water_takes 2\n" + TURF).rules
    assert (rules.draw_chance, rules.water_takes, rules.change_needs_light) == (Chance(1, 64), 2, True)


def test_a_response_has_all_four_bounds_in_the_order_written() -> None:
    text = "response of dusk to row: median at most 2s, 99.5% within 3t, mean at most 7gt, missed at most 0.01%\n"
    ((_, body),) = claims(WATCHED + text)
    found = [(bound.kind, bound.share, bound.time) for bound in body.bounds]
    assert (body.phase, body.edge.name, body.edge.test.value) == ("dusk", "row", "rises")
    assert [(kind, time) for kind, _, time in found] == [("median", 40), ("share", 6), ("mean", 7), ("missed", 0)]
    assert found[1][1] == pytest.approx(0.995)
    assert found[3][1] == pytest.approx(0.0001)


@pytest.mark.parametrize("edge", ["rises", "falls", "changes"])
@pytest.mark.parametrize("phase", ["day", "dusk", "night", "dawn"])
def test_a_response_is_of_any_phase_to_any_edge(phase: str, edge: str) -> None:
    ((_, body),) = claims(f"{WATCHED}response of {phase} to row {edge}: missed at most 100%\n")
    assert (body.phase, body.edge.test.value, body.bounds[0].share) == (phase, edge, 1.0)


def test_a_response_has_a_title_may_have_to_fail_and_may_be_skipped() -> None:
    text = (
        'response "too soon" fails because X4 of night to row: mean at most 1s\n'
        'response skipped because "no turf yet" of night to stir.2: 0% within 1s\n'
    )
    study = read(WATCHED + text).studies[0]
    assert [(each.title, each.fails_because) for each in study.claims] == [("too soon", "X4")]
    assert [(each.title, each.skipped) for each in study.skipped] == [("response of night to stir.2", "no turf yet")]


def test_each_instance_of_a_definition_has_its_own_cells_place_and_condition() -> None:
    text = (
        "define pool (flap) given many 2 from 1 to 4 gives felt\n  place bed gets sky through water when flap off\n"
        "  sensor turf cells many at bed fades grows from turf.*\n"
        "  detector stir.* watches turf.*\n  junction felt joins stir.*\nend\n"
        "lever rope\npool low (flap rope)\npool high (flap rope) given many 3\n"
    )
    made = circuit(text)
    found = cells(made)
    assert list(found) == ["low.turf.1", "low.turf.2", "high.turf.1", "high.turf.2", "high.turf.3"]
    assert found["high.turf.1"].place == "high.bed"
    assert found["low.turf.2"].grows == ("low.turf.1", "low.turf.2")
    assert {each.name: each.paths[0].layers[0].when for each in made.places} == {
        "low.bed": Condition("rope", False),
        "high.bed": Condition("rope", False),
    }


def test_a_definition_with_a_sensor_comes_from_another_file(tmp_path: Path) -> None:
    piece = "define pool (flap) gives felt\n  " + WATCHED.replace("\n", "\n  ").replace("row joins", "felt joins")
    (tmp_path / "pools.circuit").write_text(piece.rstrip() + "\nend\n", encoding="utf-8")
    loaded = read('use "pools.circuit"\nlever rope\npool low (flap rope)\nlamp bell from low.felt\n', tmp_path)
    assert list(cells(loaded.studies[0].circuit)) == ["low.turf.1", "low.turf.2", "low.turf.3"]


# Mistakes: `^` stands right before the place that is reported

WHERE = "^"
CYCLE = "cycle 1200s day 600s, dusk 90s, night 420s, "
MISTAKES = {
    "no cells": ("sensor turf cells ^0\n", "CKT305", "from 1 to 1000", "cells"),
    "too many cells": ("sensor turf cells ^1001\n", "CKT305", "from 1 to 1000", "cells"),
    "cells with a unit": ("sensor turf cells ^3t\n", "CKT308", "3t", "leave out the unit"),
    "cells of no value": ("sensor turf cells ^many\n", "CKT201", "many", "given"),
    "cells of a lever": ("lever turf ^cells 3\n", "CKT301", "cells", "starts"),
    "cells and numbers": ("sensor turf.1 to turf.3 ^cells 3\n", "CKT303", "how many", "leave out 'cells'"),
    "cells and a number": ("sensor turf.2 ^cells 3\n", "CKT303", "how many", "leave out 'cells'"),
    "cells and a star": (TURF + "sensor fern.* ^cells 3 at bed grows from turf.*\n", "CKT303", "how many", "'cells'"),
    "cells twice": ("sensor turf cells 3 ^cells 3\n", "CKT302", "'cells' stands twice", "keep one"),
    "a word of before": (BED + "sensor turf cells 3 at bed ^withers\n", "CKT107", "'withers'", "'fades'"),
    "fades twice": (BED + "sensor turf cells 3 at bed fades ^fades\n", "CKT302", "twice", "keep one"),
    "a start by level": ("sensor turf cells 3 starts ^7\n", "CKT309", "can't start 7", "on or off"),
    "a chance above 1": ("sensor frost cells 3 becomes off chance ^3/2\n", "CKT305", "3/2", "0/1 to 1/1"),
    "a chance in none": ("sensor frost becomes off chance ^1/0\n", "CKT305", "1/0", "0/1 to 1/1"),
    "below 0": (
        "place pane gets sky\nsensor f at pane becomes off chance 1/2 below ^0\n",
        "CKT305",
        "0",
        "from 1 to 15",
    ),
    "below 16": ("place pane gets sky\nsensor f at pane becomes off chance 1/2 below ^16\n", "CKT305", "16", "1 to 15"),
    "above 15": ("place pane gets sky\nsensor f at pane becomes on chance 1/2 above ^15\n", "CKT305", "15", "0 to 14"),
    "fades nowhere": ("sensor ^turf cells 3 fades\n", "CKT303", "at which place", "add 'at PLACE'"),
    "in light nowhere": (
        "sensor ^frost becomes off chance 1/2 below 3\n",
        "CKT303",
        "at which place",
        "add 'at PLACE'",
    ),
    "grown nowhere": (TURF + "sensor ^fern grows from turf.*\n", "CKT303", "at which place", "add 'at PLACE'"),
    "no such place": (BED + "sensor turf cells 3 at ^bad fades\n", "CKT201", "'bad'", "did you mean 'bed'?"),
    "no place at all": ("sensor turf at ^bed fades\n", "CKT201", "'bed'", "place bed gets"),
    "a place twice": (BED + "place ^bed gets sky\nlever rope\n", "CKT202", "first in line 1", "another name"),
    "a place with a dot": ("lever rope\nplace ^bed.1 gets sky\n", "CKT203", "bed.1", "leave out the dot"),
    "a lever's light": (
        "lever rope\nplace bed gets ^rope through leaf\n",
        "CKT311",
        "gives no light",
        "lamps and torches",
    ),
    "nobody's light": ("lever rope\nplace bed gets ^rop through leaf\n", "CKT201", "'rop'", "did you mean 'rope'?"),
    "an unknown thing": (
        "lever rope\nplace bed gets sky through 2 ^leef, water\n",
        "CKT311",
        "'leef'",
        "did you mean 'leaf'?",
    ),
    "another thing": ("lever rope\nplace bed gets sky through ^straw\n", "CKT311", "'straw'", "air, glass"),
    "two ends": (
        "lever rope\nplace ^bed gets sky through leaf, water or standing_light through 2 air\n",
        *("CKT311", "different blocks", "right above the cells"),
    ),
    "two conditions": (
        "lever rope\nplace ^bed gets sky through water when rope or standing_light through water\n",
        *("CKT311", "different blocks", "right above the cells"),
    ),
    "too many blocks": ("lever rope\nplace bed gets sky through ^65 air, water\n", "CKT305", "65", "from 1 to 64"),
    "no blocks": ("lever rope\nplace bed gets sky through ^0 leaf\n", "CKT305", "0", "from 1 to 64"),
    "a row's condition": (
        "lever pond.1 to pond.2\nplace bed gets sky through water when ^pond.* off\n",
        *("CKT311", "2 parts", "name one of them"),
    ),
    "nobody's condition": ("lever rope\nplace bed gets sky through water when ^rop\n", "CKT201", "'rop'", "'rope'"),
    "a wrong sum": (f"cycle ^1200s{CYCLE[11:]}dawn 91s\n{TURF}", "CKT312", "add up to", "change one"),
    "no time": ("cycle ^0t day 0t, dusk 0t, night 0t, dawn 0t\n" + TURF, "CKT312", "0", "some length"),
    "no dawn": (f"^{CYCLE[:-2]}\n{TURF}", "CKT312", "no dawn", "add dawn"),
    "dusk twice": (f"{CYCLE}dawn 90s, ^dusk 90s\n{TURF}", "CKT312", "'dusk' stands twice", "keep one"),
    "an unknown phase": (f"{CYCLE}^dwan 90s\n{TURF}", "CKT312", "'dwan'", "did you mean 'dawn'?"),
    "no unit of a phase": (f"{CYCLE}dawn ^90\n{TURF}", "CKT306", "'90'", "90s"),
    "a cycle twice": (f"{CYCLE}dawn 90s\n^{CYCLE}dawn 90s\n{TURF}", "CKT202", "twice", "keep one"),
    "nothing by chance": (
        "lever rope\n^response of dusk to rope: median at most 2s\n",
        "CKT409",
        "at random",
        "sensor",
    ),
    "days of fog": (
        WATCHED + "response of dusk to row when ^stormi: median at most 2s\n",
        *("CKT410", "'stormi'", "did you mean 'stormy'?"),
    ),
    "above all": (WATCHED + "response of dusk to row: ^100.1% within 2s\n", "CKT305", "100.1%", "0% to 100%"),
    "missed above all": (WATCHED + "response of dusk to row: ^missed at most 101%\n", "CKT305", "101%", "0% to 100%"),
    "a response of noon": (WATCHED + "response of ^noon to row: median at most 2s\n", "CKT312", "'noon'", "dusk"),
    "a response to nobody": (WATCHED + "response of dusk to ^raw: median at most 2s\n", "CKT201", "'raw'", "'row'"),
    "a response to a row": (WATCHED + "response of dusk to ^stir.*: median at most 2s\n", "CKT304", "3", "name one"),
    "a response of no unit": (WATCHED + "response of dusk to row: median at most ^2\n", "CKT306", "'2'", "2s"),
    "a reason of none": (
        WATCHED + "response fails because ^X9 of dusk to row: median at most 2s\n",
        *("CKT406", "there is no rule 'X9'", "messages cite"),
    ),
    "power of a cell": (BED + "sensor turf at bed fades\nlamp ^bell from turf\n", "CKT310", "turf", "detector"),
    "grown from a lever": ("lever rope\n" + BED + "sensor ^turf at bed grows from rope\n", "CKT310", "rope", ""),
    "one for three": (TURF + "detector stir ^watches turf.*\n", "CKT304", "watches one thing", "a detector"),
    "a bare number": ("setting draw_chance ^3\n" + TURF, "CKT510", "chance", "3/4096"),
    "a chance of yes": ("setting draw_chance ^yes\n" + TURF, "CKT510", "chance", "3/4096"),
    "a large chance": ("setting draw_chance ^5/4\n" + TURF, "CKT305", "5/4", "0/1 to 1/1"),
    "water of a chance": ("setting water_takes ^1/2\n" + TURF, "CKT510", "water_takes", "rules"),
    "water of yes": ("setting water_takes ^yes\n" + TURF, "CKT201", "yes", ""),
    "water of time": ("setting water_takes ^3t\n" + TURF, "CKT308", "3t", "leave out the unit"),
    "a lever named cells": ("lever ^cells\n", "CKT103", "a word of the language", "another name"),
    "a line cut short": ("place bed gets sky through^\n", "CKT101", "ends too early", "expected"),
    "an empty response": (WATCHED + "response of dusk to row:^\n", "CKT101", "ends too early", "expected"),
}
"""Name: the text, the code, a part of the message, a part of the mend."""


@pytest.mark.parametrize("name", MISTAKES)
def test_a_mistake_is_reported_once_with_its_place_and_a_way_to_mend_it(name: str) -> None:
    marked, code, says, hint = MISTAKES[name]
    before = marked[: marked.index(WHERE)]
    line, column = before.count("\n") + 1, len(before) - before.rfind("\n")
    diagnostics = told(marked.replace(WHERE, ""))
    assert [(each.code, each.span.line, each.span.column) for each in diagnostics] == [(code, line, column)]
    assert says in diagnostics[0].message
    assert hint in diagnostics[0].hint
    assert diagnostics[0].hint


def test_every_code_of_sensors_light_and_responses_is_tried() -> None:
    assert {"CKT310", "CKT311", "CKT312", "CKT409", "CKT410"} <= {code for _, code, _, _ in MISTAKES.values()}


def test_two_responses_of_one_title_are_reported_once() -> None:
    line = 'response "soon" of dusk to row: median at most 2s\n'
    assert [each.code for each in told(WATCHED + line + line)] == ["CKT407"]


def test_several_mistakes_are_reported_together_in_the_order_of_the_lines() -> None:
    text = "place bed gets sky through leef\nsensor turf cells 0\nresponse of noon to row: median at most 2s\n"
    assert {"CKT311", "CKT305", "CKT312"} <= {each.code for each in told(text)}


LAMPKEEPER = (Path(__file__).parents[2] / "circuits" / "lampkeeper.circuit").read_text(encoding="utf-8")


def mutated(text: str, chance: random.Random) -> str:
    """A text with one to three of its words dropped, doubled or exchanged, or two of its lines."""
    for _ in range(chance.randint(1, 3)):
        lines = [line.split(" ") for line in text.split("\n")]
        line, other = chance.choice(lines), chance.choice(lines)
        one, two = chance.randrange(len(line)), chance.randrange(len(other))
        how = chance.choice(["drop", "double", "swap", "lines"])
        if how == "drop":
            del line[one]
        elif how == "double":
            line.insert(one, line[one])
        elif how == "swap":
            line[one], other[two] = other[two], line[one]
        else:
            line[:], other[:] = list(other), list(line)
        text = "\n".join(" ".join(words) for words in lines)
    return text


@pytest.mark.parametrize("seed", range(10))
def test_a_sensor_file_with_its_words_in_disorder_is_read_or_told(seed: int) -> None:
    chance, invalid = random.Random(seed), 0
    for _ in range(20):
        loaded = load_text(mutated(LAMPKEEPER, chance))
        assert bool(loaded.studies) is not bool(loaded.diagnostics)
        invalid += bool(loaded.diagnostics)
    assert invalid
