"""What a practised eye sees in a drawing: dead dust, weak blocks, stuck pistons, what is unfed, pistons that meddle.

Common practice, no source; rules P2, P4, D2, V2 and V5 (grammar/RULES.md; README, Findings).
"""

from __future__ import annotations

import pytest

from circuitcheck.checks.finding import Finding
from circuitcheck.verify import FileReport, verify_text

from .drawings import file_of, side

Layers = tuple[str, ...]


def report_on(layers: Layers, names: str = "", head: str = "", rest: str = "") -> FileReport:
    report = verify_text(file_of(*layers, names=names, head=head, rest=rest))
    assert report.diagnostics == (), report.diagnostics
    return report


def told(rule: str, layers: Layers, names: str = "", head: str = "", rest: str = "") -> list[Finding]:
    """The findings of one rule in a drawing."""
    return [each for each in report_on(layers, names, head, rest).findings if each.rule == rule]


def on_floor(plan: str) -> Layers:
    return ("/".join("S" * len(row) for row in plan.split("/")), plan)


# P2: dead dust


@pytest.mark.parametrize(("dust", "dead"), [(1, False), (14, False), (15, False), (16, True), (17, True), (40, True)])
def test_the_sixteenth_dust_from_a_source_is_dead(dust: int, dead: bool) -> None:
    """Rule P2: the n-th dust beside a source of 15 shows 16 - n."""
    found = told("P2", on_floor(f"a{'-' * dust}O"), f"far 2 1 {dust + 1}")
    assert [each.part for each in found] == ["far"] * dead
    if dead:
        assert found[0].where == f"layer 2, row 1, column {dust + 1}"
        assert "repeater" in found[0].hint


def test_a_repeater_in_the_run_mends_dead_dust() -> None:
    """Rule R1: it gives 15 anew."""
    assert told("P2", on_floor(f"a{'-' * 14}>{'-' * 15}O")) == []


def test_a_second_source_near_the_end_lights_the_dust_there() -> None:
    assert told("P2", on_floor(f"a{'-' * 18}a/{'.' * 18}O.")) == []
    assert told("P2", on_floor(f"a{'-' * 9}a{'-' * 9}O")) == []


# P4: dust beside a weakly powered block


@pytest.mark.parametrize(
    "plan",
    ["...-/a-S-/...-/...O", "a-S-O", "a-S--O", "a--S---O", "...O/...-/a-S-"],
    ids=["past it", "behind it", "in a line behind it", "in a longer line", "at a corner"],
)
def test_dust_beside_a_block_that_only_dust_powers_is_reported(plan: str) -> None:
    """Rule P4: a weakly powered block gives to no dust, so that all that lies behind it is dark."""
    found = told("P4", on_floor(plan))
    assert len(found) == 1
    assert "only dust powers" in found[0].message
    assert "repeater" in found[0].hint


@pytest.mark.parametrize(
    "plan",
    ["a>S-O", "a-S>-O", "a-SO", "a-SW-", "a-.-O", "a-G-O", "...a./a-S-O"],
    ids=["strongly powered", "a repeater takes it", "a lamp takes it", "a torch takes it", "no block", "glass", "lit"],
)
def test_what_takes_weak_power_or_none_is_no_mistake(plan: str) -> None:
    """Rules P4, W8 and W1: glass is never powered; dust with a source of its own is meant so."""
    assert told("P4", on_floor(plan)) == []


def test_a_weak_block_is_reported_with_the_places_of_dust_and_block() -> None:
    (found,) = told("P4", on_floor("...-/a-S-/...-/...O"))
    assert "layer 2, row 2, column 4" in found.message
    assert "layer 2, row 2, column 3" in found.message
    assert found.where == "layer 2, row 2, column 4"


# D2: stuck pistons

STUCK = side("..S...", "..u...", "......", "..P.<a", "....SS")
STUCK_NAMES = "race 4 1 3, pond 2 1 6, wedge 2 1 3, winch 2 1 5"


def test_a_piston_that_is_powered_from_above_only_is_named_with_what_arms_and_what_moves_it() -> None:
    """Rules W9 and D2."""
    (found,) = told("D2", STUCK, STUCK_NAMES)
    assert (found.part, found.where) == ("wedge", "layer 2, row 1, column 3")
    assert "'wedge' is powered only from the place above it, by 'race'" in found.message
    assert "gets an update from 'winch'" in found.message


def test_it_is_offered_as_a_detector_or_a_bug() -> None:
    (found,) = told("D2", STUCK, STUCK_NAMES)
    assert "detector" in found.hint
    assert "power to the piston itself" in found.hint


def test_a_stuck_piston_that_hears_nothing_never_moves() -> None:
    (found,) = told("D2", side("..S.", "..u.", "....", "..P."))
    assert "nothing ever updates it" in found.message


@pytest.mark.parametrize(
    ("layers", "head"),
    [
        (STUCK, "setting power_above_piston no"),
        (side("..S...", "..u...", "......", "..P<a.", "...SS."), ""),
        (side("SP<a", "..SS"), ""),
    ],
    ids=["no such power", "power of its own as well", "power of its own"],
)
def test_a_piston_with_power_of_its_own_or_none_from_above_is_not_stuck(layers: Layers, head: str) -> None:
    assert told("D2", layers, head=head) == []


def test_a_stuck_piston_that_the_words_call_a_detector_is_meant() -> None:
    words = "lever race\nlever pond\nrepeater winch from pond\ndetector wedge arming race hears winch\n"
    assert told("D2", STUCK, STUCK_NAMES, rest=words) == []


def test_silenced_with_a_reason_a_stuck_piston_is_reported_no_more() -> None:
    (found,) = told("D2", STUCK, STUCK_NAMES, rest='silence D2 for wedge because "it is the watch"')
    assert found.silenced == "it is the watch"


# V2: unfed


@pytest.mark.parametrize(
    ("plan", "place", "kind"),
    [
        ("aS.O", (1, 4), "lamp"),
        ("a-<O", (1, 3), "repeater"),
        ("a.}O", (1, 3), "comparator"),
        ("a.].", (1, 3), "piston"),
        ("T...", (1, 1), "torch"),
        (".DO.", (1, 2), "detector"),
        ("a--/.O.", (2, 2), "lamp"),
        ("--O", (1, 3), "lamp"),
        ("-->O", (1, 3), "repeater"),
        ("-SWO", (1, 3), "torch"),
    ],
    ids=[
        "a lamp by itself",
        "a repeater turned the wrong way",
        "a comparator with nothing behind it",
        "a piston beside air",
        "a torch on bare floor",
        "a detector that watches air",
        "a lamp that dust runs past",
        "a lamp at dust that nothing lights",
        "a repeater at dust that nothing lights",
        "a torch on a block that only dead dust could power",
    ],
)
def test_what_does_nothing_by_itself_and_is_driven_by_nothing_is_reported(
    plan: str, place: tuple[int, int], kind: str
) -> None:
    """Rules V2, W3, W4, W6: dust drives only what it points into, a repeater only from behind."""
    row, column = place
    found = told("V2", on_floor(plan), f"idle 2 {row} {column}")
    (one,) = [each for each in found if each.part == "idle"]
    assert one.where == f"layer 2, row {row}, column {column}"
    assert kind in one.message
    assert one.hint


@pytest.mark.parametrize("plan", ["a-O", "a>O", "a-}O", "a].", "a>SWO", "aODO", "a-DO"])
def test_what_something_drives_is_no_such_finding(plan: str) -> None:
    assert told("V2", on_floor(plan)) == []


# What follows from dead dust


@pytest.mark.parametrize(
    ("plan", "found"),
    [
        ("a-S-O", [("P4", "layer 2, row 1, column 4")]),
        ("a-S-->O", [("P4", "layer 2, row 1, column 4")]),
        (f"a{'-' * 16}O", [("P2", "layer 2, row 1, column 17")]),
        (f"a{'-' * 16}>O", [("P2", "layer 2, row 1, column 17")]),
        (f"a{'-' * 17}O/{'.' * 16}-../{'.' * 16}O..", [("P2", "layer 2, row 1, column 18")]),
    ],
    ids=["a weak block, a lamp", "a weak block, a repeater", "too far, a lamp", "too far, a repeater", "two lamps"],
)
def test_of_dead_dust_neither_what_feeds_it_nor_what_it_feeds_is_reported_beside_it(
    plan: str, found: list[tuple[str, str]]
) -> None:
    """Rules P2 and P4: the lever drives nothing and the lamp is driven by nothing because of the one slip."""
    assert [(each.rule, each.where) for each in report_on(on_floor(plan)).findings] == found


# V5: pistons that meddle


@pytest.mark.parametrize(
    ("layers", "says"),
    [
        (on_floor("a]-O"), "breaks dust"),
        (on_floor("a]S-O"), "breaks dust"),
        (on_floor("a]>O"), "breaks a repeater"),
        (on_floor("a]SW."), "breaks a torch"),
        (on_floor("a]a."), "breaks a lever"),
        (on_floor("a]S../..N.."), "takes away what holds a torch"),
        (("SSSSS", "a]S..", "..-.."), "takes away what holds dust"),
    ],
    ids=[
        "its head breaks dust",
        "its block breaks dust",
        "a repeater",
        "a torch",
        "a lever",
        "what hangs on its block",
        "what lies on its block",
    ],
)
def test_a_piston_that_breaks_something_is_reported(layers: Layers, says: str) -> None:
    """Rules M1, M8, W1: what is before a piston is moved one place on."""
    rows = layers[1].split("/")
    bell = next(((row, columns.index("O") + 1) for row, columns in enumerate(rows, 1) if "O" in columns), None)
    (found,) = told("V5", layers, f"bell 2 {bell[0]} {bell[1]}" if bell else "")
    assert says in found.message


@pytest.mark.parametrize(
    "layers",
    [
        on_floor("...a../...V../a]S.../...O.."),
        on_floor("..a.../..V.../a]S.../..O..."),
        ("SSSSSS", "S.a-S.", "a]S.-O"),
    ],
    ids=["a block that comes before a repeater", "one that leaves its place before it", "one that cuts a step of dust"],
)
def test_a_piston_that_moves_wiring_is_no_finding_as_runs_follow_it(layers: Layers) -> None:
    """Rules M9, V5."""
    assert told("V5", layers) == []


@pytest.mark.parametrize(
    "plan",
    ["a]S.", "a]..", "a]S../.....", "a]S~.", "[a-O/S..."],
    ids=[
        "its block into air",
        "its head into air",
        "beside nothing",
        "into water",
        "into a block at the edge",
    ],
)
def test_a_piston_that_moves_in_free_room_meddles_with_nothing(plan: str) -> None:
    """Rule O3: water makes room."""
    assert told("V5", on_floor(plan)) == []


@pytest.mark.parametrize("plan", ["a]SS.", "a]D", "a]SD"])
def test_a_row_before_a_piston_is_no_finding_as_it_is_moved_as_one(plan: str) -> None:
    """Rules M1, V5."""
    assert told("V5", on_floor(plan)) == []


@pytest.mark.parametrize(
    ("plan", "says"),
    [
        ("a]S-O", "breaks dust"),
        ("....a/....-/a]SS./....O", "depends on it"),
        (f"a]{'S' * 13}.", "can't move out"),
        ("a]SSSS.", ""),
    ],
    ids=["its block breaks dust", "the end of its row joins wiring", "a row that is too long", "a row in free room"],
)
def test_where_strokes_are_not_followed_those_that_change_what_is_read_are_reported(plan: str, says: str) -> None:
    """Rules M1, M13, V5: the circuit runs with everything at home."""
    found = told("V5", on_floor(plan), head="setting power_above_piston no")
    assert [says in each.message for each in found] == ([True] if says else [])


def test_a_meddling_piston_is_reported_with_its_place_and_the_place_it_comes_to() -> None:
    (found,) = told("V5", on_floor("a]S-O"), "paddle 2 1 2")
    assert (found.part, found.where) == ("paddle", "layer 2, row 1, column 2")
    assert "layer 2, row 1, column 4" in found.message


def test_a_meddling_piston_is_reported_for_a_drawing_beside_words_as_well() -> None:
    """Its first move breaks the dust, whatever else says what the circuit is."""
    words = "lever rope\nlever pond\ndust line from pond length 2\nlamp bell from line\npiston paddle from rope\n"
    layers = on_floor("...a/a]S-/...-/...O")
    report = report_on(layers, "rope 2 2 1, paddle 2 2 2, pond 2 1 4, bell 2 4 4", rest=words)
    assert [each.verdict.value for each in report.outcomes] == ["holds"]
    assert "V5" in {each.rule for each in report.findings}


def test_forbidden_it_is_a_failure() -> None:
    assert report_on(on_floor("a]S-O"), rest="forbid V5").exit.value == 1
    assert report_on(on_floor("a]S-O")).exit.value == 0


# Good drawings

GOOD = [
    ("a lever and a lamp", on_floor("a-O"), ""),
    ("two levers hold a gate shut", ("SSSSSSS/SSSSSSS/SSSSSSS", "a-->-SW/.....-O/a-----."), ""),
    (
        "a latch",
        ("SSS/SSS/SSS/SSS/SSS", "k../SW-/-.-/-ES/..b", ".../.O./.../.O./..."),
        "gate 2 2 2 starts off, gate.inverse 2 4 2 starts on",
    ),
    ("a piston with its block and a detector that watches it", on_floor("a>PDO"), ""),
    ("a block that only dust powers, and a torch that hears it", on_floor("a-SWO"), ""),
    ("steps of dust", ("SSSS", "a-S.", "..-O"), ""),
    ("fifteen dust", on_floor(f"a{'-' * 15}O"), ""),
    ("a comparator with a side", ("SSSS/SSSS", "a-}O/.a-."), ""),
]


@pytest.mark.parametrize(("says", "layers", "names"), GOOD, ids=[says for says, _, _ in GOOD])
def test_in_a_good_drawing_nothing_is_found(says: str, layers: Layers, names: str) -> None:
    report = report_on(layers, names)
    assert [(each.rule, each.part, each.message) for each in report.findings] == [], says
