"""Whether a drawing is a circuit: asked of the house's own reading of drawings, which has the last word."""

from __future__ import annotations

from dataclasses import replace

from circuitcheck.checks.drawing.built import differences
from circuitcheck.checks.drawing.matching import TooMuchAlike
from circuitcheck.checks.drawing.wiring_graph import wiring
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.drawing import BELOW, MATTERS, At, Drawing, Thing
from circuitcheck.placing.problem import Problem, leaving, thing_of
from circuitcheck.space.circuit import read


def untrue(problem: Problem, drawing: Drawing) -> list[str]:
    """Why a drawing is not what a problem asks for, in words; empty where it is."""
    if kept_not := problem.asked.not_kept(drawing):
        return kept_not
    if problem.asked.enters or problem.asked.leaves:
        return wrong_with_piece(problem, drawing)
    return wrong_with(problem.circuit, drawing)


def wrong_with(circuit: Circuit, drawing: Drawing) -> list[str]:
    """Why a drawing is not a circuit, in words; empty where it is."""
    made = read(drawing, circuit.rules, circuit.name)
    if made.mistakes:
        return [mistake.message for mistake in made.mistakes]
    try:
        return differences(circuit, made.circuit)
    except TooMuchAlike:
        return ["so many of its parts look alike that they can't be compared"]


def wrong_with_piece(problem: Problem, drawing: Drawing) -> list[str]:
    """Why a drawing is not a circuit to which power comes from outside, or from which it leaves, in words.

    Outside, a lever and dust stand in for what will be there. Names are those of the circuit, so nothing is matched.
    """
    circuit, asked = problem.circuit, problem.asked
    made = read(_with_outside(problem, drawing), circuit.rules, circuit.name)
    if made.mistakes:
        return [mistake.message for mistake in made.mistakes]
    ours = [name for name in problem.given if name in circuit.by_name]
    wanted, drawn = wiring(circuit, ours), wiring(made.circuit, problem.given)
    for name in asked.leaves:
        if name not in ours:
            part = next(part.name for part in circuit.parts if leaving(part.name) == name)
            wanted.labels[name], wanted.inputs[name] = drawn.labels[name], {("power", part): (0,)}
        for each in (wanted.inputs[name], drawn.inputs[name]):
            each.update(dict.fromkeys(each, (0,)))
    names = sorted({*wanted.labels, *drawn.labels})
    return [
        f"'{name}' is not wired as it is to be"
        for name in names
        if wanted.labels.get(name) != drawn.labels.get(name) or wanted.inputs.get(name) != drawn.inputs.get(name)
    ]


def _with_outside(problem: Problem, drawing: Drawing) -> Drawing:
    """A drawing with what stands in for things outside, two places away at most."""

    def moved(at: At) -> At:
        return at[0], at[1] + 2, at[2] + 2

    things = {moved(at): thing for at, thing in drawing.things.items()}
    names = {moved(at): name for at, name in drawing.names.items()}
    where = {name: at for at, name in names.items()}
    block = Thing(MATTERS["block"])
    for name, side in problem.asked.enters.items():
        del names[where[name]]
        outside = side.from_(where[name])
        things[outside] = replace(thing_of(problem.circuit.by_name[name]), on=side)
        names[outside] = name
        things[side.from_(outside)] = block
    for name, side in problem.asked.leaves.items():
        outside = side.from_(where[name])
        things[outside], things[BELOW.from_(outside)] = Thing(MATTERS["dust"]), block
    size = (drawing.size[0], drawing.size[1] + 4, drawing.size[2] + 4)
    return Drawing(dict(sorted(things.items())), names, size=size)
