"""What the commands on drawings share: which drawing of which file is meant."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from circuitcheck.commands import common

if TYPE_CHECKING:
    from circuitcheck.examine import Drawn, Opened


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
    return None if common.mistakes(opened, options) else (common.drawn_of(opened), opened)
