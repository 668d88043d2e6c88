"""Tiny boxes in full: what the exact search finds and excludes is what reading every drawing of the box finds.

Held by exhaustive search: every drawing is made, and read by the house; no part of the formula has a say in that.
"""

from __future__ import annotations

import itertools
import os
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import replace

import pytest
from pysat.solvers import Solver

from circuitcheck.model.circuit import Circuit
from circuitcheck.model.drawing import Drawing
from circuitcheck.model.rules import USUAL
from circuitcheck.placing.exact_places import Box, Places
from circuitcheck.placing.exact_power import Power
from circuitcheck.placing.exact_wanted import Wanted, WantedPart, wanted
from placing.drawn_boxes import as_drawn, circuit_of, every, part

LONG = "CIRCUITCHECK_LAYOUTS" in os.environ
TINY = [Box(2, 1, 2)]
LARGER = [
    Box(3, 1, 1),
    Box(1, 1, 3),
    Box(4, 1, 1),
    Box(2, 2, 1),
    Box(1, 1, 4),
    Box(3, 1, 2),
    Box(2, 1, 3),
    Box(3, 2, 1),
    Box(5, 1, 1),
]
BOXES = [*TINY, *LARGER] if LONG else TINY
FEW = [("lever", "torch"), ("torch", "torch"), ("lever", "lamp"), ("button", "repeater")]
MORE = [
    ("lever", "comparator"),
    ("lever", "torch", "torch"),
    ("lever", "lever", "torch"),
    ("torch", "torch", "torch"),
    ("lever", "torch", "lamp"),
    ("lever", "torch", "repeater"),
    ("lever", "repeater", "repeater"),
    ("lever", "comparator", "repeater"),
    ("torch", "comparator", "lamp"),
]
PARTS = [*FEW, *MORE] if LONG else FEW


@pytest.mark.parametrize("words", PARTS, ids="-".join)
@pytest.mark.parametrize("box", BOXES, ids=str)
def test_it_finds_what_can_be_drawn_and_excludes_the_rest(box: Box, words: tuple[str, ...]) -> None:
    drawn: dict[str, list[tuple[Wanted, Drawing]]] = {}
    for drawing in every(box, words):
        circuit = circuit_of(drawing)
        if circuit is not None:
            read = wanted(circuit)
            drawn.setdefault(_told(read.parts), []).append((read, drawing))
    for alike in drawn.values():
        with _solver(alike[0][0], box) as (places, solver):
            for _, drawing in alike:
                assert solver.solve(assumptions=as_drawn(places, drawing)), drawing.things
    in_any_order = {told for alike in drawn.values() for told in _in_any_order(alike[0][0].parts)}
    for parts in _conceivable(words):
        with _solver(Wanted(Circuit("conceived", ()), parts, ()), box) as (_, solver):
            assert solver.solve() is (_told(parts) in in_any_order), parts


@contextmanager
def _solver(circuit: Wanted, box: Box) -> Iterator[tuple[Places, Solver]]:
    places = Places(circuit, box, USUAL, frozenset(), in_reach=False)
    Power(places).write()
    with Solver(name="glucose4", bootstrap_with=places.clauses.all) as solver:
        yield places, solver


def _told(parts: Iterable[WantedPart]) -> str:
    """Who gives to whom, as a key."""
    return repr(
        sorted(
            (
                part.name,
                part.word,
                part.straight,
                sorted((port, sorted(of.items())) for port, of in part.inputs.items()),
            )
            for part in parts
        )
    )


def _in_any_order(parts: Sequence[WantedPart]) -> Iterator[str]:
    """The keys of the same with parts of one kind exchanged, of which the drawings have one order only."""
    for order in itertools.permutations(parts):
        if all(one.word == other.word for one, other in zip(parts, order, strict=True)):
            to = {one.name: other.name for one, other in zip(parts, order, strict=True)}
            yield _told(
                replace(
                    part,
                    name=to[part.name],
                    inputs={port: {to[name]: lost for name, lost in of.items()} for port, of in part.inputs.items()},
                )
                for part in parts
            )


def _conceivable(words: Sequence[str]) -> Iterator[tuple[WantedPart, ...]]:
    """Every wiring of these parts in which no more than one level is lost where that can be felt."""
    names = {f"p{number}": word for number, word in enumerate(words)}
    yield from itertools.product(*(list(_wired(name, word, names)) for name, word in names.items()))


def _wired(name: str, word: str, names: Mapping[str, str]) -> Iterator[WantedPart]:
    giving = {source: kind for source, kind in names.items() if kind != "lamp"}
    pointing = {source: kind for source, kind in giving.items() if kind in ("repeater", "comparator")}
    others = {source: kind for source, kind in pointing.items() if source != name}
    ports: dict[str, list[dict[str, int | None]]] = {}
    if word == "torch":
        ports = {"block": list(_fed(giving, word))}
    elif word == "lamp":
        ports = {"power": list(_fed(giving, word))}
    elif word == "repeater":
        ports = {"back": list(_fed(giving, word)), "side": list(_fed(others, word, most_lost=0))}
    elif word == "comparator":
        ports = {"back": list(_fed(giving, word)), "side": list(_fed(giving, word))}
    for straight in (False, True) if word in ("repeater", "comparator") else (False,):
        for inputs in itertools.product(*ports.values()):
            fed = {port: of for port, of in zip(ports, inputs, strict=True) if of or port != "side"}
            yield WantedPart(name, part(word), straight, fed)


def _fed(sources: Mapping[str, str], reader: str, most_lost: int = 1) -> Iterator[dict[str, int | None]]:
    choices = [[-1, *range(most_lost + 1)] if "comparator" in (kind, reader) else [-1, 0] for kind in sources.values()]
    for fed in itertools.product(*choices):
        yield {
            source: lost if "comparator" in (kind, reader) else None
            for (source, kind), lost in zip(sources.items(), fed, strict=True)
            if lost >= 0
        }
