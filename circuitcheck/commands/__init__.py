"""The commands, a small file each: what they take and what they call. Nothing heavy is imported before one runs."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from circuitcheck.commands.common import Command

MODULES = {
    "verify": "verify",
    "format": "layout",
    "prove": "prove",
    "sweep": "sweep",
    "rules": "rules",
    "light": "light",
    "response": "response",
    "days": "days",
    "try": "attempt",
    "trace": "trace",
    "explain": "explain",
    "diagnose": "diagnose",
    "compare": "compare",
    "graph": "graph",
    "report": "page",
    "sheets": "sheets",
    "hears": "hears",
    "tile": "tile",
    "editor": "editor",
    "completion": "completion",
    "manual": "manual",
}
"""Where each command is, in the order in which help shows them. Only the one that is called is imported."""


def command(name: str) -> Command:
    """The module of a command."""
    found: Command = import_module(f"circuitcheck.commands.{MODULES[name]}")
    return found
