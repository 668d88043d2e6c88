"""What a device does of which several strokes change what it reads: the same in every order, or not known.

Common practice, no source: rules C3 (pointing straight), C4 (one wait at a time), C5, P1 (power wears off along dust),
R2, T1 and V3 (a pulse of no width). Device and readings are made by hand; the argument for the answers is in
`engine/shared_readers.py`.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, cast

import pytest

from circuitcheck.engine.shared_readers import Answer, answer
from circuitcheck.model.parts.base import Device, Reaction
from circuitcheck.model.parts.simulator_view import SimulatorView
from circuitcheck.space.wirings import Inputs

FOLLOWS, INVERTS = Reaction(False, 2, 4), Reaction(True, 6, 8)
LEVER, RUN, LAMP = 1, 2, 3
"""Devices by number: one at 15, one at 5, one that is off. The device that is asked about is 0."""
LEVELS = (15, 5, 0)
NONE, ONE, OTHER, BOTH = (frozenset(each) for each in ((), (7,), (9,), (7, 9)))
"""Which of two strokes, of the pistons 7 and 9, have been made."""


class Asked:
    """A device of one port with a reaction, and the simulator that it is in."""

    def __init__(self, reaction: Reaction | None, level: int, waiting: bool, held: int) -> None:
        self.reaction, self.index, self.part = reaction, 0, self
        self.levels, self.waiting = (level, *LEVELS), (waiting, 0, 0, 0)
        self._held = held

    name = "back"

    def ports(self) -> list[Asked]:
        return [self]

    def holds(self, device: int, wait: int) -> bool:
        return device == self.index and wait == self._held


def inputs(*feeds: tuple[int, int], straight: bool = True, place: tuple[int, int, int] | None = (1, 1, 1)) -> Inputs:
    """What the device reads: by its port `back` from these, each with what is lost; by another port from the lever."""
    side, back = ("side", (("1", 0),)), ("back", tuple((str(number), loss) for number, loss in feeds))
    return Inputs(place, (side, back), straight=straight)


OFF, ON = inputs((LAMP, 0)), inputs((LAMP, 0), (LEVER, 14))


def asked(
    reads: Mapping[frozenset[int], Inputs],
    reaction: Reaction | None = FOLLOWS,
    *,
    level: int = 0,
    waiting: bool = False,
    held: int = 0,
    shifting: tuple[int, ...] = (),
) -> Answer | None:
    device: Any = Asked(reaction, level, waiting, held)
    numbered = lambda drivers: tuple((int(name), loss) for name, loss in drivers)  # noqa: E731
    return answer(cast(SimulatorView, device), cast(Device, device), reads, numbered, shifting)


LIT = {NONE: OFF, ONE: ON, OTHER: ON, BOTH: ON}
"""Either stroke lights it."""
BY_ONE = {NONE: OFF, ONE: ON, OTHER: OFF, BOTH: ON}
BY_BOTH = {NONE: OFF, ONE: OFF, OTHER: OFF, BOTH: ON}
DARK = {NONE: ON, ONE: OFF, OTHER: OFF, BOTH: OFF}


def test_whichever_comes_first_calls_it_for_the_same_wait() -> None:
    assert asked(LIT) == Answer(2, frozenset({ONE, OTHER, BOTH}), BOTH)
    assert asked(BY_ONE) == Answer(2, frozenset({ONE, BOTH}), BOTH)
    assert asked(BY_BOTH) == Answer(2, frozenset({BOTH}), BOTH)


def test_one_that_is_on_is_called_to_go_off() -> None:
    assert asked(DARK, level=15) == Answer(4, frozenset({ONE, OTHER, BOTH}), BOTH)
    assert asked(LIT, INVERTS, level=1) == Answer(8, frozenset({ONE, OTHER, BOTH}), BOTH)
    assert asked(DARK, INVERTS) == Answer(6, frozenset({ONE, OTHER, BOTH}), BOTH)


def test_one_that_is_as_it_should_be_in_every_part_of_the_strokes_begins_nothing() -> None:
    assert asked(LIT, level=15) is None  # before any stroke it should go off
    assert asked(DARK) is None  # before any stroke it should come on
    assert asked(dict.fromkeys(LIT, OFF)) == Answer(0, frozenset(), BOTH)
    assert asked(dict.fromkeys(LIT, ON), level=15) == Answer(0, frozenset(), BOTH)


def test_power_that_wears_off_on_the_way_is_none() -> None:
    faint = inputs((RUN, 5), (LEVER, 15))
    assert asked({**LIT, ONE: faint, OTHER: faint}) == asked(BY_BOTH)
    assert asked({**LIT, NONE: Inputs((1, 1, 1), straight=True)}) == asked(LIT)  # nothing feeds it there
    assert asked({**LIT, ONE: inputs((RUN, 4)), OTHER: inputs((LAMP, 0), (LEVER, 14))}) == asked(LIT)


@pytest.mark.parametrize(
    "reads",
    [
        {NONE: OFF, ONE: ON, OTHER: ON, BOTH: OFF},
        {NONE: OFF, ONE: ON, OTHER: OFF, BOTH: OFF},
        {NONE: ON, ONE: ON, OTHER: ON, BOTH: ON},
    ],
    ids=["both put it out again", "the other puts it out again", "it should have been called before"],
)
def test_what_a_later_stroke_takes_back_is_not_known(reads: Mapping[frozenset[int], Inputs]) -> None:
    assert asked(reads) is None


def test_one_that_does_more_than_to_react_is_not_known() -> None:
    assert asked(LIT, None) is None


def test_one_that_is_moved_or_points_straight_only_after_some_strokes_is_not_known() -> None:
    assert asked({**LIT, BOTH: inputs((LEVER, 0), straight=False)}) is None
    assert asked({**LIT, BOTH: inputs((LEVER, 0), place=(1, 1, 2))}) is None
    assert asked({**LIT, BOTH: ON._replace(hears=((("1", 0),),))}) == asked(LIT)
    never = {part: each._replace(straight=False) for part, each in LIT.items()}
    assert asked(never) == asked(LIT)


def test_what_the_strokes_change_the_level_of_is_not_known_where_it_is_read() -> None:
    assert asked(LIT, shifting=(LEVER,)) is None
    assert asked(LIT, shifting=(LAMP,)) is None
    assert asked(LIT, shifting=(RUN,)) == asked(LIT)
    everywhere = {part: inputs((LAMP, 0)) for part in LIT}
    assert asked(everywhere, shifting=(LEVER,)) is not None  # the other port counts for nothing


def test_one_that_waits_begins_nothing() -> None:
    """C4; after some strokes its input is back, but it could not hold the wait for that (V3)."""
    for reads, level in ((LIT, 0), (DARK, 0), (LIT, 15), (DARK, 15)):
        assert asked(reads, level=level, waiting=True) == Answer(0, frozenset(), BOTH)


def test_where_its_wait_is_for_an_input_that_some_strokes_take_away_a_pulse_of_no_width_is_noted() -> None:
    assert asked(DARK, waiting=True, held=2) is None
    assert asked(LIT, waiting=True, held=2) is None
    assert asked(DARK, level=15, waiting=True, held=4) is None
    assert asked(DARK, waiting=True, held=4) == Answer(0, frozenset(), BOTH)
    assert asked(LIT, level=15, waiting=True, held=2) == Answer(0, frozenset(), BOTH)


def test_where_its_wait_stays_called_for_after_every_stroke_none_is_noted() -> None:
    assert asked(dict.fromkeys(LIT, ON), waiting=True, held=2) == Answer(0, frozenset(), BOTH)
    assert asked(dict.fromkeys(LIT, OFF), level=15, waiting=True, held=4) == Answer(0, frozenset(), BOTH)
