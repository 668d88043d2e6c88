"""Everything that is asked, judged under each named set of rules, and what makes the difference."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import fields, replace
from typing import NamedTuple

from circuitcheck.checks.outcome import FAILING, Outcome
from circuitcheck.model.claims import Study
from circuitcheck.model.rules import RULE_SETS, RuleSet, under
from circuitcheck.prove.verdicts import judged


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
        columns = [judged(_under(study, rules), states).outcomes for rules in sets]
        rows += [Row(study.label, outcomes[0].title, outcomes) for outcomes in zip(*columns, strict=True)]
    return Table(sets, tuple(rows))


def _under(study: Study, rules: RuleSet) -> Study:
    return study._replace(circuit=replace(study.circuit, rules=under(study.circuit.rules, rules)))


def differences(sets: Iterable[RuleSet]) -> list[tuple[str, tuple[object, ...]]]:
    """The settings in which some sets differ, with the value in each."""
    named = list(sets)
    found = []
    for field in fields(RuleSet):
        values = tuple(getattr(each, field.name) for each in named)
        if field.name != "name" and len(set(values)) > 1:
            found.append((field.name, values))
    return found
