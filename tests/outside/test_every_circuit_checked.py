"""Every circuit of the tree, and every circuit of its definitions, before a model checker that is none of ours.

Source: R. Brayton, A. Mishchenko, "ABC: an academic industrial-strength verification tool" (CAV 2010), as Debian's
package berkeley-abc has it: `pdr` for proofs, `bmc3` for shortest runs.

Asked are the claims of each file, and of each of its parts that it is never on, and that it is always on: those are
mostly broken, and the gt of the first break is exact. What the prover says of the circuit is compared with what the
outside checker says of the formula that keeps no order:

* What a run of the engine breaks, the formula breaks no later; what is proved outside, no run breaks.
* What the formula decided is decided outside in the same way, and a shortest run has the same length.
* What walking has proved may be broken in the formula, which allows more than the engine; these are counted.

`CIRCUITCHECK_CHECKED=1 python -m pytest tests/outside/test_every_circuit_checked.py -s` asks all of it, in some
minutes; without that it asks of a few parts of some circuits.
"""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Iterator
from itertools import islice
from pathlib import Path

import pytest

from circuitcheck.checks.outcome import Verdict
from circuitcheck.engine.orders import TooManyOrders
from circuitcheck.engine.program import Program
from circuitcheck.engine.start import TooManyStarts
from circuitcheck.language.load import load_file
from circuitcheck.model.claims import Atom, Claim, Invariant, Not, Study, Watched
from circuitcheck.prove.burnt_torches import quiet
from circuitcheck.prove.compose import PieceTooLarge
from circuitcheck.prove.cut import cone
from circuitcheck.prove.interleavings import TooMuch
from circuitcheck.prove.meter import Limits, Meter, OverBudget
from circuitcheck.prove.prover import Prover
from circuitcheck.prove.symbolic.decide import named
from circuitcheck.prove.symbolic.system import System
from circuitcheck.prove.symbolic.watched import assumed, claimed

from . import model_checker

ROOT = Path(__file__).parents[2]
ALL = bool(os.environ.get("CIRCUITCHECK_CHECKED"))
FILES = sorted(ROOT.glob("circuits/*.circuit")) + sorted(ROOT.glob("tests/**/*.circuit"))
FEW = ("latches",)
"""Which files the short form asks of."""
PARTS = 10_000 if ALL else 2
STATES = 30_000
SECONDS = 20 if ALL else 5
TOO_LARGE = (PieceTooLarge, TooMuch, TooManyStarts, TooManyOrders, OverBudget)
pytestmark = pytest.mark.skipif(model_checker.CHECKER is None, reason="no model checker here: berkeley-abc")


def studies(path: Path) -> Iterator[Study]:
    """The circuits of a file: its own, and those of its definitions."""
    yield from (study for study in load_file(path).studies if not study.circuit.things_move)


def claims(study: Study) -> Iterator[Claim]:
    """What is asked of a circuit."""
    yield from (claim for claim in study.claims if isinstance(claim.body, Watched))
    for name in islice((part.name for part in study.circuit.parts if part.behaves), PARTS):
        on = Atom(name)
        yield Claim(f"never {name}", Invariant(Not(on)), study.circuit.span)
        yield Claim(f"always {name}", Invariant(on), study.circuit.span)


def compared(study: Study, claim: Claim, folder: Path) -> tuple[str, str]:
    """What the prover and the outside checker come to, in a word, and what is wrong. Raises what `TOO_LARGE` lists."""
    program = Program(quiet(study.circuit))
    system = System(program, cone(program, named(program, claim.body)), Meter(10**8))
    assumed(system, study.assumptions)
    broken = claimed(system, claim.body)
    outcome = Prover(study, Limits(STATES), solving=False, burn_outs=False).prove(claim._replace(fails_because=""))
    proof, failure = outcome.proof, outcome.failure
    if outcome.verdict in (Verdict.PROVED, Verdict.VACUOUS):
        if model_checker.asked(system, broken, folder, SECONDS, proofs=True).proved:
            return "proved by both", ""
        found = model_checker.asked(system, broken, folder, SECONDS, proofs=False).broken_at
        if proof is not None and proof.solver and found is not None:
            return "different", f"proved by the formula, broken outside within {found}gt"
        return ("proved by walking alone" if found is not None else "no answer outside"), ""
    if outcome.verdict is Verdict.FAILS and failure is not None:
        length = failure.at + 1
        found = model_checker.asked(system, broken, folder, SECONDS, proofs=False).broken_at
        if found is None or found > length:
            return "different", f"a run of {length}gt breaks it, outside one of {found}"
        return ("the same shortest run" if found == length else "a shorter one in the formula alone"), ""
    return "not decided here", ""


@pytest.mark.parametrize("path", [path for path in FILES if ALL or path.stem in FEW], ids=lambda path: path.stem)
def test_the_outside_checker_comes_to_the_same(path: Path, tmp_path: Path) -> None:
    counts: Counter[str] = Counter()
    wrong = []
    for study in studies(path):
        for claim in claims(study):
            try:
                word, otherwise = compared(study, claim, tmp_path)
            except TOO_LARGE:
                word, otherwise = "not translated", ""
            counts[word] += 1
            if otherwise:
                wrong.append(f"{study.label or path.stem}: {claim.title}: {otherwise}")
    print(f"\n{path.stem}: {dict(counts)}")
    assert wrong == []
    assert ALL or counts["the same shortest run"] > 0
