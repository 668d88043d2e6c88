"""circuitcheck from Python: read a circuit, drive it tick by tick, expect things of it, verify it, or build one.

    >>> import circuitcheck
    >>> mill = circuitcheck.loads('''
    ... circuit mill "A rope opens the sluice."
    ... lever     rope
    ... button    bell_push  short
    ... repeater  winch      from rope  delay 2t
    ... lamp      open       from winch
    ... lamp      bell       from bell_push
    ... check "pulling the rope opens the sluice"
    ...   at 5t  rope on
    ...   by 8t  expect open
    ... end
    ... ''')
    >>> run = mill.start()
    >>> run.set("rope", True).run("10t").is_on("open")
    True

A check that fails holds the run in which it did:

    >>> failure = circuitcheck.verify_text('''
    ... lever rope
    ... check "the rope is off in the end"
    ...   at 1s  rope on
    ...   at 2s  expect rope off
    ... end
    ... ''').outcomes[0].failure
    >>> failure.at
    40

All that is raised for a mistake in a circuit or a call is a `CircuitError`, whose text says what to do.
"""

# All is loaded when it is first asked for, so that importing the package costs next to nothing.

from __future__ import annotations

from typing import TYPE_CHECKING

from circuitcheck.about import VERSION

if TYPE_CHECKING:
    from circuitcheck.checks.finding import Cure, Finding, Flashing, Refusal
    from circuitcheck.checks.outcome import Failure, Given, Outcome, Race, StudyResult, Verdict
    from circuitcheck.checks.proof import BurnOut, Leaning, Proof
    from circuitcheck.composing import Builder
    from circuitcheck.diagnostics import Diagnostic, Span
    from circuitcheck.engine.record import Recording
    from circuitcheck.errors import (
        CircuitError,
        InvalidCircuit,
        NotAsExpected,
        OpenOrder,
        RunGivenUp,
        UnknownName,
        WrongCall,
    )
    from circuitcheck.loaded import LoadedCircuit, load, loads
    from circuitcheck.model.circuit import Circuit
    from circuitcheck.model.claims import Check, Claim
    from circuitcheck.model.parts.base import Part
    from circuitcheck.model.rules import RuleSet
    from circuitcheck.signals import Edge, Pulse, Row, Setting
    from circuitcheck.simulation import Simulation
    from circuitcheck.verify import Exit, FileReport, verify_file, verify_text

__version__ = VERSION

_MODULES = {
    "BurnOut": "checks.proof",
    "Cure": "checks.finding",
    "Finding": "checks.finding",
    "Flashing": "checks.finding",
    "Refusal": "checks.finding",
    "Failure": "checks.outcome",
    "Given": "checks.outcome",
    "Leaning": "checks.proof",
    "Outcome": "checks.outcome",
    "Proof": "checks.proof",
    "Race": "checks.outcome",
    "StudyResult": "checks.outcome",
    "Verdict": "checks.outcome",
    "Builder": "composing",
    "Diagnostic": "diagnostics",
    "Span": "diagnostics",
    "Recording": "engine.record",
    "CircuitError": "errors",
    "InvalidCircuit": "errors",
    "NotAsExpected": "errors",
    "OpenOrder": "errors",
    "RunGivenUp": "errors",
    "UnknownName": "errors",
    "WrongCall": "errors",
    "LoadedCircuit": "loaded",
    "load": "loaded",
    "loads": "loaded",
    "Circuit": "model.circuit",
    "Check": "model.claims",
    "Claim": "model.claims",
    "Part": "model.parts.base",
    "RuleSet": "model.rules",
    "Edge": "signals",
    "Pulse": "signals",
    "Row": "signals",
    "Setting": "signals",
    "Simulation": "simulation",
    "Exit": "verify",
    "FileReport": "verify",
    "verify_file": "verify",
    "verify_text": "verify",
}
"""Where each public name is."""

__all__ = [
    "Builder",
    "BurnOut",
    "Check",
    "Circuit",
    "CircuitError",
    "Claim",
    "Cure",
    "Diagnostic",
    "Edge",
    "Exit",
    "Failure",
    "FileReport",
    "Finding",
    "Flashing",
    "Given",
    "InvalidCircuit",
    "Leaning",
    "LoadedCircuit",
    "NotAsExpected",
    "OpenOrder",
    "Outcome",
    "Part",
    "Proof",
    "Pulse",
    "Race",
    "Recording",
    "Refusal",
    "Row",
    "RuleSet",
    "RunGivenUp",
    "Setting",
    "Simulation",
    "Span",
    "StudyResult",
    "UnknownName",
    "Verdict",
    "WrongCall",
    "load",
    "loads",
    "verify_file",
    "verify_text",
]


def __dir__() -> list[str]:
    return __all__


if not TYPE_CHECKING:  # else every misspelt name of the package would pass as known

    def __getattr__(name: str) -> object:
        if name not in _MODULES:
            raise AttributeError(f"module 'circuitcheck' has no attribute '{name}'")
        from importlib import import_module

        return getattr(import_module(f"circuitcheck.{_MODULES[name]}"), name)
