"""The commands, a small file each, of which only the one called is imported; their options are in `command_options`."""

from __future__ import annotations

import argparse
from importlib import import_module
from typing import Protocol

MODULES = {
    "verify": "verify_files",
    "format": "format_files",
    "prove": "prove",
    "certified": "certified",
    "cure": "cure",
    "sweep": "sweep_settings",
    "rules": "judge_rules",
    "light": "show_light",
    "response": "tell_response",
    "days": "live_days",
    "try": "try_inputs",
    "bench": "bench",
    "trace": "trace",
    "explain": "explain",
    "diagnose": "diagnose",
    "least": "least",
    "draw": "draw",
    "compact": "compact",
    "compare": "compare_circuits",
    "graph": "write_graph",
    "report": "write_page",
    "sheets": "sheets",
    "hears": "hears",
    "tile": "tile",
    "editor": "editor",
    "completion": "write_completion",
    "manual": "manual",
}
"""Where each command is, in the order in which help shows them. Only the one that is called is imported."""


class Command(Protocol):
    """A module of this package that does what a command is for."""

    def run(self, options: argparse.Namespace) -> int:
        """Does it. Returns the exit code."""


def command(name: str) -> Command:
    """The module of a command."""
    found: Command = import_module(f"circuitcheck.commands.{MODULES[name]}")
    return found
