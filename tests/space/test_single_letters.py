"""Every single letter of some drawings exchanged for every other: what changes the circuit is found, and nothing else.

Common practice, no source; rules W1 to W10. Whether a change changes the circuit is said by the plain reading of
`plain.py`, and whether two readings are one circuit by NetworkX (networkx.org), `is_isomorphic`.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache
from typing import NamedTuple

import networkx
import pytest

from circuitcheck.checks.drawing.built import differences
from circuitcheck.language.load import load_text
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.drawing import AROUND, MATTERS, At, Drawing, Thing, said
from circuitcheck.model.rules import NEWER
from circuitcheck.space.circuit import read

from .builds import GATE, LATCH, LOCK, PUSH, STEPS, STUCK, Machine, drawn_of, file_of
from .plain import Inputs, PlainReading

READ = (GATE, LATCH, LOCK, STEPS, STUCK, PUSH)


def circuits_of(machine: Machine) -> tuple[Circuit, Drawing]:
    """The circuit in words, and the drawing of it."""
    (study,) = load_text(file_of(drawn_of(machine.layers), machine.words)).studies
    assert study.drawn is not None
    assert study.drawn.drawing is not None
    return study.circuit, study.drawn.drawing


def alphabet(drawing: Drawing) -> list[Thing | None]:
    """Air, dust, a block, every thing that is drawn, and its repeaters and comparators in all facings and delays."""
    found: dict[Thing, None] = dict.fromkeys((Thing(MATTERS["block"]), Thing(MATTERS["dust"])))
    for thing in drawing.things.values():
        plain = replace(thing, letter="")
        found[plain] = None
        if thing.word in ("repeater", "comparator"):
            for facing in AROUND:
                found[replace(plain, facing=facing)] = None
        if thing.word == "repeater":
            found[replace(plain, numbers=(("delay", 8),))] = None
    return [None, *found]


def changes(drawing: Drawing) -> Iterator[tuple[At, Thing | None, Drawing]]:
    """Every drawing with another thing, or none, at one place."""
    layers, rows, columns = drawing.size
    places = [
        (layer, row, column)
        for layer in range(1, layers + 1)
        for row in range(1, rows + 1)
        for column in range(1, columns + 1)
    ]
    things = alphabet(drawing)
    for place in places:
        before = drawing.things.get(place)
        for thing in things:
            if thing != (before and replace(before, letter="")):
                others = {at: each for at, each in drawing.things.items() if at != place}
                names = {at: name for at, name in drawing.names.items() if at != place}
                here = dict(sorted({**others, **({} if thing is None else {place: thing})}.items()))
                yield place, thing, replace(drawing, things=here, names=names)


def graph_of(drawing: Drawing) -> networkx.DiGraph[str]:
    """What feeds what by the plain reading, each part with its kind and settings."""
    reading = PlainReading(drawing, NEWER)
    inputs = reading.inputs()
    kinds = {f"{drawing.name(place)}.block": "moved block" for place in drawing.things}
    for place in drawing.things:
        kinds[drawing.name(place)] = kind_of(reading, place, inputs.get(drawing.name(place), {}))
    graph: networkx.DiGraph[str] = networkx.DiGraph()
    ports: dict[tuple[str, str], set[tuple[str, int]]] = defaultdict(set)
    for name, feeds in inputs.items():
        graph.add_node(name, kind=kinds[name])
        for (port, source), lost in feeds.items():
            ports[source, name].add((port, lost))
    for (source, name), among in ports.items():
        graph.add_edge(source, name, ports=among)
    return graph


def kind_of(reading: PlainReading, place: At, inputs: Inputs) -> str:
    """A part's kind and settings, that it is stuck (D2), and that it points straight into another (C3)."""
    thing = reading.things[place]
    stuck = any(port == "arming" for port, _ in inputs)
    front = reading.front(place)
    straight = thing.word in ("repeater", "comparator") and front is not None and points_straight(reading, place, front)
    delay = dict(thing.numbers).get("delay", 2 if thing.word == "repeater" else 0)
    return f"{thing.word} {delay} {sorted(thing.flags)} {stuck} {straight}"


def points_straight(reading: PlainReading, place: At, front: At) -> bool:
    ahead = reading.things.get(front)
    return ahead is not None and ahead.word in ("repeater", "comparator") and reading.front(front) != place


class Judged(NamedTuple):
    """A change that can stand: what was at a place and what is, and its report; text where it fails to be."""

    place: At
    before: Thing | None
    after: Thing | None
    same: bool
    told: tuple[str, ...] | str


@lru_cache
def judged(machine: Machine) -> list[Judged]:
    """Each change of one letter that can stand, and whether the circuit is the same by the plain reading."""
    circuit, drawing = circuits_of(machine)
    usual = graph_of(drawing)
    found = []
    for place, thing, changed in changes(drawing):
        made = read(changed, NEWER)
        if made.mistakes:
            continue
        same = networkx.is_isomorphic(
            usual,
            graph_of(changed),
            node_match=lambda one, other: bool(one == other),
            edge_match=lambda one, other: bool(one == other),
        )
        try:
            told: tuple[str, ...] | str = tuple(differences(circuit, made.circuit))
        except Exception as error:
            told = repr(error)
        found.append(Judged(place, drawing.things.get(place), thing, same, told))
    return found


@pytest.mark.parametrize("machine", READ, ids=lambda machine: machine.name)
def test_a_change_is_reported_just_if_it_changes_the_circuit(machine: Machine) -> None:
    """Common practice, no source; rules W1 to W10."""
    counted: Counter[str] = Counter()
    wrong = []
    for place, before, after, same, told in judged(machine):
        counted["the same" if same else "another"] += 1
        if isinstance(told, str) or bool(told) is same:
            wrong.append((said(place), before and before.word, after and after.word, same, told))
    assert not wrong, f"{len(wrong)} of {counted}: {wrong[:5]}"
    assert counted["another"] > 60
    assert counted["the same"] > 10


@pytest.mark.parametrize("machine", READ, ids=lambda machine: machine.name)
def test_another_delay_or_facing_is_reported_with_its_place(machine: Machine) -> None:
    """Common practice, no source; rules R1 and W6."""
    for place, before, after, _, told in judged(machine):
        if before is not None and after is not None and before.word == after.word == "repeater":
            assert any(said(place) in difference for difference in told), (place, told)


@pytest.mark.parametrize("machine", READ, ids=lambda machine: machine.name)
def test_dust_that_is_gone_is_reported(machine: Machine) -> None:
    """Common practice, no source; rules P2 and W2: no dust of these machines is idle."""
    for place, before, after, same, told in judged(machine):
        if before is not None and before.word == "dust" and after is None:
            assert not same
            assert told
            assert any("at layer" in difference for difference in told), (place, told)


@pytest.mark.parametrize("machine", READ, ids=lambda machine: machine.name)
def test_dust_that_touches_something_is_reported_with_its_place(machine: Machine) -> None:
    """Common practice, no source; rules W2 to W4."""
    for place, before, after, same, told in judged(machine):
        if before is None and after is not None and after.word == "dust" and not same:
            assert any(said(place) in difference for difference in told), (place, told)
