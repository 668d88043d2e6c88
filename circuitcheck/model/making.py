"""Parts made by the program itself, as if their author had written them in a line: every option not given is usual."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from circuitcheck.diagnostics import NOWHERE, Span
from circuitcheck.model.parts import KINDS
from circuitcheck.model.parts.base import Part
from circuitcheck.model.parts.cells import Becoming
from circuitcheck.model.parts.kinds import Request


@dataclass(frozen=True, slots=True, kw_only=True)
class Options:
    """What is said of a part, by the words of its options."""

    sources: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    numbers: Mapping[str, int] = field(default_factory=dict)
    flags: frozenset[str] = frozenset()
    places: Mapping[str, str] = field(default_factory=dict)
    changes: tuple[Becoming, ...] = ()
    start: int | None = None


def made(word: str, name: str, options: Options = Options(), span: Span = NOWHERE) -> tuple[Part, ...]:
    """All parts that a kind makes of one line."""
    kind = KINDS[word]
    request = Request(
        name=name,
        span=span,
        sources=dict(options.sources),
        numbers={**kind.usual, **options.numbers},
        start=options.start,
        flags=options.flags,
        spans={},
        places=dict(options.places),
        changes=list(options.changes),
    )
    return kind.build(request)


def made_one(word: str, name: str, options: Options = Options(), span: Span = NOWHERE) -> Part:
    """The part of a line that makes one."""
    (part,) = made(word, name, options, span)
    return part


def made_wiring(word: str, name: str, span: Span, comes: Mapping[str, int]) -> Part:
    """Dust, or a block, of a drawing as a part: what comes to it, with the levels lost on the way."""
    block_type = KINDS[word].block_type
    assert block_type is not None
    assert block_type.as_wiring is not None
    return block_type.as_wiring(name, span, comes)
