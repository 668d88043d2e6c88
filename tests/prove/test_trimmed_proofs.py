"""Proofs without the steps that nothing rests on, before a DRAT checker that is none of ours."""

from __future__ import annotations

import itertools
from random import Random

import pytest

from circuitcheck.certificate.checking import drat_checker
from circuitcheck.certificate.three_questions import Clause, written
from circuitcheck.prove.meter import Meter
from circuitcheck.prove.symbolic import trimmed_proof
from circuitcheck.prove.symbolic.sat import proof_of
from circuitcheck.prove.symbolic.trimmed_proof import trimmed


def holes(pigeons: int) -> list[Clause]:
    """So many pigeons each in one of one hole less, alone: a textbook example of clauses that have no answer."""
    at = [[pigeon * (pigeons - 1) + hole + 1 for hole in range(pigeons - 1)] for pigeon in range(pigeons)]
    alone = ((-one[hole], -other[hole]) for one, other in itertools.combinations(at, 2) for hole in range(pigeons - 1))
    return [*map(tuple, at), *alone]


def by_lot(number: int) -> list[Clause]:
    """Clauses of three, six times as many as variables: they seldom have an answer."""
    lot = Random(number)
    return [tuple(each * lot.choice((1, -1)) for each in lot.sample(range(1, 41), 3)) for _ in range(240)]


CASES: dict[str, list[Clause]] = {
    "pigeons": holes(6),
    **{f"lot {number}": by_lot(number) for number in range(4)},
    "a part of them alone": [*by_lot(0), *((100 + place, 200 + place, -300 - place) for place in range(30))],
    "at once": [(1,), (-1, 2), (-2,)],
    "nothing": [()],
}


@pytest.mark.parametrize("name", CASES)
def test_what_is_left_of_a_proof_is_one_and_no_longer(name: str) -> None:
    clauses = CASES[name]
    whole = proof_of(clauses, Meter(10**6))
    assert whole is not None
    fewer = trimmed(clauses, whole)
    assert drat_checker()(written(clauses, "asked"), fewer)
    steps = [line for line in whole.splitlines() if not line.startswith("d")]
    assert [line for line in steps if line in set(fewer.splitlines())][-1] == "0"
    assert set(fewer.splitlines()) <= set(steps)
    assert fewer.count("\n") <= len(steps)


def test_some_of_what_was_learned_of_pigeons_is_not_needed_and_some_is() -> None:
    clauses = CASES["pigeons"]
    whole = proof_of(clauses, Meter(10**6))
    assert whole is not None
    lines = trimmed(clauses, whole).splitlines()
    assert len(lines) < len([line for line in whole.splitlines() if not line.startswith("d")])
    checks, asked = drat_checker(), written(clauses, "asked")
    assert not checks(asked, "\n".join([lines[-1], ""]))


def test_past_the_work_that_it_may_do_all_steps_are_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    clauses = CASES["pigeons"]
    whole = proof_of(clauses, Meter(10**6))
    assert whole is not None
    monkeypatch.setattr(trimmed_proof, "MOST_WORK", 500)
    assert drat_checker()(written(clauses, "asked"), trimmed(clauses, whole))
    monkeypatch.setattr(trimmed_proof, "MOST_WORK", -1)
    steps = [line for line in whole.splitlines() if not line.startswith("d")]
    assert trimmed(clauses, whole).splitlines() == steps
