"""The commands, a small file each: what they take and what they call. Nothing heavy is imported before one runs."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from circuitcheck.commands.common import Command

MODULES = {
    "verify": "verify_files",
    "format": "format_files",
    "prove": "prove",
    "sweep": "sweep_settings",
    "rules": "judge_rules",
    "light": "show_light",
    "response": "tell_response",
    "days": "live_days",
    "try": "try_inputs",
    "trace": "trace",
    "explain": "explain",
    "diagnose": "diagnose",
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


def command(name: str) -> Command:
    """The module of a command."""
    found: Command = import_module(f"circuitcheck.commands.{MODULES[name]}")
    return found
