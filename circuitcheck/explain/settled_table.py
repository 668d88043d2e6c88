"""The table of a settled signal as plain data, of any circuit."""

from __future__ import annotations

from circuitcheck.engine.program import Program
from circuitcheck.explain.function import Function, TooLarge, function
from circuitcheck.explain.moving_function import moves, moving_function
from circuitcheck.model.circuit import Circuit
from circuitcheck.signals import Setting


def settled_table(circuit: Circuit, signal: str) -> list[Setting] | str:
    """What a signal is at each setting of its inputs; or why that was not computed."""
    program = Program(circuit)
    if not moves(program):
        table = function(program, signal)
        return table.why if isinstance(table, TooLarge) else _settings(table, {})
    found = moving_function(program, signal, (signal,), detailed=False)
    if isinstance(found, TooLarge):
        return found.why
    if isinstance(found.whole, TooLarge):
        return found.whole.why
    out: dict[int, dict[str, None]] = {}
    for each in found.configurations:
        for row in each.settings:
            out.setdefault(row, {}).update(dict.fromkeys(each.out))
    return _settings(found.whole, {row: tuple(names) for row, names in out.items()})


def _settings(table: Function, out: dict[int, tuple[str, ...]]) -> list[Setting]:
    return [
        Setting(
            {name: bool(row >> bit & 1) for bit, name in enumerate(table.inputs)},
            None if row in table.open else row in table.on,
            out.get(row, ()),
        )
        for row in table.rows
    ]
