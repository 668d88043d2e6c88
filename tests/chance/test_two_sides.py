"""Responses of machines with two sides of cells whose wiring moves: stirring pistons, a latch, water on and off.

What is compared is not taken from the program: `plain.enumerated` tells every draw of every cell apart, and asks the
engine for each gt afresh. Cells by rules X1 to X3, pistons by M1 to M6 (common practice, no source).
"""

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path

import pytest

from circuitcheck.chance.days.together import Plan, live_through
from circuitcheck.chance.days.walk import Watching
from circuitcheck.chance.first_edge.response import respond
from circuitcheck.chance.machine import moving_chain
from circuitcheck.chance.machine.cores import Cores
from circuitcheck.chance.machine.exchange import Exchange
from circuitcheck.chance.machine.joint import Changed
from circuitcheck.chance.machine.moving_chain import MovingChain
from circuitcheck.engine.state import State
from circuitcheck.language.load import load_file
from circuitcheck.model.claims import Atom, Test

from .plain import circuit_of, enumerated
from .two_sides import two_sides

DARK, BRIGHT = Atom("dark", Test.RISES), Atom("bright", Test.RISES)
DEMO = Path(__file__).resolve().parents[2] / "circuits" / "turfwatch.circuit"
ROUNDING = 1e-12
CASES = [
    ("dusk", DARK, two_sides(10, 20, 40, 20, "1/40")),
    ("dawn", BRIGHT, two_sides(40, 20, 20, 40, "1/10")),
    ("dawn", BRIGHT, two_sides(40, 20, 120, 40, "1/20")),
]
NAMES = ["dusk", "dawn after a short night", "dawn"]
BOUNDS = 0.02
"""What is left out and what is open may come to so much together."""
DAYS = int(os.environ.get("CIRCUITCHECK_NIGHTS", "40"))
"""Of the whole machine so many days are lived through; of more than the usual few its dawn is looked at as well."""
WHOLE = [("dusk", DARK), ("dawn", BRIGHT)][: 2 if DAYS > 40 else 1]


@pytest.mark.parametrize(("phase", "edge", "text"), CASES, ids=NAMES)
def test_a_response_is_what_every_draw_of_every_cell_comes_to_and_no_order_is_open(
    phase: str, edge: Atom, text: str
) -> None:
    circuit = circuit_of(text)
    found = respond(circuit, phase, edge)
    plain = enumerated(circuit, phase, edge)
    assert found.exact
    assert not plain.open_order
    assert found.open == 0.0
    assert sum(plain.chances) > 0.1
    assert found.already == pytest.approx(plain.already, abs=found.left_out + ROUNDING)
    assert found.distribution.chances == pytest.approx(plain.chances, abs=2.0 * found.left_out + ROUNDING)


def test_cells_of_one_side_that_pistons_hear_alike_are_exchanged() -> None:
    chain = MovingChain(circuit_of(CASES[0][2]), ["dark"])
    names = chain.program.names
    units = [[[names[device] for device in unit.devices] for unit in units] for units in chain.groups]
    assert units == [
        [[f"{side}_turf.{cell}", f"{side}_stir.{cell}", f"ember.{cell + first}"] for cell in (1, 2)]
        for side, first in (("dusk", 3), ("dawn", 9))
    ]


@pytest.mark.parametrize(("phase", "edge", "text"), CASES[:2], ids=NAMES[:2])
def test_where_units_turn_out_not_to_be_alike_the_response_is_found_without_exchanges(
    phase: str, edge: Atom, text: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    alike = respond(circuit_of(text), phase, edge)
    monkeypatch.setattr(Exchange, "_adds_up", lambda *each: False)
    apart = respond(circuit_of(text), phase, edge)
    assert apart.distribution.chances == pytest.approx(alike.distribution.chances, abs=2.0 * alike.left_out + ROUNDING)


def test_days_lived_through_agree_with_the_response() -> None:
    circuit = circuit_of(CASES[2][2])
    found, days = respond(circuit, "dawn", BRIGHT), 400
    tally = live_through(Plan(circuit, Watching((BRIGHT,), ("dawn",)), days, 1)).tallies[0][0]
    # Four standard deviations of a binomial share.
    for wait in (55, 60, 70, found.distribution.until):
        share = sum(each <= wait for each in tally.waits) / tally.asked
        within = found.distribution.within(wait)
        assert share == pytest.approx(within, abs=4.0 * (within * (1.0 - within) / tally.asked) ** 0.5)


def test_a_response_of_other_days_takes_what_was_found_of_the_machine_and_comes_out_the_same(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    circuit = circuit_of(CASES[0][2])
    abrupt, ran = replace(circuit, cycle=circuit.cycle.at_once()), list[object]()
    usual = Cores._ended

    def ended(self: Cores, state: State, changed: Changed) -> list[State]:
        ran.append(state)
        return usual(self, state, changed)

    monkeypatch.setattr(Cores, "_ended", ended)
    moving_chain._KEPT.clear()
    alone, steps = respond(abrupt, "dusk", DARK), len(ran)
    moving_chain._KEPT.clear()
    respond(circuit, "dusk", DARK)
    before = len(ran)
    after = respond(replace(abrupt), "dusk", DARK)
    assert after.distribution.chances == alone.distribution.chances
    assert len(ran) - before < steps / 2


def test_a_chain_that_watches_another_signal_takes_the_wirings_that_were_read_and_comes_out_the_same() -> None:
    circuit = circuit_of(CASES[0][2])
    moving_chain._KEPT.clear()
    alone = respond(replace(circuit), "dusk", DARK)
    moving_chain._KEPT.clear()
    of_dawn = MovingChain(circuit, ["bright"])
    after = respond(circuit, "dusk", DARK)
    assert after.distribution.chances == alone.distribution.chances
    first, second = moving_chain._KEPT
    assert first.watched != second.watched
    assert second.program is of_dawn.program


@pytest.mark.parametrize(("phase", "edge"), WHOLE)
def test_the_whole_machine_is_followed_within_two_in_a_hundred_and_days_agree(phase: str, edge: Atom) -> None:
    circuit = load_file(DEMO).studies[0].circuit
    found = respond(circuit, phase, edge)
    assert found.exact
    assert found.left_out + found.open < BOUNDS
    tally = live_through(Plan(circuit, Watching((edge,), (phase,)), DAYS, 1)).tallies[0][0]
    for share in (0.1, 0.25, 0.5, 0.75, 0.9):
        wait = found.distribution.quantile(share)
        assert wait is not None
        within, slack = found.distribution.within(wait), found.left_out + found.open
        sampled = sum(each <= wait for each in tally.waits) / tally.asked
        assert sampled == pytest.approx(within, abs=slack + 4.0 * (within * (1.0 - within) / tally.asked) ** 0.5)
