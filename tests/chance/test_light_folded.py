"""The light at places, folded: states in which the cells can do the same together, and places that are alike as one.

Levels are common practice, no source: rules G1 (a lamp gives 15, the sky 15 by day and 4 at night), G2 (air takes 1 to
the side, water 3), X2 (a cell fades in light below 4 with water above) and X3, calculated here by hand. What is said of
rows of states is logic, and tried on all states.
"""

from __future__ import annotations

from itertools import islice, product
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from circuitcheck.chance.light.budget import Outcome, PlaceLight, budgets
from circuitcheck.chance.light.states import Row, cover
from circuitcheck.engine.light import Daylight, can_be, held_back
from circuitcheck.language.load import load_file, load_text
from circuitcheck.model.light import USUAL_CYCLE
from circuitcheck.report.lines import plain
from circuitcheck.report.terminal.light_budget import light_data, light_lines
from circuitcheck.report.terminal.light_folded import folded_lines

from .calling import Caller

ROOT = Path(__file__).parents[2]
PLANKWATCH = ROOT / "tests" / "moving" / "plankwatch.circuit"
ROPES = "".join(f"lever rope.{each}\nlamp lantern.{each} from rope.{each}\n" for each in range(1, 7))
BED = """place {0} gets sky through water when sluice off
sensor {1} cells 1 at {0} fades
"""


@pytest.fixture(name="call")
def _call(capsys: pytest.CaptureFixture[str]) -> Caller:
    return Caller(capsys)


def holds(row: Row, lit: dict[str, bool]) -> bool:
    return all(lit[part] is on for part, on in row)


@given(st.lists(st.sampled_from("wo-"), min_size=16, max_size=16))
def test_rows_hold_in_all_states_that_are_wanted_and_in_no_other(kinds: list[str]) -> None:
    """`w` is wanted, `o` is another, and `-` can't be."""
    parts = ["a", "b", "c", "d"]
    wanted, others = ([state for state, kind in enumerate(kinds) if kind == each] for each in "wo")
    rows = cover(parts, wanted, others)
    for state in (*wanted, *others):
        lit = {part: bool(state >> bit & 1) for bit, part in enumerate(parts)}
        assert any(holds(row, lit) for row in rows) is (state in wanted)
    for row in rows:  # nothing that a row says may be left out
        for said in row:
            less = tuple(each for each in row if each != said)
            assert any(holds(less, {part: bool(o >> bit & 1) for bit, part in enumerate(parts)}) for o in others)


def test_a_row_says_only_what_tells_its_states_from_the_others() -> None:
    assert cover(["a", "b"], [1, 3], [0, 2]) == ((("a", True),),)
    assert cover(["a", "b"], [0, 1, 2, 3], []) == ((),)
    assert cover(["a", "b"], [1, 2, 3], [0]) == ((("a", True),), (("b", True),))


def places(text: str) -> list[PlaceLight]:
    loaded = load_text(text)
    assert not loaded.diagnostics, loaded.diagnostics
    return list(budgets(loaded.studies[0].circuit))


def outcome_of(found: PlaceLight, lit: dict[str, bool]) -> list[Outcome]:
    return [each for each in found.outcomes if any(holds(row, lit) for row in each.when)]


@pytest.mark.parametrize("path", [PLANKWATCH, ROOT / "circuits" / "lampkeeper.circuit"], ids=["planks", "lamps"])
def test_every_state_is_in_one_outcome_with_the_light_that_it_gives(path: Path) -> None:
    circuit = load_file(path).studies[0].circuit
    for found in islice(budgets(circuit), 3):
        daylight = Daylight(circuit)
        for states in product((False, True), repeat=len(found.place.parts)):
            lit = dict(zip(found.place.parts, states, strict=True))
            if not can_be(lit):
                continue
            (outcome,) = outcome_of(found, lit)
            (level,) = (each for each in outcome.levels if any(holds(row, lit) for row in each.when))
            light = tuple(daylight.light(found.place, sky, lit.__getitem__) for sky in (15, 12, 10, 4))
            assert light == level.setup.light
            held = held_back(found.place, lit.__getitem__)
            assert [met.so for met in outcome.setup.met] == [
                tuple(met.demand.need.met(each, held) for each in light) for met in outcome.setup.met
            ]


def test_what_decides_after_the_sixteenth_state_is_looked_at_too() -> None:
    """Five lamps too far away to decide anything, and then one whose 15 - 4 - 3 = 8 keep the cell from fading."""
    far = " or ".join(f"lantern.{each} through 13 aside, water" for each in range(1, 6))
    bed = f"place bed gets {far} or lantern.6 through 4 aside, water\nsensor turf cells 1 at bed fades\n"
    (found,) = places("rules older\n" + ROPES + bed)
    assert [each.when for each in found.outcomes] == [((("lantern.6", False),),), ((("lantern.6", True),),)]
    assert [each.setup.met[0].so for each in found.outcomes] == [(True,) * 4, (False,) * 4]
    assert [each.setup.light for each in found.outcomes] == [(0,) * 4, (8,) * 4]
    assert sum(each.states for each in found.outcomes) == 64 == len(found.setups) + found.left_out


def test_a_change_that_is_not_tried_in_every_state_is_not_said_to_turn_nothing_in_all() -> None:
    """15 - 9 - 3 = 3 reach the bed from lamps 1 and 5. One place nearer, either gives 4, and the cell can't fade."""
    ways = " or ".join(f"lantern.{each} through {9 if each in (1, 5) else 13} aside, water" for each in range(1, 6))
    (found,) = places(f"rules older\n{ROPES}place bed gets {ways}\nsensor turf cells 1 at bed fades\n")
    assert not any(dict(each.parts)["lantern.5"] for each in found.setups)
    assert "one aside less on the way from lantern.5" in {each.words for each in found.others if not each.turns}
    shown = " ".join(plain(folded_lines([found], USUAL_CYCLE, 100)).split())
    assert "16 of 32" in shown


def test_places_whose_cells_can_do_the_same_in_the_same_states_are_told_as_one() -> None:
    text = "rules older\nlever sluice\n" + BED.format("bed", "turf") + BED.format("bank", "moss")
    shown = plain(folded_lines(places(text), USUAL_CYCLE, 100))
    assert "and bank ('moss')\n" in shown
    assert shown.count("while 'sluice' is off") == 1


def test_four_cells_below_water_are_told_on_a_page_and_everything_on_request() -> None:
    """The light at each depends on eight parts: 192 states of water that falls, flows or is gone, and of lamps."""
    circuit = load_file(PLANKWATCH).studies[0].circuit
    found = list(budgets(circuit))
    folded = plain(folded_lines(found, circuit.cycle, 100)).splitlines()
    full = plain(line for each in found for line in light_lines(each, circuit.cycle, 100)).splitlines()
    assert len(folded) < 50 < 2000 < len(full)
    for place in map(light_data, found):
        assert sum(outcome["states"] for outcome in place["outcomes"]) == 192
        own = [each["parts"] for each in place["setups"]]
        for level in (level for outcome in place["outcomes"] for level in outcome["levels"]):
            assert any(all(part in own[level["setup"]] for part in row) for row in level["when"])


def test_what_is_folded_is_shown_in_full_on_request(call: Caller, tmp_path: Path) -> None:
    file = tmp_path / "beds.circuit"
    file.write_text("lever sluice\n" + BED.format("bed", "turf") + BED.format("bank", "moss"))
    assert call.good("light", str(file)).count("while 'sluice' is off") == 1
    assert call.good("light", str(file), "--full").count("while 'sluice' is off") == 2
