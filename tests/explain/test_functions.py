"""Textbook functions: what the program derives equals an independent table, and its formula equals the circuit's logic.

Two ways run apart from the program: a truth table by plain arithmetic, and the netlist read as a sympy expression.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import pytest
import sympy
from outside.building import Gate, Netlist, circuit_text, gate
from sympy.logic.inference import satisfiable

import circuitcheck
from circuitcheck.engine.program import Program
from circuitcheck.explain.function import Function, TooLarge, formula, function

from .reading_words import evaluated
from .trying import machine_of

Row = dict[str, bool]
Table = Callable[[Row], bool]


@dataclass(frozen=True)
class Case:
    """A function: its inputs, a netlist that builds it, and its outputs by arithmetic."""

    inputs: tuple[str, ...]
    gates: Netlist
    outputs: dict[str, Table]
    told: frozenset[str]
    """The outputs whose formula must be short enough to be told."""


def number(row: Row, *names: str) -> int:
    """The number whose bits stand at these inputs, highest first."""
    return int("".join(str(int(row[name])) for name in names), 2)


def both(*names: str) -> Gate:
    """An AND."""
    return gate("AND", *names)


def majority(count: int) -> Case:
    """More than half of an odd number of floats are up: every group of that many, ANDed, and all groups ORed."""
    names = tuple(f"pond{place}" for place in range(count))
    groups = list(itertools.combinations(names, count // 2 + 1))
    gates = {f"group{place}": both(*group) for place, group in enumerate(groups)}
    gates["mostly"] = gate("OR", *gates)
    told = frozenset({"mostly"} if count == 3 else ())
    return Case(names, gates, {"mostly": lambda row: 2 * sum(row.values()) > count}, told)


# Minimised expressions of the textbook kind (digital design texts, BCD to seven segments); from memory.
SEVEN: Netlist = {
    "na": gate("NOT", "a"), "nb": gate("NOT", "b"), "nc": gate("NOT", "c"), "nd": gate("NOT", "d"),
    "bd": both("b", "d"), "nbnd": both("nb", "nd"), "ncnd": both("nc", "nd"), "cd": both("c", "d"),
    "cnd": both("c", "nd"), "bncd": both("b", "nc", "d"), "nbc": both("nb", "c"), "bnc": both("b", "nc"),
    "bnd": both("b", "nd"),
    "seg_a": gate("OR", "a", "c", "bd", "nbnd"),
    "seg_b": gate("OR", "nb", "ncnd", "cd"),
    "seg_c": gate("OR", "b", "nc", "d"),
    "seg_d": gate("OR", "nbnd", "cnd", "bncd", "nbc", "a"),
    "seg_e": gate("OR", "nbnd", "cnd"),
    "seg_f": gate("OR", "a", "ncnd", "bnc", "bnd"),
    "seg_g": gate("OR", "a", "bnc", "nbc", "cnd"),
}  # fmt: skip
# Segments a to g of the digits 0 to 9, 6 and 9 with tails: the table on data sheets of the '247/'248 drivers (the '47
# and '48 differ in the tails of 6 and 9 only); from memory.
LIT = ("abcdef", "bc", "abdeg", "abcdg", "bcfg", "acdfg", "acdefg", "abc", "abcdefg", "abcdfg")

ADDER = Case(
    ("a", "b", "c"),
    {
        "half": gate("XOR", "a", "b"), "total": gate("XOR", "half", "c"),
        "one": both("a", "b"), "two": both("half", "c"), "carry": gate("OR", "one", "two"),
    },
    {"total": lambda row: sum(row.values()) % 2 == 1, "carry": lambda row: sum(row.values()) >= 2},
    frozenset({"total", "carry"}),
)  # fmt: skip
DECODER = Case(
    ("a", "b"),
    {
        "na": gate("NOT", "a"), "nb": gate("NOT", "b"),
        "y0": both("na", "nb"), "y1": both("na", "b"), "y2": both("a", "nb"), "y3": both("a", "b"),
    },
    {f"y{place}": lambda row, place=place: number(row, "a", "b") == place for place in range(4)},  # type: ignore[misc]
    frozenset({"y0", "y1", "y2", "y3"}),
)  # fmt: skip


def binary_of_gray(value: int) -> int:
    """The place of a Gray code word, found by walking the reflected code (F. Gray, 1953) until it comes up."""
    return next(place for place in range(16) if place ^ place >> 1 == value)


GRAY = Case(
    ("g3", "g2", "g1", "g0"),
    {"b2": gate("XOR", "g3", "g2"), "b1": gate("XOR", "b2", "g1"), "b0": gate("XOR", "b1", "g0")},
    {
        f"b{bit}": lambda row, bit=bit: bool(binary_of_gray(number(row, "g3", "g2", "g1", "g0")) >> bit & 1)  # type: ignore[misc]
        for bit in range(3)
    },
    frozenset({"b2", "b1", "b0"}),
)


def nand(*values: bool) -> bool:
    """Not all of them."""
    return not all(values)


# c17 of the ISCAS '85 set (Brglez and Fujiwara, 1985): six NAND gates; the netlist is from memory.
C17 = Case(
    ("n1", "n2", "n3", "n6", "n7"),
    {
        "n10": gate("NAND", "n1", "n3"), "n11": gate("NAND", "n3", "n6"), "n16": gate("NAND", "n2", "n11"),
        "n19": gate("NAND", "n11", "n7"), "n22": gate("NAND", "n10", "n16"), "n23": gate("NAND", "n16", "n19"),
    },
    {
        "n22": lambda row: nand(nand(row["n1"], row["n3"]), nand(row["n2"], nand(row["n3"], row["n6"]))),
        "n23": lambda row: nand(
            nand(row["n2"], nand(row["n3"], row["n6"])), nand(nand(row["n3"], row["n6"]), row["n7"])
        ),
    },
    frozenset({"n22", "n23"}),
)  # fmt: skip

CASES = {
    "full adder": ADDER, "decoder": DECODER, "gray": GRAY, "majority of 3": majority(3), "majority of 5": majority(5),
    "c17": C17,
}  # fmt: skip
EACH = [pytest.param(case, output, id=f"{title}, {output}") for title, case in CASES.items() for output in case.outputs]


def derived(inputs: tuple[str, ...], gates: Netlist, output: str) -> Function:
    """The table that the program derives, over all inputs."""
    found = function(Program(circuitcheck.loads(circuit_text(inputs, gates)).circuit), output)
    assert isinstance(found, Function)
    assert not found.open
    return found.over(inputs)


def as_sympy(gates: Netlist, name: str) -> Any:
    """A signal of a netlist as a sympy expression over its inputs."""
    if name not in gates:
        return sympy.Symbol(name)
    made = gates[name]
    read = [as_sympy(gates, each) for each in made.inputs]
    make = {"NOT": sympy.Not, "AND": sympy.And, "OR": sympy.Or, "NAND": sympy.Nand, "NOR": sympy.Nor, "XOR": sympy.Xor}
    return make[made.kind](*read)


def setting(inputs: tuple[str, ...], row: int) -> Row:
    """The values of the inputs in a row of a table."""
    return {name: bool(row >> bit & 1) for bit, name in enumerate(inputs)}


@pytest.mark.parametrize(("case", "output"), EACH)
def test_the_derived_table_equals_the_function_by_arithmetic(case: Case, output: str) -> None:
    found = derived(case.inputs, case.gates, output)
    expected = {row for row in found.rows if case.outputs[output](setting(case.inputs, row))}
    assert found.on == expected


@pytest.mark.parametrize(("case", "output"), EACH)
def test_the_formula_in_words_is_equivalent_to_the_netlist(case: Case, output: str) -> None:
    found = derived(case.inputs, case.gates, output)
    words = formula(found)
    assert bool(words) or output not in case.told
    if not words:
        return  # it may be left out only where it need not be told
    symbols = {name: sympy.Symbol(name) for name in case.inputs}
    read = evaluated(words, symbols, sympy.And, sympy.Or, sympy.Not, sympy.Xor)
    assert satisfiable(sympy.Xor(read, as_sympy(case.gates, output))) is False
    for row in found.rows:
        value = evaluated(words, setting(case.inputs, row))
        assert value is case.outputs[output](setting(case.inputs, row))


@pytest.mark.parametrize("segment", "abcdefg")
def test_each_segment_is_lit_for_the_digits_of_the_data_sheet(segment: str) -> None:
    inputs = ("a", "b", "c", "d")
    found = derived(inputs, SEVEN, f"seg_{segment}")
    for digit, lit in enumerate(LIT):
        row = sum(1 << place for place, bit in enumerate(f"{digit:04b}") if bit == "1")
        assert (row in found.on) is (segment in lit), digit
    words = formula(found)
    assert words
    assert all(evaluated(words, setting(inputs, row)) is (row in found.on) for row in found.rows)


def test_a_set_reset_latch_is_open_only_while_neither_input_is_on() -> None:
    # Source: any textbook, the table of a set–reset latch (rule L2): hold, set, reset, both off.
    program = machine_of("lever s", "lever r", "latch gate set s reset r")
    assert function(program, "gate") == Function(("s", "r"), frozenset({1}), frozenset({0}))
    assert function(program, "gate.inverse") == Function(("s", "r"), frozenset({2}), frozenset({0}))
    assert formula(Function(("s", "r"), frozenset({1}), frozenset({0}))) == ""


def test_a_data_latch_is_open_only_while_it_is_locked() -> None:
    # Common practice, no source; rule R5.
    found = function(machine_of("lever water", "lever hold", "latch mark data water locked by hold"), "mark")
    assert found == Function(("water", "hold"), frozenset({1}), frozenset({2, 3}))


def test_a_signal_that_no_input_reaches_is_always_on_or_off() -> None:
    program = machine_of("torch idle", "torch none from idle", "lever rope")
    found = [function(program, name) for name in ("idle", "none")]
    assert [formula(each) for each in found if isinstance(each, Function)] == ["always on", "always off"]


def test_too_many_inputs_are_refused_with_their_number_and_the_bound() -> None:
    levers = [f"lever pond{place}" for place in range(13)]
    joined = ", ".join(f"pond{place}" for place in range(13))
    found = function(machine_of(*levers, f"torch dry from {joined}"), "dry")
    assert isinstance(found, TooLarge)
    assert "13 inputs" in found.why
    assert "12" in found.why
    enough = function(machine_of(*levers, f"torch dry from {joined.rpartition(',')[0]}"), "dry")
    assert isinstance(enough, Function)
    assert enough.on == {0}


def test_too_much_work_is_refused_with_rows_and_parts() -> None:
    levers = [f"lever pond{place}" for place in range(12)]
    joined = ", ".join(f"pond{place}" for place in range(12))
    chain = [f"torch back{place + 1} from back{place}" for place in range(100)]
    found = function(machine_of(*levers, f"torch back0 from {joined}", *chain), "back100")
    assert isinstance(found, TooLarge)
    assert "4096 rows" in found.why
    assert "113 parts" in found.why
