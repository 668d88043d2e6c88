"""Everything that is asked, judged under each named set of rules, and what makes the difference."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from circuitcheck.checks.drawing import built
from circuitcheck.checks.outcome import FAILING, Outcome, Verdict
from circuitcheck.diagnostics import Diagnostic
from circuitcheck.judging.door import judged
from circuitcheck.model.claims import Check, Claim, Study
from circuitcheck.model.rules import RULE_SETS, SETTINGS, RuleSet, under
from circuitcheck.prove.meter import Limits
from circuitcheck.space.circuit import under as read_under


class Row(NamedTuple):
    """One check or claim: its study's label, its title, and its outcome under each set, in the order of the sets."""

    label: str
    title: str
    outcomes: tuple[Outcome, ...]

    @property
    def differs(self) -> bool:
        """Whether it comes to one thing under one set and to another under another."""
        return len({each.verdict for each in self.outcomes}) > 1


class Table(NamedTuple):
    """Everything under every set."""

    sets: tuple[RuleSet, ...]
    rows: tuple[Row, ...]

    @property
    def fails(self) -> bool:
        """Whether something fails under some set."""
        return any(each.verdict in FAILING for row in self.rows for each in row.outcomes)


def under_each(studies: Iterable[Study], states: int) -> Table:
    """Judges studies under each named set; settings that the file changes stay changed."""
    rows: list[Row] = []
    sets = tuple(RULE_SETS.values())
    for study in studies:
        columns = [_judged(study, rules, states) for rules in sets]
        rows += [Row(study.label, outcomes[0].title, outcomes) for outcomes in zip(*columns, strict=True)]
    return Table(sets, tuple(rows))


def _judged(study: Study, named: RuleSet, states: int) -> tuple[Outcome, ...]:
    """The outcomes of a study under a named set; what is drawn and can't stand under it fails in all that is asked."""
    rules = under(study.circuit.rules, named)
    circuit = read_under(study.circuit, rules)
    if isinstance(circuit, Diagnostic):
        asked: tuple[Check | Claim, ...] = (*study.checks, *study.claims)
        failed = [Outcome(each.title, each.span, Verdict.FAILS, detail=circuit.message) for each in asked]
        return (
            *failed,
            *(Outcome(each.title, each.span, Verdict.SKIPPED, detail=each.skipped) for each in study.skipped),
        )
    drawn = None if study.drawn is None else read_under(study.drawn, rules)
    if isinstance(drawn, Diagnostic):
        outcomes = judged(study._replace(circuit=circuit, drawn=None), Limits(states)).outcomes
        return (*outcomes, Outcome(built.TITLE, drawn.span, Verdict.FAILS, differences=(drawn.message,)))
    return judged(study._replace(circuit=circuit, drawn=drawn), Limits(states)).outcomes


def differences(sets: Iterable[RuleSet]) -> list[tuple[str, tuple[object, ...]]]:
    """The settings in which some sets differ, with the value in each."""
    named = list(sets)
    found = []
    for setting in SETTINGS:
        values = tuple(getattr(each, setting) for each in named)
        if len(set(values)) > 1:
            found.append((setting, values))
    return found
