"""The table of everything under each set of rules, for people and for machines."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from circuitcheck.checks.outcome import GOOD, Outcome
from circuitcheck.model.duration import show
from circuitcheck.model.rules import SETTINGS
from circuitcheck.report import wording
from circuitcheck.report.lines import Line, Piece, Style, line, safe, wrapped
from circuitcheck.report.reference import sources_of_settings
from circuitcheck.report.terminal.verdict_lines import LABELS
from circuitcheck.sweeps.rule_sets import Row, Table, differences

COLUMN = 9
NARROWEST = 24
"""Columns that a title needs beside the verdicts; with fewer it stands below them."""


def rules_lines(table: Table, width: int) -> Iterator[Line]:
    """One line for each check and claim; under those that differ, why."""
    if not table.rows:
        yield line("  there is no check and no claim here")
        return
    names = [each.name for each in table.sets]
    yield line("  ", *(Piece(f"{name:<{COLUMN}}", Style.STRONG) for name in names))
    for row in table.rows:
        cells = [Piece(f"{LABELS[each.verdict][0]:<{COLUMN}}", LABELS[each.verdict][1]) for each in row.outcomes]
        title = f"{safe(row.label)}: {safe(row.title)}" if row.label else safe(row.title)
        indent = 2 + COLUMN * len(cells)
        if width - indent >= NARROWEST:
            first, *more = wrapped(title, width - indent, "")
            yield line("  ", *cells, *first)
            for rest in more:
                yield line(" " * indent, *rest)
        else:
            yield line("  ", *cells)
            yield from wrapped(title, width, "    ")
        yield from _why(row, names, width)
    yield line()
    yield line("  the sets differ in:")
    sources = sources_of_settings()
    for setting, values in differences(table.sets):
        shown = ", ".join(f"{name} {_value(setting, value)}" for name, value in zip(names, values, strict=True))
        yield from wrapped(f"{setting}: {shown} ({sources[setting]})", width, "    ", "      ")


def _value(setting: str, value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int) and SETTINGS[setting] == "GameTicks":
        return show(value) if value else "never"
    return str(value)


def _why(row: Row, names: list[str], width: int) -> Iterator[Line]:
    reasons: dict[str, list[str]] = {}
    for name, outcome in zip(names, row.outcomes, strict=True):
        if outcome.verdict not in GOOD:
            reasons.setdefault(_reason(outcome), []).append(name)
    for reason, where in reasons.items():
        yield from wrapped(f"{', '.join(where)}: {reason}", width, "      ", "        ")


def _reason(outcome: Outcome) -> str:
    if outcome.failure is None:
        return safe(outcome.detail or "; ".join(outcome.differences[:1])) or outcome.verdict.value
    at_work = sorted({note.rule for note in outcome.failure.recording.notes if note.at <= outcome.failure.at})
    rules = f" (rules that apply: {', '.join(at_work)})" if at_work else ""
    return f"{safe(wording.happened(outcome.failure))}{rules}"


def rules_data(table: Table) -> dict[str, Any]:
    """The table as plain data."""
    names = [each.name for each in table.sets]
    return {
        "sets": names,
        "rows": [
            {
                "label": row.label,
                "title": row.title,
                "verdicts": {name: each.verdict.name.lower() for name, each in zip(names, row.outcomes, strict=True)},
            }
            for row in table.rows
        ],
    }
