"""How closely a machine in which things move is followed: what is left out is counted, and never more than it is said.

The wholes that are compared with are written here: every draw by itself, and the same response followed far closer.
"""

from __future__ import annotations

from collections import deque
from dataclasses import replace
from itertools import product
from math import prod

import pytest

from circuitcheck.chance.first_edge import response, sampled
from circuitcheck.chance.first_edge.flow import Flow
from circuitcheck.chance.first_edge.response import Response, respond
from circuitcheck.chance.machine import chain, moving_chain
from circuitcheck.chance.machine.chain import Chain
from circuitcheck.chance.machine.joint import Changed, Classes, Joint
from circuitcheck.chance.machine.moving_chain import MovingChain
from circuitcheck.chance.machine.units import Units
from circuitcheck.model.claims import Atom, Test

from .plain import circuit_of
from .two_sides import two_sides

DARK, BRIGHT = Atom("dark", Test.RISES), Atom("bright", Test.RISES)
ROUNDING = 1e-12
COARSE, MIDDLE, FINE = 3e-2, 2e-2, 1e-6
CIRCUIT = circuit_of(two_sides(40, 20, 60, 40, "1/40"))
CASES = [("dusk", DARK), ("dawn", BRIGHT)]


def followed(monkeypatch: pytest.MonkeyPatch, phase: str, edge: Atom, few: int, *rare: float) -> Response:
    """A response of a machine followed so closely, that is small if it comes to no more than so many states."""
    closeness = MovingChain.closeness._replace(rare=rare, few_states=few, most_left_out=0.5)
    monkeypatch.setattr(MovingChain, "closeness", closeness)
    return respond(replace(CIRCUIT), phase, edge)


@pytest.mark.parametrize(("phase", "edge"), CASES)
def test_what_is_followed_less_closely_is_off_by_no_more_than_what_it_left_out(
    phase: str, edge: Atom, monkeypatch: pytest.MonkeyPatch
) -> None:
    coarse, fine = (followed(monkeypatch, phase, edge, 0, rare) for rare in (COARSE, FINE))
    assert coarse.states < fine.states
    assert fine.left_out < 1e-3 < coarse.left_out
    slack = coarse.left_out + fine.left_out + ROUNDING
    for wait in range(coarse.distribution.until + 1):
        within = coarse.distribution.within(wait)
        assert within == pytest.approx(fine.distribution.within(wait), abs=slack)


def test_a_machine_of_few_states_is_followed_as_closely_as_can_be_and_one_of_many_as_far_as_needed(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    coarse = followed(monkeypatch, "dusk", DARK, 0, COARSE)
    few, many = (followed(monkeypatch, "dusk", DARK, most, COARSE, FINE) for most in (coarse.states, coarse.states - 1))
    assert many.left_out == coarse.left_out
    assert few.left_out < 0.1 * coarse.left_out


@pytest.mark.parametrize("nearly", [True, False])
def test_what_is_nearly_close_enough_is_followed_once_more_and_has_more_room_for_it(
    nearly: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It would be too large with the room that it had before; what is far from close enough is sampled as ever."""
    usual = MovingChain.closeness
    coarse, fine = (followed(monkeypatch, "dusk", DARK, 0, rare) for rare in (COARSE, FINE))
    cores = len(moving_chain._KEPT[-1].cores.states)
    assert fine.left_out < 0.5 * coarse.left_out
    assert usual.closest is not None
    most = coarse.left_out * (1.1 if nearly else 0.9)
    closest = usual.closest._replace(rare=FINE, faint=usual.faint, most_left_out=most, times_the_states=2)
    closeness = usual._replace(rare=(COARSE,), few_states=0, most_left_out=0.5 * coarse.left_out, closest=closest)
    monkeypatch.setattr(MovingChain, "closeness", closeness)
    monkeypatch.setattr(moving_chain, "_KEPT", deque[moving_chain.Machine](maxlen=2))
    devices = len(MovingChain(CIRCUIT, [DARK.name]).program.devices)
    monkeypatch.setattr(chain, "MOST_WORK", (cores * 2 // 3) * devices)
    monkeypatch.setattr(sampled, "MOST_DAYS", 5)
    found = respond(replace(CIRCUIT), "dusk", DARK)
    assert found.exact is nearly
    if nearly:
        assert found.left_out == pytest.approx(fine.left_out, abs=ROUNDING)
        assert found.distribution.chances == pytest.approx(fine.distribution.chances, abs=ROUNDING)


@pytest.mark.parametrize("much", [True, False])
def test_where_much_was_left_out_what_is_but_a_little_closer_is_passed_over(
    much: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    usual = MovingChain.closeness
    left_out = followed(monkeypatch, "dusk", DARK, 0, COARSE).left_out
    assert usual.closest is not None
    closest = usual.closest._replace(
        rare=FINE, faint=usual.faint, most_left_out=1.1 * left_out, at_once=left_out * (0.9 if much else 1.1)
    )
    closeness = usual._replace(rare=(COARSE, MIDDLE), few_states=0, most_left_out=1e-3, closest=closest)
    monkeypatch.setattr(MovingChain, "closeness", closeness)
    tried: list[float] = []

    def noted(chain: Chain, edge: Atom, rare: float, faint: float) -> Flow:
        tried.append(rare)
        return Flow(chain, edge, rare, faint)

    monkeypatch.setattr(response, "Flow", noted)
    assert respond(replace(CIRCUIT), "dusk", DARK).exact
    assert tried == ([COARSE, FINE] if much else [COARSE, MIDDLE, FINE])


@pytest.mark.parametrize(("phase", "edge", "few"), [("dusk", DARK, 5), ("dawn", BRIGHT, 19)])
def test_days_sampled_on_what_was_found_before_it_was_too_large_are_those_sampled_afresh(
    phase: str, edge: Atom, few: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What was one too many to be followed is met again by the sample, which has more room."""
    monkeypatch.setattr(sampled, "MOST_DAYS", 40)
    devices = len(MovingChain(CIRCUIT, [edge.name]).program.devices)
    monkeypatch.setattr(chain, "MOST_WORK", few * devices)
    found = []
    for kept in (2, 0):
        monkeypatch.setattr(moving_chain, "_KEPT", deque[moving_chain.Machine](maxlen=kept))
        each = respond(replace(CIRCUIT), phase, edge)
        assert "beside its cells" in each.rough
        found.append([each.distribution.within(wait) for wait in range(each.distribution.until + 1)])
    assert found[0] == found[1]


def test_draws_that_know_nothing_of_each_other_change_what_any_of_them_changes() -> None:
    """X2, X3, X5: each of what several draws can do, multiplied out; a cell that two of them change, changes once."""
    draws: list[list[tuple[float, Changed]]] = [
        [(0.2, (1,))],
        [(0.3, (2,)), (0.1, (1, 2)), (0.05, (1, 2, 3))],
        [(0.6, (1,)), (0.4, (3,))],
    ]
    whole: dict[Changed, float] = {}
    each_draw = ([*each, (1.0 - sum(chance for chance, _ in each), ())] for each in draws)
    for outcome in product(*each_draw):
        changed = tuple(sorted({cell for _, cells in outcome for cell in cells}))
        whole[changed] = whole.get(changed, 0.0) + prod(chance for chance, _ in outcome)
    units = Units(MovingChain(CIRCUIT, ["dark"]).program, ())
    joint = Joint(Classes(units, ()), 0.0)
    for each in draws:
        joint.add_draw(each)
    assert {changed: chance for changed, chance in joint.total.items() if chance > ROUNDING} == pytest.approx(
        {changed: chance for changed, chance in whole.items() if chance > ROUNDING}
    )
