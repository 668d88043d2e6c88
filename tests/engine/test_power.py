"""Levels, dust, blocks, and power that flows back (common practice, no source; rules P1 to P5)."""

from __future__ import annotations

import pytest

import circuitcheck

from .driving import HEADER, Act, drive, edges, proceed, start

COUNTS = range(1, 17)


def sixteen_lines(source: str) -> str:
    return source + "".join(f"dust row{count} from pond length {count}\n" for count in COUNTS)


@pytest.mark.parametrize(
    ("part", "acts"),
    [
        ("lever mill", [(10, "mill", "on")]),
        ("button mill short", [(10, "mill", "press")]),
        ("plate mill", [(10, "mill", "on")]),
        ("lever pond starts on\ntorch mill from pond", [(10, "pond", "off")]),
        ("lever pond\nrepeater mill from pond", [(10, "pond", "on")]),
        ("lever pond\ndetector mill watches pond", [(10, "pond", "on")]),
        ("lever pond\nlever race\nlatch mill set pond reset race starts reset", [(10, "pond", "on")]),
    ],
)
def test_most_parts_give_fifteen_or_nothing(part: str, acts: list[Act]) -> None:
    """Common practice, no source; rule P1."""
    changes = edges(drive(part + "\n", acts, 60), "mill")
    assert changes[0][1] == 15
    assert {level for _, level in changes} <= {0, 15}


def test_a_comparator_and_an_analogue_input_give_any_level() -> None:
    """Common practice, no source; rule P1."""
    run = start("analogue pond\ncomparator mill from pond\n")
    for level in range(16):
        proceed(run, [(run.now + 1, "pond", str(level))], run.now + 5)
        assert run.level("pond") == level
        assert run.level("mill") == level


def test_after_n_dust_a_full_signal_is_sixteen_less_n() -> None:
    """Common practice, no source; rule P2: the first dust shows 15, 15 dust carry, the 16th is dead."""
    run = drive(sixteen_lines("lever pond\n"), [(10, "pond", "on")], 10)
    levels = [run.level(f"row{count}") for count in COUNTS]
    assert levels == [15, 14, 13, 12, 11, 10, 9, 8, 7, 6, 5, 4, 3, 2, 1, 0]


def test_a_weaker_source_carries_less_far() -> None:
    """Common practice, no source; rule P2: the first dust shows the source's level, each further one less."""
    run = start(sixteen_lines("analogue pond\n"))
    for level in range(16):
        proceed(run, [(run.now + 1, "pond", str(level))], run.now + 1)
        assert [run.level(f"row{count}") for count in COUNTS] == [max(level + 1 - count, 0) for count in COUNTS]


def test_lines_one_after_the_other_lose_like_one_line() -> None:
    """Common practice, no source; rule P2: 6 dust and 9 more are 15, and one more is dead."""
    body = "lever pond\ndust row from pond length 6\ndust tail from row length 9\ndust sill from tail\n"
    run = drive(body, [(10, "pond", "on")], 10)
    assert [run.level(name) for name in ("row", "tail", "sill")] == [10, 1, 0]


def test_dust_takes_the_highest_level_that_reaches_it() -> None:
    """Common practice, no source; rule P2."""
    body = "analogue pond\nanalogue race\ndust row from pond, race\n"
    run = drive(body, [(10, "pond", "5"), (20, "race", "9"), (30, "pond", "12"), (40, "race", "0")], 60)
    assert edges(run, "row") == [(10, 5), (20, 9), (30, 12)]


def test_dust_and_blocks_have_no_delay() -> None:
    """Common practice, no source; rule P3."""
    body = "lever pond\nblock wall from pond\ndust row from wall length 15\nlamp open from row\n"
    run = drive(body, [(10, "pond", "on")], 30)
    assert edges(run, "row") == [(10, 1)]
    assert edges(run, "open") == [(10, 15)]


@pytest.mark.parametrize(
    "source",
    [
        "lever pond\n",
        "button pond short\n",
        "lever race starts on\ntorch pond from race\n",
        "lever race\nrepeater pond from race\n",
        "lever race\ncomparator pond from race\n",
    ],
)
def test_a_strongly_powered_block_lights_dust(source: str) -> None:
    """Common practice, no source; rule P4: torch under it, repeater or comparator into it, lever or button on it."""
    worked, verb = {
        "lever pond\n": ("pond", "on"),
        "button pond short\n": ("pond", "press"),
    }.get(source, ("race", "throw"))
    body = source + "block wall from pond\ndust row from wall\n"
    assert start(body).level("row") == 0
    run = drive(body, [(10, worked, verb)], 20)
    assert run.level("wall") == 15
    assert run.level("row") == 15


def test_a_comparator_into_a_block_gives_it_its_own_level() -> None:
    """Common practice, no source; rules P1 and P4."""
    body = "analogue pond\ncomparator mill from pond\nblock wall from mill\ndust row from wall length 3\n"
    assert drive(body, [(10, "pond", "7")], 30).level("row") == 5


WEAK = """
lever pond
dust sill from pond
block wall from sill
dust row from wall
torch rope from wall
repeater mill from wall
comparator wheel from wall
lamp open from wall
piston gate from wall
"""


def test_a_block_powered_only_by_dust_does_not_light_dust() -> None:
    """Common practice, no source; rule P4: weakly powered."""
    run = drive(WEAK, [(10, "pond", "on")], 60)
    assert edges(run, "sill") == [(10, 15)]
    assert edges(run, "row") == []


def test_parts_at_a_weakly_powered_block_respond() -> None:
    """Common practice, no source; rule P4: torches, repeaters, comparators, lamps and pistons."""
    run = drive(WEAK, [(10, "pond", "on")], 60)
    assert edges(run, "rope") == [(12, 0)]
    assert edges(run, "mill") == [(12, 15)]
    assert edges(run, "wheel") == [(12, 15)]
    assert edges(run, "open") == [(10, 15)]
    assert edges(run, "gate") == [(14, 15)]


def test_a_block_with_dust_and_a_repeater_is_strongly_powered_by_the_repeater_alone() -> None:
    """Common practice, no source; rule P4."""
    body = (
        "lever pond\nlever race\ndust sill from pond\nrepeater mill from race\n"
        "block wall from sill, mill\ndust row from wall\n"
    )
    run = drive(body, [(10, "pond", "on"), (20, "race", "on"), (30, "race", "off")], 60)
    assert edges(run, "row") == [(22, 15), (32, 0)]
    assert edges(run, "wall") == [(10, 15)]


def test_a_block_that_is_said_to_power_a_block_is_refused() -> None:
    """Common practice, no source; rule P4: power never goes from block to block."""
    body = "lever pond\nblock wall from pond\nblock bank from wall\ntorch rope from bank\n"
    with pytest.raises(circuitcheck.InvalidCircuit) as refused:
        circuitcheck.loads(HEADER + body)
    assert [each.span.line for each in refused.value.diagnostics] == [5]


def test_power_never_goes_on_from_a_lamp_that_a_block_powers() -> None:
    """Common practice, no source; rules P4 and O2: the lamp is lit by the block, and is a block itself."""
    body = "lever pond\nblock wall from pond\nlamp open from wall\ntorch rope from open\ndust row from open\n"
    run = drive(body, [(10, "pond", "on")], 60)
    assert edges(run, "open") == [(10, 15)]
    assert edges(run, "rope") == []
    assert edges(run, "row") == []


def test_losing_a_signal_at_a_weakly_powered_block_is_said() -> None:
    """Common practice, no source; rule P4: a classic mistake: say so. A repeater into the block loses nothing."""

    def lost(body: str) -> list[str]:
        report = circuitcheck.loads(HEADER + body).verify()
        return [each.part for result in report.results for each in result.findings if each.rule == "P4"]

    assert lost(WEAK) == ["row"]
    assert lost(WEAK.replace("dust sill from", "repeater sill from")) == []


MEETING = """
lever pond
lever race
dust left from pond length 3
dust right from race length 5
junction meeting joins left, right
lamp open from left
lamp shut from right
"""


def test_lines_that_meet_are_an_or_and_power_flows_back_along_both() -> None:
    """Common practice, no source; rules P5 and P2: from the right 15…11, 10 at the meeting, 9 at the left's end."""
    right = drive(MEETING, [(10, "race", "on")], 30)
    assert [right.level(name) for name in ("right", "meeting", "left")] == [11, 10, 9]
    assert right.is_on("open")
    assert right.is_on("shut")
    left = drive(MEETING, [(10, "pond", "on")], 30)
    assert [left.level(name) for name in ("left", "meeting", "right")] == [13, 12, 11]
    both = drive(MEETING, [(10, "pond", "on"), (20, "race", "on")], 30)
    assert [both.level(name) for name in ("left", "meeting", "right")] == [13, 12, 11]
    neither = drive(MEETING, [(10, "pond", "on"), (20, "pond", "off")], 60)
    assert [neither.level(name) for name in ("left", "meeting", "right")] == [0, 0, 0]


@pytest.mark.parametrize("one_way", ["repeater", "comparator"])
def test_repeaters_and_comparators_keep_a_meeting_from_flowing_back(one_way: str) -> None:
    """Common practice, no source; rule P5."""
    body = (
        "lever pond\nlever race\ndust left from pond\ndust right from race\n"
        f"{one_way} rope from left\n{one_way} bell from right\njunction meeting joins rope, bell\n"
    )
    run = drive(body, [(10, "race", "on")], 30)
    assert run.level("meeting") == 15
    assert run.level("right") == 15
    assert run.level("left") == 0
