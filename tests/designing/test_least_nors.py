"""Settled functions take as many torches as the least network of NORs has gates: an outside count against the search.

A torch is a NOR of all that powers it, and dust an OR that costs nothing. So with f on dust that n torches and inputs
power, one NOR on the same sources gives the inverse of f; and the last gate of a network for the inverse of f can be
left out where dust joins its sources. The least number of torches for f is that of NORs for its inverse, less one.
That is so of what settles. The claims here ask that the output comes to be as it must, not that it stays so: three
parts that tick keep them too, so that functions which take more are not asked for.

The numbers of NORs are counted here by making every network, gate by gate. Such numbers are published in L. Hellerman,
"A catalog of three-variable Or-Invert and And-Invert logical circuits" (IEEE Transactions on Electronic Computers,
1963), which was not at hand; the few that stand here beside the count are from memory.
"""

from __future__ import annotations

import os

import pytest

from circuitcheck.checks.outcome import FAILING
from circuitcheck.designing.fewest_parts import is_kept
from circuitcheck.designing.netlist import Kind, Netlist
from circuitcheck.judging.door import judged_as_asked

from .test_least import LIMITS, asked, framed, searched

NAMES = "abc"
Table = int
"""A function: a bit for each row of its truth table."""


def inputs(count: int) -> list[Table]:
    rows = range(2**count)
    return [sum((row >> place & 1) << row for row in rows) for place in range(count)]


def least_nors(count: int, most: int) -> dict[Table, int]:
    """Of each function of so many inputs that takes so many NORs at most, how many it takes; one at least."""
    everything = 2**2**count - 1
    found: dict[Table, int] = {}
    networks = {frozenset(inputs(count))}
    for gates in range(1, most + 1):
        larger = set()
        for signals in networks:
            gained = {0}
            for signal in signals:
                gained |= {joined | signal for joined in gained}
            for table in {joined ^ everything for joined in gained - {0}}:
                found.setdefault(table, gates)
                if table not in signals:
                    larger.add(signals | {table})
        networks = larger
    return found


TWO = least_nors(2, 5)


def text_for(count: int, table: Table) -> str:
    """The output comes to be as a function says, whatever changes how."""

    def rows(wanted: int) -> str:
        return " or ".join(
            "(" + " and ".join(f"{NAMES[place]} {'on' if row >> place & 1 else 'off'}" for place in range(count)) + ")"
            for row in range(2**count)
            if table >> row & 1 == wanted
        )

    return asked(
        f'always "on"   when {rows(1)} then out within 6t unless {rows(0)}',
        f'always "off"  when {rows(0)} then out off within 6t unless {rows(1)}',
        inputs=", ".join(f"lever {name}" for name in NAMES[:count]),
    )


def test_the_count_has_the_numbers_that_are_known() -> None:
    """Of two inputs, from memory: NOR 1, OR 2, AND 3, NAND 4, XNOR 4, XOR 5."""
    a, b = inputs(2)
    known = {(a | b) ^ 15: 1, a | b: 2, a & b: 3, (a & b) ^ 15: 4, (a ^ b) ^ 15: 4, a ^ b: 5}
    assert {table: TWO[table] for table in known} == known


LONG = "CIRCUITCHECK_LEAST" in os.environ
OF_TWO = [table for table in range(1, 15) if TWO[table ^ 15] <= (4 if LONG else 3)]


@pytest.mark.parametrize("table", OF_TWO)
def test_every_function_of_two_inputs(table: Table) -> None:
    wanted = TWO[table ^ 15] - 1
    found = searched(text_for(2, table), wanted)
    assert not any(each.undecided for each in found.without)
    assert found.netlist is not None
    assert found.netlist.parts == wanted


CLOCK = Netlist(
    (("part1", Kind("torch")), ("part2", Kind("torch")), ("part3", Kind("repeater", 2))),
    (
        ("part1", ("part1", "part2", "part3")),
        ("part2", ("a", "b", "part1")),
        ("part3", ("part1",)),
        ("out", ("part1", "part2", "part3")),
    ),
)
"""Part2 holds part1 off while both inputs are off; else part1 goes on again after its own time and that of part3."""


def test_a_clock_of_three_parts_keeps_claims_for_which_four_torches_settle() -> None:
    a, b = inputs(2)
    xnor = a ^ b ^ 15
    assert TWO[xnor ^ 15] - 1 == 4
    frame = framed(text_for(2, xnor))
    assert all(map(is_kept, judged_as_asked(frame.study_with(CLOCK), LIMITS).outcomes))
    settled = framed(text_for(2, xnor) + '\nalways "settles"  comes to rest\n')
    *_, rests = judged_as_asked(settled.study_with(CLOCK), LIMITS).outcomes
    assert rests.verdict in FAILING


def test_four_torches_keep_them_and_come_to_rest() -> None:
    """The four NORs of any textbook for an XNOR; `tests/benchmarks/least_parts.py` finds no three parts for that."""
    torch = Kind("torch")
    sources = {"part1": "a b", "part2": "a part1", "part3": "b part1", "part4": "part2 part3", "out": "part4"}
    rows = tuple((name, tuple(row.split())) for name, row in sources.items())
    netlist = Netlist(tuple((name, torch) for name in sources if name != "out"), rows)
    a, b = inputs(2)
    frame = framed(text_for(2, a ^ b ^ 15) + '\nalways "settles"  comes to rest\n')
    assert all(map(is_kept, judged_as_asked(frame.study_with(netlist), LIMITS).outcomes))


OF_THREE = {
    table: number - 1
    for table, number in sorted((table ^ 255, number) for table, number in least_nors(3, 4).items())
    if number <= (3 if LONG else 2)
}
"""Functions of three inputs, and how many torches they take; in CI those of up to one, and two in the long form."""
LOT = 6 if LONG else 12


@pytest.mark.parametrize("table", [*OF_THREE][::LOT])
def test_functions_of_three_inputs(table: Table) -> None:
    found = searched(text_for(3, table), OF_THREE[table])
    assert not any(each.undecided for each in found.without)
    assert found.netlist is not None
    assert found.netlist.parts == OF_THREE[table]


def test_without_torches_there_is_one_function_for_each_choice_of_inputs() -> None:
    assert sorted(OF_THREE.values()).count(0) == 2**3 - 1
