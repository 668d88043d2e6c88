"""The cure that a verdict on a race names, and the ways to turn an output round, are among what is tried in a file."""

from __future__ import annotations

from dataclasses import replace

import pytest

from circuitcheck import verify_text
from circuitcheck.checks.race import _changes
from circuitcheck.curing.search import changes_of
from circuitcheck.curing.source_text import source_of_text
from circuitcheck.diagnostics import NOWHERE
from circuitcheck.engine.program import Program
from circuitcheck.explain.inversion import turns
from circuitcheck.model.circuit import Circuit

from .mending import searched

RACE = """\
lever     one
lever     other
repeater  first   from one    delay 2t
repeater  second  from other  delay 2t
latch     gate    set first   reset second  starts reset
lamp      lit     from gate
lamp      also    from first
check "both let go"
  at 1s  one on, other on
  at 2s  one off, other off
  by 3s  expect gate set
end
"""


def told(circuit: Circuit, new: str) -> frozenset[str]:
    """The parts of a circuit, whatever the new one is called."""
    return frozenset(repr(replace(each, span=NOWHERE)).replace(new, "new") for each in circuit.by_name.values())


@pytest.mark.parametrize("names", [("one", "other"), ("first", "second")])
def test_what_a_verdict_on_a_race_tries_is_tried_in_the_file(names: tuple[str, str]) -> None:
    source = source_of_text(RACE, "race.circuit")
    every = [
        told(source.read(source.changed_text(each)).studies[0].circuit, each.put_in or "new")
        for each in changes_of(source)
        if each.more_parts == 1 or not each.cost.places
    ]
    tried = list(_changes(source.loaded.studies[0].circuit, names))
    assert len(tried) > 3
    for circuit, words in tried:
        assert any(told(circuit, f"{name}.cure") in every for name in names), words


def test_the_cure_that_the_verdict_names_cures_the_file() -> None:
    (outcome,) = verify_text(RACE).outcomes
    assert outcome.race is not None
    assert outcome.race.cure is not None
    assert outcome.race.cure.words == "a repeater of 1t behind 'one', before all that it feeds"
    search, _ = searched(RACE, most=1000)
    cures = [each.change for each in search.found().cures]
    assert any("'first' from 'one' over a repeater of 1t put in" in each.words for each in cures)


KEEPS = "lever rope\nlever cord\nlatch gate set rope reset cord starts reset\nlamp bell from gate\n"
PASSES = "lever rope\nlamp bell from rope\n"
TURNED = (
    'check "it is dark while the rope is pulled"\n  at 5t expect bell on\n  at 1s rope on\n  at 2s expect bell off\n'
)


@pytest.mark.parametrize(("text", "parts"), [(KEEPS, 0), (PASSES, 1)], ids=["another side", "a torch"])
def test_an_output_is_turned_round_with_as_few_parts_as_explain_says(text: str, parts: int) -> None:
    ways = turns(Program(source_of_text(text, "mill.circuit").loaded.studies[0].circuit), "bell")
    _, found = searched(text + TURNED + "end\n")
    assert min(each.parts for each in ways) == parts
    assert found.cures[0].change.cost.parts == parts
