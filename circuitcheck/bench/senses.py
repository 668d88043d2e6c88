"""What a bench tells of light and of hearing: the light in a layer at a moment, and what each detector hears.

Both are computed when somebody asks, by what `light` and `hears` use.
"""

from __future__ import annotations

from functools import cached_property
from typing import Any

from circuitcheck.bench.build import key_of
from circuitcheck.bench.worked import Stopped
from circuitcheck.checks.drawing.wiring_graph import wiring
from circuitcheck.engine.program import Program
from circuitcheck.engine.state import State
from circuitcheck.examine import Opened
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.drawing import said
from circuitcheck.plans.hearing import Listener, listeners
from circuitcheck.plans.layer_light import layer_light, on_in
from circuitcheck.report.lines import safe

MARKS = {True: "meant", False: "NOT meant", None: "heard"}


class Light:
    """The light in a drawn circuit, and on which devices it depends: lamps, pistons, water, what comes and goes."""

    def __init__(self, program: Program) -> None:
        self._program = program
        self._circuit = program.circuit
        drawing = self._circuit.drawing
        assert drawing is not None
        names = {part.name for part in self._circuit.parts if part.light}
        for at, thing in drawing.things.items():
            if thing.when is not None:
                names.add(thing.when.part)
            if thing.word == "piston":
                names.add(drawing.name(at))
        found = {program.number[name] for name in names if name in program.number}
        if program.motion is not None:
            found |= set(program.motion.flow.device_at.values())
        self._devices = sorted(found)
        self._last: object = None
        self._number = 0

    def number(self, state: State) -> int:
        """Stands for all that the light depends on: another number, if any of it is otherwise than when last asked."""
        motion, configuration = self._program.motion, state.configuration
        away = None if motion is None or configuration is None else motion.away(configuration)
        now = ([state.levels[device] > 0 for device in self._devices], away)
        if now != self._last:
            self._last = now
            self._number += 1
        return self._number

    def layer(self, number: int, state: State) -> dict[str, Any]:
        """The light in a layer in a state of the circuit. Raises Stopped."""
        drawing = self._circuit.drawing
        if drawing is None or not 1 <= number <= drawing.size[0]:
            raise Stopped(f"there is no layer {number}")
        motion, configuration = self._program.motion, state.configuration
        if motion is not None and configuration is not None and (why := motion.strays.seen(configuration)):
            raise Stopped(why)
        found = layer_light(self._circuit, drawing, number, on_in(self._program, state.levels, state.configuration))
        return {
            "layer": number,
            "lit": [safe(name) for name in found.lit],
            "by day": found.by_day,
            "at night": found.at_night,
            "of lamps alone": found.of_lamps,
        }


class Hearing:
    """What detectors hear, and pistons that can be stuck, in one circuit."""

    def __init__(self, found: Opened, circuit: Circuit) -> None:
        self._found = found
        self._circuit = circuit

    def of(self, name: str) -> dict[str, Any]:
        """What a part hears, and by what it is heard. Raises Stopped."""
        if self._circuit.drawing is None:
            return self._in_text(name)
        here = self._found.where.get(name)
        listener = next((each for each in self._listeners if each.name == name), None)
        by = [each.name for each in self._listeners if any(heard.place == here for heard in each.heard)]
        rows = [] if listener is None else listener.heard
        return {
            "listens": listener is not None,
            "hears": [
                [MARKS[each.wanted], safe(f"{each.what}, {said(each.place)} ({each.why})"), key_of(each.place)]
                for each in rows
            ],
            "heard by": [safe(each) for each in by],
        }

    @cached_property
    def _listeners(self) -> list[Listener]:
        drawn = self._found.drawn
        return list(listeners(drawn.circuit, drawn.drawing, drawn.meant))

    def _in_text(self, name: str) -> dict[str, Any]:
        part = self._circuit.by_name.get(self._circuit.signal(name) or "")
        if part is None:
            raise Stopped(f"nothing is called '{name}'")
        heard = self._in_words
        return {
            "listens": any(port.name in ("heard", "watched") for port in part.ports()),
            "hears": [["heard", safe(each), ""] for each in heard.get(part.name, ())],
            "heard by": [safe(reader) for reader, sources in heard.items() if part.name in sources],
        }

    @cached_property
    def _in_words(self) -> dict[str, list[str]]:
        wired = wiring(self._circuit)
        return {
            reader: sorted(
                {each for port, heard in inputs if port in ("heard", "watched") for each in wired.behind(heard)}
            )
            for reader, inputs in wired.inputs.items()
            if reader in self._circuit.by_name
        }
