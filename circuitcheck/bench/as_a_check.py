"""What was done on a bench, in the words of the language: one action, a choice of order, a whole check."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from circuitcheck.bench.worked import Stopped, Worked
from circuitcheck.engine.program import Program
from circuitcheck.engine.step import Action, Outcome
from circuitcheck.model.duration import show
from circuitcheck.model.rules import FULL_POWER

MOST_EXPECTED = 200
"""How many expectations a check that is written out has at most."""


def act_words(act: Action, name: str) -> str:
    """An action as a line of a check says it, without its time."""
    if act.verb in ("on", "off"):
        return f"{name} {act.verb}"
    return f"{name} is {act.level}" if act.verb == "is" else f"{act.verb} {name}"


def order_words(program: Program, outcome: Outcome) -> str:
    """The order that leads to an outcome: who comes first, each time that it matters."""
    turns = []
    for order in outcome.orders:
        first, *others = (program.names[device] for device in order.devices)
        turns.append(f"{first} before {', '.join(others)}")
    return "; then ".join(turns) or "as it comes"


def as_check(worked: Worked, edges: Mapping[str, Sequence[tuple[int, int]]], title: str) -> list[str]:
    """The run up to now as a check: what was done, and what was seen of every output. Raises Stopped."""
    script = worked.script
    names = worked.program.names
    if '"' in title or "\n" in title:
        raise Stopped("a title has no quotation marks")
    acts = [
        (at, 0, f"at {show(at)}", act_words(act, names[act.device])) for at, each in script.acts.items() for act in each
    ]
    if not any(at <= worked.now for at, *_ in acts):
        raise Stopped("nothing was done yet: work an input first")
    seen = [
        (at, 1, f"at {show(at)}", f"expect {name} {_state(level)}")
        for name in _expected(worked)
        for at, level in edges.get(name, ())
        if at
    ][:MOST_EXPECTED]
    last = show(worked.now)
    ends = [(worked.now, 2, f"at {last}", f"expect {name} {_state(edges[name][-1][1])}") for name in _expected(worked)]
    rows = [row for row in sorted({*acts, *seen, *ends}) if row[0] <= worked.now]
    rows = [row for row in rows if row[1] != 2 or (row[0], 1, *row[2:]) not in rows]
    wide = max(len(row[2]) for row in rows)
    lines = [f'check "{title}"', *(f"  {row[2]:<{wide}}  {row[3]}" for row in rows), f"  until {last}", "end"]
    if any(at <= worked.now for at in script.orders):
        lines.insert(1, "  # An order was chosen in this run; a check holds only if it holds in every order (C5).")
    return lines


def _expected(worked: Worked) -> list[str]:
    """What is expected of: the outputs; if there are none, what nothing reads."""
    circuit = worked.circuit
    outputs = [each.name for each in circuit.own_outputs]
    graph = circuit.graph
    inputs = {part.name for part in circuit.inputs}
    return outputs or [name for name in graph if not graph.out_degree(name) and name not in inputs]


def _state(level: int) -> str:
    return {0: "off", FULL_POWER: "on"}.get(level, f"is {level}")
