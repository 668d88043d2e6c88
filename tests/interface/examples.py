"""The examples in the docstrings of the public interface, with what each stands on."""

from __future__ import annotations

import doctest
import inspect
from collections.abc import Iterator
from functools import cached_property

import circuitcheck


def public() -> Iterator[tuple[str, object]]:
    """Every public name that has a docstring of its own: the package, its functions and classes, and their members.

    Of a part only what it is; how it behaves is between it and the engine.
    """
    yield "circuitcheck", circuitcheck
    for name in circuitcheck.__all__:
        thing = getattr(circuitcheck, name)
        yield name, thing
        if inspect.isclass(thing):
            for own, member in vars(thing).items():
                described = inspect.isfunction(member) or isinstance(member, property | cached_property)
                if described and not own.startswith("_") and thing is not circuitcheck.Part:
                    yield f"{name}.{own}", member


def examples_in(name: str, thing: object, names: dict[str, object]) -> doctest.DocTest:
    """The examples of one docstring."""
    return doctest.DocTestParser().get_doctest(inspect.getdoc(thing) or "", names, name, None, 0)


def opening() -> dict[str, object]:
    """The names that the package's own example leaves behind; all others go on from there."""
    names: dict[str, object] = {}
    test = examples_in("circuitcheck", circuitcheck, names)
    assert doctest.DocTestRunner().run(test, clear_globs=False).failed == 0
    return test.globs
