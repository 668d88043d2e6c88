"""Whom the strokes of one moment affect, and what comes of them in any order, asked directly.

Common practice, no source: rules M1, M5, M7, M9, W10, Z7, Z8; each build says who reads or is updated by which stroke.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from circuitcheck.engine.motion import Motion
from circuitcheck.engine.program import Program
from circuitcheck.engine.stroke_effects import Act, Bringing, Effects
from circuitcheck.language.load import load_text
from circuitcheck.space.configuration import AT_HOME, Configuration, Phase
from circuitcheck.space.strokes import Step

from .test_shared_readers import row
from .test_which_strokes_collide import BESIDE_A_WARDEN, FAR_APART, build

CHANNELS = build(*FAR_APART, "SWSWS", "SdSdS")


class Moment:
    """Some pistons of a text that start out together, or that land together after they have."""

    def __init__(self, text: str, pistons: Iterable[str], landing: bool = False) -> None:
        loaded = load_text(text)
        assert not loaded.diagnostics
        self.program = Program(loaded.studies[0].circuit)
        assert self.program.motion is not None
        self.motion: Motion = self.program.motion
        numbers = [self.program.number[name] for name in pistons]
        self.now = AT_HOME
        if landing:
            for number in numbers:
                self.now = self.started(self.now, number).after
        steps = {each: self.motion.land(self.now, each) if landing else self.started(AT_HOME, each) for each in numbers}
        self.acts = tuple(Act(each, step) for each, step in sorted(steps.items()))

    def started(self, now: Configuration, piston: int) -> Step:
        step = self.motion.strokes.start_out(now, self.motion.home_of[piston])
        assert isinstance(step, Step)
        return step

    def effects(self, acts: tuple[Act, ...] = ()) -> Effects | None:
        return Bringing(self.motion, self.now, acts or self.acts).effects()

    def brought(self) -> Effects:
        found = self.effects()
        assert found is not None
        return found

    def named(self, devices: Iterable[int]) -> set[str]:
        return {self.program.names[device] for device in devices}

    def affected(self) -> dict[str, set[str]]:
        return {self.program.names[act]: self.named(found) for act, found in self.brought().affected.items()}

    def heard(self) -> dict[str, set[str]]:
        found = self.brought()
        return {self.program.names[ear]: self.named(found.heard(ear)) for ear in found.ears}


STIRS = ("stir.1", "stir.2")


def test_a_stroke_affects_its_piston_and_its_block() -> None:
    moment = Moment(build(*FAR_APART), STIRS)
    assert moment.affected() == {"stir.1": {"stir.1", "stir.1.block"}, "stir.2": {"stir.2", "stir.2.block"}}
    found = moment.brought()
    assert moment.named(found.changed) == {"stir.1.block", "stir.2.block"}
    assert moment.named(found.shifting) == {*STIRS, "stir.1.block", "stir.2.block"}
    assert moment.heard() == {"stir.1": set(), "stir.2": set()}
    assert found.read == {}


def test_the_piston_beside_one_that_starts_is_updated() -> None:
    """M5: the piston's own place updates the six around it."""
    affected = Moment(build(".vv..", ".SS.."), STIRS).affected()
    assert affected == {"stir.1": {*STIRS, "stir.1.block"}, "stir.2": {*STIRS, "stir.2.block"}}


def test_a_piston_at_home_depends_on_who_comes_before_its_head() -> None:
    """M7: whether it can start rests on what stands there; it is changed by both, though what it reads stays."""
    moment = Moment(build(*BESIDE_A_WARDEN), STIRS)
    assert {name for name, devices in moment.affected().items() if "warden" in devices} == set(STIRS)
    assert "warden" in moment.named(moment.brought().changed)


def test_strokes_that_share_a_place_are_not_told_apart() -> None:
    assert Moment(build(".e.w."), ("paddle.1", "paddle.2")).effects() is None


def test_one_act_alone_shares_no_place_with_another() -> None:
    moment = Moment(build(".e.w."), ("paddle.1", "paddle.2"))
    assert moment.effects(moment.acts[:1]) is not None


def test_what_is_not_done_affects_nobody() -> None:
    """A piston that is blocked, or not called for any more, has a turn and does nothing."""
    moment = Moment(build(*FAR_APART), STIRS)
    idle = Act(moment.acts[0].piston, None)
    found = moment.effects((idle, moment.acts[1]))
    assert found is not None
    assert moment.named(found.affected[idle.piston]) <= {"stir.1", "stir.1.block"}
    assert moment.named(found.affected[moment.acts[1].piston]) == {"stir.2", "stir.2.block"}


def test_water_that_is_taken_and_that_beside_it_is_updated_and_who_watches_it_feels_it() -> None:
    """Z7, Z8, M5: of the places that water can reach, those that the stroke's places touch."""
    moment = Moment(CHANNELS, STIRS)
    wet = {name.removeprefix("water_2_") for name in moment.affected()["stir.1"] if name.startswith("water")}
    assert wet == {"2_1", "2_3", "3_1", "3_2", "3_3", "4_2"}
    assert {name: devices & {"float.1", "float.2"} for name, devices in moment.affected().items()} == {
        "stir.1": {"float.1"},
        "stir.2": {"float.2"},
    }
    assert {"float.1", "float.2"} < moment.named(moment.brought().changed)


def test_what_hears_a_level_is_updated_by_the_stroke_that_shifts_it_and_by_no_other() -> None:
    heard = Moment(CHANNELS, STIRS).heard()
    assert heard["water_2_4_2"] == {"stir.1"}
    assert heard["water_2_4_4"] == {"stir.2"}
    assert heard["water_2_3_3"] == set(STIRS)  # it lies between the two places that the blocks leave
    assert heard["water_2_2_3"] == set()


def test_behind_a_stroke_nothing_is_updated_by_it_any_more() -> None:
    moment = Moment(CHANNELS, STIRS)
    found, between = moment.brought(), moment.program.number["water_2_3_3"]
    one, other = (act.piston for act in moment.acts)
    assert found.behind(frozenset({one})).heard(between) == {other}


def test_water_that_nobody_feels_is_no_matter() -> None:
    moment = Moment(build(".v.v.", "S.W.S", "SSSSS"), STIRS)
    assert not any(name.startswith("water") for devices in moment.affected().values() for name in devices)
    assert moment.heard() == {}


def parts_of(names: Iterable[str]) -> Iterator[frozenset[str]]:
    every = sorted(names)
    for number in range(2 ** len(every)):
        yield frozenset(name for bit, name in enumerate(every) if number >> bit & 1)


def test_who_reads_one_line_that_several_light_is_read_after_each_part_of_their_strokes() -> None:
    three = tuple(f"stir.{number}" for number in (1, 2, 3))
    moment = Moment(row(3), three, landing=True)
    found = moment.brought()
    reader = moment.program.number["reader"]
    read = {frozenset(moment.named(part)): inputs for part, inputs in found.read[reader].items()}
    assert set(read) == set(parts_of(three))
    assert len(set(read.values())) == 8  # each torch below a block that has landed feeds it
    assert all("reader" in devices for devices in moment.affected().values())


def test_behind_some_strokes_the_others_bring_about_what_is_left() -> None:
    three = tuple(f"stir.{number}" for number in (1, 2, 3))
    moment = Moment(row(3), three, landing=True)
    found = moment.brought()
    first, *rest = (act.piston for act in moment.acts)
    left = found.behind(frozenset({first}))
    assert set(left.affected) == set(rest)
    reader = moment.program.number["reader"]
    assert left.read[reader] == {part - {first}: each for part, each in found.read[reader].items() if first in part}
    assert left.context(frozenset()) == found.context(frozenset({first}))
    assert left.context(frozenset(rest)) == found.context(frozenset({first, *rest}))
    assert (left.changed, left.shifting, left.ears) == (found.changed, found.shifting, found.ears)


def test_the_configuration_after_some_of_the_strokes_is_theirs_in_any_order() -> None:
    moment = Moment(build(*FAR_APART), STIRS)
    found, (one, other) = moment.brought(), (act.piston for act in moment.acts)
    both = moment.started(moment.started(AT_HOME, one).after, other).after
    assert found.context(frozenset({one, other})) == both
    assert found.context(frozenset({one})) == moment.started(AT_HOME, one).after
    assert found.context(frozenset()) == AT_HOME
    assert both.phase(moment.motion.home_of[other]) is Phase.GOING_OUT
