"""What a stroke does to what stands before it.

Common practice, no source; rules M1, M4, M7 and M8 (grammar/RULES.md).
"""

from __future__ import annotations

import pytest

from circuitcheck.model.rules import OLDER
from circuitcheck.space.configuration import AT_HOME, Around, Phase
from circuitcheck.space.strokes import Breaks, Step, Why

from .building import (
    LETTERS,
    Refused,
    at,
    ats,
    home,
    landed,
    out,
    refused,
    started,
    started_home,
    strokes_of,
)

MOVED = "SGh_OC>(uD"
"""What moves: blocks of all kinds, lamps, cells, pistons that are home, and detectors."""
BROKEN = "-TWE*rkbBL"
"""What breaks."""


@pytest.mark.parametrize("letter", MOVED)
def test_what_moves_is_pushed_one_place_on_and_pulled_back(letter: str) -> None:
    """M1."""
    strokes = strokes_of(f">{letter}..")
    assert out(strokes).places == ((at(2), at(3)),)
    assert home(strokes, out(strokes)) == AT_HOME


@pytest.mark.parametrize("letter", MOVED)
def test_a_plain_piston_leaves_out_what_it_pushed(letter: str) -> None:
    """M1."""
    strokes = strokes_of(f"){letter}..")
    assert home(strokes, out(strokes)).places == ((at(2), at(3)),)


@pytest.mark.parametrize("letter", BROKEN)
def test_what_breaks_makes_the_stroke_a_mistake(letter: str) -> None:
    """M1, M8: before the head, and behind a row."""
    assert refused(strokes_of(f">{letter}")) == Refused("breaks", ats(2))
    assert refused(strokes_of(f">SG{letter}")) == Refused("breaks", ats(4))


@pytest.mark.parametrize("letter", [*BROKEN, "F", "~"])
def test_what_is_not_moved_stays_when_a_sticky_piston_goes_home(letter: str) -> None:
    """M1: it stands two before the piston, and the head before it goes."""
    strokes = strokes_of(f">.{letter}")
    step = started_home(strokes, out(strokes))
    assert (step.after.places, step.after.moving) == ((), ())


@pytest.mark.parametrize("build", ["F", "SF", "SGF"])
def test_a_fixed_block_stops_the_stroke(build: str) -> None:
    """M1, M7."""
    assert refused(strokes_of(f">{build}.")) == Refused("blocked", ats(1 + len(build)))


def test_the_ground_stops_a_stroke_and_the_air_around_a_drawing_does_not() -> None:
    """M1: below the lowest layer is ground, all around and above it air."""
    assert refused(strokes_of("w")) == Refused("blocked", (at(1, layer=0),))
    assert out(strokes_of("<")).phases == ((at(1), Phase.OUT),)
    assert out(strokes_of("S", "u")).phases == ((at(1, layer=2), Phase.OUT),)


@pytest.mark.parametrize("row", ["S" * 12, "SGhOC_" * 2])
def test_a_row_of_12_moves_and_a_13th_thing_stops_it(row: str) -> None:
    """M1, worked table: a row of 13 never moves; of 12 all move."""
    moved = out(strokes_of(f">{row}."))
    assert [place[2] - thing[2] for thing, place in moved.places] == [1] * 12
    assert refused(strokes_of(f">{row}S.")) == Refused("blocked", ats(14))


def test_what_breaks_or_is_wet_behind_12_things_is_not_counted() -> None:
    """M1, worked table: 12 and a torch behind them break the torch."""
    assert refused(strokes_of(f">{'S' * 12}T")) == Refused("breaks", ats(14))
    assert started(strokes_of(f">{'S' * 12}~")).water == ats(14)


def test_a_sticky_piston_pulls_one_thing_of_a_row() -> None:
    """M1."""
    strokes = strokes_of(">SGO.")
    assert home(strokes, out(strokes)).places == ((at(3), at(4)), (at(4), at(5)))


def test_a_sticky_piston_pulls_whatever_stands_there_whoever_put_it_there() -> None:
    """M1: the block was drawn two before the piston, and never pushed."""
    strokes = strokes_of(">.S")
    assert home(strokes, out(strokes)).places == ((at(3), at(2)),)


@pytest.mark.parametrize("way", ["out", "home"])
def test_older_has_no_detectors_that_move(way: str) -> None:
    """M1, M10."""
    strokes = strokes_of(">D." if way == "out" else ">.D", rules=OLDER)
    step = strokes.start_out(AT_HOME, at(1)) if way == "out" else strokes.start_home(out(strokes), at(1))
    assert isinstance(step, Breaks)
    assert [(each.place, each.why) for each in step.broken] == [(at(2 if way == "out" else 3), Why.NO_DETECTOR)]


def test_a_row_with_a_detector_that_is_stopped_anyway_is_no_mistake_under_older() -> None:
    """M7, M10."""
    assert refused(strokes_of(">DF", rules=OLDER)) == Refused("blocked", ats(3))


# What holds a stroke back (M1, M4)


def test_a_head_a_piston_that_is_out_and_what_is_in_motion_stop_a_stroke() -> None:
    """M1, M4: from a block in motion on, from a head on its way, and from one that has landed."""
    face = strokes_of(")S.(")
    assert refused(face, started(face, piston=at(1)).after, at(4)) == Refused("blocked", ats(3))
    assert refused(face, out(face, at(1)), at(4)) == Refused("blocked", ats(2))
    bare = strokes_of(").(")
    assert refused(bare, started(bare, piston=at(1)).after, at(3)) == Refused("blocked", ats(2))


def test_the_place_that_a_pulled_thing_leaves_is_air_at_once() -> None:
    """M4."""
    strokes = strokes_of(">S..(")
    going_home = started_home(strokes, out(strokes, at(1)), at(1)).after
    step = started(strokes, going_home, at(5))
    assert step.after.phase(at(5)) is Phase.GOING_OUT


def test_a_piston_going_home_can_t_be_pushed_and_one_that_is_home_can() -> None:
    """M1, M4: the own place of a piston on its way home is in motion."""
    strokes = strokes_of(")^.")
    assert started(strokes, piston=at(1)).after.places == ((at(2), at(3)),)
    raised = out(strokes, at(2))
    assert refused(strokes, raised, at(1)) == Refused("blocked", ats(2))
    assert refused(strokes, started_home(strokes, raised, at(2)).after, at(1)) == Refused("blocked", ats(2))
    assert started(strokes, home(strokes, raised, at(2)), at(1)).after.places == ((at(2), at(3)),)


def test_a_piston_in_motion_starts_nothing() -> None:
    """M4, M7: it looks at its power when it lands."""
    strokes = strokes_of(")^.")
    carried = started(strokes, piston=at(1)).after
    assert refused(strokes, carried, at(2)) == Refused("blocked", ats(3))
    there = landed(strokes, carried, piston=at(1)).after
    assert started(strokes, there, at(2)).tells == (at(3, row=0), at(3))


def test_a_moved_piston_moves_things_from_where_it_is() -> None:
    """M1: a piston keeps its facing where it is moved."""
    strokes = strokes_of("..S/)^./...")
    there = out(strokes, at(1, row=2))
    assert started(strokes, there, at(2, row=2)).after.places == ((at(3), at(3, row=0)), (at(2, row=2), at(3, row=2)))


# Face to face (M7)


def test_of_two_plain_pistons_face_to_face_the_first_called_takes_the_place() -> None:
    """M7, worked table: the second is blocked until the first starts home, whose head's place is updated then."""
    strokes = strokes_of(").(")
    assert refused(strokes, started(strokes, piston=at(1)).after, at(3)) == Refused("blocked", ats(2))
    taken = out(strokes, at(1))
    assert refused(strokes, taken, at(3)) == Refused("blocked", ats(2))
    back = started_home(strokes, taken, at(1))
    assert at(2) in back.tells
    assert started(strokes, back.after, at(3)).after.phase(at(3)) is Phase.GOING_OUT


def test_a_sticky_piston_pulls_the_plain_one_that_faces_it() -> None:
    """M7."""
    strokes = strokes_of(">.(")
    assert home(strokes, out(strokes, at(1)), at(1)).places == ((at(3), at(2)),)


# What hangs and lies on things (M8)


@pytest.mark.parametrize(
    "layers",
    [
        (">S.", ".-."),
        (">S.", ".T."),
        (">S.", ".r."),
        (">G.", ".-."),
        (">h.", ".-."),
        (">S./.Z.",),
        (">GS./..Z.",),
        (">O.", ".b."),
        (">S.", ".*."),
    ],
)
def test_what_hangs_or_lies_on_a_thing_that_is_moved_breaks(layers: tuple[str, ...]) -> None:
    """M1, M8."""
    assert refused(strokes_of(*layers)).how == "breaks"


@pytest.mark.parametrize("layers", [(">S./.r.",), (">S.", ".S."), (">S.", ".~."), (">S./E..",), (">S.", ".L.")])
def test_what_only_stands_beside_a_thing_that_is_moved_does_not_break(layers: tuple[str, ...]) -> None:
    """M8."""
    assert isinstance(strokes_of(*layers).start_out(AT_HOME, at(1)), Step)


def test_what_is_attached_to_what_is_pulled_breaks_when_the_homeward_stroke_starts() -> None:
    """M8: the torch is attached to the block that was drawn two before the piston."""
    strokes = strokes_of(">.SW")
    step = strokes.start_home(out(strokes), at(1))
    assert isinstance(step, Breaks)
    assert [(each.place, each.why) for each in step.broken] == [(at(4), Why.UNHELD)]


def test_a_torch_that_hangs_behind_a_row_is_broken_once() -> None:
    """M8: it stands where the row comes to, and is attached to its last block."""
    assert refused(strokes_of(">SSW")) == Refused("breaks", ats(4))


# Water, and what comes and goes


def test_water_is_taken_away_at_the_start_and_told() -> None:
    """M1, M5, Z7."""
    for build, place in ((">~", 2), (">S~", 3)):
        step = started(strokes_of(build))
        assert (step.water, step.tells[0]) == (ats(place), at(place))


def test_water_that_flows_where_none_is_drawn_is_taken_away_and_dry_places_are_not() -> None:
    """Z7."""
    strokes = strokes_of(">S.~")
    step = strokes.start_out(AT_HOME, at(1), Around(wet=frozenset({at(3)})))
    assert isinstance(step, Step)
    assert step.water == ats(3)
    dry = strokes_of(">~").start_out(AT_HOME, at(1), Around(absent=frozenset({at(2)})))
    assert isinstance(dry, Step)
    assert dry.water == ()


def test_leaves_that_are_not_there_just_now_do_not_break() -> None:
    """M1."""
    strokes = strokes_of(">L")
    assert refused(strokes).how == "breaks"
    assert isinstance(strokes.start_out(AT_HOME, at(1), Around(absent=frozenset({at(2)}))), Step)


def test_every_letter_of_these_tests_either_moves_or_breaks_or_is_neither() -> None:
    assert set(LETTERS) - set(MOVED) - set(BROKEN) == set("FdNZqn<AVw)^v~")
