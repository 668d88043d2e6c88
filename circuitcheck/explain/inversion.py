"""Why an output is inverted: the verdict on an output and an input, and the cheapest ways to turn the output round.

The ways are tried on settled functions, of a circuit of which nothing need be asked; `curing` needs a check or a claim
that fails. Where one says that the output should be the inverse, it finds ways of as few parts; a test holds that.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum

from circuitcheck.engine.power import DUST
from circuitcheck.engine.program import Program
from circuitcheck.explain.function import Function, TooLarge, function, inputs_of, rewired_by
from circuitcheck.explain.paths import SignalPaths, Spans, paths, without_joins
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.making import made_one


class Relation(Enum):
    """How a settled output stands to an input."""

    SAME = "same"
    INVERTED = "inverted"
    BOTH = "both: the paths differ"
    SAME_AT_TIMES = "depends on another input: the same, or not at all"
    INVERTED_AT_TIMES = "depends on another input: inverted, or not at all"
    NONE = "does not depend on it"
    REMEMBERED = "remembered: it comes from a latch, a loop or a lock"
    UNKNOWN = "not computed"


@dataclass(frozen=True, slots=True)
class Inversion:
    """The verdict on one output and one input, and the paths between them."""

    output: str
    input: str
    relation: Relation
    paths: SignalPaths
    why_not: str = ""
    """Why the relation was not computed."""


@dataclass(frozen=True, slots=True)
class Turn:
    """A way to turn an output round: what to do, and its price in parts and gt (negative where it saves)."""

    words: str
    parts: int
    lag: int | None
    """None where it is sooner on some paths and later on others."""


def inversion(program: Program, output: str, name: str) -> Inversion:
    """How an output stands to an input."""
    found = paths(program.circuit, name, output)
    table = function(program, output)
    if isinstance(table, TooLarge) and rewired_by(program):
        return Inversion(output, name, Relation.UNKNOWN, found, table.why)  # paths are those of one wiring as well
    if isinstance(table, TooLarge):
        return Inversion(output, name, *_by_parity(program.circuit, found, table))
    return Inversion(output, name, relation(table, name), found)


def _by_parity(circuit: Circuit, found: SignalPaths, table: TooLarge) -> tuple[Relation, SignalPaths, str]:
    """What the parity of the paths says where a table is too large.

    Along paths without memory, through parts that only rise or only fall with their inputs, one parity means that the
    output can only follow, or only oppose.
    """
    import networkx

    parts = {hop.part for path in found.paths for hop in path.hops}
    remembers = any(len(loop) > 1 for loop in networkx.strongly_connected_components(without_joins(circuit, parts)))
    hops = [hop for path in found.paths for hop in path.hops]
    locks = any(not port.carries for hop in hops for port in circuit.by_name[hop.part].ports())
    watched = locks or any(hop.watches or hop.port == "side" for hop in hops)
    parities = {path.inverted for path in found.paths}
    if not found.complete or found.counted > len(found.paths) or remembers or watched or len(parities) != 1:
        return Relation.UNKNOWN, found, table.why
    at_times = Relation.INVERTED_AT_TIMES if parities == {True} else Relation.SAME_AT_TIMES
    return at_times, found, f"derived from the parity of its paths alone, because {table.why}"


def relation(table: Function, name: str) -> Relation:
    """What a table says of one of its inputs: flip the input alone, and see which way the output goes."""
    if name not in table.inputs:
        return Relation.NONE
    bit = 1 << table.inputs.index(name)
    if table.open:
        return Relation.REMEMBERED
    pairs = [(row in table.on, row | bit in table.on) for row in table.rows if not row & bit]
    with_it = sum(1 for before, after in pairs if after and not before)
    against = sum(1 for before, after in pairs if before and not after)
    if with_it and against:
        return Relation.BOTH
    if with_it:
        return Relation.SAME if with_it == len(pairs) else Relation.SAME_AT_TIMES
    if against:
        return Relation.INVERTED if against == len(pairs) else Relation.INVERTED_AT_TIMES
    return Relation.NONE


# Turning it round


def turns(program: Program, output: str) -> tuple[Turn, ...]:
    """The cheapest ways to have the inverse of an output, each tried out on its settled function, cheapest first."""
    circuit = program.circuit
    tapped = _tapped(program, output)
    wanted = function(program, tapped)
    inverse = wanted.inverse() if isinstance(wanted, Function) else None
    found = []
    if not rewired_by(program):  # else no table shows that a signal is the inverse
        found += [turn for turn, signal in _candidates(circuit, tapped, output) if _fits(program, signal, inverse)]
    if inverse is not None and not inverse.open:
        found += _elsewhere(program, tapped, inverse)
    found.append(torch_behind(tapped))
    return tuple(sorted(dict.fromkeys(found), key=lambda turn: (turn.parts, turn.lag or 0))[:4])


def torch_behind(signal: str) -> Turn:
    """The way that always works."""
    return Turn(f"add a torch on a block behind '{signal}'", 1, made_one("torch", "added").lag)


def _tapped(program: Program, output: str) -> str:
    """The part whose signal a lamp or line shows, if nothing else gives to it, lines that are joined to it included."""
    name = output
    for _ in range(len(program.circuit.by_name)):
        part = program.circuit.by_name[name]
        if part.indicates and len(part.powers) == 1:
            name = part.powers[0]
        elif part.conducts in DUST and len(program.probe(name)) == 1:
            ((device, _),) = program.probe(name)
            name = program.names[device]
        else:
            return name
    return name


def _candidates(circuit: Circuit, tapped: str, output: str) -> Iterator[tuple[Turn, str]]:
    """Changes near the output, each with the signal that would be taken instead."""
    latch = next((latch for latch in circuit.latches.values() if tapped in (latch.name, latch.inverse)), None)
    if latch is not None:
        other = latch.inverse if tapped == latch.name else latch.name
        yield Turn(f"take it from the latch's other side, '{other}' (not while both inputs are on)", 0, None), other
        return
    part = circuit.by_name[tapped]
    if not part.inverter:
        return
    for source in part.powers:
        other_side = circuit.by_name[source]
        if other_side.inverter and tapped in other_side.powers and source != tapped:
            yield (
                Turn(f"take it from the latch's other side, '{source}' (not while both inputs are on)", 0, None),
                source,
            )
    if len(part.powers) == 1:
        spare = _is_spare(circuit, tapped, output)
        words = f"take it before the last {part.word}, from '{part.powers[0]}'"
        words += f", and leave '{tapped}' out" if spare else f"; '{tapped}' stays for what else it feeds"
        yield Turn(words, -1 if spare else 0, -part.lag), part.powers[0]


def _is_spare(circuit: Circuit, tapped: str, output: str) -> bool:
    """Whether nothing but the output asked about is fed by a part."""
    named = sum(1 for each in circuit.outputs if each.source == tapped)
    readers = circuit.graph.out_degree(tapped)
    return bool(readers == 0 and named <= 1 if output == tapped else readers == 1 and named == 0)


def _fits(program: Program, signal: str, inverse: Function | None) -> bool:
    """Whether a signal is the inverse that is wanted. A latch's sides are that by what they are, not by a table."""
    if inverse is None or inverse.open:
        return True
    names = tuple(dict.fromkeys((*inverse.inputs, *inputs_of(program.circuit, signal))))
    table = function(program, signal, names)
    return isinstance(table, Function) and table == inverse.over(names)


def _elsewhere(program: Program, tapped: str, inverse: Function) -> list[Turn]:
    """Parts that give the inverse already."""
    circuit = program.circuit
    near = {*circuit.graph.pred[tapped], *circuit.graph.succ[tapped]} - {tapped}
    part = circuit.by_name[tapped]
    if part.inverter and len(part.powers) == 1:
        near -= set(part.powers)  # taking it before the inverter is reported already
    return [
        Turn(f"take it from '{name}', which is its inverse already", 0, _sooner(circuit, name, tapped))
        for name in sorted(near)
        if not circuit.by_name[name].indicates and not circuit.by_name[name].verbs and _fits(program, name, inverse)
    ]


def _sooner(circuit: Circuit, name: str, tapped: str) -> int | None:
    """By how many gt one signal is later than another, if that is the same from every input."""
    spans = Spans(circuit)
    pairs = [(spans.span(part.name, name), spans.span(part.name, tapped)) for part in circuit.inputs]
    differences = {one.fastest.lag - other.fastest.lag for one, other in pairs if one is not None and other is not None}
    return differences.pop() if len(differences) == 1 else None
