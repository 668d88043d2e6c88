"""`completion`: a script that lets a shell complete commands, options and files."""

from __future__ import annotations

import argparse

import shtab

from circuitcheck.commands import MODULES
from circuitcheck.commands.parsers import parser_of

FILES = frozenset({"FILE", "PATH", "A", "B"})


def run(options: argparse.Namespace) -> int:
    """Prints the script."""
    parser = parser_of(MODULES)
    for each in _parsers(parser):
        for action in each._actions:
            if action.metavar in FILES:
                action.complete = shtab.FILE  # type: ignore[attr-defined]
            elif action.metavar == "FOLDER":
                action.complete = shtab.DIRECTORY  # type: ignore[attr-defined]
    print(shtab.complete(parser, options.shell))
    return 0


def _parsers(parser: argparse.ArgumentParser) -> list[argparse.ArgumentParser]:
    """A parser and those of its commands; argparse has no public way to them, and shtab goes the same."""
    inner = [action.choices for action in parser._actions if isinstance(action, argparse._SubParsersAction)]
    return [parser, *(each for choices in inner for each in choices.values())]
