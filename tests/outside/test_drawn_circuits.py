"""Circuits drawn at random against networkx (when do they settle?) and SymPy (on what do they settle?).

Sources: the longest path of a weighted acyclic graph bounds when the last edge arrives, the rule of static timing
analysis in any textbook of digital design, computed by networkx (dag_longest_path_length); the function of a netlist of
gates is Boolean algebra, done by SymPy (sympy.logic). What each part's delay is: common practice, no source; T2, R6.
"""

from __future__ import annotations

import itertools
import random

import networkx as nx
import pytest
import sympy

from outside.building import Gate, Netlist, circuit_text, put, start

AFTERWARDS = 30
"""How many gt a settled circuit is watched for a late edge."""

LEVERS = ("pond", "race", "gate")


# When it settles


def drawn_timing(choose: random.Random) -> tuple[str, nx.DiGraph[str], list[str]]:
    """Torches and repeaters wired at random without a loop: text, graph (an edge weighs its reader's delay), parts.

    Only at a lever may a repeater be of more than 1t: further in it would stretch flickers (rule R3), and the
    longest path is no bound of that.
    """
    lines = ["language 1", "circuit drawn", *(f"lever {name}" for name in LEVERS)]
    graph: nx.DiGraph[str] = nx.DiGraph()
    graph.add_nodes_from(LEVERS)
    parts: list[str] = []
    for number in range(choose.randint(6, 14)):
        name = f"p{number}"
        known = [*LEVERS, *parts]
        draw = choose.random()
        if draw < 0.2:
            feeds, delay = [choose.choice(LEVERS)], choose.randint(1, 4)
            lines.append(f"repeater {name} from {feeds[0]} delay {delay}t")
        elif draw < 0.35:
            feeds, delay = [choose.choice(known)], 1
            lines.append(f"repeater {name} from {feeds[0]} delay 1t")
        else:
            feeds, delay = choose.sample(known, choose.randint(1, 3)), 1
            lines.append(f"torch {name} from {', '.join(feeds)}")
        for feed in feeds:
            graph.add_edge(feed, name, weight=2 * delay)
        parts.append(name)
    return "\n".join([*lines, ""]), graph, parts


@pytest.mark.parametrize("seed", range(40))
def test_a_circuit_without_a_loop_settles_within_its_longest_path(seed: int) -> None:
    choose = random.Random(seed)
    text, graph, parts = drawn_timing(choose)
    bound = nx.dag_longest_path_length(graph)
    run = start(text).run(gt=AFTERWARDS)
    for _ in range(6):
        for name in choose.sample(LEVERS, choose.randint(1, len(LEVERS))):
            run.throw(name)
        run.run(gt=1 + bound)
        settled = {name: run.levels(name) for name in parts}
        assert all(len(levels) == 1 for levels in settled.values()), "whatever the order, it ends in one state"
        for _ in range(AFTERWARDS):
            run.run(gt=1)
            assert {name: run.levels(name) for name in parts} == settled, f"a late edge at {run.now} gt"


@pytest.mark.parametrize("seed", range(20))
def test_the_last_edge_of_a_chain_comes_exactly_at_its_longest_path(seed: int) -> None:
    choose = random.Random(seed)
    graph: nx.DiGraph[str] = nx.DiGraph()
    lines = ["language 1", "circuit chain", "lever p0"]
    length = choose.randint(1, 12)
    for number in range(1, length + 1):
        before, name = f"p{number - 1}", f"p{number}"
        delay = choose.randint(0, 4)
        lines.append(f"repeater {name} from {before} delay {delay}t" if delay else f"torch {name} from {before}")
        graph.add_edge(before, name, weight=2 * max(delay, 1))
    run = start("\n".join([*lines, ""])).run(gt=9)
    run.set("p0", True)
    run.run(gt=200)
    edges = [edge.at for number in range(1, length + 1) for edge in run.edges(f"p{number}")]
    assert max(edges) == 10 + nx.dag_longest_path_length(graph)
    assert len(edges) == length


# On what it settles

KINDS = ("NOT", "AND", "OR", "NAND", "NOR", "XOR")


def drawn_netlist(choose: random.Random) -> Netlist:
    """Six to ten gates over the levers, each reading what comes before it."""
    gates: dict[str, Gate] = {}
    for number in range(choose.randint(6, 10)):
        known = [*LEVERS, "mill", *gates]
        kind = choose.choice(KINDS)
        count = 1 if kind == "NOT" else 2 if kind == "XOR" else choose.randint(2, 3)
        gates[f"g{number}"] = Gate(kind, tuple(choose.sample(known, count)))
    return gates


def function_of(gates: Netlist) -> dict[str, sympy.Basic]:
    """What each gate computes of the levers, as a SymPy expression."""
    make = {
        "NOT": sympy.Not,
        "AND": sympy.And,
        "OR": sympy.Or,
        "NAND": sympy.Nand,
        "NOR": sympy.Nor,
        "XOR": sympy.Xor,
    }
    known: dict[str, sympy.Basic] = {name: sympy.Symbol(name) for name in (*LEVERS, "mill")}
    for name, made in gates.items():
        known[name] = make[made.kind](*(known[each] for each in made.inputs))
    return {name: known[name] for name in gates}


@pytest.mark.parametrize("seed", range(20))
def test_a_circuit_of_gates_settles_on_its_boolean_function_in_every_row(seed: int) -> None:
    choose = random.Random(seed)
    gates = drawn_netlist(choose)
    functions = function_of(gates)
    inputs = (*LEVERS, "mill")
    run = start(circuit_text(inputs, gates))
    rows = list(itertools.product((False, True), repeat=len(inputs)))
    choose.shuffle(rows)
    deepest = 6 * len(gates)
    for row in rows:
        values = dict(zip(inputs, row, strict=True))
        put(run, values)
        run.run(gt=deepest + AFTERWARDS)
        told = {sympy.Symbol(name): value for name, value in values.items()}
        expected = {name: bool(function.subs(told)) for name, function in functions.items()}
        assert {name: run.is_on(name) for name in gates} == expected, f"row {row} of {dict(gates)}"
