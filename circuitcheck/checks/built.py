"""Whether a drawing is the circuit: the same parts, fed by the same, whatever they are called.

Two circuits are the same if their wiring graphs are isomorphic: a node is a part that behaves, with its kind and its
settings; an edge says into which input one part gives, and how many levels are lost on the way where that can be felt.
Dust and blocks are in no node: they only carry. The search is networkx's (VF2), on nodes that have been sorted first
by what surrounds them.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import fields
from itertools import product
from typing import TYPE_CHECKING, NamedTuple

from circuitcheck.checks.outcome import Outcome, Verdict
from circuitcheck.diagnostics import article
from circuitcheck.engine.light import Daylight, Effects
from circuitcheck.engine.machine import Machine
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.claims import Study
from circuitcheck.model.drawing import said
from circuitcheck.model.light import FULL_SUN, MOONLIGHT
from circuitcheck.model.parts.analogue import Analogue
from circuitcheck.model.parts.base import Part
from circuitcheck.model.parts.comparator import Comparator
from circuitcheck.model.parts.sensor import Becoming, Cell
from circuitcheck.space.tracing import way

if TYPE_CHECKING:
    import networkx

TITLE = "the drawing is the circuit"
MOST_TOLD = 12
"""How many differences are told."""
ROUNDS = 30
"""How often nodes are sorted by their surroundings before the search begins."""
UNLABELLED = frozenset({"name", "span", "start", "row", "place"})
"""Fields of a part that say only what things are called, or how they begin."""

Inputs = dict[tuple[str, str], int]
"""For one part: the port and the source of each input, with the levels lost on the way where they can be felt."""


class Wiring(NamedTuple):
    """A circuit as parts that behave, and what feeds each."""

    labels: dict[str, tuple[object, ...]]
    inputs: dict[str, Inputs]


def judged(study: Study) -> tuple[Outcome, ...]:
    """The verdict on whether a study's circuit is as it is drawn; none where it is not drawn as well."""
    drawn = study.drawn
    if drawn is None or drawn.drawing is None:
        return ()
    told = differences(study.circuit, drawn)
    verdict = Verdict.FAILS if told else Verdict.HOLDS
    return (Outcome(TITLE, drawn.drawing.span, verdict, differences=tuple(told[:MOST_TOLD])),)


def differences(circuit: Circuit, drawn: Circuit) -> list[str]:
    """In what a drawing is not the circuit, part by part and place by place; empty where it is."""
    mine, theirs = wiring(circuit), wiring(drawn)
    pairs = {name: name for name in mine.labels}
    if mine != theirs:
        pairs = isomorphism(mine, theirs) or {}
    if not pairs and mine.labels:
        return list(_Telling(circuit, drawn, mine, theirs).all())
    return list(light_differences(circuit, drawn, pairs))


def wiring(circuit: Circuit) -> Wiring:
    """The wiring of a circuit."""
    machine = Machine(circuit)
    inputs: dict[str, Inputs] = {name: {} for name in machine.names}
    for number, port in enumerate(machine.ports):
        reader = machine.devices[machine.port_device[number]].part
        for source, lost in machine.feeds[number]:
            felt = not port.boolean and (
                isinstance(reader, Comparator) or isinstance(machine.devices[source].part, Comparator | Analogue)
            )
            inputs[reader.name][port.name, machine.names[source]] = lost if felt else 0
    for device in machine.devices:
        if isinstance(device.part, Cell):
            inputs[device.part.name] |= {("grows", source): 0 for source in device.part.grows}
    labels = {device.part.name: _label(device.part, device.part.name in machine.straight) for device in machine.devices}
    return Wiring(labels, inputs)


def _label(part: Part, straight: bool) -> tuple[object, ...]:
    """What a part is, apart from its name and from what feeds it."""
    told = []
    for field in fields(part):
        value = getattr(part, field.name)
        if field.name == "becomes":
            told.append((field.name, tuple(each.to_compare for each in value if isinstance(each, Becoming))))
        elif field.name not in UNLABELLED and not isinstance(value, tuple | str):
            told.append((field.name, value))
    return (part.word, tuple(told), straight)


def isomorphism(mine: Wiring, theirs: Wiring) -> dict[str, str] | None:
    """For each part of one circuit the part of the other that is like it; None where the circuits are not the same."""
    from networkx.algorithms.isomorphism import DiGraphMatcher

    colours = _sorted_by_surroundings(mine, theirs)
    if sorted(colours[0].values()) != sorted(colours[1].values()):
        return None
    matcher = DiGraphMatcher(
        _graph(mine, colours[0]),
        _graph(theirs, colours[1]),
        node_match=lambda one, other: bool(one["colour"] == other["colour"]),
        edge_match=lambda one, other: bool(one["ports"] == other["ports"]),
    )
    return dict(matcher.mapping) if matcher.is_isomorphic() else None


def _sorted_by_surroundings(mine: Wiring, theirs: Wiring) -> tuple[dict[str, int], dict[str, int]]:
    """A number for each part that is the same for parts that look alike from where they stand (colour refinement)."""
    both = (mine, theirs)
    known: dict[object, int] = {}
    colours = tuple({name: known.setdefault(label, len(known)) for name, label in w.labels.items()} for w in both)
    for _ in range(ROUNDS):
        fresh: dict[object, int] = {}
        following = []
        for wires, colour in zip(both, colours, strict=True):
            around: dict[str, list[tuple[object, ...]]] = defaultdict(list)
            for reader, inputs in wires.inputs.items():
                for (port, source), lost in inputs.items():
                    around[reader].append(("in", port, lost, colour[source]))
                    around[source].append(("out", port, lost, colour[reader]))
            keys = {name: (colour[name], tuple(sorted(around[name], key=repr))) for name in wires.labels}
            following.append({name: fresh.setdefault(key, len(fresh)) for name, key in keys.items()})
        settled = len(fresh) == len({each for colour in colours for each in colour.values()})
        colours = tuple(following)
        if settled:
            break
    return colours[0], colours[1]


def _graph(wires: Wiring, colour: Mapping[str, int]) -> networkx.DiGraph[str]:
    import networkx

    graph: networkx.DiGraph[str] = networkx.DiGraph()
    for name in wires.labels:
        graph.add_node(name, colour=colour[name])
    ports: dict[tuple[str, str], list[tuple[str, int]]] = defaultdict(list)
    for reader, inputs in wires.inputs.items():
        for (port, source), lost in inputs.items():
            ports[source, reader].append((port, lost))
    for (source, reader), among in ports.items():
        graph.add_edge(source, reader, ports=frozenset(among))
    return graph


# Light


def light_differences(circuit: Circuit, drawn: Circuit, pairs: Mapping[str, str]) -> Iterator[str]:
    """Cells whose light lets other things happen in the drawing than in the circuit.

    Parts of the drawing that no part of the circuit is paired with may have a say in its light too.
    """
    mine, theirs = Daylight(circuit), Daylight(drawn)
    told: set[tuple[str, str]] = set()
    for name, other in pairs.items():
        one, two = circuit.by_name[name], drawn.by_name[other]
        if not (isinstance(one, Cell) and isinstance(two, Cell)) or (one.place, two.place) in told:
            continue
        told.add((one.place, two.place))
        if not one.place or not (one.withers or one.grows or one.becomes):
            continue
        back = {there: here for here, there in pairs.items()}
        parts = list(
            dict.fromkeys([*mine.parts[one.place], *(back.get(each, each) for each in theirs.parts[two.place])])
        )
        for states in product((False, True), repeat=len(parts)):
            on = dict(zip(parts, states, strict=True))
            difference = _lit_otherwise(mine, theirs, one, two, on, back)
            if difference:
                where = drawn.where.get(other)
                yield f"the light on '{name}'{f' ({said(where)})' if where else ''} is another: {difference}"
                break


def _lit_otherwise(
    mine: Daylight, theirs: Daylight, one: Cell, two: Cell, on: Mapping[str, bool], back: Mapping[str, str]
) -> str:
    for sky in range(FULL_SUN, MOONLIGHT - 1, -1):
        here = mine.effects(one.place, sky, tuple(on[part] for part in mine.parts[one.place]))
        there = theirs.effects(two.place, sky, tuple(on[back.get(part, part)] for part in theirs.parts[two.place]))
        if _deeds(here, one) != _deeds(there, two):
            states = ", ".join(f"'{part}' {'on' if state else 'off'}" for part, state in on.items())
            while_ = f" while {states}" if states else ""
            held = {True: ", held back above", False: ""}
            return (
                f"with {sky} from the sky{while_} it is {here.light}{held[here.held_back]} in the circuit, "
                f"{there.light}{held[there.held_back]} in the drawing"
            )
    return ""


def _deeds(effects: Effects, cell: Cell) -> tuple[object, ...]:
    """What may happen to a cell in some light."""
    own = tuple(change.need.met(effects.light, effects.held_back) for change in cell.becomes)
    return (effects.withers and cell.withers, effects.spreads, effects.takes and bool(cell.grows), own)


# Saying where they differ


class _Telling:
    """Finds words for what differs, with parts paired as well as can be."""

    def __init__(self, circuit: Circuit, drawn: Circuit, mine: Wiring, theirs: Wiring) -> None:
        self._circuit = circuit
        self._drawn = drawn
        self._mine = mine
        self._theirs = theirs
        self._pairs = self._paired()

    def _paired(self) -> dict[str, str]:
        """Parts of one name and kind first; then those that alone look alike; then those of one kind, in order."""
        mine, theirs = self._mine, self._theirs
        pairs = {name: name for name, label in mine.labels.items() if theirs.labels.get(name, ("",))[0] == label[0]}
        colours = _sorted_by_surroundings(mine, theirs)
        for keys in (
            colours,
            (mine.labels, theirs.labels),
            ({n: v[0] for n, v in mine.labels.items()}, {n: v[0] for n, v in theirs.labels.items()}),
        ):
            taken = set(pairs.values())
            free: dict[object, list[str]] = defaultdict(list)
            for name in theirs.labels:
                if name not in taken:
                    free[keys[1][name]].append(name)
            for name in mine.labels:
                others = free[keys[0][name]]
                if name not in pairs and others and (keys is not colours or len(others) == 1):
                    pairs[name] = others.pop(0)
        return pairs

    def all(self) -> Iterator[str]:
        """Every difference: parts that are on one side only, settings, and what feeds what."""
        back = {theirs: mine for mine, theirs in self._pairs.items()}
        for name, label in self._mine.labels.items():
            if name not in self._pairs:
                yield f"the circuit's {label[0]} '{name}' is not in the drawing"
        for name, label in self._theirs.labels.items():
            if name not in back:
                yield f"the drawing has {article(str(label[0]))} that the circuit has not: {self._there(name)}"
        for name, other in self._pairs.items():
            yield from self._settings(name, other)
        for name, other in self._pairs.items():
            yield from self._feeds(name, other, back)

    def _there(self, name: str) -> str:
        """A part of the drawing, with its place."""
        place = self._drawn.where.get(name)
        return f"'{name}'" + (f" at {said(place)}" if place else "")

    def _settings(self, name: str, other: str) -> Iterator[str]:
        (_, mine, straight), (_, theirs, straight_there) = self._mine.labels[name], self._theirs.labels[other]
        assert isinstance(mine, tuple)
        assert isinstance(theirs, tuple)
        for (field, value), (_, value_there) in zip(mine, theirs, strict=True):
            if value != value_there:
                there = f"{value_there} in the drawing: {self._there(other)}"
                yield f"{field} of '{name}' is {value} in the circuit, and {there}"
        if straight is not straight_there:
            where = "the drawing" if straight_there else "the circuit"
            yield (
                f"'{name}' points straight into a repeater or comparator in {where} only: {self._there(other)}; "
                "it acts in another order then (C3)"
            )

    def _feeds(self, name: str, other: str, back: Mapping[str, str]) -> Iterator[str]:
        mine = self._mine.inputs[name]
        theirs = {(port, back.get(source, source)): lost for (port, source), lost in self._theirs.inputs[other].items()}
        for port, source in theirs.keys() - mine.keys():
            yield self._one_more(name, other, port, self._pairs.get(source, source))
        for port, source in mine.keys() - theirs.keys():
            there = self._pairs.get(source)
            what = f"'{source}'" if there is None else self._there(there)
            into = f"'{source}' goes into {_input(port)} of '{name}'"
            yield f"in the circuit {into}, in the drawing it does not: {what} and {self._there(other)}"
        for key in mine.keys() & theirs.keys():
            if mine[key] != theirs[key]:
                yield (
                    f"from '{key[1]}' to {_input(key[0])} of '{name}', {mine[key]} levels are lost in the circuit and "
                    f"{theirs[key]} in the drawing: {self._there(other)}"
                )

    def _one_more(self, name: str, other: str, port: str, source: str) -> str:
        """Where power comes in that the circuit does not have: the first place behind the part that gives it."""
        said_of = f"in the drawing {self._there(source)} goes into {_input(port)} of '{name}' too: {self._there(other)}"
        drawing, where = self._drawn.drawing, self._drawn.where
        if drawing is None or source not in where or other not in where:
            return said_of
        places = way(drawing, self._drawn.rules, where[source], where[other])
        if len(places) > 2 and places[1] in drawing.things:
            return f"{said_of}; the {drawing.things[places[1]].word} at {said(places[1])} touches '{source}'"
        return said_of


def _input(port: str) -> str:
    return {"block": "the block", "back": "the back", "side": "a side", "power": "the power"}.get(
        port, f"what is {port}"
    )
