"""The signal graph: which part's signal goes into which, as a networkx directed graph.

A view for analysis, drawing and explaining; it is made when it is first asked for, and networkx is imported only then.

Nodes are parts by name, with `kind` (the language's word), `lag` and `late` (the least and the most gt from a change at
an input to the part's own change). Edges go from source to reader, with `port`, `inverts` (the reader goes off when the
source comes on), `carries` (false for a lock, which holds its reader still), `watches` (it feels a change of state, not
power) and `joined` (two dust lines that meet: power runs both ways, and there is an edge each way, rule P5).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from circuitcheck.model.circuit import Circuit
from circuitcheck.model.parts.base import Conducts

if TYPE_CHECKING:
    import networkx


def signal_graph(circuit: Circuit) -> networkx.DiGraph[str]:
    """The signal graph of a circuit, made afresh."""
    import networkx

    graph: networkx.DiGraph[str] = networkx.DiGraph(name=circuit.name)
    for part in circuit.by_name.values():
        graph.add_node(part.name, kind=part.word, lag=part.lag, late=part.late)
    for part in circuit.parts:
        if part.latch is not None:
            continue  # its two torches stand for it
        for port in part.ports():
            for source in port.sources:
                joined = part.conducts is circuit.by_name[source].conducts is Conducts.LINE
                facts: dict[str, Any] = {
                    "port": port.name,
                    "inverts": port.inverts,
                    "watches": port.watches,
                    "carries": port.carries,
                    "joined": joined,
                }
                graph.add_edge(source, part.name, **facts)
                if joined:
                    graph.add_edge(part.name, source, **facts)
    return graph
