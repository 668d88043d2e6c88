"""Findings that say the same of several parts, put together so that a report says it once."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from circuitcheck.checks.finding import Finding

FEW = 2
"""So many like findings are still reported one by one."""
VARIES = re.compile(r"'[^']*'(, '[^']*')*|layer \d+, row \d+, column \d+|\b\d+\b")
"""What of a message may differ between like findings: names, places and numbers."""


def together(findings: Iterable[Finding]) -> list[tuple[Finding, ...]]:
    """The findings in their order, those put together that differ only in their parts and where these stand.

    A caution about harm to people, and what ended a run, always stands alone.
    """
    groups: dict[tuple[object, ...], list[Finding]] = {}
    for number, each in enumerate(findings):
        alone = number if each.cautions or each.refusal is not None else None
        shape = VARIES.sub("'…'", each.message)
        key = (each.rule, shape, each.hint, each.silenced, each.forbidden, each.span.file, alone)
        groups.setdefault(key, []).append(each)
    found: list[tuple[Finding, ...]] = []
    for group in groups.values():
        found += [tuple(group)] if len(group) > FEW else [(each,) for each in group]
    return found


def others(group: Sequence[Finding]) -> str:
    """The parts that a finding is about besides the first, each with where it stands; empty for one alone."""
    if not group[1:]:
        return ""
    named = (f"'{each.part}'{f' ({_place(each)})' if each.where or each.span.line else ''}" for each in group[1:])
    return f"the same of {len(group) - 1} more: {', '.join(named)}"


def _place(each: Finding) -> str:
    return each.where.replace("layer ", "").replace("row ", "").replace("column ", "") or f"line {each.span.line}"
