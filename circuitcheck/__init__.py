"""circuitcheck: a verifier for redstone logic circuits.

    import circuitcheck
    circuit = circuitcheck.load("circuits/sluice.circuit")
    run = circuit.start()
    run.work("pond.1", "on")
    run.run("10t")
    run.is_on("open")
    circuit.verify().exit

Everything here is loaded when it is first asked for, so that importing the package costs next to nothing.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from circuitcheck.about import VERSION

if TYPE_CHECKING:
    from circuitcheck.simulation import (
        Edge,
        InvalidCircuit,
        LoadedCircuit,
        NotAsExpected,
        OpenOrder,
        Pulse,
        Simulation,
        UnknownName,
        load,
        loads,
    )
    from circuitcheck.verify import Exit, FileReport, verify_file, verify_text

__version__ = VERSION

__all__ = [
    "Edge",
    "Exit",
    "FileReport",
    "InvalidCircuit",
    "LoadedCircuit",
    "NotAsExpected",
    "OpenOrder",
    "Pulse",
    "Simulation",
    "UnknownName",
    "load",
    "loads",
    "verify_file",
    "verify_text",
]

_FROM_VERIFY = {"Exit", "FileReport", "verify_file", "verify_text"}


def __dir__() -> list[str]:
    return __all__


def __getattr__(name: str) -> object:
    if name not in __all__:
        raise AttributeError(f"module 'circuitcheck' has no attribute '{name}'")
    from importlib import import_module

    module = import_module("circuitcheck.verify" if name in _FROM_VERIFY else "circuitcheck.simulation")
    return getattr(module, name)
