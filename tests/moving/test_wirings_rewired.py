"""A wiring made out of the one at home comes to what it comes to if it is made whole; how little is read for it.

The program's own two ways held against each other; the wirings themselves are held against drawings read afresh.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import islice
from pathlib import Path

import pytest

from circuitcheck.engine.configured import Standing
from circuitcheck.engine.motion import Motion
from circuitcheck.engine.program import Program
from circuitcheck.engine.wiring import wiring
from circuitcheck.language.load import load_file
from circuitcheck.model.drawing import At, Thing
from circuitcheck.space import wirings
from circuitcheck.space.configuration import AT_HOME
from circuitcheck.space.drivers import DriverLookup
from circuitcheck.space.room import MayStand

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


def brought_by_a_stroke(motion: Motion) -> MayStand:
    """What may stand where the strokes of the first two pistons have been, at home and out."""
    found: dict[At, tuple[Thing | None, ...]] = {}
    for each in islice(motion.strokes.one_at_a_time(), 2):
        scenes = [motion.wirings.standing(now).things for now in (AT_HOME, each.under_way, each.landed)]
        for at in {place for things in scenes for place in things}:
            if len(stands := {things.get(at) for things in scenes}) > 1:
                found[at] = tuple(stands)
    return MayStand(found)


@pytest.mark.parametrize("name", ["ripple", "turfwatch"])
def test_what_may_change_a_reading_is_the_same_whether_or_not_others_were_read_before(
    name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    _, motion = motion_of(name)
    asked, usual = list[At](), DriverLookup._strongly

    def strongly(self: DriverLookup, block: At) -> Iterable[At]:
        asked.append(block)
        return usual(self, block)

    monkeypatch.setattr(DriverLookup, "_strongly", strongly)
    may_stand = brought_by_a_stroke(motion)
    places = sorted(at for at, thing in motion.drawing.things.items() if thing.is_part)
    together = [list(motion.wirings.looked_at(AT_HOME, at, may_stand)) for at in places]
    once = list(asked)
    motion.wirings._looked_at.clear()
    monkeypatch.setattr(wirings, "MOST_COMPARED", 0)
    apart = [list(motion.wirings.looked_at(AT_HOME, at, may_stand)) for at in places]
    assert together == apart
    assert any(noted for found in together for _, _, noted in found)
    assert len(once) == len(set(once)) < len(asked) - len(once)
