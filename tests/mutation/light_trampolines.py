"""Lighter trampolines for mutmut, which stand in front of each function that has mutants.

mutmut's own look up at each call which mutant is active; while tests are measured they also find the folder of the
sources. The engine calls small functions millions of times, so that took several times as long as the tests. These look
it up once for each run of pytest, in which it never changes.
"""

from __future__ import annotations

import inspect
import os
from collections.abc import Callable, Mapping
from functools import wraps
from typing import Any

from mutmut.core import MutmutProgrammaticFailException
from mutmut.mutation import trampoline
from mutmut.state import state

Function = Callable[..., Any]
_OWN = trampoline.wrap_in_trampoline
_FORGET: list[Callable[[], None]] = []
"""Has each trampoline look again."""


def put_in_place() -> None:
    """Has every module with mutants that is imported from now on use these."""
    trampoline.wrap_in_trampoline = wrapped_in_trampoline  # type: ignore[assignment]


def look_again() -> None:
    """Another mutant may be active from now on."""
    for forget in _FORGET:
        forget()


def wrapped_in_trampoline(mutants: Mapping[str, Function], is_classmethod: bool = False) -> Function:
    """A decorator, with the mutants of a function by their names; they are there once the module has been imported."""

    def decorated(function: Function) -> Function:
        if is_classmethod or inspect.iscoroutinefunction(function) or inspect.isasyncgenfunction(function):
            other: Function = _OWN(mutants, is_classmethod)(function)  # type: ignore[arg-type]
            return other

        target: Function

        def first(*args: Any, **kwargs: Any) -> Any:
            nonlocal target
            target = _active(mutants, function.__module__)
            return target(*args, **kwargs)

        def forget() -> None:
            nonlocal target
            target = first

        forget()
        _FORGET.append(forget)

        @wraps(function)
        def called(*args: Any, **kwargs: Any) -> Any:
            return target(*args, **kwargs)

        return called

    return decorated


def _active(mutants: Mapping[str, Function], module: str) -> Function:
    """What is called for a function: itself, or one of its mutants."""
    own, asked = mutants["_mutmut_orig"], os.environ.get("MUTANT_UNDER_TEST", "")
    if asked == "fail":
        return _fails
    if asked == "stats":
        return _measured(own, f"{own.__module__}.{own.__name__.partition('__mutmut_')[0]}")
    of_module, _, name = asked.rpartition(".")
    return mutants.get(name, own) if of_module == module else own


def _fails(*args: Any, **kwargs: Any) -> Any:
    raise MutmutProgrammaticFailException("a mutant of every function is active")


def _measured(own: Function, name: str) -> Function:
    """A function that has it noted down that it is called."""
    called = state()._stats

    def noted(*args: Any, **kwargs: Any) -> Any:
        called.add(name)
        return own(*args, **kwargs)

    return noted
