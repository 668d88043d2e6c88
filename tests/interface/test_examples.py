"""The docstrings of the public interface are true, and the page made from them is what they say."""

from __future__ import annotations

import doctest

import pytest

from .examples import examples_in, opening, public


@pytest.mark.parametrize(("name", "thing"), list(public()), ids=[name for name, _ in public()])
def test_each_public_docstring_has_an_example_and_it_runs(name: str, thing: object) -> None:
    test = examples_in(name, thing, {} if name == "circuitcheck" else opening())
    assert test.examples, "a docstring without an example"
    said: list[str] = []
    doctest.DocTestRunner().run(test, out=said.append)
    assert said == []
