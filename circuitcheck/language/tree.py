"""The syntax tree: what a file says, line by line, before any name in it is looked up. Frozen values only.

Named tuples, because a command line tool makes all these classes again at each start, and they are the cheapest to
make.
"""

from __future__ import annotations

from typing import NamedTuple

from circuitcheck.diagnostics import Span
from circuitcheck.language import drawn_tree
from circuitcheck.language.tree_words import (
    Amount as Amount,
)
from circuitcheck.language.tree_words import (
    AmountForm as AmountForm,
)
from circuitcheck.language.tree_words import (
    Change as Change,
)
from circuitcheck.language.tree_words import (
    Fraction as Fraction,
)
from circuitcheck.language.tree_words import (
    Option as Option,
)
from circuitcheck.language.tree_words import (
    Word as Word,
)


class PartLine(NamedTuple):
    kind: Word
    first: Word
    last: Word | None
    options: tuple[Option, ...]


class Value(NamedTuple):
    """`width 3t`: a value for a name."""

    name: Word
    amount: Amount


class Parameter(NamedTuple):
    """`width 2t from 1t to 4t`: a name with its usual value and, if declared, its range."""

    name: Word
    amount: Amount
    least: Amount | None
    most: Amount | None


class InstanceLine(NamedTuple):
    definition: Word
    name: Word
    wires: tuple[tuple[Word, Word], ...]
    values: tuple[Value, ...]


class OutputLine(NamedTuple):
    name: Word
    source: Word


class PhaseItem(NamedTuple):
    """`night 420s`: a phase of the day and its length."""

    name: Word
    amount: Amount


class CycleLine(NamedTuple):
    """`cycle 1200s day 600s, …`: the length of a whole day and of its phases."""

    cycle: Word
    whole: Amount
    phases: tuple[PhaseItem, ...]


class LayerItem(NamedTuple):
    """`2 water when flood off`: what light passes, how many of it, and what it is there for."""

    number: Word | None
    thing: Word
    when: Word | None
    only: Word | None


class LightPathItem(NamedTuple):
    """`sky through leaf, water`: a source of light and what it passes."""

    source: Word
    layers: tuple[LayerItem, ...]


class PlaceLine(NamedTuple):
    name: Word
    paths: tuple[LightPathItem, ...]


class LanguageLine(NamedTuple):
    version: Word


class CircuitLine(NamedTuple):
    name: Word
    title: Word | None


class RulesLine(NamedTuple):
    name: Word


class SettingLine(NamedTuple):
    name: Word
    amount: Amount | Fraction


class SilenceLine(NamedTuple):
    rule: Word
    names: tuple[Word, ...]
    reason: Word


class ForbidLine(NamedTuple):
    rule: Word


class UseLine(NamedTuple):
    path: Word


# Conditions and claims


class Atom(NamedTuple):
    """A signal and what is asked of it; `test` is empty where nothing but the name is written."""

    name: Word
    test: str
    level: Word | None


class Negation(NamedTuple):
    part: Condition


class Joined(NamedTuple):
    """`all_of` or `any_of` of several conditions."""

    how: str
    parts: tuple[Condition, ...]


Condition = Atom | Negation | Joined


class Bounds(NamedTuple):
    """Least and most; one amount stands in both where the file says exactly how long."""

    least: Amount | None
    most: Amount | None


class EdgeWords(NamedTuple):
    name: Word
    test: str


class Body(NamedTuple):
    """What a claim says: the name of its rule in the grammar, and the parts of that rule in order."""

    form: str
    items: tuple[object, ...]
    span: Span


class Failing(NamedTuple):
    """`fails because T3`: it must fail, and that rule is why."""

    rule: Word


class Skipping(NamedTuple):
    """`skipped because "…"`: it is skipped for now."""

    reason: Word


Judged = Failing | Skipping


class ClaimLine(NamedTuple):
    quantifier: Word
    title: Word
    judged: Judged | None
    each: Word | None
    body: Body


class TimeBound(NamedTuple):
    """What a response is held to: `median`, `mean`, `share` (of so many percent within a time) or `missed`."""

    kind: str
    percent: Word | None
    amount: Amount | None
    span: Span


class ResponseLine(NamedTuple):
    """`response of night to dark: median at most 3s`; `when wet` before the colon gives `days`."""

    response: Word
    title: Word
    judged: Judged | None
    phase: Word
    target: Word
    edge: Word | None
    days: Word | None
    bounds: tuple[TimeBound, ...]


class HoldingLine(NamedTuple):
    """`assume pond.* stable for 10t`: inputs keep still that long between changes."""

    assume: Word
    names: tuple[Word, ...]
    amount: Amount


class SparingLine(NamedTuple):
    """`assume at most 1 changes within 8t`: no more changes of inputs than that in any such span."""

    assume: Word
    most: Word
    amount: Amount


# Checks


class ActionItem(NamedTuple):
    """`pond on`, `press rope`, `flow is 7`: the part, what is done to it, the level if one is set."""

    name: Word
    verb: Word
    level: Word | None


class Acts(NamedTuple):
    at: Amount
    actions: tuple[ActionItem, ...]


class Expects(NamedTuple):
    """`at`, `by` or `span`, with its one or two times."""

    how: str
    start: Amount
    end: Amount | None
    condition: Condition
    span: Span


class Throughout(NamedTuple):
    body: Body


class Lasting(NamedTuple):
    until: Amount


Line = Acts | Expects | Throughout | Lasting


class CheckBlock(NamedTuple):
    title: Word
    values: tuple[Value, ...]
    judged: Judged | None
    lines: tuple[Line, ...]


class Repetition(NamedTuple):
    name: Word
    amounts: tuple[Amount, ...]
    statements: tuple[Statement, ...]


class Definition(NamedTuple):
    name: Word
    ports: tuple[Word, ...]
    parameters: tuple[Parameter, ...]
    gives: tuple[Word, ...]
    statements: tuple[Statement, ...]


Statement = (
    LanguageLine
    | CircuitLine
    | RulesLine
    | SettingLine
    | SilenceLine
    | ForbidLine
    | UseLine
    | Parameter
    | PartLine
    | InstanceLine
    | OutputLine
    | Definition
    | CycleLine
    | PlaceLine
    | drawn_tree.LegendBlock
    | drawn_tree.PieceBlock
    | drawn_tree.DrawingBlock
    | CheckBlock
    | ClaimLine
    | ResponseLine
    | Repetition
    | HoldingLine
    | SparingLine
)


class File(NamedTuple):
    """A whole file, its statements in order."""

    path: str
    statements: tuple[Statement, ...]
    words: int = 0
    """How many words it has."""
