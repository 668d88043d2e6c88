"""The syntax tree: what a file says, line by line, before any name in it is looked up. Frozen values only."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from circuitcheck.diagnostics import Span


@dataclass(frozen=True, slots=True)
class Word:
    """A name, a keyword or a quoted text (without its quotes) where it stands."""

    text: str
    span: Span


class AmountForm(Enum):
    """How an amount is written."""

    DURATION = "duration"
    NUMBER = "number"
    NAME = "name"


@dataclass(frozen=True, slots=True)
class Amount:
    """A duration, a bare number, or the name of a given value."""

    form: AmountForm
    text: str
    span: Span


@dataclass(frozen=True, slots=True)
class Option:
    """One option of a part: its word and what follows it; a flag has nothing behind it."""

    word: Word
    names: tuple[Word, ...] = ()
    amount: Amount | None = None
    start: Word | None = None


@dataclass(frozen=True, slots=True)
class PartLine:
    kind: Word
    first: Word
    last: Word | None
    options: tuple[Option, ...]


@dataclass(frozen=True, slots=True)
class Value:
    """`width 3t`: a value for a name."""

    name: Word
    amount: Amount


@dataclass(frozen=True, slots=True)
class Parameter:
    """`width 2t from 1t to 4t`: a name with its usual value and, if declared, its range."""

    name: Word
    amount: Amount
    least: Amount | None
    most: Amount | None


@dataclass(frozen=True, slots=True)
class InstanceLine:
    definition: Word
    name: Word
    wires: tuple[tuple[Word, Word], ...]
    values: tuple[Value, ...]


@dataclass(frozen=True, slots=True)
class OutputLine:
    name: Word
    source: Word


@dataclass(frozen=True, slots=True)
class LanguageLine:
    version: Word


@dataclass(frozen=True, slots=True)
class CircuitLine:
    name: Word
    title: Word | None


@dataclass(frozen=True, slots=True)
class RulesLine:
    name: Word


@dataclass(frozen=True, slots=True)
class SettingLine:
    name: Word
    amount: Amount


@dataclass(frozen=True, slots=True)
class SilenceLine:
    rule: Word
    names: tuple[Word, ...]
    reason: Word


@dataclass(frozen=True, slots=True)
class ForbidLine:
    rule: Word


@dataclass(frozen=True, slots=True)
class UseLine:
    path: Word


# Conditions and claims


@dataclass(frozen=True, slots=True)
class Atom:
    """A signal and what is asked of it; `test` is the name of a rule of the grammar, or empty for `on`."""

    name: Word
    test: str
    level: Word | None


@dataclass(frozen=True, slots=True)
class Negation:
    part: Condition


@dataclass(frozen=True, slots=True)
class Joined:
    """`all_of` or `any_of` of several conditions."""

    how: str
    parts: tuple[Condition, ...]


Condition = Atom | Negation | Joined


@dataclass(frozen=True, slots=True)
class Bounds:
    """Least and most; one amount stands in both where the file says exactly how long."""

    least: Amount | None
    most: Amount | None


@dataclass(frozen=True, slots=True)
class Edge:
    name: Word
    test: str


@dataclass(frozen=True, slots=True)
class Body:
    """What a claim says: the name of its rule in the grammar, and the parts of that rule in order."""

    form: str
    items: tuple[object, ...]
    span: Span


@dataclass(frozen=True, slots=True)
class Failing:
    rule: Word


@dataclass(frozen=True, slots=True)
class ClaimLine:
    quantifier: Word
    title: Word
    failing: Failing | None
    each: Word | None
    body: Body


# Checks


@dataclass(frozen=True, slots=True)
class ActionItem:
    """`pond on`, `press rope`, `flow is 7`: the part, what is done to it, the level if one is set."""

    name: Word
    verb: Word
    level: Word | None


@dataclass(frozen=True, slots=True)
class Acts:
    at: Amount
    actions: tuple[ActionItem, ...]


@dataclass(frozen=True, slots=True)
class Expects:
    """`at`, `by` or `span`, with its one or two times."""

    how: str
    start: Amount
    end: Amount | None
    condition: Condition
    span: Span


@dataclass(frozen=True, slots=True)
class Throughout:
    body: Body


@dataclass(frozen=True, slots=True)
class Lasting:
    until: Amount


Line = Acts | Expects | Throughout | Lasting


@dataclass(frozen=True, slots=True)
class CheckBlock:
    title: Word
    values: tuple[Value, ...]
    failing: Failing | None
    lines: tuple[Line, ...]


@dataclass(frozen=True, slots=True)
class Repetition:
    name: Word
    amounts: tuple[Amount, ...]
    statements: tuple[Statement, ...]


@dataclass(frozen=True, slots=True)
class Definition:
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
    | CheckBlock
    | ClaimLine
    | Repetition
)


@dataclass(frozen=True, slots=True)
class File:
    """A whole file, its statements in order."""

    path: str
    statements: tuple[Statement, ...]
