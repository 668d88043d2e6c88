"""A building site worked by hand: after each thing that is placed, what stands is read and let come to rest.

A thing comes as practice has it: a torch lit, what is worked by hand as its author starts it, all else off.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from circuitcheck.engine.program import Program
from circuitcheck.engine.simulator import Simulator
from circuitcheck.engine.state import State
from circuitcheck.engine.step import Action, step
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.drawing import At, Drawing, Thing
from circuitcheck.space.circuit import read

AT_REST_BY = 200
"""How many gt are waited for; none of the drawings here has a clock or needs nearly as long."""
WORKED = ("lever", "button")


class Site:
    """What stands so far, in every way that the orders nobody knows can leave it."""

    def __init__(self, circuit: Circuit, drawing: Drawing) -> None:
        self._circuit = circuit
        self._drawing = drawing
        self._things: dict[At, Thing] = {}
        self._machine = Program(circuit)
        self.ways: list[dict[str, int]] = [{}]

    def place(self, place: At) -> None:
        """Places one thing; asserts that it can stand there now."""
        self._things[place] = self._drawing.things[place]
        names = {each: name for each, name in self._drawing.names.items() if each in self._things}
        made = read(replace(self._drawing, things=dict(self._things), names=names), self._circuit.rules)
        assert made.mistakes == (), (self._drawing.name(place), made.mistakes)
        self._machine = Program(made.circuit)
        states: set[State] = set()
        for levels in self.ways:
            begin = bytes(levels.get(name, self._comes(name)) for name in self._machine.names)
            states |= {simulator.snapshot() for simulator in Simulator(self._machine, 0, begin).tell_everyone()}
        self._rest(states)

    def work(self, name: str, verb: str) -> None:
        """Works something by hand."""
        action = Action(self._machine.names.index(name), verb)
        found: set[State] = set()
        for levels in self.ways:
            begin = Simulator(self._machine, 0, bytes(levels[each] for each in self._machine.names)).snapshot()
            found |= {outcome.state for outcome in step(self._machine, begin, [action])}
        self._rest(found)

    def _comes(self, name: str) -> int:
        part = next(each for each in self._circuit.parts if each.name == name)
        if part.word == "torch":
            return 15
        return part.start or 0 if part.word in WORKED else 0

    def _rest(self, states: set[State]) -> None:
        for _ in range(AT_REST_BY):
            if not any(state.waits for state in states):
                break
            states = {outcome.state for state in states for outcome in step(self._machine, state)}
        assert not any(state.waits for state in states), "it does not come to rest"
        self.ways = [dict(zip(self._machine.names, state.levels, strict=True)) for state in states]

    def so(self, levels: Mapping[str, int]) -> bool:
        """Whether all of these have these levels, whatever the order was."""
        return all(way.get(name) == level for way in self.ways for name, level in levels.items())
