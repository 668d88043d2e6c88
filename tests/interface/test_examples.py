"""The docstrings of the public interface are true, and the page made from them is what they say."""

from __future__ import annotations

import doctest
import inspect
import re
from collections.abc import Mapping
from pathlib import Path
from types import FunctionType
from typing import Any

import pytest

import circuitcheck
from circuitcheck.python_page import GROUPS, page

from .examples import examples_in, opening, public

ROOT = Path(__file__).parents[2]


@pytest.mark.parametrize(("name", "thing"), list(public()), ids=[name for name, _ in public()])
def test_each_public_docstring_has_an_example_and_it_runs(name: str, thing: object) -> None:
    test = examples_in(name, thing, {} if name == "circuitcheck" else opening())
    assert test.examples, "a docstring without an example"
    said: list[str] = []
    doctest.DocTestRunner().run(test, out=said.append)
    assert said == []


def test_the_page_is_what_the_docstrings_say() -> None:
    """Else: `python -m circuitcheck.python_page > grammar/PYTHON.md`."""
    assert (ROOT / "grammar" / "PYTHON.md").read_text(encoding="utf-8") == page()


def test_the_page_holds_every_public_name_once_and_nothing_else() -> None:
    assert sorted(name for names in GROUPS.values() for name in names) == sorted(circuitcheck.__all__)


def test_the_page_holds_every_example_that_is_run() -> None:
    shown = doctest.DocTestParser().get_examples("\n".join(re.findall(r"^```pycon\n(.*?)^```$", page(), re.M | re.S)))
    run = [each for name, thing in public() for each in examples_in(name, thing, {}).examples]
    assert sorted(each.source for each in shown) == sorted(each.source for each in run)


def named_in(function: FunctionType) -> set[str]:
    """The classes that a signature names, wherever in it."""
    return set(re.findall(r"\b[A-Z]\w*", " ".join(map(str, function.__annotations__.values()))))


FOREIGN = {"AbstractSet", "Callable", "DiGraph", "Iterable", "Mapping", "None", "Path", "PathLike", "Sequence"}
INNER = {"Latch", "Output"}
"""What two properties of a circuit lead to: the latch as it was written, and where an output leads."""


@pytest.mark.parametrize("name", sorted(set(circuitcheck.__all__) - {"Part"}))
def test_every_type_that_the_signatures_name_is_public(name: str) -> None:
    thing = getattr(circuitcheck, name)
    members: Mapping[str, Any] = vars(thing) if inspect.isclass(thing) else {name: thing}
    functions = [getattr(each, "fget", getattr(each, "func", each)) for own, each in members.items() if own[0] != "_"]
    named = {each for function in functions if isinstance(function, FunctionType) for each in named_in(function)}
    assert named - FOREIGN - INNER <= set(circuitcheck.__all__)
