"""Around which places a stroke tells, and in which order. Common practice, no source; rules M5 and M10."""

from __future__ import annotations

from circuitcheck.model.rules import NEWER, OLDER

from .building import at, ats, landed, out, started, started_home, strokes_of


def test_a_start_out_tells_what_is_left_farthest_first_then_the_head_s_place_then_its_own() -> None:
    """M5: not the free place that the farthest thing goes to."""
    step = started(strokes_of(">SGO.."))
    assert step.tells == ats(4, 3, 2, 1)
    assert started(strokes_of(">..")).tells == ats(2, 1)


def test_a_start_out_tells_water_that_it_takes_before_all_else() -> None:
    """M5."""
    assert started(strokes_of(">S~")).tells == ats(3, 2, 1)


def test_a_start_home_tells_the_own_place_then_what_the_pulled_thing_leaves_or_the_head() -> None:
    """M5."""
    strokes = strokes_of(">S.")
    assert started_home(strokes, out(strokes)).tells == ats(1, 3)
    plain = strokes_of(")S.")
    assert started_home(plain, out(plain)).tells == ats(1, 2)


def test_a_start_home_with_the_head_on_its_way_tells_the_head_then_the_own_place_then_what_lands() -> None:
    """M5, M6."""
    strokes = strokes_of(">SG..")
    step = started_home(strokes, started(strokes).after)
    assert (step.tells, step.landed, step.let_go) == (ats(2, 1, 3), ats(2), at(2))
    plain = strokes_of(")SG..")
    assert started_home(plain, started(plain).after).tells == ats(2, 1)


def test_a_landing_out_tells_each_new_place_farthest_first_and_the_head_last() -> None:
    """M5."""
    for build, columns in ((">SG..", (4, 3, 2)), ("..GS<", (2, 3, 4)), (">.", (2,))):
        strokes = strokes_of(build)
        step = landed(strokes, started(strokes).after)
        assert step.tells == ats(*columns)
        assert [strokes.drawing.things[thing].word for thing in step.landed] == ["glass", "block"][: len(columns) - 1]


def test_a_landing_home_tells_the_own_place_then_that_of_the_thing() -> None:
    """M5."""
    strokes = strokes_of(">S.")
    step = landed(strokes, started_home(strokes, out(strokes)).after, out=False)
    assert (step.tells, step.landed) == (ats(1, 2), ats(2))


def test_a_detector_feels_both_starts_and_what_lands() -> None:
    """M10: also the free place that the farthest thing goes to; at the landing out nothing changes in the own place."""
    strokes = strokes_of(">S.")
    start = started(strokes)
    land = landed(strokes, start.after)
    back = started_home(strokes, land.after)
    assert set(start.felt) == set(ats(1, 2, 3))
    assert set(land.felt) == set(ats(2, 3))
    assert set(back.felt) == set(ats(1, 2, 3))
    assert set(landed(strokes, back.after, out=False).felt) == set(ats(1, 2))


def test_under_older_a_detector_feels_the_landings_only() -> None:
    """M10: in every place that changed by the stroke."""
    strokes = strokes_of(">S.", rules=OLDER)
    start = started(strokes)
    land = landed(strokes, start.after)
    back = started_home(strokes, land.after)
    assert (start.felt, back.felt) == ((), ())
    assert set(land.felt) == set(landed(strokes, back.after, out=False).felt) == set(ats(1, 2, 3))
    assert (OLDER.detector_feels, NEWER.detector_feels) == ("landing", "start")
