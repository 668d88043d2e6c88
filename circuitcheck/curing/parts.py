"""Changes of which parts there are: one put in before or behind another, one taken out of the way."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import NamedTuple

from circuitcheck.curing.edits import Change, Cost, Edit, Home, replacing
from circuitcheck.curing.names import Names
from circuitcheck.curing.settings import named, readers_of
from circuitcheck.curing.source_text import Source, extent
from circuitcheck.curing.wires import said, sources_of, without
from circuitcheck.language import tree
from circuitcheck.model.duration import GAME_TICKS_PER_TICK


class _New(NamedTuple):
    """A part that may be put in: how it is said, the line that makes it without its name and source, and its delay."""

    words: str
    kind: str
    options: str
    later: int
    called: str
    """What is put behind the name of what it reads, as its own name."""


NEW = (
    *(
        _New(f"repeater of {ticks}t", "repeater", f"  delay {ticks}t", ticks * GAME_TICKS_PER_TICK, "late")
        for ticks in (1, 2, 3, 4)
    ),
    _New("torch", "torch", "", GAME_TICKS_PER_TICK, "turned"),
    _New("comparator", "comparator", "", GAME_TICKS_PER_TICK, "passed"),
)


def put_in(source: Source, names: Names) -> Iterator[Change]:
    """A part put in on one connection, or behind a part before all that it feeds."""
    for home, definition, line in source.statements():
        if not isinstance(line, tree.PartLine):
            continue
        for option in sources_of(line):
            if option.word.text in ("watches", "hears"):
                continue  # what is watched is no power that a part could pass on
            for word in option.names:
                if word.text.endswith(".*"):
                    continue
                for new in NEW:
                    yield _before(
                        source, home, line, option, word, new, names.fresh(definition, f"{word.text}_{new.called}")
                    )

    yield from _behind_all(source, names)


def _behind_all(source: Source, names: Names) -> Iterator[Change]:
    """A part put in behind another that feeds several; what watches that is left alone (as `checks.race.inserted`)."""
    for home, definition, line in source.statements():
        if isinstance(line, tree.PartLine) and line.last is None and not line.first.text.endswith(".*"):
            fed = [(other, each, found) for other, each, found in _fed(source, definition, line.first.text) if found]
            if sum(len(found) for _, _, found in fed) > 1:
                for new in NEW:
                    name = names.fresh(definition, f"{line.first.text}_{new.called}")
                    yield _fed_by_new(source, home, line, fed, new, name)


_Fed = tuple[Home, tree.PartLine, list[tree.Word]]


def _fed(source: Source, definition: str, name: str) -> Iterator[_Fed]:
    """The lines of parts of a definition with the words by which they are fed by a name."""
    for other, inside, each in source.statements():
        if inside == definition and isinstance(each, tree.PartLine):
            fed = (option for option in sources_of(each) if option.word.text not in ("watches", "hears"))
            yield other, each, [word for option in fed for word in option.names if word.text == name]


def _fed_by_new(source: Source, home: Home, line: tree.PartLine, fed: list[_Fed], new: _New, name: str) -> Change:
    edits = (
        *(replacing(word.span, name) for _, _, found in fed for word in found),
        _added(source, line, new, name, line.first.text),
    )
    words = f"a {new.words} put in behind '{line.first.text}', before all that it feeds, '{name}'"
    cost = Cost(parts=1, places=len(edits) - 1, steps=new.later // GAME_TICKS_PER_TICK)
    homes = frozenset({home, *(other for other, _, _ in fed)})
    readers = readers_of(line).union(*(readers_of(each) for _, each, _ in fed))
    return Change(words, cost, edits, homes, readers, more_parts=1, later=new.later, put_in=name)


def _added(source: Source, line: tree.PartLine, new: _New, name: str, reads: str) -> Edit:
    """A line for a new part behind another line."""
    last = extent(line)[1]
    end = len(source.lines[last - 1]) + 1
    own = source.lines[extent(line)[0] - 1]
    indent = own[: len(own) - len(own.lstrip())]
    return Edit(last, end, end, f"\n{indent}{new.kind}  {name}  from {reads}{new.options}")


def _before(
    source: Source, home: Home, line: tree.PartLine, option: tree.Option, word: tree.Word, new: _New, name: str
) -> Change:
    words = f"{named(line)} {said(option.word.text)} '{word.text}' over a {new.words} put in, '{name}'"
    edits = (replacing(word.span, name), _added(source, line, new, name, word.text))
    cost = Cost(parts=1, steps=new.later // GAME_TICKS_PER_TICK)
    homes = frozenset({home})
    return Change(words, cost, edits, homes, readers_of(line), more_parts=1, later=new.later, put_in=name)


def taken_out(source: Source) -> Iterator[Change]:
    """A part taken out: all that read it read what it read, or nothing in its place."""
    for home, definition, line in source.statements():
        if not isinstance(line, tree.PartLine) or line.last is not None or line.first.text.endswith(".*"):
            continue
        options = sources_of(line)
        if not options or options[0].word.text in ("watches", "arming", "hears"):
            continue
        first, last = extent(line)
        if first == last:
            yield from _without(source, home, definition, line, options[0])


def _without(source: Source, home: Home, definition: str, line: tree.PartLine, option: tree.Option) -> Iterator[Change]:
    reads = ", ".join(word.text for word in option.names)
    row = extent(line)[0]
    gone = Edit(row, 1, len(source.lines[row - 1]) + 1, None)
    edits, homes, readers = [gone], {home}, set(readers_of(line))
    for other, inside, each in source.statements():
        if inside != definition or other == home:
            continue
        if isinstance(each, tree.PartLine):
            found = [word for every in sources_of(each) for word in every.names if word.text == line.first.text]
            readers |= readers_of(each) if found else set()
        elif isinstance(each, tree.InstanceLine):
            found = [word for _, word in each.wires if word.text == line.first.text]
        elif isinstance(each, tree.OutputLine):
            found = [each.source] if each.source.text == line.first.text else []
        else:
            continue
        if found:
            homes.add(other)
            edits += [replacing(word.span, reads) for word in found]
            if not isinstance(each, tree.PartLine):
                return  # what comes of it is asked of by name: it is not only in the way
    words = f"{named(line)} taken out, '{reads}' in its place"
    cost = Cost(parts=1, places=len(edits) - 1)
    yield Change(words, cost, tuple(edits), frozenset(homes), frozenset(readers), more_parts=-1)


Fits = Callable[[str, str, str], bool]
"""Whether, in a definition, one name may be read in place of another."""


def replaced(source: Source, names: Names, fits: Fits = lambda definition, part, name: True) -> Iterator[Change]:
    """A part taken out, with another signal in its place wherever it was read, outputs among it."""
    for home, definition, line in source.statements():
        if not isinstance(line, tree.PartLine) or line.last is not None or line.first.text.endswith(".*"):
            continue
        first, last = extent(line)
        if first == last and sources_of(line):
            for name in names.of(definition):
                itself = name == line.first.text or name.partition(".")[0] == line.first.text
                if not itself and not name.endswith(".*") and fits(definition, line.first.text, name):
                    change = _replaced_by(source, home, definition, line, name)
                    if change is not None:
                        yield change


def _replaced_by(source: Source, home: Home, definition: str, line: tree.PartLine, name: str) -> Change | None:
    row = extent(line)[0]
    edits, homes = [Edit(row, 1, len(source.lines[row - 1]) + 1, None)], {home}
    for other, inside, each in source.statements():
        if inside == definition and other != home:
            found = list(_read_otherwise(each, line.first.text, name))
            if None in found:
                return None
            edits += [edit for edit in found if edit is not None]
            homes |= {other} if found else set()
    words = f"{named(line)} taken out, '{name}' read in its place"
    return Change(words, Cost(parts=1, places=len(edits) - 1), tuple(edits), frozenset(homes), more_parts=-1)


def _read_otherwise(statement: tree.Statement, name: str, other: str) -> Iterator[Edit | None]:
    """What makes a statement read another signal; None where that can't be written."""
    if isinstance(statement, tree.PartLine):
        for option in sources_of(statement):
            own = [word.text for word in option.names]
            if name in own:
                place = own.index(name)
                yield without(option, place) if other in own else replacing(option.names[place].span, other)
    elif isinstance(statement, tree.InstanceLine):
        yield from (replacing(word.span, other) for _, word in statement.wires if word.text == name)
    elif isinstance(statement, tree.OutputLine) and statement.source.text == name:
        yield replacing(statement.source.span, other)
