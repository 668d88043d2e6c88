"""The signal graph for other programs: DOT, every name quoted, and GraphML."""

from __future__ import annotations

import io

from circuitcheck.model.circuit import Circuit
from circuitcheck.model.duration import show
from circuitcheck.report.lines import safe


def dot(circuit: Circuit) -> str:
    """The graph in DOT. Arrows that invert end in a circle, those that watch are dashed, joined dust has none."""
    graph = circuit.graph
    rows = [f"digraph {_quoted(circuit.name)} {{", "  rankdir=LR;", "  node [shape=box];"]
    for name in graph.nodes:
        node = graph.nodes[name]
        lag = f", {show(node['lag'])}" if node["lag"] else ""
        label = _quoted(f"{name} ({node['kind']}{lag})")
        rows.append(f"  {_quoted(name)} [label={label}];")
    for source, reader in graph.edges:
        edge = graph.edges[source, reader]
        looks = ["arrowhead=odot"] if edge["inverts"] else []
        looks += ["style=dashed"] if edge["watches"] else []
        looks += ["dir=none"] if edge["joined"] else []
        if edge["joined"] and source > reader and graph.has_edge(reader, source):
            continue  # one line for the two directions
        rows.append(f"  {_quoted(source)} -> {_quoted(reader)}{' [' + ', '.join(looks) + ']' if looks else ''};")
    return "\n".join([*rows, "}"]) + "\n"


def _quoted(text: str) -> str:
    escaped = safe(text).replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'


def graphml(circuit: Circuit) -> str:
    """The graph in GraphML, with the attributes that `model.graph` names."""
    import networkx

    stream = io.BytesIO()
    networkx.write_graphml_xml(circuit.graph, stream, prettyprint=True)
    return stream.getvalue().decode("utf-8") + "\n"
