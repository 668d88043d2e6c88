"""Whatever is claimed or done is written so that the language reads it back as the very same thing.

Source: grammar/README.md and grammar/circuit.lark say how each form is written; what is compared is the model value.
"""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from circuitcheck.diagnostics import NOWHERE, Span
from circuitcheck.language.load import load_text
from circuitcheck.model import claims as model
from circuitcheck.model.claims import Atom, Test
from circuitcheck.model.claims import Check as Scene
from circuitcheck.report import writing

PARTS = """lever rope
button bell_push short
plate doorstep
analogue depth
lever pond.1 to pond.2
torch dry_水 from rope
repeater slow from depth
latch gate set rope reset slow starts reset
"""
NAMES = ("rope", "depth", "pond.1", "pond.2", "dry_水", "slow", "gate", "gate.inverse")

names = st.sampled_from(NAMES)
times = st.integers(0, 300)
levels = st.integers(0, 15)


def _atoms(of: st.SearchStrategy[str], tests: tuple[Test, ...], at: st.SearchStrategy[int]) -> st.SearchStrategy[Atom]:
    return st.tuples(of, st.sampled_from(tests), at).map(lambda each: Atom(*each))


edges = _atoms(names, (Test.RISES, Test.FALLS, Test.CHANGES), st.just(0))
atoms = st.one_of(
    _atoms(names, (Test.ON, Test.OFF), st.just(0)),
    edges,
    _atoms(names, (Test.LEVEL, Test.AT_LEAST, Test.AT_MOST), levels),
    _atoms(st.just("gate"), (Test.SET, Test.RESET, Test.FORBIDDEN), st.just(0)),
)


def _nested(inside: st.SearchStrategy[model.Condition]) -> st.SearchStrategy[model.Condition]:
    several = st.lists(inside, min_size=2, max_size=3).map(tuple)
    return st.one_of(st.builds(model.Not, inside), st.builds(model.AllOf, several), st.builds(model.AnyOf, several))


conditions: st.SearchStrategy[model.Condition] = st.recursive(atoms, _nested, max_leaves=6)
bounds = st.one_of(
    st.tuples(times, st.none()),
    st.tuples(st.none(), times),
    st.tuples(times, times).map(lambda pair: (min(pair), max(pair))),
)
watched: st.SearchStrategy[model.Body] = st.one_of(
    st.builds(model.Invariant, conditions),
    st.builds(model.Response, conditions, conditions, times, st.none() | conditions),
    st.builds(model.Until, conditions, conditions, conditions),
    st.builds(model.Steady, conditions, names, st.integers(1, 300)),
    st.builds(model.Relation, names, names, st.booleans(), times),
    st.builds(lambda name, gaps, both: model.Lengths(name, gaps, *both), names, st.booleans(), bounds),
    st.builds(lambda one, other, both: model.Delay(one, other, *both), edges, edges, bounds),
)
possible: st.SearchStrategy[model.Body] = conditions.map(model.Possible) | st.just(model.Possible(None, True))
never: st.SearchStrategy[model.Body] = st.builds(model.Unraced, st.tuples(names)) | st.builds(
    model.Unburnt, st.tuples(st.sampled_from(("dry_水", "gate", "gate.inverse")))
)
given_again = st.lists(conditions, max_size=2).map(tuple)
for_ever: st.SearchStrategy[model.Body] = st.one_of(
    st.builds(model.Eventually, conditions, conditions, st.none() | conditions, given_again),
    st.builds(model.Recurring, conditions, given_again),
    st.just(model.Resting()),
)
titles = st.text(st.characters(exclude_categories=("Cc", "Cs", "Zl", "Zp"), exclude_characters='"'), max_size=20)


def bare(value: Any) -> Any:
    """A model value without the places in the file that it was read from."""
    if isinstance(value, Span):
        return NOWHERE
    if isinstance(value, tuple):
        parts = [bare(each) for each in value]
        return type(value)(*parts) if hasattr(value, "_fields") else tuple(parts)
    return value


def study(text: str) -> model.Study:
    """What a text without mistakes asks of its parts."""
    loaded = load_text(PARTS + text)
    assert loaded.diagnostics == (), (text, loaded.diagnostics)
    (found,) = loaded.studies
    return found


def read_back(claimed: model.Body, quantifier: str = "always") -> model.Body:
    """What a body is read as once it has been written."""
    (claim,) = study(f'{quantifier} "it" {writing.body(claimed)}\n').claims
    body: model.Body = bare(claim.body)
    return body


@settings(max_examples=100, deadline=None)
@given(watched | possible | for_ever)
def test_what_is_always_so_is_read_back_as_it_was_written(claimed: model.Body) -> None:
    assert read_back(claimed) == claimed


@settings(max_examples=40, deadline=None)
@given(never)
def test_what_is_never_so_is_read_back_as_it_was_written(claimed: model.Body) -> None:
    assert read_back(claimed, "never") == claimed


@settings(max_examples=100, deadline=None)
@given(conditions)
def test_a_condition_is_read_back_as_it_was_written(asked: model.Condition) -> None:
    (check,) = study(f'check "it"\n  at 1t expect {writing.condition(asked)}\nend\n').checks
    (expectation,) = check.expectations
    assert bare(expectation.condition) == asked


@settings(max_examples=50, deadline=None)
@given(conditions, conditions)
def test_a_condition_that_does_not_stand_alone_stays_one(one: model.Condition, other: model.Condition) -> None:
    written = f"{writing.condition(one, alone=False)} and {writing.condition(other, alone=False)}"
    (check,) = study(f'check "it"\n  at 1t expect {written}\nend\n').checks
    (expectation,) = check.expectations
    assert bare(expectation.condition) == model.AllOf((one, other))


def test_each_test_of_a_signal_has_words() -> None:
    assert set(writing.TESTS) == set(Test)


# Source: model.Unraced and model.Unburnt hold several names, as `never "x" pond.* races` makes them.
@pytest.mark.parametrize("claimed", [model.Unraced(("pond.1", "pond.2"))])
def test_a_row_that_never_races_or_burns_is_read_back_as_it_was_written(claimed: model.Body) -> None:
    assert read_back(claimed, "never") == claimed


# Checks

deeds = st.one_of(
    st.tuples(st.sampled_from(("rope", "pond.1", "pond.2")), st.sampled_from(("throw", "on", "off")), st.just(0)),
    st.tuples(st.just("bell_push"), st.just("press"), st.just(0)),
    st.tuples(st.just("doorstep"), st.sampled_from(("on", "off")), st.just(0)),
    st.tuples(st.just("depth"), st.just("is"), levels),
)
scripts = st.lists(st.tuples(times, deeds), max_size=6, unique_by=lambda each: (each[0], each[1][0]))


def acts_of(script: list[tuple[int, tuple[str, str, int]]]) -> tuple[model.Act, ...]:
    by_time = sorted(script, key=lambda each: each[0])
    return tuple(model.Act(at, name, verb, level, NOWHERE) for at, (name, verb, level) in by_time)


def pasted(claim: model.Claim, acts: tuple[model.Act, ...], until: int) -> Scene:
    (check,) = study("\n".join(writing.check(claim, acts, until)) + "\n").checks
    return check


@settings(max_examples=100, deadline=None)
@given(watched, scripts, times, titles)
def test_a_ready_check_does_and_asks_just_what_it_was_made_of(
    claimed: model.Body, script: list[tuple[int, tuple[str, str, int]]], later: int, title: str
) -> None:
    acts = acts_of(script)
    until = (acts[-1].at if acts else 0) + later
    check = pasted(model.Claim(title, claimed, NOWHERE), acts, until)
    assert check.title == f"a counterexample to: {title}"
    assert bare(check.acts) == acts
    assert [bare(each.body) for each in check.throughout] == [claimed]
    assert (check.expectations, check.until) == ((), until)


@settings(max_examples=40, deadline=None)
@given(possible | never | for_ever, scripts)
def test_a_ready_check_of_what_no_one_run_shows_does_just_what_it_was_made_of(
    claimed: model.Body, script: list[tuple[int, tuple[str, str, int]]]
) -> None:
    acts = acts_of(script)
    until = acts[-1].at if acts else 3
    check = pasted(model.Claim("it", claimed, NOWHERE), acts, until)
    assert bare(check.acts) == acts
    assert (check.throughout, check.until) == ((), until)


@pytest.mark.parametrize(
    ("way", "words"),
    [
        ([], "nothing is done"),
        ([(0, ("rope", "throw", 0)), (3, ("depth", "is", 7))], "throw rope at 0t, depth is 7 at 3gt"),
        ([(4, ("bell_push", "press", 0)), (5, ("doorstep", "off", 0))], "press bell_push at 2t, doorstep off at 5gt"),
    ],
)
def test_a_way_is_reported_in_one_line(way: list[tuple[int, tuple[str, str, int]]], words: str) -> None:
    assert writing.trace(acts_of(way)) == words


def test_of_a_long_way_the_first_deeds_are_reported_and_the_others_counted() -> None:
    way = acts_of([(2 * at, ("rope", "throw", 0)) for at in range(11)])
    assert writing.trace(way) == ", ".join(f"throw rope at {at}t" for at in range(8)) + ", and 3 more"
    assert writing.trace(way[:8]).endswith("throw rope at 7t")
    assert writing.trace(way, most=1) == "throw rope at 0t, and 10 more"
