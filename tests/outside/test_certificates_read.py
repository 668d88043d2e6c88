"""The systems of certificates before a model checker that is none of ours, which reads them in AIGER's binary form.

Source: A. Biere, K. Heljanko and S. Wieringa, "AIGER 1.9 And Beyond" (2011); R. Brayton, A. Mishchenko, "ABC: an
academic industrial-strength verification tool" (CAV 2010), as Debian's package berkeley-abc has it.
"""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

import pytest
from prove.random_circuits import study_of

from circuitcheck.certificate.folder_files import witness
from circuitcheck.certificate.gates import Model
from circuitcheck.model.claims import Study
from circuitcheck.prove.certifying import certify, run_of
from circuitcheck.prove.meter import Limits, Meter
from circuitcheck.prove.prover import Prover

from . import model_checker

LATCH = "lever pond\nlever rope\nlatch gate set pond reset rope starts reset\n"
pytestmark = pytest.mark.skipif(model_checker.CHECKER is None, reason="no model checker here: berkeley-abc")


def binary(model: Model) -> bytes:
    """A model in AIGER's binary form."""
    counts = (model.most, len(model.inputs), len(model.latches), 0, len(model.ands), 1, len(model.constraints))
    lines = ["aig " + " ".join(map(str, counts))]
    lines += [f"{each.then} {each.literal if each.reset is None else each.reset}" for each in model.latches]
    lines += [str(model.bad), *map(str, model.constraints)]
    found = bytearray("\n".join(lines).encode() + b"\n")
    for gate, low, high in model.ands:
        for delta in (gate - high, high - low):
            while delta >= 128:
                found.append(delta & 127 | 128)
                delta >>= 7
            found.append(delta)
    return bytes(found)


def answered(model: Model, folder: Path, how: str) -> str:
    """What the outside checker says of a model."""
    assert model_checker.CHECKER is not None
    path = folder / "system.aig"
    path.write_bytes(binary(model))
    words = [model_checker.CHECKER, "-q", f"read {path}; fold; {how}; print_status"]
    return subprocess.run(words, capture_output=True, text=True, check=True, timeout=120).stdout


def made(claim: str) -> Study:
    """A latch with a claim."""
    return study_of(f'{LATCH}always "as asked" {claim}\n')


def test_the_outside_checker_proves_the_system_and_the_witness(tmp_path: Path) -> None:
    study = made("not (gate and gate.inverse)")
    certified = certify(study, study.claims[0], Meter(100_000))
    assert "Property proved" in answered(certified.case.model, tmp_path, "pdr")
    assert "Property proved" in answered(witness(certified.case.model, certified.invariant), tmp_path, "pdr")


def test_the_outside_checker_breaks_what_is_broken_in_as_many_steps_as_the_trace(tmp_path: Path) -> None:
    study = made("when pond rises then gate on within 2t")
    failure = Prover(study, Limits()).prove(study.claims[0]).failure
    assert failure is not None
    assert failure.check is not None
    case, _, steps = run_of(study, study.claims[0], failure.check.acts, failure.at)
    broken = re.search(r"asserted in frame (\d+)", answered(case.model, tmp_path, "bmc3"))
    assert broken is not None
    assert int(broken[1]) + 1 == len(steps)
