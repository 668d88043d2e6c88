"""Which parts may feed which: what can't be built, found before anything is run (rules P4, R5, W8 in part)."""

from __future__ import annotations

from collections.abc import Iterator

from circuitcheck.diagnostics import Diagnostic, article, error
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.parts import KINDS
from circuitcheck.model.parts.base import Conducts, Part, Port
from circuitcheck.model.parts.cells import Cell


def unbuildable(circuit: Circuit, ports: frozenset[str] = frozenset()) -> Iterator[Diagnostic]:
    """One error for each source that can't feed the part that names it.

    `ports` are levers that stand for the ports of a definition: anything may be wired there.
    """
    for part in circuit.parts:
        if part.cell is not None:
            yield from _grown_over(part.cell, circuit)
        for port in part.ports():
            for name in port.sources:
                source = circuit.by_name.get(name)
                if source is not None and name not in ports:
                    yield from _judge(part, port, source)


def _grown_over(cell: Cell, circuit: Circuit) -> Iterator[Diagnostic]:
    for name in cell.grows:
        source = circuit.by_name.get(name)
        if source is not None and source.cell is None:
            message = f"'{cell.name}' can't be grown over from '{name}': it is {article(source.word)} (X3)"
            yield error("CKT310", cell.span, message, "name cells of a sensor")


def _judge(part: Part, port: Port, source: Part) -> Iterator[Diagnostic]:
    where = part.span
    if port.watches:
        if source.conducts is Conducts.BLOCK and not source.behaves:
            message = f"'{part.name}' can't watch '{source.name}': a block has no state that changes"
            yield error("CKT310", where, message, "watch what powers it")
        return
    if source.conducts is Conducts.NOTHING:
        yield error("CKT310", where, f"'{source.name}' {source.powerless} to '{part.name}'", "let a detector watch it")
    elif part.conducts is source.conducts is Conducts.BLOCK and not part.behaves:
        message = f"'{source.name}' can't power '{part.name}': power never goes from block to block (P4)"
        yield error("CKT310", where, message, "put a repeater or dust between them")
    elif port.from_directed and not source.directed:
        takes = " or ".join(sorted(word for word, kind in KINDS.items() if kind.samples[0].directed))
        message = f"'{source.name}' is {article(source.word)}, and only a {takes} locks a repeater (R5)"
        yield error("CKT310", where, message, f"let '{source.name}' go through a repeater first")
