"""What the commands on drawings share: the drawing of a file, with the circuit that it is or is held against."""

from __future__ import annotations

from typing import NamedTuple

from circuitcheck.commands import common
from circuitcheck.examine import Opened, Refused
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.drawing import Drawing


class Drawn(NamedTuple):
    """A drawing, the circuit read out of it, and the circuit that it is held against, if the file names one."""

    drawing: Drawing
    circuit: Circuit
    meant: Circuit | None

    @property
    def declared(self) -> Circuit:
        """The circuit that says how parts start."""
        return self.meant or self.circuit


def drawn_of(opened: Opened) -> Drawn:
    """What a file draws, for commands that tell places as they go. Raises Refused where it draws nothing."""
    common.stands(())
    study = opened.circuit_study
    circuit = study.drawn or study.circuit
    if circuit.drawing is None:
        raise Refused(
            f"{opened.path} draws nothing there: add a 'legend' and a 'drawing' ('circuitcheck manual' says how)"
        )
    return Drawn(circuit.drawing, circuit, study.circuit if study.drawn is not None else None)
