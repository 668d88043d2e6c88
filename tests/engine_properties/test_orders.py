"""Following one order for each class of equal orders loses nothing: compared with following every order there is."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import assume, example, given, settings

from circuitcheck.engine.program import Program
from circuitcheck.engine.simulator import Simulator
from circuitcheck.engine.state import State
from circuitcheck.engine.step import run_game_tick, step
from circuitcheck.language.load import load_text

from .circuits import Scene, at_rest, moments_at_rest, scenes
from .every_order import TooMany, every_order

UNTIL = 40
MOST = 3_000
"""More states and histories side by side than this are not followed."""

Histories = set[tuple[bytes, ...]]


def histories(scene: Scene, until: int = UNTIL) -> Histories:
    """Every sequence of levels, at the ends of gt 0 to `until`, that the circuit can run through."""
    program = scene.program()
    actions = scene.actions(program)
    front: set[tuple[State, tuple[bytes, ...]]] = {(state, (state.levels,)) for state in at_rest(program)}
    for at in range(1, until + 1):
        following: dict[State, tuple[State, ...]] = {}
        later: set[tuple[State, tuple[bytes, ...]]] = set()
        for state, before in front:
            if state not in following:
                following[state] = tuple(each.state for each in step(program, state, actions.get(at, ())))
            later |= {(after, (*before, after.levels)) for after in following[state]}
            if len(later) > MOST:
                raise TooMany
        front = later
    return {history for _, history in front}


def histories_thawed(scene: Scene, until: int = UNTIL) -> Histories:
    """The same, with moments that are never frozen and thawed on the way, as checks are run."""
    program = scene.program()
    actions = scene.actions(program)
    front: dict[tuple[State, tuple[bytes, ...]], Simulator] = {
        (simulator.snapshot(), (bytes(simulator.levels),)): simulator for simulator in moments_at_rest(program)
    }
    for at in range(1, until + 1):
        later: dict[tuple[State, tuple[bytes, ...]], Simulator] = {}
        for (_, before), simulator in front.items():
            simulator.now = at
            for after in run_game_tick([simulator], actions.get(at, ())):
                later.setdefault((after.snapshot(), (*before, bytes(after.levels))), after)
            if len(later) > MOST:
                raise TooMany
        front = later
    return {history for _, history in front}


def both_ways(scene: Scene) -> tuple[Histories, Histories]:
    try:
        with every_order():
            brute = histories(scene)
        return histories(scene), brute
    except TooMany:
        assume(False)
        raise


BELL = Scene("detector rise watches idle\ntorch idle from idle starts on\ndetector bell watches rise", ())
"""The bell begins a wait of its own accord, while the idle torch makes the other detector begin one."""


@settings(max_examples=60, deadline=None, database=None)
@given(scenes(most_parts=6, most_hands=3))
@example(BELL)
def test_states_frozen_in_the_least_order_reach_every_history_of_levels(scene: Scene) -> None:
    reduced, brute = both_ways(scene)
    assert reduced == brute


@settings(max_examples=60, deadline=None, database=None)
@given(scenes(most_parts=6, most_hands=3))
@example(BELL)
def test_following_one_order_of_each_class_reaches_every_history_of_levels(scene: Scene) -> None:
    try:
        with every_order():
            brute = histories(scene)
        reduced = histories_thawed(scene)
    except TooMany:
        assume(False)
    assert reduced == brute


def test_parts_that_begin_a_wait_while_they_act_matter_to_those_that_others_call() -> None:
    """Rule D1: the bell's pulse ends on its own; whether it hears the next rise depends on which came first."""
    reduced, brute = both_ways(BELL)
    bell = BELL.program().number["bell"]
    levels = [[{history[at][bell] for history in found} for at in range(UNTIL + 1)] for found in (reduced, brute)]
    assert levels[0] == levels[1]


RELEASED = "lever rope starts on\nlever brake starts on\nlatch gate set rope reset brake starts reset"


def test_two_ropes_let_go_at_once_lead_a_latch_into_both_its_states() -> None:
    reduced, brute = both_ways(Scene(RELEASED, ((5, (("rope", "off"), ("brake", "off"))),)))
    assert reduced == brute
    assert len(reduced) == 2


COME_ON_ALIKE = (
    "rules older\nlever pond starts on\ntorch rope from pond\ntorch bell from pond\ntorch yard from pond\n"
    "torch rain from rope, bell\ntorch mill from {source}\ntorch wheel from bell\n"
)
"""The rain is called by the first of the rope and the bell to come on, the mill and the wheel by one each."""


@pytest.mark.parametrize(("source", "ways"), [("rope", 4), ("yard", 5)])
def test_whom_two_call_alike_has_its_place_by_the_first_of_them(source: str, ways: int) -> None:
    """Rule C5: latches show each two of the three in their order. If one each is called, the rain is never last."""
    sides = [("mill", "wheel"), ("wheel", "rain"), ("mill", "rain")]
    latches = "".join(
        f"torch set_{place} from {other}, reset_{place} starts off\n"
        f"torch reset_{place} from {one}, set_{place} starts off\n"
        for place, (one, other) in enumerate(sides)
    )
    reduced, brute = both_ways(Scene(COME_ON_ALIKE.format(source=source) + latches, ((2, (("pond", "throw"),)),)))
    assert reduced == brute
    assert len(reduced) == ways


@settings(max_examples=300, deadline=None)
@given(scenes(most_parts=10))
def test_what_matters_to_each_other_is_never_set_apart_before_pairs_are_tried(scene: Scene) -> None:
    """Rule C5: of parts told apart by a walk down the line, none may matter to one of another group."""
    program = scene.program()
    every = tuple(range(len(program.devices)))
    group = {device: number for number, kin in enumerate(program.orders.that_meet(every)) for device in kin}
    assert sorted(group) == list(every)
    for level in (0, 15):
        levels = [level] * len(every)
        for one, other in itertools.combinations(every, 2):
            if program.orders.matters(one, other, levels):
                assert group[one] == group[other]


def test_parts_that_only_share_a_source_are_tried_one_by_one_only_where_they_meet() -> None:
    text = "lever rope\n" + "".join(f"torch slack_{number} from rope\n" for number in range(40))
    program = Program(load_text(text + "lamp bell from slack_3, slack_7\n").studies[0].circuit)
    torches = tuple(program.number[f"slack_{number}"] for number in range(40))
    groups = [kin for kin in program.orders.that_meet(torches) if len(kin) > 1]
    assert groups == [[program.number["slack_3"], program.number["slack_7"]]]


def test_wide_fans_that_never_meet_leave_no_order_that_matters() -> None:
    """Rule C5: two levers share a lamp, at times apart; what else they call are two hundred torches that read nothing
    of each other, and so none of the ten thousand pairs of those is a reason to follow both orders."""
    text = "lever rope\nlever chain\nrepeater hoist from rope delay 2t\nrepeater winch from chain delay 4t\n"
    text += "lamp bell from hoist, winch\n"
    text += "".join(f"torch slack_{number} from rope\ntorch taut_{number} from chain\n" for number in range(100))
    program = Program(load_text(text).studies[0].circuit)
    rope, chain = program.number["rope"], program.number["chain"]
    assert [sorted(kin) for kin in program.orders.that_meet((rope, chain))] == [[rope, chain]]
    assert not program.orders.matter(rope, True, chain, True)
