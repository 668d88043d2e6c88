"""A few parts exchanged for a known block: where few signals lead to them and few from them, and it has fewer parts.

Which parts these are follows from what is read: a signal, and what stands behind it up to other signals, as of a cut in
a logic circuit (`remade`), but rounds are looked through. Nothing says that a block will do: it is put in with what
leads to the parts at its inputs in every way, and each is judged as any change.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from circuitcheck.curing.edits import Change, Cost, Edit, Home
from circuitcheck.curing.names import Names
from circuitcheck.curing.source_text import Source, extent, mentioned
from circuitcheck.curing.wires import sources_of
from circuitcheck.designing.known_blocks import KNOWN_BLOCKS, Block
from circuitcheck.language import tree
from circuitcheck.model.parts.base import Part

KINDS = ("torch", "repeater", "comparator", "latch", "detector", "junction", "dust")
"""What may make way."""
MOST_PARTS = 8
MOST_LINES = 10
MOST_INWARD, MOST_OUTWARD = 3, 2
MOST_GROUPS = 200
"""How many groups of parts behind one signal are looked at."""
INVERSE = ".inverse"


class _Line(NamedTuple):
    """A line that may make way."""

    home: Home
    line: tree.PartLine
    gives: frozenset[str]
    reads: frozenset[str]
    parts: int
    """How many parts with a wait it is."""


class _Group(NamedTuple):
    lines: frozenset[str]
    """The names of the lines."""
    inward: tuple[str, ...]
    outward: tuple[str, ...]
    parts: int
    remembers: bool


def by_blocks(source: Source, names: Names) -> Iterator[Change]:
    """Every way to put a known block in the place of more parts; those that save most first."""
    every = (change for definition in ("", *source.definitions) for change in _In(source, names, definition).all())
    yield from sorted(every, key=lambda each: each.more_parts)


class _In:
    """The file's own lines, or those of one definition."""

    def __init__(self, source: Source, names: Names, definition: str) -> None:
        self._source, self._names, self._definition = source, names, definition
        study = source.study_of(definition)
        self._words = {} if study is None else {part.name: part.word for part in study.circuit.parts}
        self._lines = dict(_lines(source, definition))
        self._giving = {name: each for each, line in self._lines.items() for name in line.gives}
        self._read = self._readers()

    def all(self) -> Iterator[Change]:
        """Every change."""
        seen: set[frozenset[str]] = set()
        for root in self._lines:
            for lines in self._behind(root):
                if lines not in seen:
                    seen.add(lines)
                    group = self._group(lines)
                    if group is not None:
                        yield from self._instead(group)

    def _behind(self, root: str) -> Iterator[frozenset[str]]:
        """Up to so many groups of lines that stand behind one, itself among them, the smallest first."""
        first = frozenset({root})
        queue, seen = [first], {first}
        for lines in queue:
            yield lines
            reads = {self._giving.get(name) for each in lines for name in self._lines[each].reads}
            for each in sorted(name for name in reads if name is not None and name not in lines):
                wider = lines | {each}
                if len(wider) <= MOST_LINES and wider not in seen and len(seen) < MOST_GROUPS:
                    seen.add(wider)
                    queue.append(wider)

    def _group(self, lines: frozenset[str]) -> _Group | None:
        own = [self._lines[name] for name in sorted(lines)]
        gives = {name for each in own for name in each.gives}
        inward = sorted({name for each in own for name in each.reads} - gives)
        outward = sorted(name for name in gives if not self._read.get(name, set()) <= lines)
        parts = sum(each.parts for each in own)
        few = 0 < len(inward) <= MOST_INWARD and 0 < len(outward) <= MOST_OUTWARD and 1 < parts <= MOST_PARTS
        return _Group(lines, tuple(inward), tuple(outward), parts, self._remembers(lines)) if few else None

    def _remembers(self, lines: frozenset[str]) -> bool:
        """Whether there is a lock among them, or a way back."""
        own = {each: self._lines[each] for each in lines}
        if any(each.line.kind.text == "latch" or _locked(each.line) for each in own.values()):
            return True
        reads = {each: {self._giving.get(name) for name in line.reads} & lines for each, line in own.items()}
        while ends := {each for each, behind in reads.items() if not behind}:
            reads = {each: behind - ends for each, behind in reads.items() if each not in ends}
        return bool(reads)

    def _instead(self, group: _Group) -> Iterator[Change]:
        for block in KNOWN_BLOCKS:
            if block.parts < group.parts and (group.remembers or not block.remembers):
                ways = itertools.product(_outputs(block, group.outward), _inputs(block, group.inward), block.chosen())
                for called, inputs, chosen in ways:
                    if self._may_lock(block, inputs):
                        yield self._change(group, block, {**called, **inputs, **chosen})

    def _may_lock(self, block: Block, inputs: Mapping[str, str]) -> bool:
        """Only a repeater or comparator locks a repeater (R5); a latch puts a repeater between by itself."""
        locks = [inputs[name] for name in block.locks]
        return all(self._words.get(name) in ("repeater", "comparator") for each in locks for name in each.split(", "))

    def _change(self, group: _Group, block: Block, known: Mapping[str, str]) -> Change:
        base = group.outward[0].removesuffix(INVERSE)
        fresh = {name: self._names.fresh(self._definition, f"{base}_{name}") for name in block.own if name not in known}
        lines = [line.format(**known, **fresh) for line in block.lines]
        homes = [self._lines[name] for name in sorted(group.lines)]
        edits = []
        for each in homes:
            row = extent(each.line)[0]
            own = self._source.lines[row - 1]
            indent = own[: len(own) - len(own.lstrip())]
            text = "\n".join(indent + line for line in lines) if each is homes[0] else None
            edits.append(Edit(row, 1, len(own) + 1, text))
        made = "; ".join(" ".join(line.split()) for line in lines)
        gone = ", ".join(f"'{name}'" for name in sorted(group.lines))
        words = f"{gone}, {group.parts} parts, exchanged for {block.parts}, a known {block.name}: {made}"
        cost = Cost(parts=group.parts - block.parts, places=len(lines))
        statements = frozenset(each.home for each in homes)
        return Change(words, cost, tuple(edits), statements, more_parts=block.parts - group.parts)

    def _readers(self) -> dict[str, set[str]]:
        """Of what each line gives, which lines read it; "" where anything else of the file names it."""
        found: dict[str, set[str]] = {name: set() for name in self._giving}
        own = {line.home: name for name, line in self._lines.items()}
        rest: list[object] = [self._source.definitions[self._definition].gives] if self._definition else []
        for home, inside, statement in self._source.statements():
            if home in own:
                for name in self._lines[own[home]].reads & found.keys():
                    found[name].add(own[home])
            elif inside == self._definition:
                rest.append(statement)
        for name in mentioned(tuple(rest), found):
            found[name].add("")
        return found


def waits(part: Part) -> bool:
    """Whether a part counts where parts are counted: it does something of its own, later."""
    return part.behaves and not part.verbs and not part.indicates


def _lines(source: Source, definition: str) -> Iterator[tuple[str, _Line]]:
    study = source.study_of(definition)
    waiting = [] if study is None else [part.name for part in study.circuit.parts if waits(part)]
    for home, inside, line in source.statements():
        if inside == definition and isinstance(line, tree.PartLine) and line.kind.text in KINDS:
            name = line.first.text
            reads = frozenset(word.text for option in sources_of(line) for word in option.names)
            first, last = extent(line)
            plain = line.last is None and not any("*" in each for each in (name, *reads))
            if plain and reads and "." not in name and first == last:
                parts = sum(each.partition(".")[0] == name for each in waiting)
                gives = frozenset({name, f"{name}{INVERSE}"} if line.kind.text == "latch" else {name})
                yield name, _Line(home, line, gives, reads, parts)


def _locked(line: tree.PartLine) -> bool:
    return any(option.word.text == "locked" for option in line.options)


def _outputs(block: Block, outward: Sequence[str]) -> Iterator[dict[str, str]]:
    """What the parts of a block are called that give out what is read, in every way."""
    giving = {_called(output, "")[0] for output in block.outputs}
    for outputs in itertools.permutations(block.outputs, len(outward)):
        pairs = {_called(output, name) for output, name in zip(outputs, outward, strict=True)}
        called = dict(pairs)
        if called.keys() == giving and len(pairs) == len(called) and "" not in called.values():
            yield called


def _called(output: str, name: str) -> tuple[str, str]:
    """The part of a block that gives an output, and what it must be called for that to have a name; "" if it can't."""
    own, _, ending = output.removeprefix("{").partition("}")
    stem, dot, rest = name.partition(".")
    return own, stem if f"{dot}{rest}" == ending else ""


def _inputs(block: Block, inward: Sequence[str]) -> Iterator[dict[str, str]]:
    """Every way to lead each of some signals to an input, so that each input has one at least."""
    for places in itertools.product(block.inputs, repeat=len(inward)):
        if {*places} == {*block.inputs}:
            yield {
                place: ", ".join(name for name, at in zip(inward, places, strict=True) if at == place)
                for place in block.inputs
            }
