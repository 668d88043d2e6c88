"""Of a broken condition, the signals that broke it are the ones that are explained.

A condition's value follows from the questions that decide it alone, whatever the others come to: that is what deciding
means in propositional logic (an implicant of the condition or of its negation), and every way is tried here.
"""

from __future__ import annotations

import random
from itertools import product

import pytest

from circuitcheck import verify_text
from circuitcheck.checks.conditions import compiled, deciding
from circuitcheck.checks.outcome import Failure
from circuitcheck.engine.program import Program
from circuitcheck.language.load import load_text
from circuitcheck.model.claims import AllOf, AnyOf, Atom, Condition, Not, Test

NAMES = "abcde"
MACHINE = Program(load_text("".join(f"lever {name}\n" for name in NAMES)).studies[0].circuit)


def some_condition(chance: random.Random, depth: int) -> Condition:
    if depth == 0:
        return Atom(chance.choice(NAMES), chance.choice((Test.ON, Test.OFF)))
    if chance.random() < 0.3:
        return Not(some_condition(chance, depth - 1))
    parts = tuple(some_condition(chance, chance.randrange(depth)) for _ in range(chance.randint(2, 3)))
    return AllOf(parts) if chance.random() < 0.5 else AnyOf(parts)


@pytest.mark.parametrize("seed", range(60))
def test_what_decides_decides_whatever_the_other_signals_are(seed: int) -> None:
    condition = some_condition(random.Random(seed), 3)
    holds = compiled(condition, MACHINE)
    fewer = 0
    for levels in product((0, 15), repeat=len(NAMES)):
        decide = {NAMES.index(atom.name) for atom in deciding(condition, MACHINE, levels, levels)}
        fewer += len(decide) < len(NAMES)
        for others in product((0, 15), repeat=len(NAMES)):
            mixed = tuple(level if at in decide else others[at] for at, level in enumerate(levels))
            assert holds(mixed, mixed) == holds(levels, levels)
    assert fewer


def failure(text: str) -> Failure:
    report = verify_text(text)
    assert report.diagnostics == ()
    (found,) = (each.failure for each in report.outcomes if each.failure is not None)
    return found


def test_of_several_that_were_to_be_on_the_one_that_was_off_is_explained() -> None:
    """R2: a 4t repeater called at 2t is on from 6t."""
    text = 'lever a\nlever b\nrepeater slow from b delay 4t\ncheck "x"\n  at 1t a on\n  at 2t b on\n'
    broken = failure(text + "  at 3t expect a and b and slow\nend\n")
    assert broken.deciding == ("slow",)
    assert broken.signals == ("slow", "a", "b")


def test_of_a_forbidden_latch_both_inputs_are_explained() -> None:
    """L1: a latch is forbidden while both its inputs are on; here each is a lever that is thrown."""
    text = 'lever rope\nlever chain\nlatch gate set rope reset chain starts reset\nnever "both" gate forbidden\n'
    broken = failure(text + 'check "pull"\n  at 1t rope on\n  at 5t chain on\nend\n')
    assert broken.deciding == ("rope", "chain", "gate")


def test_of_an_answer_that_did_not_come_the_answer_is_explained_and_not_the_question() -> None:
    text = 'lever rope\nrepeater slow from rope delay 4t\nalways "soon" when rope rises then slow within 2t\n'
    broken = failure(text + 'check "pull"\n  at 1t rope on\nend\n')
    assert broken.deciding == ("slow",)
    assert broken.signals[0] == "slow"


def test_of_a_pulse_that_is_too_short_the_signal_itself_is_explained() -> None:
    text = 'button bell short\nlamp glow from bell\nalways "long" every pulse of glow lasts at least 2s\n'
    broken = failure(text + 'check "press"\n  at 1t press bell\nend\n')
    assert (broken.deciding, broken.signals) == ((), ("glow",))
