"""Ways in ticks: against networkx's own search, against simulated edges, and the spacing against being tried."""

from __future__ import annotations

import itertools

import networkx
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from circuitcheck import Simulation
from circuitcheck.explain.circuit_reading import Timing, read_circuit
from circuitcheck.explain.paths import span
from circuitcheck.model.circuit import Circuit

from .trying import SETTLES, circuit_of, drawn_lines, machine_of, work

Drawn = tuple[tuple[str, ...], tuple[str, ...], str]
TURNS = 6


def lag_of(circuit: Circuit, path: list[str]) -> int:
    """The ticks along a path, the first part not counted."""
    return sum(circuit.graph.nodes[name]["lag"] for name in path[1:])


@settings(max_examples=150, deadline=None)
@given(drawn_lines())
def test_the_quickest_and_slowest_ways_are_those_of_an_independent_search(drawn: Drawn) -> None:
    lines, levers, output = drawn
    circuit = circuit_of(*lines)
    for name in levers:
        paths = list(networkx.all_simple_paths(circuit.graph, name, output))
        found = span(circuit, name, output)
        if not paths:
            assert found is None
            continue
        assert found is not None
        weighted: networkx.DiGraph[str] = networkx.DiGraph()
        for source, reader in circuit.graph.edges:
            weighted.add_edge(source, reader, weight=circuit.graph.nodes[reader]["lag"])
        assert found.fastest.lag == networkx.dijkstra_path_length(weighted, name, output)
        between = {part for path in paths for part in path}
        # Two lines that meet are one wire, not a loop.
        feedback = [edge for edge in circuit.graph.subgraph(between).edges if not circuit.graph.edges[edge]["joined"]]
        loops = not networkx.is_directed_acyclic_graph(networkx.DiGraph(feedback))
        if found.slowest is not None:
            assert not loops
            assert found.slowest.lag == max(lag_of(circuit, path) for path in paths)


def links(chain: list[str], head: str) -> tuple[list[str], str]:
    """The lines of a chain of parts behind the rope, and its last part."""
    lines, last = [], "rope"
    for place, kind in enumerate(chain):
        part, _, delay = kind.partition(" ")
        lines.append(f"{part} {head}{place} from {last}{f' delay {delay}' if delay else ''}")
        last = f"{head}{place}"
    return lines, last


chains = st.lists(
    st.sampled_from(("torch", "repeater 1t", "repeater 3t", "repeater 4t", "dust")), min_size=1, max_size=8
)


def edges_after(circuit: Circuit, verb: str, output: str) -> list[int]:
    """How many gt after the rope was worked, everything at rest before, each edge of the output comes."""
    run = Simulation(circuit).run(gt=SETTLES)
    if verb == "off":
        run.set("rope", True)
        run.run(gt=SETTLES)
    worked = run.now + 1
    work(run, "rope", verb)
    run.run(gt=SETTLES)
    return [edge.at - worked for edge in run.edges(output) if edge.at >= worked]


@settings(max_examples=60, deadline=None)
@given(chains)
def test_along_a_chain_the_edge_comes_after_the_ticks_told(chain: list[str]) -> None:
    # Two lines behind one another are one wire (rule P5); the test below has them.
    assume(("dust", "dust") not in itertools.pairwise(chain))
    lines, last = links(chain, "link")
    circuit = circuit_of("lever rope", *lines)
    found = span(circuit, "rope", last)
    assert found is not None
    assert found.slowest is not None
    assert found.fastest.lag == found.slowest.lag
    for verb in ("on", "off"):
        assert edges_after(circuit, verb, last) == [found.slowest.lag]


@settings(max_examples=60, deadline=None)
@given(st.lists(st.integers(1, 4), min_size=1, max_size=5), st.lists(st.integers(1, 4), min_size=1, max_size=5))
def test_where_two_chains_meet_the_last_edge_is_as_late_as_the_slowest_way(one: list[int], other: list[int]) -> None:
    first, end = links([f"repeater {delay}t" for delay in one], "one")
    second, far = links([f"repeater {delay}t" for delay in other], "other")
    circuit = circuit_of("lever rope", *first, *second, f"junction meet joins {end}, {far}")
    found = span(circuit, "rope", "meet")
    assert found is not None
    assert found.slowest is not None
    assert edges_after(circuit, "on", "meet")[0] == found.fastest.lag == 2 * min(sum(one), sum(other))
    assert edges_after(circuit, "off", "meet")[-1] == found.slowest.lag == 2 * max(sum(one), sum(other))


def test_a_loop_between_leaves_the_slowest_way_open() -> None:
    circuit = circuit_of(
        "lever rope", "torch ring1 from ring2, rope", "repeater ring2 from ring1", "lamp bell from ring1"
    )
    found = span(circuit, "rope", "bell")
    assert found is not None
    assert found.slowest is None
    assert found.fastest.lag == 2


def test_two_lines_that_meet_leave_no_loop_in_the_ticks() -> None:
    # Rule P5: lines that touch are one line; they are no loop of feedback, so the slowest way has an end.
    lines = ("lever rope", "dust line from rope length 3", "dust more from line length 2", "torch slack from more")
    found = span(circuit_of(*lines), "rope", "slack")
    assert found is not None
    assert found.slowest is not None
    assert found.slowest.lag == 2


SPACED: dict[str, tuple[str, ...]] = {
    "torch": ("torch out from rope",),
    "repeater 1t": ("repeater out from rope",),
    "repeater 2t": ("repeater out from rope delay 2t",),
    "repeater 4t": ("repeater out from rope delay 4t",),
    "torch behind 3t": ("repeater slow from rope delay 3t", "torch out from slow"),
    "two torches": ("torch back from rope", "torch out from back"),
    "dust": ("dust out from rope length 4",),
    "lamp": ("lamp out from rope",),
    "comparator": ("comparator out from rope",),
    "and": ("lever brake", "torch one from rope", "torch two from brake", "torch out from one, two"),
}


def spacing_of(lines: tuple[str, ...]) -> tuple[Timing, Circuit]:
    """What is reported of the way from the rope to the output, and the circuit."""
    program = machine_of("lever rope", *lines)
    return next(t for t in read_circuit(program).timings if (t.input, t.output) == ("rope", "out")), program.circuit


def follows(circuit: Circuit, spacing: int) -> bool:
    """Whether the output has an edge for each of six throws of the rope, so far apart, all other levers on."""
    run = Simulation(circuit).run(gt=SETTLES)
    for part in circuit.inputs:
        if part.name != "rope":
            run.set(part.name, True)
            run.run(gt=SETTLES)
    before = len(run.edges("out"))
    for _ in range(TURNS):
        run.throw("rope")
        run.run(gt=spacing)
    run.run(gt=SETTLES)
    return len(run.edges("out")) - before == TURNS


@pytest.mark.parametrize("lines", SPACED.values(), ids=SPACED)
def test_an_output_follows_at_the_spacing_told_and_at_no_less(lines: tuple[str, ...]) -> None:
    timing, circuit = spacing_of(lines)
    assert timing.spacing is not None
    assert all(follows(circuit, spacing) for spacing in range(timing.spacing, 40))
    assert timing.spacing == 1 or not follows(circuit, timing.spacing - 1)


def test_the_spacing_of_lines_that_meet_is_that_of_what_is_seen_on_them() -> None:
    # Both repeaters change at each turn, but the line they meet on changes once: that is what follows.
    lines = ("repeater one from rope", "repeater two from rope delay 2t", "junction out joins one, two")
    timing, circuit = spacing_of(lines)
    least = next(spacing for spacing in range(1, 41) if all(follows(circuit, wider) for wider in range(spacing, 41)))
    assert timing.spacing == least
