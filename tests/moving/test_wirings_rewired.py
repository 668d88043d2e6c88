"""A wiring made out of the one at home comes to what it comes to if it is made whole; and how little is made for it.

The program's own two ways held against each other; the wirings themselves are held against drawings read afresh.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from circuitcheck.engine.configured import Standing
from circuitcheck.engine.motion import Motion
from circuitcheck.engine.program import Program
from circuitcheck.engine.wiring import wiring
from circuitcheck.language.load import load_file
from circuitcheck.space.configuration import AT_HOME

CIRCUITS = Path(__file__).resolve().parents[2] / "circuits"


def motion_of(name: str) -> tuple[Program, Motion]:
    program = Program(load_file(CIRCUITS / f"{name}.circuit").studies[0].circuit)
    assert program.motion is not None
    return program, program.motion


def each_stroke(motion: Motion) -> list[Standing]:
    return [motion.standing(now) for each in motion.strokes.one_at_a_time() for now in (each.under_way, each.landed)]


@pytest.mark.parametrize("name", ["hopper", "ripple", "watchpair", "turfwatch"])
def test_a_wiring_made_out_of_that_at_home_is_the_one_made_whole(name: str) -> None:
    _, motion = motion_of(name)
    for standing in each_stroke(motion):
        made = standing.wiring
        ports = range(len(made.ports))
        whole = wiring(standing.devices, made.ports, made.port_device, made.feeds, made.straight, ports)
        assert made.readers == whole.readers
        assert made.fanout == whole.fanout
        assert made.acts == whole.acts


@pytest.mark.parametrize("name", ["ripple", "turfwatch"])
def test_what_a_stroke_does_not_reach_is_not_made_again(name: str) -> None:
    program, motion = motion_of(name)
    home = motion.standing(AT_HOME).wiring
    for standing in each_stroke(motion):
        kept = [mine is theirs for mine, theirs in zip(standing.wiring.readers, home.readers, strict=True)]
        assert kept.count(False) < len(program.devices) / 2
