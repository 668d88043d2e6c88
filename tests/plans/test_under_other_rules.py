"""Drawn circuits under other sets of rules: what can't stand there fails with the reason, and light is another.

Common practice, no source; the sets differ as the table of settings says (grammar/RULES.md): under older no dust lies
on clear blocks (W1) and no dust is a dot (W3), under newest water takes 1 instead of 3 (G2).
"""

from __future__ import annotations

import pytest

from circuitcheck.chance.light.budget import budgets
from circuitcheck.checks.drawing.wiring_graph import wiring
from circuitcheck.checks.outcome import Verdict
from circuitcheck.diagnostics import Diagnostic
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.claims import Study
from circuitcheck.model.rules import RULE_SETS
from circuitcheck.space.circuit import under
from circuitcheck.sweeps.rule_sets import Table, under_each

from .calling import Caller, flat, written
from .drawings import drawn_of, file_of, study_of

ASKED = """check "it rings"
  at 10gt  rope on
  at 10gt  expect bell
end
check "later" skipped because "the mill is shut"
  at 10gt  rope on
  until 1s
end
always "it follows" bell follows rope, settled within 2t
"""
WORDS = "lever rope\ndust line from rope\nlamp bell from line\n"
NAMES = "rope 2 1 1, bell 2 1 3"
ON_GLASS = file_of("SGS", "a-O", names=NAMES, rest=ASKED)
ON_STONE = file_of("SSS", "a-O", names=NAMES, rest=ASKED)
WHY = "dust can't lie on a clear block under these rules (layer 2, row 1, column 2; W1)"


def table_of(text: str) -> Table:
    return under_each([study_of(text)], 50_000)


def verdicts(table: Table) -> dict[str, list[str]]:
    """What everything comes to under each set, by its title."""
    return {row.title: [each.verdict.name.lower() for each in row.outcomes] for row in table.rows}


def test_the_sets_come_in_their_order() -> None:
    assert [each.name for each in table_of(ON_GLASS).sets] == ["older", "newer", "newest"]


def test_dust_on_glass_fails_under_older_in_all_that_is_asked_and_what_is_skipped_stays_so() -> None:
    assert verdicts(table_of(ON_GLASS)) == {
        "it rings": ["fails", "holds", "holds"],
        "it follows": ["fails", "proved", "proved"],
        "later": ["skipped", "skipped", "skipped"],
    }
    assert table_of(ON_GLASS).fails


def test_dust_on_stone_stands_under_each() -> None:
    assert verdicts(table_of(ON_STONE)) == {
        "it rings": ["holds"] * 3,
        "it follows": ["proved"] * 3,
        "later": ["skipped"] * 3,
    }
    assert not table_of(ON_STONE).fails


def test_a_dot_fails_under_older() -> None:
    """Rule W3, setting dust_dots."""
    found = table_of(file_of("SSS", "aOo", names="rope 2 1 1, bell 2 1 2", rest=ASKED))
    assert verdicts(found)["it rings"] == ["fails", "holds", "holds"]
    assert "dot" in found.rows[0].outcomes[0].detail


@pytest.mark.parametrize("thing", [">", "}"])
def test_repeaters_and_comparators_lie_where_dust_may(thing: str) -> None:
    """Rule W1."""
    asked = 'check "it rings"\n  at 10gt  rope on\n  by 20gt  expect bell\nend\n'
    found = table_of(file_of("SGS", f"a{thing}O", names=NAMES, rest=asked))
    assert verdicts(found) == {"it rings": ["fails", "holds", "holds"]}


def test_a_setting_of_the_file_stays_under_each_set() -> None:
    text = ON_GLASS.replace("circuit mill\n", "circuit mill\nrules older\nsetting dust_on_clear yes\n")
    assert verdicts(table_of(text))["it rings"] == ["holds", "holds", "holds"]


def test_a_check_that_must_fail_does_not_fail_as_said_where_nothing_can_stand() -> None:
    """It fails for want of a circuit and not by the rule that it names."""
    text = ON_GLASS.replace('"it rings"', '"it rings" fails because T3')
    (row, *_) = table_of(text).rows
    assert row.outcomes[0].verdict is Verdict.FAILS


def test_beside_words_only_the_drawing_fails_under_older() -> None:
    text = file_of("SGS", "a-O", names=NAMES, rest=WORDS + ASKED)
    found = table_of(text)
    assert verdicts(found) == {
        "it rings": ["holds"] * 3,
        "it follows": ["proved"] * 3,
        "later": ["skipped"] * 3,
        "the drawing is the circuit": ["fails", "holds", "holds"],
    }
    assert WHY in str(found.rows[-1].outcomes[0])


# The command


def test_the_table_tells_why_nothing_can_stand(call: Caller) -> None:
    out = call.good("rules", written("glass", ON_GLASS), code=1)
    rows = out.splitlines()
    assert rows[0].split() == ["older", "newer", "newest"]
    assert rows[1].split()[:3] == ["FAILS", "holds", "holds"]
    assert f"older: {WHY}" in flat(out)
    assert "dust_on_clear: older no, newer yes, newest yes" in flat(out)
    assert call("rules", written("stone", ON_STONE)).code == 0


def test_the_table_tells_why_a_drawing_beside_words_can_not_stand(call: Caller) -> None:
    path = written("both", file_of("SGS", "a-O", names=NAMES, rest=WORDS + ASKED))
    out = call.good("rules", path, code=1)
    assert f"older: {WHY}" in flat(out)


def test_the_table_tells_why_a_drawing_of_a_definition_can_not_stand(call: Caller) -> None:
    drawn = file_of("SGS", "a-O", names="a 2 1 1, bell 2 1 3").replace("drawing\n", "drawing of wire\n", 1)
    define = "define wire (a) gives bell\n  dust line from a\n  lamp bell from line\nend\n"
    out = call.good("rules", written("defined", drawn + define), code=1)
    assert "the drawing is the circuit" in out
    assert f"older: {WHY}" in flat(out)


@pytest.mark.parametrize("width", ["40", "60"])
def test_the_table_keeps_to_its_width(call: Caller, width: str) -> None:
    out = call.good("rules", written("glass", ON_GLASS), "--width", width, code=1)
    assert max(map(len, out.splitlines())) <= int(width)
    assert WHY in flat(out)


def test_the_table_as_data(call: Caller) -> None:
    data = call.data("rules", written("glass", ON_GLASS), code=1)
    assert data["rows"][0]["verdicts"] == {"older": "fails", "newer": "holds", "newest": "holds"}


def test_a_file_that_stands_under_older_only_by_its_own_word_is_a_mistake_there(call: Caller) -> None:
    run = call("rules", written("glass", ON_GLASS.replace("circuit mill\n", "circuit mill\nrules older\n")))
    assert run.code == 2
    assert "CKT601" in run.out


# Read again under another set

DRAWN = [
    ("a wire", ("SSS", "a-O")),
    ("a latch", ("SSS/SSS/SSS/SSS/SSS", ".../SW-/-.-/-ES/...")),
    ("a bed below water", ("SSS/SmS/SSS", "SSS/S~S/SSS", "SSS/S~S/SSS")),
    ("a bed with a way around the water", ("SSSSSS/SmSSSS/SSSSSS", "SSSSSS/S....S/SSSSSS", "SSSSSS/S~SS.S/SSSSSS")),
    ("cells that grow", ("gg/.g", "~./..")),
]


def light_of(circuit: Circuit) -> dict[str, list[tuple[int, ...]]]:
    """The light at each place by day, in rain, in a storm and at night."""
    return {each.place.name: [setup.light for setup in each.setups] for each in budgets(circuit)}


@pytest.mark.parametrize("name", RULE_SETS)
@pytest.mark.parametrize(("says", "layers"), DRAWN, ids=[says for says, _ in DRAWN])
def test_read_again_a_drawing_is_what_a_file_under_those_rules_draws(
    says: str, layers: tuple[str, ...], name: str
) -> None:
    again = under(drawn_of(*layers)[0], RULE_SETS[name])
    afresh, _ = drawn_of(*layers, head=f"rules {name}")
    assert not isinstance(again, Diagnostic)
    assert wiring(again) == wiring(afresh)
    assert light_of(again) == light_of(afresh)


@pytest.mark.parametrize(
    ("name", "light"), [("older", (9, 6, 4, 0)), ("newer", (9, 6, 4, 0)), ("newest", (13, 10, 8, 2))]
)
def test_water_takes_1_under_newest_and_3_before(name: str, light: tuple[int, ...]) -> None:
    """Rules G1 and G2: two of water under the open sky; rain takes 3, a storm 5, the night 11, at the end."""
    circuit = under(drawn_of(*DRAWN[2][1])[0], RULE_SETS[name])
    assert not isinstance(circuit, Diagnostic)
    assert light_of(circuit) == {"above_2_2_2": [light]}


@pytest.mark.parametrize(("name", "day"), [("older", 12), ("newer", 12), ("newest", 13)])
def test_under_newest_the_brightest_way_may_be_another(name: str, day: int) -> None:
    """Three steps aside leave 12. Through the water it is 15 - 3 - 1 = 11, under newest 15 - 1 - 1 = 13 (G2)."""
    circuit = under(drawn_of(*DRAWN[3][1])[0], RULE_SETS[name])
    assert not isinstance(circuit, Diagnostic)
    assert light_of(circuit)["above_2_2_2"][0][0] == day


def test_what_can_not_stand_is_reported_once_with_its_place() -> None:
    found = under(drawn_of("SGS", "a-O")[0], RULE_SETS["older"])
    assert isinstance(found, Diagnostic)
    assert (found.code, found.message) == ("CKT601", WHY)


def test_a_study_without_a_drawing_is_judged_under_each_as_before() -> None:
    study: Study = study_of(f"{WORDS}{ASKED}")
    assert verdicts(under_each([study], 50_000))["it rings"] == ["holds"] * 3
