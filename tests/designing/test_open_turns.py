"""Who is first of parts with many turns: the same as asking each pair of turns, by every value of their conditions."""

from __future__ import annotations

import itertools
from random import Random

import pytest

from circuitcheck.certificate.gates import NO, YES, Gates
from circuitcheck.certificate.turns import Turn, Turns
from circuitcheck.designing.open_system import OpenTurns


def value(gates: Gates, literal: int, given: dict[int, int]) -> int:
    if literal in (NO, YES):
        return literal
    variable = literal >> 1
    if variable not in given:
        low, high = gates.ands[variable]
        given[variable] = value(gates, low, given) & value(gates, high, given)
    return given[variable] ^ (literal & 1)


@pytest.mark.parametrize("number", range(20))
def test_it_says_what_every_pair_of_turns_says(number: int) -> None:
    lot, gates = Random(number), Gates()
    conditions = [gates.input(f"c{place}") for place in range(6)]
    turns = [Turn(when, lot.choice((0, 1)), lot.choice((1, 3)), lot.choice((2, 4, 6))) for when in conditions]
    mine, theirs = turns[:3], turns[3:]
    plain = Turns(gates)
    by_pairs = plain.before("one", mine, "other", theirs)
    open_turns = OpenTurns(gates)
    open_turns._ties = plain._ties  # a tie is broken by one input for both
    sorted_ = open_turns.before("one", mine, "other", theirs)
    variables = list(gates.inputs)
    for bits in itertools.product((0, 1), repeat=len(variables)):
        given = dict(zip(variables, bits, strict=True))
        assert value(gates, by_pairs, dict(given)) == value(gates, sorted_, dict(given))


def test_where_no_moment_is_known_either_may_be_first() -> None:
    gates = Gates()
    before = OpenTurns(gates).before("one", [Turn(YES, None)], "other", [Turn(YES, 1)])
    assert before >> 1 in gates.inputs
