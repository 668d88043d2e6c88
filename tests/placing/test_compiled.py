"""Compiled or not, a search comes to the same; compiling takes most of a minute, so only where it is asked for.

CIRCUITCHECK_COMPILED=1 asks.
"""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest

from circuitcheck.language.load import load_text
from circuitcheck.model.directions import EAST, SOUTH, WEST
from circuitcheck.placing.asked_places import Asked, Spot
from circuitcheck.placing.bounds import Bounds
from circuitcheck.placing.compiled import MODULES, PLAIN, WORTH_IT, cache_folder, can_compile, compiled, fast_for
from circuitcheck.placing.problem import problem_of
from circuitcheck.placing.smallest_box import Search

SEVERAL = """\
lever a
lever b
torch no.1 from a
torch no.2 from b
repeater way from a delay 2t
comparator spare from a side way subtract
detector ripple watches b
junction out joins no.*
output sign from out
lamp left from spare
"""


def test_few_moves_are_not_worth_compiling_for(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    assert fast_for(WORTH_IT - 1) is PLAIN


def test_what_was_compiled_before_serves_few_moves_as_well(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    monkeypatch.setattr("circuitcheck.placing.compiled.compiled", lambda: "compiled")
    Path(cache_folder(MODULES)).mkdir(parents=True)
    assert fast_for(1) == ("compiled" if can_compile() else PLAIN)


if "CIRCUITCHECK_COMPILED" in os.environ:

    def test_a_search_comes_to_the_same_compiled_or_not() -> None:
        problem = problem_of(load_text(SEVERAL).studies[0].circuit)
        for seed in (1, 2, 3):
            plain, fast = (Search(problem, Bounds(), each, 20_000, seed).run() for each in (PLAIN, compiled()))
            assert plain == fast
            assert json.dumps(fast.moves) == json.dumps(plain.moves)

    def test_what_is_asked_of_places_comes_to_the_same_compiled_or_not() -> None:
        asked = Asked(
            {"left": Spot(frozenset({SOUTH}))}, (Spot(low=(1, 2, 1), high=(1, 2, 2)),), {"a": WEST}, {"sign": EAST}
        )
        problem = problem_of(load_text(SEVERAL).studies[0].circuit, asked=asked)
        plain, fast = (Search(problem, Bounds(), each, 20_000).run() for each in (PLAIN, compiled()))
        assert plain == fast
