"""Changes of what reads what: a source exchanged for another, one more, one less, two inputs of a part crossed."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from functools import partial

from circuitcheck.curing.edits import Change, Cost, Edit, Home, behind, replacing
from circuitcheck.curing.names import Names
from circuitcheck.curing.settings import last_word, named, readers_of
from circuitcheck.curing.source_text import Source
from circuitcheck.language import tree
from circuitcheck.model.parts import KINDS
from circuitcheck.model.parts.kinds import Takes

NEXT = {"locked": "locked by", "grows": "grows from"}
"""The options that are written with more than their word."""
Fitting = Callable[[str], Sequence[str]]
"""The names that an option of a line can name."""


def wires(source: Source, names: Names) -> Iterator[Change]:
    """Every other way to lead one connection, and each that may be put in or taken out."""
    for home, definition, statement in source.statements():
        known = names.of(definition)
        if isinstance(statement, tree.PartLine):
            ports = source.ports_of(definition)
            fitting = partial(names.fitting, definition, statement.kind.text)
            for change in (*_exchanged(home, statement, fitting), *_one_more(home, statement, fitting)):
                # What a port is wired to, and so what is read by one more, differs from instance to instance.
                yield replace(change, readers=None) if change.reads & ports else change
            yield from _crossed(home, statement)
            yield from one_less(home, statement)
        elif isinstance(statement, tree.InstanceLine):
            yield from _instance(home, statement, known)
        elif isinstance(statement, tree.OutputLine):
            yield from _output(home, statement, known)


def sources_of(line: tree.PartLine) -> list[tree.Option]:
    """The options of a line that name what it reads."""
    kind = KINDS[line.kind.text]
    found = []
    for each in line.options:
        option = kind.option(each.word.text)
        if option is not None and option.takes is Takes.SOURCES and each.names:
            found.append(each)
    return found


def _change(home: Home, line: tree.PartLine, words: str, places: int, *edits: Edit, reads: str = "") -> Change:
    newly = frozenset({reads} if reads else ())
    return Change(f"{named(line)} {words}", Cost(places=places), edits, frozenset({home}), readers_of(line), newly)


def said(option: str) -> str:
    """An option as it is written before its names."""
    return NEXT.get(option, option)


def _fits(line: tree.PartLine, name: str) -> bool:
    """Whether a line may name it: a row that reads a row reads one as long; nothing reads itself."""
    return name not in (line.first.text, f"{line.first.text.rpartition('.')[0]}.*")


def _exchanged(home: Home, line: tree.PartLine, fitting: Fitting) -> Iterator[Change]:
    for option in sources_of(line):
        own = {word.text for word in option.names}
        for word in option.names:
            for name in fitting(option.word.text):
                if name not in own and _fits(line, name):
                    words = f"{said(option.word.text)} '{word.text}' → '{name}'"
                    yield _change(home, line, words, 1, replacing(word.span, name), reads=name)


def _crossed(home: Home, line: tree.PartLine) -> Iterator[Change]:
    """Two inputs that read what the other should: the back and the side, set and reset."""
    options = sources_of(line)
    for place, one in enumerate(options):
        for other in options[place + 1 :]:
            pairs = [(option, ", ".join(word.text for word in option.names)) for option in (one, other)]
            if any(each.names[0].span.line != each.names[-1].span.line for each in (one, other)):
                continue
            (first, reads), (second, other_reads) = pairs
            edits = (_all_names(first, other_reads), _all_names(second, reads))
            words = f"turned: {said(one.word.text)} '{other_reads}', {said(other.word.text)} '{reads}'"
            yield _change(home, line, words, 2, *edits)


def _all_names(option: tree.Option, after: str) -> Edit:
    first, last = option.names[0].span, option.names[-1].span
    return Edit(first.line, first.column, last.end_column, after)


def one_less(home: Home, line: tree.PartLine) -> Iterator[Change]:
    """A part that no longer reads one of what it reads."""
    for option in sources_of(line):
        for place, word in enumerate(option.names):
            edit = without(option, place)
            if edit is not None:
                yield _change(home, line, f"no longer {said(option.word.text)} '{word.text}'", 1, edit)


def without(option: tree.Option, place: int) -> Edit | None:
    """What takes one of an option's names out, or all of the option with its only one; None across lines."""
    word = option.names[place]
    if len(option.names) > 1:
        beside = option.names[place - 1] if place else option.names[1]
        if beside.span.line != word.span.line:
            return None
        start = beside.span.end_column if place else word.span.column
        return Edit(word.span.line, start, word.span.end_column if place else beside.span.column, "")
    if option.word.span.line != word.span.line:
        return None
    return Edit(word.span.line, max(option.word.span.column - 1, 1), word.span.end_column, "")


def _one_more(home: Home, line: tree.PartLine, fitting: Fitting) -> Iterator[Change]:
    kind = KINDS[line.kind.text]
    written = {each.word.text: each for each in sources_of(line)}
    for option in kind.options:
        if option.takes is not Takes.SOURCES:
            continue
        own = written.get(option.word)
        for name in fitting(option.word):
            if not _fits(line, name) or (own is not None and name in {word.text for word in own.names}):
                continue
            words = f"also {said(option.word)} '{name}'"
            if own is not None:
                edit = behind(own.names[-1].span, f", {name}")
            else:
                edit = behind(last_word(line), f"  {said(option.word)} {name}")
            yield _change(home, line, words, 1, edit, reads=name)


def _instance(home: Home, line: tree.InstanceLine, known: Sequence[str]) -> Iterator[Change]:
    for port, word in line.wires:
        for name in known:
            if name != word.text and name.partition(".")[0] != line.name.text:
                words = f"{line.definition.text} '{line.name.text}' {port.text} '{word.text}' → '{name}'"
                yield Change(words, Cost(places=1), (replacing(word.span, name),), frozenset({home}))


def _output(home: Home, line: tree.OutputLine, known: Sequence[str]) -> Iterator[Change]:
    for name in known:
        if name not in (line.source.text, line.name.text):
            words = f"output '{line.name.text}' from '{line.source.text}' → '{name}'"
            yield Change(words, Cost(places=1), (replacing(line.source.span, name),), frozenset({home}))
