"""The signal graph: a networkx view of the circuit."""

from __future__ import annotations

import networkx

import circuitcheck
from circuitcheck.engine.program import Program

LATCH = """
lever    pond
lever    race
repeater opening from pond delay 2t
latch    gate set opening reset race starts reset
lamp     open from gate
"""


def graph_of(text: str) -> networkx.DiGraph[str]:
    return circuitcheck.loads(f"language 1\n{text}").circuit.graph


def test_the_two_torches_of_a_latch_are_a_loop() -> None:
    loops = [set(loop) for loop in networkx.strongly_connected_components(graph_of(LATCH)) if len(loop) > 1]
    assert loops == [{"gate", "gate.inverse"}]


def test_edges_into_torches_invert_and_others_do_not() -> None:
    graph = graph_of(LATCH)
    inverting = {(source, reader) for source, reader in graph.edges if graph.edges[source, reader]["inverts"]}
    assert inverting == {edge for edge in graph.edges if edge[1] in ("gate", "gate.inverse")}


def test_the_longest_way_through_repeaters_is_the_sum_of_their_delays() -> None:
    """Source: rule R6 (common practice, no source), and networkx's longest path as an independent reckoning."""
    text = "lever pond\nrepeater a from pond delay 3t\nrepeater b from a delay 4t\nlamp open from b\n"
    graph = graph_of(text)
    weighted: networkx.DiGraph[str] = networkx.DiGraph()
    weighted.add_weighted_edges_from((source, reader, graph.nodes[reader]["lag"]) for source, reader in graph.edges)
    run = circuitcheck.loads(f"language 1\n{text}").start()
    run.set("pond", True)
    run.run("10t")
    (edge,) = run.edges("open")
    assert edge.at - 1 == networkx.dag_longest_path_length(weighted) == 14


def test_lines_of_dust_that_meet_are_joined_both_ways() -> None:
    """Rule P5 (common practice, no source)."""
    text = "lever pond\nlever race\ndust left from pond\ndust right from race\njunction row joins left, right\n"
    text += "lamp open from row\n"
    graph = graph_of(text)
    for source, reader in (("left", "row"), ("right", "row")):
        assert graph.edges[source, reader]["joined"]
        assert graph.edges[reader, source]["joined"]
    assert not graph.edges["pond", "left"]["joined"]


def test_what_feeds_a_port_is_what_the_graph_reaches_backwards_through_wiring() -> None:
    """The engine's power and the graph agree on who feeds whom (short lines, so that nothing is lost)."""
    text = "lever pond\nlever race\ndust left from pond\njunction row joins left, race\nblock wall from row\n"
    text += "torch shut from wall\nlamp open from left\n"
    circuit = circuitcheck.loads(f"language 1\n{text}").circuit
    program, graph = Program(circuit), circuit.graph
    wiring = {name for name in graph.nodes if graph.nodes[name]["kind"] in ("dust", "block")}
    for number, port in enumerate(program.ports):
        fed = {program.names[source] for source, _ in program.feeds[number]}
        inner = graph.subgraph(wiring | set(port.sources))
        behind = {source for name in port.sources for source in {name} | networkx.ancestors(inner, name)}
        reached = {feed for name in behind for feed in graph.predecessors(name) if feed not in wiring} | (
            behind - wiring
        )
        assert fed == reached
