"""What the commands on drawings share: the drawing of a file, with the circuit that it is or is held against."""

from __future__ import annotations

import argparse
from dataclasses import replace
from typing import TYPE_CHECKING, Any, NamedTuple

from circuitcheck.commands import common

if TYPE_CHECKING:
    from circuitcheck.examine import Opened
    from circuitcheck.model.circuit import Circuit
    from circuitcheck.model.drawing import Drawing


class Drawn(NamedTuple):
    """A drawing, the circuit read out of it, and the circuit that it is held against, if the file names one."""

    drawing: Drawing
    circuit: Circuit
    meant: Circuit | None

    @property
    def started(self) -> Circuit:
        """The drawn circuit with the starts that the circuit it is held against declares."""
        from circuitcheck.checks.built import started

        return started(self.meant, self.circuit)

    @property
    def declared(self) -> Circuit:
        """The circuit that says how parts start."""
        return self.meant or self.circuit


def drawing_options(parser: Any) -> None:
    """Adds which drawing of which file is meant."""
    parser.add_argument("path", metavar="FILE", help="a circuit file with a drawing")
    common.root_option(parser)
    parser.add_argument("--define", default="", metavar="NAME", help="the drawing of a definition")
    parser.add_argument("--json", action="store_true", help="write it as JSON")


def drawing_in(options: argparse.Namespace, path: str = "") -> tuple[Drawn, Opened] | None:
    """The drawing of a file, the one of the call unless another is named; None where its mistakes were told.

    Raises Refused.
    """
    from circuitcheck import examine

    opened = examine.opened(path or options.path, options.define, options.root)
    return None if common.mistakes(opened, options) else (drawn_of(opened), opened)


def drawn_of(opened: Opened) -> Drawn:
    """What a file draws, for commands that tell places as they go. Raises Refused where it draws nothing."""
    from circuitcheck.examine import Refused

    common.stands(None)
    study = opened.circuit_study
    circuit = study.drawn or study.circuit
    if circuit.drawing is None:
        raise Refused(
            f"{opened.path} draws nothing there: add a 'legend' and a 'drawing' (grammar/README.md, Drawings)"
        )
    if study.drawn is None:
        return Drawn(circuit.drawing, circuit, None)
    # What the circuit gives out is given out of the drawing, where that has it by name.
    outputs = tuple(each for each in study.circuit.outputs if each.source in circuit.by_name)
    return Drawn(circuit.drawing, replace(circuit, outputs=outputs), study.circuit)
