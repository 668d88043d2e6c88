"""The commands, a small file each: what they take and what they call. Nothing heavy is imported before one runs."""

from __future__ import annotations

from circuitcheck.commands import attempt, compare, diagnose, explain, graph, trace, verify

COMMANDS = (verify, attempt, trace, explain, diagnose, compare, graph)
"""In the order in which help shows them."""
