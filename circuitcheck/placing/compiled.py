"""The functions of the fast reading and of annealing: as they are, or compiled where numba is installed.

Both give the same results. Compiled code is kept beside the program, or in the user's cache, so that it is made once.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import cache
from importlib.util import find_spec
from pathlib import Path
from types import FunctionType, ModuleType
from typing import Any, NamedTuple

from circuitcheck.folders import cache_home
from circuitcheck.placing import (
    annealing,
    attaching,
    choosing,
    fast_reading,
    fast_wiring,
    grid,
    putting,
    random_numbers,
    rerouting,
    routing,
)
from circuitcheck.placing.grid import Row


class Fast(NamedTuple):
    """What lays out, and the rows that it works on."""

    anneal: Callable[[Row, Row, Row, Row, int, int], int]
    wander: Callable[[Row, Row, Row, Row, int, int, Row, Row, int], int]
    read: Callable[[Row], None]
    rows: Callable[[Iterable[int]], Row]
    compiled: bool


PLAIN = Fast(annealing.anneal, annealing.wander, fast_reading.read, list, False)
MODULES = (grid, fast_wiring, fast_reading, random_numbers, putting, choosing, routing, attaching, rerouting, annealing)
"""Whose functions are compiled: each module with those whose functions it calls before it."""
WORTH_IT = 1_000_000
"""From how many moves on it is worth it to compile, which takes some forty seconds the first time."""


def can_compile() -> bool:
    """Whether the compiler is installed."""
    return find_spec("numba") is not None


def fast_for(moves: int) -> Fast:
    """What lays out with so many moves: compiled where that was done before, or is worth it."""
    known = moves >= WORTH_IT or Path(cache_folder(MODULES)).is_dir()
    return compiled() if known and can_compile() else PLAIN


@cache
def compiled() -> Fast:
    """The functions, compiled."""
    inside = functions(MODULES)
    return Fast(inside["anneal"], inside["wander"], inside["read"], array, True)


def functions(modules: Iterable[ModuleType]) -> dict[str, Any]:
    """All functions of some modules, compiled, by their names, with what else stands there."""
    import numba

    numba.config.CACHE_DIR = cache_folder(modules)  # type: ignore[attr-defined]
    inside: dict[str, Any] = {}
    for module in modules:
        for name, each in vars(module).items():
            if not isinstance(each, FunctionType):
                inside.setdefault(name, each)
            elif each.__module__ == module.__name__:
                inside[name] = numba.njit(_with_globals(each, inside), error_model="numpy", cache=True)
    return inside


def array(values: Iterable[int]) -> Any:
    """A row of whole numbers for compiled code."""
    import numpy

    known = values if isinstance(values, list | numpy.ndarray) else list(values)
    return numpy.array(known, dtype=numpy.int64)


def _with_globals(function: FunctionType, inside: dict[str, Any]) -> FunctionType:
    """The function again, which calls compiled ones."""
    again = FunctionType(function.__code__, inside, function.__name__)
    again.__qualname__, again.__module__ = function.__qualname__, function.__module__
    return again


def cache_folder(modules: Iterable[ModuleType]) -> str:
    """Where compiled code is kept: another folder for each place and each change of the source.

    Of files elsewhere, or newer ones, numba compiles again; and where one function changes, those that call it must.
    """
    from hashlib import sha256

    known = sha256()
    for path in (Path(str(module.__file__)) for module in modules):
        known.update(f"{path} {path.stat().st_mtime_ns} ".encode() + path.read_bytes())
    return str(Path(cache_home()) / "circuitcheck" / "compiled" / known.hexdigest()[:16])
