"""What the program is called, and its version."""

from __future__ import annotations

PROGRAM = "circuitcheck"
VERSION = "0.1.0"
