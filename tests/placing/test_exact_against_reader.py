"""The formula of the exact search allows a drawing if and only if the house reads the circuit in it."""

from __future__ import annotations

import os
import random

from pysat.solvers import Solver

from circuitcheck.model.rules import USUAL
from circuitcheck.placing.exact_places import Box, Places
from circuitcheck.placing.exact_power import Power
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
        if circuit is None:
            continue
        places = Places(wanted(circuit), box, USUAL, MATERIALS, in_reach=False)
        Power(places).write()
        mine = wiring_of(drawn)
        with Solver(name="glucose4", bootstrap_with=places.clauses.all) as solver:
            for each in [drawn, *(mutant(chance, box, drawn) for _ in range(40))]:
                same = wiring_of(each) == mine
                told[same] += 1
                assert solver.solve(assumptions=as_drawn(places, each)) is same, (number, each.things, each.names)
    assert min(told.values()) >= BOXES * 3
