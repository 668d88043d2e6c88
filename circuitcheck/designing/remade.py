"""Parts behind one signal replaced by the least network known of what they come to once settled.

What a signal comes to follows from up to three others that cut off all behind it: a *cut*. Of each cut, the function of
the torches, repeaters and junctions between is looked up among known networks; where that takes fewer parts than
nothing else reads, it is tried in their place. Where all comes to an OR, so is one repeater that is as late. So logic
is rewritten (A. Mishchenko, S. Chatterjee and R. Brayton, "DAG-Aware AIG Rewriting", DAC 2006; from memory). How long
it takes to settle may differ: each is judged as any change.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Set
from typing import Any, NamedTuple

from circuitcheck.curing.edits import Change, Cost, Edit, Home
from circuitcheck.curing.names import Names
from circuitcheck.curing.source_text import Source, extent, mentioned
from circuitcheck.designing.known_networks import Network, columns, either, known_networks
from circuitcheck.designing.netlist import DELAYS, GT_A_TICK
from circuitcheck.language import tree

MOST_SIGNALS = 3
MOST_BEHIND = 8
"""How many parts and junctions may stand between a signal and its cut."""
MOST_CUTS = 60
"""How many cuts of one signal are looked at."""
OPTIONS: Mapping[str, frozenset[str]] = {
    "torch": frozenset({"from"}),
    "repeater": frozenset({"from", "delay"}),
    "junction": frozenset({"joins"}),
    "lamp": frozenset({"from"}),
}
"""Of what is remade, and of what shows it: its kinds, and all that may be said of one."""


class _Gate(NamedTuple):
    """A line that may be remade."""

    home: Home
    line: tree.PartLine
    sources: tuple[str, ...]

    @property
    def is_part(self) -> bool:
        return self.line.kind.text in ("torch", "repeater")


class _Cut(NamedTuple):
    signals: tuple[str, ...]
    between: frozenset[str]
    """The names of the gates between these and what they tell, itself among them."""


def remade(source: Source, names: Names) -> Iterator[Change]:
    """Every way to make a signal by fewer parts that is known; those that save most first."""
    every = (
        change for definition in ("", *source.definitions) for change in _Remaking(source, names, definition).all()
    )
    yield from sorted(every, key=lambda each: each.more_parts)


class _Remaking:
    """The file's own lines, or those of one definition."""

    def __init__(self, source: Source, names: Names, definition: str) -> None:
        self._source, self._names, self._definition = source, names, definition
        study = source.study_of(definition)
        self._parts = {} if study is None else study.circuit.by_name
        self._wires = {name for name, part in self._parts.items() if part.dust}
        met = {each for name in self._wires for port in self._parts[name].ports() for each in port.sources}
        self._gates = {
            name: gate
            for name, gate in _gates(source, definition)
            if gate.line.kind.text != "junction" or not (name in met or self._wires & {*gate.sources})
        }  # where wires meet, power runs both ways (P5)
        self._read = _readers(source, definition, self._gates)

    def all(self) -> Iterator[Change]:
        """Every change."""
        for root in self._gates:
            for cut in _cuts(root, self._gates):
                gone = _gone(root, cut, self._read)
                if len(gone) > 1:  # of one part alone, single changes try as much
                    yield from self._instead(root, cut, gone)

    def _instead(self, root: str, cut: _Cut, gone: Set[str]) -> Iterator[Change]:
        had = sum(self._gates[name].is_part for name in gone)
        signals = columns(len(cut.signals))
        rows = _rows(root, cut, self._gates, dict(zip(cut.signals, signals, strict=True)))
        for network in known_networks(len(cut.signals)).get(rows, ()):
            if len(network.torches) < had and self._may_read(root, cut, network):
                yield self._change(root, gone, self._lines(root, cut, network), had)
        ticks = self._slowest(root, cut) // GT_A_TICK
        if had > 1 and ticks in DELAYS and rows == either(tuple(range(len(signals))), signals):
            yield self._change(root, gone, self._late(root, cut, ticks), had)

    def _slowest(self, name: str, cut: _Cut) -> int:
        """How long the longest way from the signals of a cut takes (gt)."""
        if name in cut.signals:
            return 0
        lag = self._parts[name].lag if self._gates[name].is_part else 0
        return lag + max(self._slowest(each, cut) for each in self._gates[name].sources)

    def _may_read(self, root: str, cut: _Cut, network: Network) -> bool:
        """A network needs no junction where there was none, next to a wire: power runs both ways between (P5)."""
        signals = len(cut.signals)
        if self._shows(root) or (len(network.read) == 1 and network.read[0] >= signals):
            return True
        joined = any(each < signals and cut.signals[each] in self._wires for each in network.read)
        return not joined and (root in self._wires or not self._wires & self._read[root])

    def _shows(self, root: str) -> bool:
        return self._gates[root].line.kind.text == "lamp"

    def _lines(self, root: str, cut: _Cut, network: Network) -> list[str]:
        """The lines of a network: its torches under new names, and the signal under its own."""
        called, lines = list(cut.signals), []
        for number, sources in enumerate(network.torches, 1):
            alone = network.read == (len(called),) and not self._shows(root)
            name = root if alone else self._names.fresh(self._definition, f"{root}_{number}")
            lines.append(f"torch  {name}  from {', '.join(called[each] for each in sources)}")
            called.append(name)
        if called[network.read[0]] != root:
            how = f"lamp  {root}  from" if self._shows(root) else f"junction  {root}  joins"
            lines.append(f"{how} {', '.join(called[each] for each in network.read)}")
        return lines

    def _late(self, root: str, cut: _Cut, ticks: int) -> list[str]:
        """The line of one repeater that is as late as all between was at the latest."""
        shows = self._shows(root)
        name = self._names.fresh(self._definition, f"{root}_late") if shows else root
        late = f"repeater  {name}  from {', '.join(cut.signals)}  delay {ticks}t"
        return [late, f"lamp  {root}  from {name}"] if shows else [late]

    def _change(self, root: str, gone: Set[str], lines: list[str], had: int) -> Change:
        edits = []
        for name in sorted(gone):
            row = extent(self._gates[name].line)[0]
            own = self._source.lines[row - 1]
            indent = own[: len(own) - len(own.lstrip())]
            text = "\n".join(indent + each for each in lines) if name == root else None
            edits.append(Edit(row, 1, len(own) + 1, text))
        now = sum(line.startswith(("torch", "repeater")) for line in lines)
        made = "; ".join(" ".join(each.split()) for each in lines)
        words = f"'{root}' made by {now} of {had} parts: {made}"
        homes = frozenset(self._gates[name].home for name in gone)
        return Change(words, Cost(parts=had - now, places=len(lines)), tuple(edits), homes, more_parts=now - had)


def _gates(source: Source, definition: str) -> Iterator[tuple[str, _Gate]]:
    for home, inside, line in source.statements():
        if inside == definition and isinstance(line, tree.PartLine) and line.kind.text in OPTIONS:
            options = {option.word.text for option in line.options}
            sources = tuple(word.text for option in line.options for word in option.names)
            plain = line.last is None and not any(name.endswith(".*") for name in (line.first.text, *sources))
            first, last = extent(line)
            if plain and sources and options <= OPTIONS[line.kind.text] and first == last:
                yield line.first.text, _Gate(home, line, sources)


def _readers(source: Source, definition: str, gates: Mapping[str, _Gate]) -> dict[str, set[str]]:
    """Of each gate what reads it: other parts, and "" where anything else of the file names it."""
    found: dict[str, set[str]] = {name: set() for name in gates}
    homes = {gate.home: name for name, gate in gates.items()}
    gives = source.definitions[definition].gives if definition else ()
    rest: list[Any] = [gives]
    for home, inside, statement in source.statements():
        if home in homes:
            for each in gates[homes[home]].sources:
                found.get(each, set()).add(homes[home])
        elif inside == definition:
            rest.append(statement)
            if isinstance(statement, tree.PartLine):
                for name in gates.keys() & {word.text for option in statement.options for word in option.names}:
                    found[name].add(statement.first.text)
    for name in mentioned(tuple(rest), found):
        found[name].add("")
    return found


def _cuts(root: str, gates: Mapping[str, _Gate]) -> Iterator[_Cut]:
    """Up to so many cuts of a signal: of what powers it, and again with a gate of the cut looked through."""
    first = _Cut(tuple(sorted(set(gates[root].sources))), frozenset({root}))
    queue, seen = [first], {first}
    while queue and len(seen) < MOST_CUTS:
        cut = queue.pop(0)
        if len(cut.signals) <= MOST_SIGNALS and root not in cut.signals:
            yield cut
        for place, name in enumerate(cut.signals):
            if name in gates and name not in cut.between and len(cut.between) < MOST_BEHIND:
                others = (*cut.signals[:place], *cut.signals[place + 1 :])
                behind = (each for each in gates[name].sources if each not in cut.between)
                wider = _Cut(tuple(sorted({*others, *behind})), cut.between | {name})
                looped = any(each in wider.between for each in gates[name].sources)
                if not looped and len(wider.signals) <= MOST_SIGNALS + 2 and wider not in seen:
                    seen.add(wider)
                    queue.append(wider)


def _rows(name: str, cut: _Cut, gates: Mapping[str, _Gate], known: dict[str, int]) -> int:
    """In which rows of the table of a cut a signal is on once settled."""
    if name not in known:
        gate = gates[name]
        power = either(tuple(range(len(gate.sources))), [_rows(each, cut, gates, known) for each in gate.sources])
        every = (1 << (1 << len(cut.signals))) - 1
        known[name] = every & ~power if gate.line.kind.text == "torch" else power
    return known[name]


def _gone(root: str, cut: _Cut, read: Mapping[str, Set[str]]) -> set[str]:
    """What of a cut nothing reads any more once the signal is made otherwise, itself among it."""
    gone = {root}
    while True:
        more = {name for name in cut.between - gone if read[name] <= gone}
        if not more:
            return gone
        gone |= more
