"""The parser of the whole command line, made of what each command says of itself."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterable
from typing import Any

from circuitcheck.about import PROGRAM, VERSION
from circuitcheck.commands import command
from circuitcheck.commands.common import EXIT_CODES

DESCRIPTION = "A verifier for redstone logic circuits."


class _Parser(argparse.ArgumentParser):
    """A parser that does not pass over an output which can't be written."""

    def print_help(self, file: Any = None) -> None:
        """Writes the help."""
        (file or sys.stdout).write(self.format_help())


def parser_of(names: Iterable[str]) -> argparse.ArgumentParser:
    """The parser for some commands."""
    parser = _Parser(
        prog=PROGRAM,
        description=DESCRIPTION,
        epilog=EXIT_CODES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--version", action="version", version=f"{PROGRAM} {VERSION}")
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    for name in names:
        command(name).add(commands)
    return parser
