"""What is said of the longest way back: done as the report says, it takes just so long in the simulation.

The rules that the simulation goes by (L1, T1, R2, O1) are common practice, no source; it knows nothing of the prover.
"""

from __future__ import annotations

from itertools import pairwise

import pytest

from circuitcheck import loads
from circuitcheck.checks.proof import Proof
from circuitcheck.model.claims import Act
from circuitcheck.prove.facts import facts
from circuitcheck.prove.meter import Limits

from .random_circuits import study_of

LATCH = """lever rope
lever chain
repeater pull from rope delay {pull}t
repeater drop from chain delay {drop}t
latch gate set pull reset drop starts reset
lamp open from gate
{assumed}
"""
CASES = {
    "free hands": (2, 3, ""),
    "other delays": (4, 1, ""),
    "slow hands": (2, 3, "assume at most 1 changes within 12t"),
}


def set_fact(text: str) -> Proof:
    found = next(each for each in facts(study_of(text), Limits(100_000), lambda states: None) if "be set" in each.title)
    assert found.proof is not None
    return found.proof


@pytest.mark.parametrize("case", CASES)
def test_a_latch_is_set_when_it_is_said_to_be_by_who_does_what_is_reported(case: str) -> None:
    pull, drop, assumed = CASES[case]
    text = LATCH.format(pull=pull, drop=drop, assumed=assumed)
    proof = set_fact(text)
    assert proof.within
    acts = [*proof.trace, *(act._replace(at=act.at + proof.back_from) for act in proof.back)]
    assert [act.at for act in acts] == sorted(act.at for act in acts)
    due = proof.back_from - 1 + proof.within
    assert level_at(text, acts, due - 1) == 0
    assert level_at(text, acts, due) == 15
    if assumed:
        assert all(later.at - act.at >= 24 for act, later in pairwise(acts))


def level_at(text: str, acts: list[Act], game_tick: int) -> int:
    # It rests until somebody touches it; the first gt that a hand can act in there is 1, here it is 0.
    run = loads(text).start()
    on: set[str] = set()
    for act in acts:
        run.run(gt=act.at - run.now)
        on ^= {act.name}
        run.set(act.name, act.name in on)
    run.run(gt=game_tick + 1 - run.now)
    return run.level("gate")
