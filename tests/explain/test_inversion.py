"""Whether an output is inverted: held against the simulation, the graph, and circuits built as the advice says."""

from __future__ import annotations

import itertools
import re

import networkx
import pytest
from hypothesis import assume, given, settings

from circuitcheck.engine.program import Program
from circuitcheck.explain.function import inputs_of
from circuitcheck.explain.inversion import Relation, inversion, turns

from .trying import circuit_of, drawn_lines, feeds_back, machine_of, rows_over, settled, truth

Drawn = tuple[tuple[str, ...], tuple[str, ...], str]
NAMED = re.compile(r"(?:from|side,|behind) '([^']+)'")


def by_flipping(lines: tuple[str, ...], levers: tuple[str, ...], output: str, name: str) -> Relation:
    """The verdict by brute force: every setting, settled in the simulation, with this input off and on."""
    values = truth(circuit_of(*lines), levers, output)
    bit = 1 << levers.index(name)
    pairs = [(values[row], values[row | bit]) for row in range(len(values)) if not row & bit]
    same, against = pairs.count((False, True)), pairs.count((True, False))
    if same and against:
        return Relation.BOTH
    if same:
        return Relation.SAME if same == len(pairs) else Relation.SAME_AT_TIMES
    if against:
        return Relation.INVERTED if against == len(pairs) else Relation.INVERTED_AT_TIMES
    return Relation.NONE


@settings(max_examples=50, deadline=None)
@given(drawn_lines())
def test_the_verdict_is_what_flipping_the_input_shows(drawn: Drawn) -> None:
    lines, levers, output = drawn
    circuit = circuit_of(*lines)
    assume(not feeds_back(circuit))
    for name in levers:
        reached = set(inputs_of(circuit, output))
        found = inversion(Program(circuit), output, name).relation
        assert found is by_flipping(lines, levers, output, name)
        assert name in reached or found is Relation.NONE


@settings(max_examples=150, deadline=None)
@given(drawn_lines())
def test_every_way_has_the_parity_and_ticks_of_its_edges(drawn: Drawn) -> None:
    lines, levers, output = drawn
    program = machine_of(*lines)
    graph = program.circuit.graph
    for name in levers:
        found = inversion(program, output, name)
        paths = list(networkx.all_simple_paths(graph, name, output))
        assert found.paths.counted == min(len(paths), 200)
        told = [(way.start, *(hop.part for hop in way.hops)) for way in found.paths.paths]
        assert len(set(told)) == len(told) == min(len(paths), 12)
        for way, path in zip(found.paths.paths, told, strict=True):
            assert list(path) in paths
            edges = list(itertools.pairwise(path))
            assert way.inverted is (sum(graph.edges[edge]["inverts"] for edge in edges) % 2 == 1)
            assert way.lag == sum(graph.nodes[part]["lag"] for part in path[1:])
        lags = [way.lag for way in found.paths.paths]
        assert lags == sorted(lags)


@settings(max_examples=150, deadline=None)
@given(drawn_lines())
def test_ways_that_all_agree_allow_no_verdict_the_other_way(drawn: Drawn) -> None:
    # A function made of monotone steps is unate: any text on switching theory.
    lines, levers, output = drawn
    program = machine_of(*lines)
    assume(not feeds_back(program.circuit))
    for name in levers:
        found = inversion(program, output, name)
        parities = {way.inverted for way in found.paths.paths}
        if found.paths.counted > len(found.paths.paths):
            continue
        if parities == {False}:
            assert found.relation in (Relation.SAME, Relation.SAME_AT_TIMES, Relation.NONE)
        elif parities == {True}:
            assert found.relation in (Relation.INVERTED, Relation.INVERTED_AT_TIMES, Relation.NONE)
        elif not parities:
            assert found.relation is Relation.NONE


@settings(max_examples=60, deadline=None)
@given(drawn_lines())
def test_every_turn_gives_the_inverse_when_it_is_built(drawn: Drawn) -> None:
    lines, levers, output = drawn
    circuit = circuit_of(*lines)
    assume(not feeds_back(circuit))
    before = truth(circuit, levers, output)
    for turn in turns(Program(circuit), output):
        named = NAMED.search(turn.words)
        assert named, turn.words
        added = [f"torch turned from {named[1]}"] if turn.words.startswith("add a torch") else []
        taken = "turned" if added else named[1]
        built = circuit_of(*lines, *added, f"lamp probe from {taken}")
        assert truth(built, levers, "probe") == [not value for value in before], turn.words


def test_a_line_that_other_lines_give_to_as_well_is_not_turned_round_as_if_it_had_one_source() -> None:
    """P2: power runs both ways between lines that are joined, so that both levers light all three of them."""
    lines = ("lever pond", "lever race", "dust first from pond", "torch dry from pond", "dust second from race, first")
    program = machine_of(*lines, "dust third from first")
    (turn,) = turns(program, "third")
    assert turn.words == "add a torch on a block behind 'third'"


EXAMPLES = {
    Relation.SAME: (("repeater out from pond",), "pond"),
    Relation.INVERTED: (("torch out from pond",), "pond"),
    Relation.SAME_AT_TIMES: (("junction out joins pond, race",), "pond"),
    Relation.INVERTED_AT_TIMES: (("torch out from pond, race",), "pond"),
    Relation.NONE: (("torch dry from pond", "torch out from dry, pond"), "pond"),
    Relation.REMEMBERED: (("latch out set pond reset race",), "pond"),
    Relation.BOTH: (
        (
            "torch dry from pond", "torch low from race", "torch two from dry, low", "torch none from pond, race",
            "torch out from two, none",
        ),
        "pond",
    ),
}  # fmt: skip


@pytest.mark.parametrize("verdict", EXAMPLES, ids=lambda verdict: verdict.name)
def test_each_verdict_has_its_example(verdict: Relation) -> None:
    # Expected by the textbook tables of NOT, OR, NOR, XOR and of the set–reset latch.
    lines, name = EXAMPLES[verdict]
    program = machine_of("lever pond", "lever race", *lines)
    assert inversion(program, "out", name).relation is verdict


def test_with_more_inputs_than_a_table_holds_the_parity_of_the_ways_is_reported_and_says_so() -> None:
    levers = [f"lever pond{place}" for place in range(13)]
    program = machine_of(*levers, f"torch dry from {', '.join(f'pond{place}' for place in range(13))}")
    found = inversion(program, "dry", "pond3")
    # A torch over thirteen levers is a NOR: where a lever counts at all, it opposes.
    assert found.relation is Relation.INVERTED_AT_TIMES
    assert "13 inputs" in found.why_not
    assert [way.inverted for way in found.paths.paths] == [True]


def test_a_latch_is_turned_by_its_other_side() -> None:
    lines = ("lever opens", "lever shuts", "latch gate set opens reset shuts starts reset")
    first = turns(machine_of(*lines), "gate")[0]
    assert NAMED.findall(first.words) == ["gate.inverse"]
    built = circuit_of(*lines, "lamp was from gate", "lamp probe from gate.inverse")
    for row in rows_over(("opens", "shuts"))[:3]:
        values = settled(built, row, ["was", "probe"])
        assert values["probe"] is not values["was"]


def test_leaving_a_torch_out_is_not_advised_where_others_need_it() -> None:
    # 'shut' and 'bell' depend on one torch: without it, 'bell' would no longer be what it was.
    lines = (
        "lever rope",
        "torch slack from rope",
        "lamp shut from slack",
        "repeater ring from slack",
        "lamp bell from ring",
    )
    for turn in turns(machine_of(*lines), "shut"):
        assert "leave 'slack' out" not in turn.words


@pytest.mark.parametrize(
    ("lines", "price"),
    [
        (("torch slack from rope", "lamp shut from slack"), (-1, -2)),
        (("repeater winch from rope", "lamp shut from winch"), (1, 2)),
    ],
)
def test_the_cheapest_turn_has_the_price_it_was_built_for(lines: tuple[str, ...], price: tuple[int, int]) -> None:
    first = turns(machine_of("lever rope", *lines), "shut")[0]
    assert (first.parts, first.lag) == price
