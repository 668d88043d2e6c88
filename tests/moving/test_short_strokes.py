"""Short strokes, letting go and fetching, led through step by step. Common practice, no source; rules M6 and M12."""

from __future__ import annotations

from dataclasses import replace

from circuitcheck.model.rules import NEWER
from circuitcheck.space.configuration import AT_HOME, Phase, Stroke
from circuitcheck.space.strokes import Step

from .building import at, home, landed, out, started, started_home, strokes_of


def test_off_within_2_gt_lets_the_block_go() -> None:
    """M6, lines 2 and 3 of its table: the block lands at once, and the piston 2 gt later."""
    strokes = strokes_of(">S..")
    step = started_home(strokes, started(strokes).after)
    assert step.let_go == at(2)
    assert step.after.places == ((at(2), at(3)),)
    assert step.after.moving == ()
    assert step.after.under_way == (Stroke(at(1), False),)
    assert landed(strokes, step.after, out=False).after.phases == ()


def test_off_after_the_landing_pulls_the_block() -> None:
    """M6, lines 4 and 5 of its table."""
    strokes = strokes_of(">S..")
    step = started_home(strokes, out(strokes))
    assert step.let_go is None
    assert step.after.places == ()
    assert step.after.moving == ((at(2), Stroke(at(1), False)),)
    assert home(strokes, out(strokes)) == AT_HOME


def test_what_was_let_go_is_fetched_by_the_next_homeward_start_however_short() -> None:
    """M6: fetched on the way, and after the landing."""
    strokes = strokes_of(">S..")
    dropped = landed(strokes, started_home(strokes, started(strokes).after).after, out=False).after
    assert dropped.places == ((at(2), at(3)),)
    again = started(strokes, dropped)
    assert (again.after.places, again.after.moving) == (dropped.places, ())
    short = started_home(strokes, again.after)
    assert (short.let_go, short.after.moving) == (None, ((at(2), Stroke(at(1), False)),))
    assert landed(strokes, short.after, out=False).after == AT_HOME
    assert home(strokes, landed(strokes, again.after).after) == AT_HOME


def test_the_rest_of_a_row_goes_on_and_lands_at_its_own_time() -> None:
    """M6: of a sticky piston all but the thing before its head; of a plain one all."""
    for build, let_go, rest in ((">SG..", 1, (at(3),)), (")SG..", 0, (at(2), at(3)))):
        strokes = strokes_of(build)
        step = started_home(strokes, started(strokes).after)
        assert len(step.landed) == let_go
        assert step.after.moving == tuple((thing, Stroke(at(1), True)) for thing in rest)
        assert step.after.under_way == (Stroke(at(1), False), Stroke(at(1), True))
        row_first = landed(strokes, step.after).after
        assert row_first.phase(at(1)) is Phase.GOING_HOME
        assert row_first.places == ((at(2), at(3)), (at(3), at(4)))
        assert landed(strokes, row_first, out=False).after.phases == ()


def test_a_piston_that_never_lets_go_pulls_what_is_still_in_motion() -> None:
    """M6 under `sticky_lets_go no`."""
    strokes = strokes_of(">S..", rules=replace(NEWER, sticky_lets_go=False))
    step = started_home(strokes, started(strokes).after)
    assert step.let_go is None
    assert landed(strokes, step.after, out=False).after == AT_HOME


def test_what_another_stroke_moves_is_not_pulled() -> None:
    """M1: a thing in motion stays out of the way of a sticky piston that goes home."""
    strokes = strokes_of(">.../..S./..^.")
    raised = out(strokes, at(1))
    lifting = started(strokes, raised, at(3, row=3)).after
    assert lifting.place(at(3, row=2)) == at(3)
    assert started_home(strokes, lifting, at(1)).after.stroke_of(at(3, row=2)) == Stroke(at(3, row=3), True)


def test_a_detector_s_pulses_toggle_a_block_between_two_places() -> None:
    """M6, worked table: each pulse of a detector ends 2 gt after it began; the block is let go, then fetched."""
    strokes = strokes_of(">S..")
    now, seen = AT_HOME, []
    for _ in range(4):
        now = landed(strokes, started_home(strokes, started(strokes, now).after).after, out=False).after
        seen.append(now.place(at(2)))
    assert seen == [at(3), at(2), at(3), at(2)]


def test_pistons_that_are_out_at_the_start_have_moved_what_is_before_them() -> None:
    """O3: a declared start."""
    strokes = strokes_of(">S.(")
    assert strokes.already_out([at(1)]) == out(strokes, at(1))
    assert not hasattr(strokes.already_out([at(1), at(4)]), "phases")


def test_two_strokes_that_share_a_place_are_reported_by_what_they_depend_on() -> None:
    """M13: each place from the piston to the end of its row; a sticky one's, at least to what it may pull."""
    strokes = strokes_of(">S.../....^")
    assert strokes.footprint(AT_HOME, at(1)) == {at(1), at(2), at(3)}
    assert strokes.footprint(AT_HOME, at(5, row=2)) == {at(5, row=2), at(5), at(5, row=0)}
    longer = strokes_of(">SSS./....^")
    assert longer.footprint(AT_HOME, at(1)) & longer.footprint(AT_HOME, at(5, row=2)) == {at(5)}


def test_where_a_call_waits_for_the_landing_the_block_is_let_go_from_there() -> None:
    """O3 under `piston_lands wait`."""
    strokes = strokes_of(">S..")
    step = strokes.start_home(out(strokes), at(1), lets_go=True)
    assert isinstance(step, Step)
    assert (step.tells, step.landed, step.after.moving) == ((at(1), at(2)), (), ())
    assert landed(strokes, step.after, out=False).after.places == ((at(2), at(3)),)
