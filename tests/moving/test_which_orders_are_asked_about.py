"""What `StrokeOrders` takes into account as it says which of two strokes collide: each question apart.

Common practice, no source: rules C5, M2, M3, M6, M7, M13, O3, Z8. Pistons, simulators and what strokes bring about are
made by hand; the argument for the answers is in `engine/stroke_orders.py`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from types import SimpleNamespace
from typing import Any

import pytest

from circuitcheck.engine.shared_readers import Answer
from circuitcheck.engine.stroke_effects import Act, Effects
from circuitcheck.engine.stroke_orders import StrokeOrders
from circuitcheck.model.parts.waits import CALLED, GOING_HOME, GOING_OUT, HOME, IS_CALLED, IS_CUT_SHORT, LANDING, OUT
from circuitcheck.space.configuration import AT_HOME, Configuration, Phase, Stroke
from circuitcheck.space.strokes import Blocked, Breaks, Step, Why

Pair = tuple[int, int]
STICKY, OTHER, WATER, LAMP = range(4)
"""Devices by number: two pistons, a place of water, and a lamp. The port of each has its number."""
MY_WAIT = 16
HOMES = {STICKY: (2, 1, 1), OTHER: (2, 3, 1)}
AWAY = Configuration(((HOMES[OTHER], Phase.OUT),))


@dataclass
class Strokes:
    """Answers with steps made beforehand, and keeps what it was asked."""

    rules: Any
    out: Step | Blocked | Breaks = field(default_factory=lambda: Step(AWAY, (), ()))
    asked: list[tuple[object, ...]] = field(default_factory=list)

    def start_out(self, now: Configuration, home: object) -> Step | Blocked | Breaks:
        self.asked.append(("out", now, home))
        return self.out

    def start_home(self, now: Configuration, home: object, lets_go: bool) -> Step:
        self.asked.append(("home", now, home, lets_go))
        return Step(AT_HOME, (), ())


@dataclass
class Simulator:
    """What is asked of a simulator: states of pistons, power, waits."""

    state: int = HOME
    power: bool = False
    level: int = 0
    waits: int = 0
    room: bool = True
    held: tuple[tuple[int, int], ...] = ()

    @property
    def device_state(self) -> Mapping[int, int]:
        return dict.fromkeys(range(4), self.state)

    @property
    def readings(self) -> Mapping[int, int]:
        return dict.fromkeys(range(4), 15 * self.power)

    @property
    def levels(self) -> Mapping[int, int]:
        return dict.fromkeys(range(4), self.level)

    @property
    def waiting(self) -> Mapping[int, int]:
        return dict.fromkeys(range(4), self.waits)

    def holds(self, device: int, wait: int) -> bool:
        return (device, wait) in self.held

    def can_start(self, device: int) -> bool:
        assert device is not None
        return self.room


def orders(lands: str = "late", lets_go: bool = True, stays: Sequence[int] = ()) -> tuple[StrokeOrders, Strokes]:
    strokes = Strokes(SimpleNamespace(piston_lands=lands, sticky_lets_go=lets_go))

    def device(number: int) -> Any:
        return SimpleNamespace(
            ports=(number,),
            strokes=number in HOMES,
            flows=number == WATER,
            own_waits=lambda level: frozenset({MY_WAIT}),
            waits_on_change=lambda level: frozenset({MY_WAIT + number}),
        )

    motion: Any = SimpleNamespace(
        strokes=strokes,
        device=device,
        home_of=HOMES,
        stays=lambda port: port in stays,
        numbered=None,
        land=lambda now, piston: Step(AT_HOME, (), ()),
    )
    return StrokeOrders(motion), strokes


def ignores(device: int, simulator: Simulator, lands: str = "late") -> bool:
    made: Any = simulator
    return orders(lands)[0].ignores(made, device)


# Who does nothing when it gets an update


def test_water_has_nothing_to_look_at_where_it_is_dry_or_waits_already() -> None:
    assert ignores(WATER, Simulator(level=0))
    assert ignores(WATER, Simulator(level=3, waits=5))
    assert not ignores(WATER, Simulator(level=3))


def test_what_is_neither_water_nor_a_piston_may_do_something_at_any_update() -> None:
    assert not ignores(LAMP, Simulator())


def test_a_piston_that_is_home_does_something_only_with_power_and_room() -> None:
    assert ignores(STICKY, Simulator(HOME, power=False))
    assert ignores(STICKY, Simulator(HOME, power=True, room=False))
    assert not ignores(STICKY, Simulator(HOME, power=True))


@pytest.mark.parametrize("state", [OUT, GOING_OUT])
def test_a_piston_that_is_out_or_on_its_way_does_something_only_without_power(state: int) -> None:
    assert ignores(STICKY, Simulator(state, power=True))
    assert not ignores(STICKY, Simulator(state, power=False))
    assert not ignores(STICKY, Simulator(state, power=False, room=False))


@pytest.mark.parametrize("lands", ["late", "wait"])
@pytest.mark.parametrize("state", [GOING_HOME, HOME | IS_CALLED])
@pytest.mark.parametrize("power", [True, False])
def test_a_piston_going_home_is_deaf_and_one_that_is_called_is_called_already(
    lands: str, state: int, power: bool
) -> None:
    assert ignores(STICKY, Simulator(state, power), lands)


def test_a_piston_that_is_called_home_on_its_way_out_is_called_already() -> None:
    """M6: where strokes land late, a call home never waits for the landing."""
    assert ignores(STICKY, Simulator(GOING_OUT | IS_CALLED, power=False))


@pytest.mark.parametrize(
    ("state", "power", "expected"),
    [
        (GOING_OUT, True, True),
        (GOING_OUT | IS_CUT_SHORT, True, False),  # it notes that its power is back
        (GOING_OUT, False, False),  # it notes that its power is gone
        (GOING_OUT | IS_CUT_SHORT, False, True),
        (OUT, True, True),
        (OUT | IS_CUT_SHORT, True, False),
        (OUT, False, False),  # it is called home
        (OUT | IS_CUT_SHORT, False, False),
        (OUT | IS_CALLED, False, True),
    ],
)
def test_where_strokes_land_among_the_waits_a_piston_notes_whether_it_is_cut_short(
    state: int, power: bool, expected: bool
) -> None:
    """O3: a call home waits for the landing, and one whose power went before lets go."""
    assert ignores(STICKY, Simulator(state, power), lands="wait") is expected


# What a piston does as it starts


def starts(simulator: Simulator, lets_go: bool = True) -> tuple[list[Act], list[tuple[object, ...]]]:
    asked, strokes = orders(lets_go=lets_go)
    made: Any = simulator
    return list(asked._starts(made, AWAY, [STICKY, OTHER])), strokes.asked


def test_one_that_is_home_goes_out_if_it_has_power_and_else_does_nothing() -> None:
    acts, asked = starts(Simulator(HOME | IS_CALLED, power=True))
    assert [(act.piston, act.step) for act in acts] == [(each, Step(AWAY, (), ())) for each in (STICKY, OTHER)]
    assert asked == [("out", AWAY, HOMES[each]) for each in (STICKY, OTHER)]
    acts, asked = starts(Simulator(HOME | IS_CALLED, power=False))
    assert (acts, asked) == ([Act(STICKY, None), Act(OTHER, None)], [])


@pytest.mark.parametrize("state", [OUT, GOING_OUT])
def test_one_that_is_out_or_on_its_way_goes_home_if_it_has_no_power_and_else_does_nothing(state: int) -> None:
    acts, asked = starts(Simulator(state, power=False))
    assert [act.step for act in acts] == [Step(AT_HOME, (), ())] * 2
    assert asked == [("home", AWAY, HOMES[each], False) for each in (STICKY, OTHER)]
    acts, asked = starts(Simulator(state, power=True))
    assert (acts, asked) == ([Act(STICKY, None), Act(OTHER, None)], [])


def test_one_that_is_going_home_does_nothing() -> None:
    for power in (True, False):
        assert starts(Simulator(GOING_HOME, power)) == ([Act(STICKY, None), Act(OTHER, None)], [])


def test_one_that_was_cut_short_lets_go_if_the_rules_have_that() -> None:
    assert [each[3] for each in starts(Simulator(OUT | IS_CUT_SHORT))[1]] == [True, True]
    assert [each[3] for each in starts(Simulator(OUT | IS_CUT_SHORT), lets_go=False)[1]] == [False, False]
    assert [each[3] for each in starts(Simulator(OUT))[1]] == [False, False]


def test_of_one_that_has_started_out_in_this_very_moment_nothing_is_known() -> None:
    acts, _ = starts(Simulator(GOING_OUT, held=((STICKY, MY_WAIT),)))
    assert [act.piston for act in acts] == [OTHER]
    acts, _ = starts(Simulator(OUT, held=((STICKY, MY_WAIT),)))
    assert [act.piston for act in acts] == [STICKY, OTHER]


def test_of_one_that_makes_a_mistake_nothing_is_known() -> None:
    asked, strokes = orders()
    strokes.out = Breaks(())
    made: Any = Simulator(HOME, power=True)
    assert list(asked._starts(made, AWAY, [STICKY])) == []


def test_one_that_is_blocked_does_nothing() -> None:
    asked, strokes = orders()
    strokes.out = Blocked((2, 1, 2), Why.HELD)
    made: Any = Simulator(HOME, power=True)
    assert list(asked._starts(made, AWAY, [STICKY])) == [Act(STICKY, None)]


# Who feels more than one stroke


def effects(
    affected: Mapping[int, Iterable[int]],
    changed: Iterable[int] = (),
    ears: Iterable[int] = (),
    heard: Callable[[int], frozenset[int]] = lambda device: frozenset(),
    read: Iterable[int] = (),
    context: Callable[[frozenset[int]], Configuration] = lambda made: AT_HOME,
) -> Effects:
    tables: dict[int, Any] = {device: {} for device in read}
    by = {piston: frozenset(devices) for piston, devices in affected.items()}
    return Effects(by, frozenset(changed), tables, frozenset(), frozenset(ears), heard, context)


BOTH = frozenset({STICKY, OTHER})


def felt(found: Effects, ignored: bool = False, same: bool = False) -> list[frozenset[int]]:
    asked: Any = orders()[0]
    asked.ignores = lambda simulator, device: ignored
    asked._is_the_same = lambda simulator, known, device: same
    return list(asked._felt(Simulator(), found))


def test_what_one_stroke_alone_affects_is_no_matter() -> None:
    assert felt(effects({STICKY: [LAMP], OTHER: []})) == []


def test_what_both_update_matters_unless_it_does_nothing_then() -> None:
    both = effects({STICKY: [LAMP], OTHER: [LAMP]})
    assert felt(both) == [BOTH]
    assert felt(both, same=True) == [BOTH]  # that is asked of what reads otherwise
    assert felt(both, ignored=True) == []


def test_what_reads_otherwise_by_both_matters_unless_it_does_the_same_in_every_order() -> None:
    both = effects({STICKY: [LAMP], OTHER: [LAMP]}, changed=[LAMP])
    assert felt(both) == [BOTH]
    assert felt(both, ignored=True) == [BOTH]
    assert felt(both, same=True) == []


def test_what_one_affects_and_hears_of_the_other_matters_unless_it_does_nothing_at_updates() -> None:
    hears = effects({STICKY: [LAMP], OTHER: []}, ears=[LAMP], heard=lambda device: frozenset({OTHER}))
    assert felt(hears) == [BOTH]
    assert felt(hears, ignored=True) == []
    changed = hears.__class__(
        hears.affected, frozenset({LAMP}), hears.read, hears.shifting, hears.ears, hears.heard, hears.context
    )
    assert felt(changed, ignored=True) == [BOTH]  # it reads otherwise by then


# Whether what comes of it is the same in every order

CALLS, NOTHING = Answer(MY_WAIT + LAMP, frozenset({BOTH}), BOTH), Answer(0, frozenset(), BOTH)
LATER = Answer(MY_WAIT + LAMP, frozenset({frozenset({STICKY})}), BOTH)


@pytest.mark.parametrize(
    ("mine", "theirs", "expected"),
    [
        (None, NOTHING, False),
        (NOTHING, None, True),
        (CALLS, CALLS, True),
        (CALLS, NOTHING, True),
        (CALLS, None, False),
        (CALLS, LATER, False),
    ],
    ids=[
        "not known",
        "it begins nothing",
        "called alike",
        "the other begins nothing",
        "not known of it",
        "called later",
    ],
)
def test_who_waits_as_long_as_another_one_that_is_called_must_be_called_with_it(
    mine: Answer | None, theirs: Answer | None, expected: bool
) -> None:
    asked: Any = orders()[0]
    asked._answer = lambda simulator, found, device: mine if device == LAMP else theirs
    device = asked._motion.device
    lamp = device(LAMP)  # the other device may begin a wait of the same length, as it changes
    asked._motion.device = lambda number: lamp if number == 9 else device(number)
    assert asked._is_the_same(Simulator(), effects({STICKY: [LAMP, 9]}), LAMP) is expected


def test_who_waits_otherwise_than_all_others_is_called_in_no_order_with_them() -> None:
    asked: Any = orders()[0]
    asked._answer = lambda simulator, found, device: CALLS if device == LAMP else None
    assert asked._is_the_same(Simulator(), effects({STICKY: [LAMP, WATER], OTHER: [LAMP]}), LAMP)


def test_nothing_is_known_of_what_was_not_read_or_is_fed_as_a_fault_says(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("circuitcheck.engine.stroke_orders.answer", lambda *given: NOTHING)
    simulator: Any = Simulator()
    asked, stays = orders()[0], orders(stays=[LAMP])[0]
    assert asked._answer(simulator, effects({}, read=[LAMP]), LAMP) == NOTHING
    assert asked._answer(simulator, effects({}), LAMP) is None
    assert stays._answer(simulator, effects({}, read=[LAMP]), LAMP) is None
    assert stays._answer(simulator, effects({}, read=[WATER]), WATER) == NOTHING


# What was asked last

UNDER_WAY = Configuration(moving=(((2, 1, 2), Stroke(HOMES[STICKY], True)), ((2, 3, 2), Stroke(HOMES[OTHER], True))))
ONE_LANDED = Configuration(moving=(((2, 3, 2), Stroke(HOMES[OTHER], True)),))


def after(last: Effects, now: Configuration, *pistons: int) -> Effects | None:
    asked = orders()[0]
    asked._last = last
    return asked._left_of_last(now, pistons)


def landing(made: frozenset[int]) -> Configuration:
    return {frozenset(): UNDER_WAY, frozenset({STICKY}): ONE_LANDED}[made]


def test_of_what_was_asked_last_the_rest_is_known_while_nothing_else_has_happened() -> None:
    last = effects({STICKY: [LAMP], OTHER: [LAMP]}, context=landing)
    whole, rest = after(last, UNDER_WAY, STICKY, OTHER), after(last, ONE_LANDED, OTHER)
    assert whole is not None
    assert rest is not None
    assert (sorted(whole.affected), sorted(rest.affected)) == ([STICKY, OTHER], [OTHER])


def test_before_anything_was_asked_nothing_is_left_of_it() -> None:
    assert orders()[0]._left_of_last(UNDER_WAY, [STICKY]) is None


def test_where_something_else_has_happened_or_others_are_asked_about_it_is_not() -> None:
    last = effects({STICKY: [LAMP], OTHER: [LAMP]}, context=landing)
    elsewhere = Configuration(phases=((HOMES[STICKY], Phase.OUT),), moving=ONE_LANDED.moving)
    assert after(last, elsewhere, OTHER) is None
    assert after(last, ONE_LANDED, OTHER, 7) is None


class Asked(StrokeOrders):
    """Keeps what was asked of whom, and answers that some pairs collide where they are asked about together."""

    def __init__(self, left: Effects | None, together: Iterable[Pair], alone: Iterable[Pair]) -> None:
        self._last = self.kept = effects({})
        self.left, self.together, self.alone = left, frozenset(together), frozenset(alone)
        self.questions: list[tuple[object, ...]] = []

    def _left_of_last(self, now: Configuration, pistons: Iterable[int]) -> Effects | None:
        self.questions.append(("left", now, tuple(pistons)))
        return self.left

    def colliding(self, *given: Any) -> frozenset[Pair]:
        self.questions.append(given)
        self._last = effects({STICKY: []})
        return self.together if len(given[2]) > 2 else self.alone & {tuple(given[2])}

    def _meeting(self, simulator: Any, found: Effects, pairs: frozenset[Pair]) -> frozenset[Pair]:
        self.questions.append(("meeting", found, pairs))
        return self.together & pairs


def test_those_that_land_later_are_asked_about_at_once_and_one_by_one_only_if_they_collide_there() -> None:
    simulator: Any = Simulator()
    asked = Asked(None, [(0, 3), (0, 1), (0, 2), (1, 3)], [(0, 3), (0, 1)])
    assert asked.colliding_with(simulator, AWAY, 0, (3, 2, 1, 4), (1, 3, 4), LANDING) == [3, 1]
    assert asked.questions == [
        ("left", AWAY, (0, 3, 2, 1, 4)),
        (simulator, AWAY, (0, 3, 2, 1, 4), LANDING),
        (simulator, AWAY, (0, 1), LANDING),
        (simulator, AWAY, (0, 3), LANDING),
    ]


def test_what_was_asked_last_is_enough_where_it_still_stands_and_stays_what_was_asked_last() -> None:
    simulator: Any = Simulator()
    left = effects({STICKY: []})
    asked = Asked(left, [(0, 1)], [(0, 1)])
    assert asked.colliding_with(simulator, AWAY, 0, (1, 2), (1, 2), LANDING) == [1]
    pairs = frozenset({(0, 1), (0, 2)})
    assert asked.questions[:2] == [("left", AWAY, (0, 1, 2)), ("meeting", left, pairs)]
    assert asked.questions[2:] == [(simulator, AWAY, (0, 1), LANDING)]
    assert asked._last is asked.kept


MEET = frozenset({(STICKY, OTHER)})


def asked_anew(monkeypatch: pytest.MonkeyPatch, left_meet: frozenset[Pair], order_class: int) -> int:
    """How often it is read what two strokes bring about, of which the last answer says who of those left meet."""
    anew: list[tuple[Act, ...]] = []

    def bringing(motion: object, now: Configuration, acts: tuple[Act, ...]) -> Any:
        anew.append(acts)
        return SimpleNamespace(effects=lambda: effects({}))

    def meeting(view: object, known: object, pairs: object) -> frozenset[Pair]:
        return left_meet if (view, known, pairs) == (simulator, left, MEET) else MEET

    monkeypatch.setattr("circuitcheck.engine.stroke_orders.Bringing", bringing)
    simulator: Any = Simulator(HOME, power=True)
    left = effects({STICKY: [], OTHER: []})
    asked: Any = orders()[0]
    asked._left_of_last, asked._meeting = lambda now, pistons: left, meeting
    found = asked.colliding(simulator, AWAY, [STICKY, OTHER], order_class)
    assert found == (MEET if anew else frozenset())
    return len(anew)


def test_strokes_that_land_are_asked_about_anew_only_where_those_asked_last_meet(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    assert asked_anew(monkeypatch, frozenset(), LANDING) == 0
    assert asked_anew(monkeypatch, MEET, LANDING) == 1
    assert asked_anew(monkeypatch, frozenset(), CALLED) == 1  # these start
