"""What the commands on drawings share: the drawing of a file, with the circuit that it is or is held against."""

from __future__ import annotations

import argparse
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
    def given_out(self) -> list[str]:
        """The dust and blocks that are taken out of the drawing, by their names there."""
        from circuitcheck.checks.wiring import given_out

        return [name for name in given_out(self.declared) if name in self.circuit.by_name]

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

    common.stands(())
    study = opened.circuit_study
    circuit = study.drawn or study.circuit
    if circuit.drawing is None:
        raise Refused(
            f"{opened.path} draws nothing there: add a 'legend' and a 'drawing' (grammar/README.md, Drawings)"
        )
    return Drawn(circuit.drawing, circuit, study.circuit if study.drawn is not None else None)
