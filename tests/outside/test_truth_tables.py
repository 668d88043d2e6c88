"""Every gate on the shelf, the full adder and the set–reset latch against their tables.

Source: the tables of any digital design textbook, for example M. Morris Mano, Digital Design (chapters on Boolean
algebra, on combinational logic for the adder, on synchronous sequential logic for the latch). Cited from memory.
"""

from __future__ import annotations

import itertools
import random
from collections.abc import Callable

import pytest

from circuitcheck import OpenOrder
from outside.building import put, shelf_text, start

SETTLED = 40
"""Gt that are enough for every block here: the deepest, the full adder, needs 12 (two xor gates of 3t)."""

TWO_INPUT_GATES: dict[str, Callable[[bool, bool], bool]] = {
    "or_gate": lambda a, b: a or b,
    "nor_gate": lambda a, b: not (a or b),
    "and_gate": lambda a, b: a and b,
    "nand_gate": lambda a, b: not (a and b),
    "xor_gate": lambda a, b: a != b,
}

ROWS = list(itertools.product((False, True), repeat=2))


@pytest.mark.parametrize("before", ROWS)
@pytest.mark.parametrize("name", TWO_INPUT_GATES)
def test_a_gate_settles_to_its_row_from_whichever_row_it_comes(name: str, before: tuple[bool, bool]) -> None:
    for after in ROWS:
        run = start(shelf_text(("a", "b"), f"{name} it (a a, b b)", ("out",)))
        for row in (before, after):
            put(run, {"a": row[0], "b": row[1]})
            run.run(gt=SETTLED)
            assert run.is_on("out") is TWO_INPUT_GATES[name](*row), f"{name} after {before} in row {row}"


def test_the_inverter_inverts() -> None:
    run = start(shelf_text(("a",), "inverter it (a a)", ("out",)))
    for value in (False, True, False):
        put(run, {"a": value})
        run.run(gt=SETTLED)
        assert run.is_on("out") is not value


def test_the_half_adder_adds_two_bits() -> None:
    run = start(shelf_text(("a", "b"), "half_adder it (a a, b b)", ("sum", "carry")))
    for a, b in ROWS:
        put(run, {"a": a, "b": b})
        run.run(gt=SETTLED)
        assert 2 * run.is_on("carry") + run.is_on("sum") == a + b


def test_the_full_adder_adds_three_bits_in_any_order_of_rows() -> None:
    run = start(shelf_text(("a", "b", "c"), "full_adder it (a a, b b, carry_in c)", ("sum", "carry")))
    rows = list(itertools.product((False, True), repeat=3)) * 3
    random.Random(1).shuffle(rows)
    for a, b, c in rows:
        put(run, {"a": a, "b": b, "c": c})
        run.run(gt=SETTLED)
        assert 2 * run.is_on("carry") + run.is_on("sum") == a + b + c


@pytest.mark.parametrize("held", [False, True], ids=["reset before", "set before"])
def test_the_set_reset_latch_follows_its_characteristic_table(held: bool) -> None:
    """S R: 00 hold, 10 set, 01 reset, 11 both sides dark (forbidden, cross-coupled NOR)."""
    for up, down in ROWS:
        run = start(shelf_text(("up", "down"), "set_reset it (up up, down down)", ("out",)))
        if held:
            put(run, {"up": True})
            run.run(gt=SETTLED)
            put(run, {"up": False})
            run.run(gt=SETTLED)
        put(run, {"up": up, "down": down})
        run.run(gt=SETTLED)
        sides = run.is_on("out"), run.is_on("it.out.inverse")
        if up and down:
            assert sides == (False, False)
        else:
            state = held if not (up or down) else up
            assert sides == (state, not state)


def test_a_latch_let_go_out_of_forbidden_may_end_on_either_side() -> None:
    run = start(shelf_text(("up", "down"), "set_reset it (up up, down down)", ("out",)))
    put(run, {"up": True, "down": True})
    run.run(gt=SETTLED)
    put(run, {"up": False, "down": False})
    run.run(gt=SETTLED)
    assert run.levels("out") == {0, 15}
    with pytest.raises(OpenOrder):
        run.is_on("out")
