"""The step is one and the same through both its doors, can be run again by its orders, and knows no absolute time."""

from __future__ import annotations

from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from circuitcheck.engine.program import Program
from circuitcheck.engine.simulator import restore
from circuitcheck.engine.state import State
from circuitcheck.engine.step import Action, merge, run_game_tick, step

from .circuits import Scene, at_rest, moments_at_rest, scenes
from .test_orders import BELL

UNTIL = 40
MOST = 400
"""More states side by side than this are not followed."""

TWO_TIES = Scene(
    "lever rope starts on\n"
    "torch torch_0 from rope, comparator_1 starts on\n"
    "comparator comparator_1 from torch_2, torch_0 compare starts on\n"
    "torch torch_2 from torch_2, torch_5 starts on\n"
    "torch torch_3 from rope starts on\n"
    "torch torch_4 from rope, torch_0 starts on\n"
    "torch torch_5 from rope, comparator_1 starts on",
    ((1, (("rope", "off"),)),),
)
"""Two ties come about in one turn, of callers whose own seats are given up before or after they act."""

few = settings(max_examples=20, deadline=None, database=None)


def by_steps(program: Program, actions: dict[int, list[Action]], until: int = UNTIL) -> list[set[State]]:
    """The set of states at the end of every gt, gone gt by gt through frozen states."""
    fronts = [at_rest(program)]
    for at in range(1, until + 1):
        fronts.append({after.state for state in fronts[-1] for after in step(program, state, actions.get(at, ()))})
        assume(len(fronts[-1]) <= MOST)
    return fronts


def by_events(program: Program, actions: dict[int, list[Action]]) -> dict[int, set[State]]:
    """The set of states at the ends of those gt in which something is due or done, gone from event to event."""
    simulators = merge(moments_at_rest(program))
    fronts = {0: {simulator.snapshot() for simulator in simulators}}
    at = 0
    while True:
        due = [due for simulator in simulators if (due := simulator.next_due()) is not None]
        at = min([*due, *(time for time in actions if time > at), UNTIL + 1])
        if at > UNTIL:
            return fronts
        for simulator in simulators:
            simulator.now = at
        simulators = merge(run_game_tick(simulators, actions.get(at, ())))
        assume(len(simulators) <= MOST)
        fronts[at] = {simulator.snapshot() for simulator in simulators}


@few
@given(scenes())
@example(BELL)
def test_gt_by_gt_and_event_to_event_visit_the_same_states(scene: Scene) -> None:
    program = scene.program()
    actions = scene.actions(program)
    steps = by_steps(program, actions)
    events = by_events(program, actions)
    assert {at: steps[at] for at in events} == events


@few
@given(scenes())
def test_a_state_thawed_at_any_time_freezes_to_itself(scene: Scene) -> None:
    program = scene.program()
    for front in by_steps(program, scene.actions(program)):
        for state in front:
            assert restore(program, state).snapshot() == state
            assert restore(program, state, 12_345).snapshot() == state


@few
@example(TWO_TIES)
@given(scenes())
def test_the_orders_of_an_outcome_lead_to_that_outcome_alone(scene: Scene) -> None:
    program = scene.program()
    actions = scene.actions(program)
    for at, front in enumerate(by_steps(program, actions)[:-1], 1):
        for state in front:
            for outcome in step(program, state, actions.get(at, ())):
                again = step(program, state, actions.get(at, ()), [order.devices for order in outcome.orders])
                assert [each.state for each in again] == [outcome.state]


@few
@given(scenes(), st.integers(1, 500))
def test_states_hold_no_absolute_time(scene: Scene, later: int) -> None:
    """The same moment thawed so many gt later goes through the same states, so many gt later."""
    program = scene.program()
    actions = scene.actions(program)
    for state in at_rest(program):
        early, late = [restore(program, state)], [restore(program, state, later)]
        for at in range(1, UNTIL + 1):
            for simulator in early:
                simulator.now = at
            for simulator in late:
                simulator.now = at + later
            early = merge(run_game_tick(early, actions.get(at, ())))
            late = merge(run_game_tick(late, actions.get(at, ())))
            assume(len(early) <= MOST)
            assert [simulator.snapshot() for simulator in early] == [simulator.snapshot() for simulator in late]


@few
@given(scenes(), st.integers(1, 40))
def test_what_is_done_later_to_a_circuit_at_rest_happens_as_much_later(scene: Scene, later: int) -> None:
    program = scene.program()
    actions = scene.actions(program)
    rest = by_steps(program, {}, 60)[-1]
    assume(len(rest) == 1)
    (state,) = rest
    assume(not state.waits)
    assume(not state.offs)

    def levels(by: int) -> list[set[bytes]]:
        front, found = {state}, []
        for at in range(1, UNTIL + by + 1):
            front = {after.state for each in front for after in step(program, each, actions.get(at - by, ()))}
            assume(len(front) <= MOST)
            found.append({each.levels for each in front})
        return found

    assert levels(later)[later:] == levels(0)
