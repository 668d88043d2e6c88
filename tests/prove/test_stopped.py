"""A proof that is stopped, and claims that no search can decide for want of a start."""

from __future__ import annotations

import itertools
import os
import signal
import subprocess
import time

import pytest

from circuitcheck.prove.meter import Limits, Meter
from circuitcheck.prove.prover import Prover
from circuitcheck.prove.symbolic.sat import Sat

from .random_circuits import study_of

# Source: n + 1 pigeons in n holes need proofs of exponential length by resolution: A. Haken, "The intractability of
# resolution" (1985); so that the solver is still at work when it is stopped.
HOLES = 12


def pigeons() -> list[list[int]]:
    """One pigeon more than there are holes, each in one."""
    place = {key: number for number, key in enumerate(itertools.product(range(HOLES + 1), range(HOLES)), 1)}
    each = [[place[pigeon, hole] for hole in range(HOLES)] for pigeon in range(HOLES + 1)]
    pairs = itertools.combinations(range(HOLES + 1), 2)
    return each + [[-place[one, hole], -place[other, hole]] for one, other in pairs for hole in range(HOLES)]


def interrupt() -> None:
    """Stops this process as Ctrl-C does, and gives it time to notice."""
    os.kill(os.getpid(), signal.SIGINT)
    time.sleep(5)


def test_the_solver_stopped_by_a_user_is_an_interrupt_like_any_other() -> None:
    sat = Sat(pigeons(), Meter(10**9))
    # The solver lets no other thread go on, so that another process must stop it.
    with subprocess.Popen(["sh", "-c", f"sleep 0.3; kill -INT {os.getpid()}"]), pytest.raises(KeyboardInterrupt):
        sat.ask([])
    # What comes behind it is stopped as before: here, and in processes that are begun from here.
    with pytest.raises(KeyboardInterrupt):
        interrupt()
    with subprocess.Popen(["sleep", "60"]) as child:
        child.send_signal(signal.SIGINT)
        assert child.wait(5) == -signal.SIGINT


def test_where_starts_are_too_many_it_helps_to_say_them_and_nothing_else() -> None:
    latches = "".join(f"latch gate{at} set one reset other\n" for at in range(12))
    study = study_of(f'lever one\nlever other\n{latches}never "both" gate0 and gate1.inverse\n')
    proof = Prover(study, Limits()).prove(study.claims[0]).proof
    assert proof is not None
    (hint,) = proof.hints
    assert "starts" in hint
    assert "--states" not in hint
