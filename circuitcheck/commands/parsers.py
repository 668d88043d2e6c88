"""The parser of the whole command line, made of what each command says of itself."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, NoReturn

from circuitcheck.about import PROGRAM, VERSION
from circuitcheck.commands import MODULES
from circuitcheck.commands.arguments import EXIT_CODES
from circuitcheck.commands.command_options import OPTIONS
from circuitcheck.report.lines import safe

DESCRIPTION = "A verifier for redstone logic circuits."


class _Parser(argparse.ArgumentParser):
    """A parser that does not pass over an output which can't be written, and repeats no word as a terminal obeys it."""

    def print_help(self, file: Any = None) -> None:
        """Writes the help."""
        (file or sys.stdout).write(self.format_help())

    def error(self, message: str) -> NoReturn:
        """Says what is wrong with a call."""
        super().error(safe(message))


def options_of(given: Sequence[str]) -> argparse.Namespace:
    """The options of a call, names of files and of what is asked for in any place among them. Raises SystemExit.

    A call of one command pays for that one only; anything else, such as --help, is shown them all.
    """
    if not given or given[0] not in MODULES:
        return parser_of(MODULES).parse_args(given)
    one = _parsers_of(given[:1])[1][given[0]]
    # Behind a lone '--' nothing is an option, which argparse forgets where it takes names in any place.
    return one.parse_args(given[1:]) if "--" in given else one.parse_intermixed_args(given[1:])


def parser_of(names: Iterable[str]) -> argparse.ArgumentParser:
    """The parser for some commands."""
    return _parsers_of(names)[0]


def _parsers_of(names: Iterable[str]) -> tuple[argparse.ArgumentParser, Mapping[str, argparse.ArgumentParser]]:
    """The parser for some commands, and that of each."""
    parser = _Parser(
        prog=PROGRAM,
        description=DESCRIPTION,
        epilog=EXIT_CODES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--version", action="version", version=f"{PROGRAM} {VERSION}")
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    for name in names:
        OPTIONS[name](commands)
    return parser, commands.choices
