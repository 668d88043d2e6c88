"""Situations that are equal are one state, whenever and however they were reached (common practice, no source; C5)."""

from __future__ import annotations

from itertools import permutations

import pytest

from circuitcheck.engine.orders import MOST_ORDERS, TooManyOrders
from circuitcheck.engine.simulator import restore
from circuitcheck.engine.state import State
from circuitcheck.engine.step import Action, merge, step

from .test_burn_out import SEVEN, TORCH, after_seven
from .test_orders_followed import COMPARED
from .test_waits import at_rest

LEVERS = ("pond", "race", "rain", "gate")


def states_of_all_orders(body: str, levers: tuple[str, ...]) -> set[State]:
    """The state after these levers are thrown in one gt, for each order of the hands."""
    program, state = at_rest("".join(f"lever {name}\n" for name in levers) + body)
    found = set()
    for order in permutations(levers):
        simulator = restore(program, state)
        simulator.now = 1
        for name in order:
            (simulator,) = simulator.act_outside(program.number[name], "throw", 0)
        found.add(simulator.snapshot())
    return found


@pytest.mark.parametrize("count", [2, 3, 4])
def test_waits_of_parts_that_have_nothing_to_do_with_each_other_are_one_state_in_any_order(count: int) -> None:
    """Common practice, no source; rule C5."""
    levers = LEVERS[:count]
    torches = "".join(f"torch mill_{name} from {name}\nlamp open_{name} from mill_{name}\n" for name in levers)
    assert len(states_of_all_orders(torches, levers)) == 1


@pytest.mark.parametrize("matter", list(permutations(LEVERS, 2)))
def test_of_four_waits_the_order_of_the_two_that_matter_is_kept(matter: tuple[str, str]) -> None:
    """Common practice, no source; rule C5: two states, whichever two of the four these are."""
    torches = "".join(f"torch mill_{name} from {name}\n" for name in LEVERS)
    compared = COMPARED.format(*(f"mill_{name}" for name in matter))
    assert len(states_of_all_orders(torches + compared, LEVERS)) == 2


def test_of_three_waits_a_middle_one_that_matters_to_both_others_keeps_its_place() -> None:
    """Common practice, no source; rule C5: it comes before both, between them, or after both: four orders."""
    levers = LEVERS[:3]
    torches = "".join(f"torch mill_{name} from {name}\n" for name in levers)
    compared = COMPARED.format("mill_pond", "mill_race") + COMPARED.format("mill_race", "mill_rain")
    assert len(states_of_all_orders(torches + compared, levers)) == 4


def test_three_waits_that_all_matter_have_six_orders() -> None:
    """Common practice, no source; rule C5."""
    levers = LEVERS[:3]
    torches = "".join(f"torch mill_{name} from {name}\n" for name in levers)
    compared = "".join(
        COMPARED.format(f"mill_{a}", f"mill_{b}") for a, b in zip(levers, (*levers[1:], "pond"), strict=True)
    )
    assert len(states_of_all_orders(torches + compared, levers)) == 6


def test_two_moments_in_one_state_run_on_as_one() -> None:
    """Common practice, no source; rule C5: paths that come to the same state run together again."""
    program, state = at_rest("lever pond\ntorch mill from pond\n")
    same = [restore(program, state, 7), restore(program, state, 7)]
    assert merge(same) == same[:1]
    other = restore(program, step(program, state, [Action(0, "on")])[0].state, 7)
    assert merge([*same, other]) == [same[0], other]


def tied(count: int) -> str:
    """So many torches on one lever, all at one dust beside a detector."""
    names = [f"mill_{number}" for number in range(count)]
    torches = "".join(f"torch {name} from pond\n" for name in names)
    return f"lever pond\n{torches}junction row joins {', '.join(names)}\ndetector ripple watches row\n"


def test_seven_parts_that_all_matter_are_followed_in_all_their_orders() -> None:
    """Common practice, no source; rule C5."""
    program, state = at_rest(tied(7))
    devices = tuple(program.number[f"mill_{number}"] for number in range(7))
    found = program.orders.representative_orders(devices, state.levels)
    assert len(found) == len(set(found)) == MOST_ORDERS
    assert {tuple(sorted(order)) for order in found} == {tuple(sorted(devices))}


def test_more_orders_are_refused_and_not_sampled() -> None:
    """Common practice, no source; rule C5: no order is ever picked in silence."""
    program, state = at_rest(tied(8))
    (called,) = step(program, state, [Action(program.number["pond"], "on")])
    (waiting,) = step(program, called.state)
    with pytest.raises(TooManyOrders) as refused:
        step(program, waiting.state)
    assert {program.names[device] for device in refused.value.devices} == {f"mill_{number}" for number in range(8)}


def by_states(body: str, acts: list[tuple[int, str, str]], until: int) -> list[tuple[int, int]]:
    """The changes of the rope, gone from state to state, each frozen and thawed."""
    program, state = at_rest(body)
    rope, found = program.number["rope"], []
    for at in range(1, until + 1):
        before = state.levels[rope]
        (outcome,) = step(
            program, state, [Action(program.number[name], verb) for when, name, verb in acts if when == at]
        )
        state = outcome.state
        if state.levels[rope] != before:
            found.append((at, state.levels[rope]))
    return found


SEVEN_OFFS = [change for at in SEVEN for change in ((at + 2, 0), (at + 6, 15))]


@pytest.mark.parametrize(("last_on", "expected"), [(70, [(72, 0), (232, 15)]), (71, [(73, 0), (92, 15)])])
def test_a_state_remembers_the_offs_within_the_window(last_on: int, expected: list[tuple[int, int]]) -> None:
    """Common practice, no source; rule T4: the first off, at 12, is 60 gt old at 72 and still counts; not at 73."""
    assert by_states(TORCH, after_seven(last_on, (90, "pond", "off")), 300) == [*SEVEN_OFFS, *expected]


def test_a_state_forgets_the_offs_that_are_out_of_the_window() -> None:
    """Common practice, no source; rules T4 and C5: else equal situations would not be equal."""
    program, state = at_rest(TORCH)
    rest = state
    for verb in ("on", None, None, None, "off", *[None] * 80):
        (outcome,) = step(program, state, [Action(program.number["pond"], verb)] if verb else [])
        state = outcome.state
        if verb == "off":
            assert state.offs == (((program.number["rope"],), 2),)
    assert state == rest
