"""The fast reading beside the true one: rules W1 to W10 (common practice, no source) twice, on random drawings.

500 drawings and mutants in CI; CIRCUITCHECK_PLACED=100000 asks for so many.
"""

from __future__ import annotations

import os
from random import Random

from circuitcheck.checks.drawing.wiring_graph import wiring
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.drawing import Drawing
from circuitcheck.model.rules import USUAL
from circuitcheck.placing.box import Box, box_of, fill
from circuitcheck.placing.fast_reading import read
from circuitcheck.placing.grid import COST
from circuitcheck.placing.problem import Problem, problem_of
from circuitcheck.space.circuit import read as truly_read

from .random_drawings import changed, random_drawing

MANY = int(os.environ.get("CIRCUITCHECK_PLACED", "500"))


def circuit_of(drawing: Drawing) -> Circuit:
    read = truly_read(drawing, USUAL)
    assert not read.mistakes
    return read.circuit


def in_a_box(problem: Problem, drawing: Drawing, circuit: Circuit) -> Box:
    box = box_of(problem, drawing.size)
    fill(box, drawing.things, {number: circuit.where[name] for number, name in enumerate(problem.names)})
    return box


def test_the_fast_reading_and_the_true_one_agree() -> None:
    rng = Random(20)
    same, different = 0, 0
    while same + different < MANY:
        drawing = random_drawing(rng)
        if not any(thing.is_part for thing in drawing.things.values()):
            continue
        circuit = circuit_of(drawing)
        problem = problem_of(circuit)
        box = in_a_box(problem, drawing, circuit)
        read(box.memory)
        assert list(box.memory[COST : COST + 5]) == [0] * 5, drawing
        same += 1
        for _ in range(4):
            mutant = changed(rng, drawing)
            mutant = mutant and changed(rng, mutant)
            if mutant is None:
                continue
            other = circuit_of(mutant)
            box = in_a_box(problem, mutant, other)
            read(box.memory)
            truly = wiring(circuit) == wiring(other)
            assert (sum(box.memory[COST : COST + 5]) == 0) is truly, (drawing, mutant)
            same, different = same + truly, different + (not truly)
    assert different > MANY / 20
