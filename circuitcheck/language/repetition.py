"""Checks and claims that are repeated over values: once for each value that a loop around them gives."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import NamedTuple

from circuitcheck.diagnostics import Diagnostic, error
from circuitcheck.language import tree
from circuitcheck.language.values import Reader, Value, Values


class Asked(NamedTuple):
    """A check or claim, the values that loops around it give, and what tells it from its repetitions."""

    statement: tree.CheckBlock | tree.ClaimLine | tree.ResponseLine
    looped: dict[str, Value]
    suffix: str


def repeated(
    statements: Iterable[tree.Statement],
    values: Values,
    mistakes: list[Diagnostic],
    looped: dict[str, Value] | None = None,
    suffix: str = "",
) -> Iterator[Asked]:
    """Every check and claim of some statements, once for each value that a loop around it gives."""
    around = looped or {}
    for statement in statements:
        if isinstance(statement, tree.CheckBlock | tree.ClaimLine | tree.ResponseLine):
            yield Asked(statement, around, suffix)
        elif isinstance(statement, tree.Repetition):
            name = statement.name
            if name.text in values or name.text in around:
                mistakes.append(error("CKT202", name.span, f"'{name.text}' has a value already", "choose another name"))
                continue
            reader = Reader({**values, **around}, mistakes)
            met: set[int] = set()
            for amount in statement.amounts:
                value = reader.value(amount)
                if value is not None and value.number in met:
                    mistakes.append(error("CKT202", amount.span, f"{value} stands here twice", "keep one of them"))
                elif value is not None:
                    met.add(value.number)
                    inner = {**around, name.text: value}
                    yield from repeated(statement.statements, values, mistakes, inner, f"{suffix}, {name.text} {value}")
