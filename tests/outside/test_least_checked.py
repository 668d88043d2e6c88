"""Circuits that the search makes from claims, before a model checker that is none of ours: it proves each claim too.

And a like circuit with one source too many, or too few, is broken there, so that a proof says something. Source: R.
Brayton and A. Mishchenko, "ABC: an academic industrial-strength verification tool" (CAV 2010), as Debian's package
berkeley-abc has it.
"""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from designing.test_least import LATCH, asked, framed, searched

from circuitcheck.designing.netlist import Netlist
from circuitcheck.engine.program import Program
from circuitcheck.model.claims import Study, Watched
from circuitcheck.prove.burnt_torches import quiet
from circuitcheck.prove.meter import Meter
from circuitcheck.prove.symbolic.system import System
from circuitcheck.prove.symbolic.watched import assumed, claimed

from . import model_checker

pytestmark = pytest.mark.skipif(model_checker.CHECKER is None, reason="no model checker here: berkeley-abc")
SECONDS = 60

FILES = {
    "inverter": asked('always "inverse"  out inverts rope, settled within 1t'),
    "latch": LATCH,
    "longer pulse": asked(
        'always "answers"  when rope rises then out within 4t',
        'always "length"   every pulse of out lasts 13t',
        inputs="button rope short",
    ).replace("12t", "40t"),
    "delay": asked(
        'always "late"  from rope rises to out rises takes 2t', 'always "ends"  from rope falls to out falls takes 2t'
    ),
}


def proved_outside(study: Study, folder: Path) -> list[bool]:
    """Of each claim whether the outside checker proves it; otherwise it has found a run that breaks it."""
    found = []
    for claim in study.claims:
        assert isinstance(claim.body, Watched)
        program = Program(quiet(study.circuit))
        system = System(program, range(len(program.devices)), Meter(10**9))
        assumed(system, study.assumptions)
        broken = claimed(system, claim.body)
        proved = model_checker.asked(system, broken, folder, SECONDS, proofs=True).proved
        if not proved:
            assert model_checker.asked(system, broken, folder, SECONDS, proofs=False).broken_at is not None
        found.append(proved)
    return found


def spoilt(netlist: Netlist, given: str) -> Netlist:
    """The netlist whose output an input powers as well, or no longer does."""
    others = tuple((name, sources) for name, sources in netlist.sources if name != "out")
    own = dict(netlist.sources)["out"]
    other = tuple(each for each in own if each != given) if given in own else (*own, given)
    return netlist._replace(sources=(*others, ("out", other)))


@pytest.mark.parametrize("name", FILES if "CIRCUITCHECK_LEAST" in os.environ else ("inverter", "delay"))
def test_what_was_made_is_proved_outside_and_what_is_spoilt_is_not(name: str, tmp_path: Path) -> None:
    found, frame = searched(FILES[name], 2), framed(FILES[name])
    assert found.netlist is not None
    assert all(proved_outside(frame.study_with(found.netlist), tmp_path))
    assert not all(proved_outside(frame.study_with(spoilt(found.netlist, frame.inputs[0])), tmp_path))
