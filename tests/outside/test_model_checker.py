"""What the prover makes of the formula of one gt, beside a model checker that is none of ours.

Source: R. Brayton, A. Mishchenko, "ABC: an academic industrial-strength verification tool" (CAV 2010); its `pdr` for
proofs and its `bmc3` for shortest runs, as Debian's package berkeley-abc has them. `CIRCUITCHECK_RANDOM=1000 python -m
pytest tests/outside/test_model_checker.py -s` compares so many circuits.
"""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from prove.random_circuits import SMALL, sluice, study_of

from circuitcheck.engine.orders import TooManyOrders
from circuitcheck.engine.program import Program
from circuitcheck.engine.start import TooManyStarts
from circuitcheck.model.claims import Study
from circuitcheck.prove.burnt_torches import quiet
from circuitcheck.prove.compose import PieceTooLarge
from circuitcheck.prove.interleavings import TooMuch
from circuitcheck.prove.meter import Meter, OverBudget
from circuitcheck.prove.symbolic.decide import decide
from circuitcheck.prove.symbolic.system import System
from circuitcheck.prove.symbolic.watched import assumed, claimed

from . import model_checker

CIRCUITS = int(os.environ.get("CIRCUITCHECK_RANDOM", "0")) or 12
BUDGET = 60_000
SECONDS = 20
pytestmark = pytest.mark.skipif(model_checker.CHECKER is None, reason="no model checker here: berkeley-abc")


def compared(study: Study, folder: Path) -> tuple[bool, str]:
    """Whether the first claim of a study is proved, and what the outside checker says otherwise, if it does."""
    program, body = Program(quiet(study.circuit)), study.claims[0].body
    found = decide(program, body, study.assumptions, Meter(BUDGET))
    if found.limit:
        raise OverBudget(found.limit)
    system = System(program, range(len(program.devices)), Meter(10**9))
    assumed(system, study.assumptions)
    broken = claimed(system, body)
    answer = model_checker.asked(system, broken, folder, SECONDS, proofs=found.proved)
    if found.proved:
        return True, "" if answer.proved else f"not proved outside: {answer}"
    depth = None if found.run is None else len(found.run)
    return False, "" if answer.broken_at == depth else f"a shortest run of {depth} gt, outside of {answer.broken_at}"


def test_random_claims_are_proved_or_broken_as_outside(tmp_path: Path) -> None:
    proved = broken = 0
    wrong = []
    for seed in range(CIRCUITS):
        try:
            holds, otherwise = compared(sluice(seed, SMALL).study(), tmp_path)
        except (PieceTooLarge, TooMuch, TooManyStarts, TooManyOrders, OverBudget):
            continue
        proved, broken = proved + holds, broken + (not holds)
        if otherwise:
            wrong.append(f"seed {seed}: {otherwise}")
    print(f"\n{proved} proved, {broken} broken")
    assert wrong == []
    assert min(proved, broken) > 0


LINE = "lever rope\n" + "".join(
    f"repeater link{at} from {f'link{at - 1}' if at else 'rope'} delay 4t\n" for at in range(2)
)
LATCH = "lever one\nlever other\nlatch gate set one reset other starts reset\n"


@pytest.mark.parametrize(
    ("text", "holds"),
    [
        (LINE + 'always "it"  every pulse of link1 lasts at least 4t\n', True),
        (LINE + 'always "it"  every pulse of link1 lasts at most 5t\n', False),
        (LATCH + 'never "it"  gate and gate.inverse\n', True),
    ],
    ids=["pulses", "a longer pulse", "both sides of a latch"],
)
def test_claims_of_a_textbook_are_proved_or_broken_as_outside(text: str, holds: bool, tmp_path: Path) -> None:
    assert compared(study_of(text), tmp_path) == (holds, "")
