"""A claim that a way breaks from one start is said to depend on the start only if it holds from another.

Held against the plain explorer, which looks at every state of the circuit from each declared start (rules C6, L1, L5).
"""

from __future__ import annotations

from functools import cache
from itertools import product

import pytest

from circuitcheck.checks.outcome import Verdict
from circuitcheck.prove.meter import Limits
from circuitcheck.prove.prover import Prover
from circuitcheck.verify import verify_text

from .plain import explored
from .random_circuits import study_of

LATCH = """lever rope
lever chain
repeater pull from rope delay {pull}t
repeater drop from chain delay {drop}t
latch gate set pull reset drop{start}
lamp open from gate
"""
CLAIMS = (
    "gate.inverse inverts gate, settled within 1t",
    "gate.inverse inverts gate, settled within 3t",
    "gate or gate.inverse",
    "when gate rises then pull",
    "when gate falls then drop or pull",
    "when rope rises then gate within 2t",
    "gate",
    "gate off or rope",
    "open off or gate or chain",
    "when gate rises then gate until drop",
)
DELAYS = ((1, 1), (2, 3), (3, 2))
KEPT = """lever rope
repeater pull from rope
torch lit
torch dull from lit starts off
latch gate set pull reset dull{start}
lamp open from gate
"""
"""What is set stays so: nothing ever resets it."""
OF_KEPT = ("gate", "gate or pull or rope", "open off or gate", "gate.inverse or gate", "gate falls or gate.inverse off")


def claimed(condition: str) -> str:
    return f'always "it" {condition}\n'


@cache
def holds(text: str) -> bool:
    study = study_of(text)
    return explored(study.circuit, study.claims[0].body, study.assumptions).broken_at is None


TEXTS = [
    *(
        LATCH.replace("{pull}", str(pull)).replace("{drop}", str(drop)) + claimed(each)
        for (pull, drop), each in product(DELAYS, CLAIMS)
    ),
    *(KEPT + claimed(each) for each in OF_KEPT),
]


@pytest.mark.parametrize("text", TEXTS)
def test_only_what_holds_from_some_start_depends_on_the_start(text: str) -> None:
    held = {start: holds(text.format(start=f" starts {start}")) for start in ("set", "reset")}
    study = study_of(text.format(start=""))
    found = Prover(study, Limits(100_000), solving=False).prove(study.claims[0]).verdict
    if all(held.values()):
        assert found is Verdict.PROVED
    elif any(held.values()):
        assert found is Verdict.OPEN_START
    else:
        assert found in (Verdict.FAILS, Verdict.RACE)


def test_there_are_claims_that_hold_from_one_start_only() -> None:
    held = [[holds(text.format(start=f" starts {start}")) for start in ("set", "reset")] for text in TEXTS]
    assert [True, False] in held
    assert [True, True] in held
    assert [False, False] in held


def test_a_run_that_breaks_a_claim_from_one_start_settles_nothing_while_other_ways_break_it_from_the_other() -> None:
    """From reset it is broken in the check's run; from set by throwing the chain as well."""
    text = LATCH.format(pull=1, drop=1, start="") + 'always "it is set or nobody pulls" gate or rope off\n'
    text += 'check "pull"\n  at 1t rope on\n  by 9t expect gate\nend\n'
    (claim,) = (each for each in verify_text(text).outcomes if each.title.startswith("it is"))
    assert claim.verdict is Verdict.FAILS
    only_run = next(each for each in verify_text(text, states=0).outcomes if each.title.startswith("it is"))
    assert only_run.verdict is Verdict.OPEN_START
