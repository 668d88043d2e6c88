"""What the commands on drawings share: which drawing of which file is meant."""

from __future__ import annotations

import argparse

from circuitcheck import examine
from circuitcheck.commands import common
from circuitcheck.examine import Drawn, Opened


def drawing_in(options: argparse.Namespace, path: str = "") -> tuple[Drawn, Opened] | None:
    """The drawing of a file, the one of the call unless another is named; None where its mistakes were told.

    Raises Refused.
    """
    opened = examine.opened(path or options.path, options.define, options.root)
    return None if common.mistakes(opened, options) else (common.drawn_of(opened), opened)
