"""The formula of the exact search allows a drawing if and only if the house reads the circuit in it."""

from __future__ import annotations

import os
import random

from pysat.solvers import Solver

from circuitcheck.placing.exact import ONLY_BLOCKS, formula
from circuitcheck.placing.exact_places import Box, Places
from circuitcheck.placing.exact_wanted import wanted
from placing.drawn_boxes import MATERIALS, as_drawn, by_chance, circuit_of, mutant, some_words, wiring_of

BOXES = int(os.environ.get("CIRCUITCHECK_LAYOUTS", "15"))
SEED = int(os.environ.get("CIRCUITCHECK_SEED", "1"))


def test_what_is_drawn_by_chance_and_its_mutants_are_allowed_where_they_are_the_circuit() -> None:
    told = {True: 0, False: 0}
    for number in range(BOXES):
        chance = random.Random(SEED * 1_000_003 + number)
        box = Box(chance.randint(1, 4), chance.randint(1, 3), chance.randint(1, 3))
        drawn = by_chance(chance, box, some_words(chance, 5), chance.random() < 0.4)
        circuit = circuit_of(drawn)
        if circuit is None or not any(part.behaves for part in circuit.parts):
            continue
        places = formula(wanted(circuit), box, MATERIALS, in_reach=False, whole=True)
        assert places.wanted.least_places <= len(drawn.things)
        mine = wiring_of(drawn)
        with Solver(name="glucose4", bootstrap_with=places.clauses.all) as solver:
            for each in [drawn, *(mutant(chance, box, drawn) for _ in range(40))]:
                same = wiring_of(each) == mine
                told[same] += 1
                assert solver.solve(assumptions=as_drawn(places, each)) is same, (number, each.things, each.names)
    assert min(told.values()) >= BOXES * 3


def test_leaving_out_drawings_that_are_alike_or_needless_leaves_one_where_there_is_any() -> None:
    told = {True: 0, False: 0}
    for number in range(BOXES // 3):
        chance = random.Random(SEED * 1_000_033 + number)
        box = Box(chance.randint(1, 4), chance.randint(1, 3), chance.randint(1, 3))
        circuit = circuit_of(by_chance(chance, box, some_words(chance, 4), chance.random() < 0.3))
        if circuit is None or not any(part.behaves for part in circuit.parts):
            continue
        narrower = box._replace(width=max(box.width - 1, 1))
        lower = narrower._replace(height=max(box.height - 1, 1))
        for materials in (ONLY_BLOCKS, MATERIALS):
            for smaller in (box, narrower, lower):
                in_reach = chance.random() < 0.5
                answers = [
                    _answer(formula(wanted(circuit), smaller, materials, in_reach, whole)) for whole in (True, False)
                ]
                assert answers[0] is answers[1], (number, smaller, materials)
                told[answers[0]] += 1
    assert min(told.values()) >= BOXES // 6


def _answer(places: Places) -> bool:
    with Solver(name="cadical195", bootstrap_with=places.clauses.all) as solver:
        return bool(solver.solve())
