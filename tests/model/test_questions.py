"""Every kind of part answers every question about itself; one that does not is refused when the table is built.

Source: none; what a kind must say is this program's own. The kinds of the table are held against what they do.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import ClassVar

import pytest

from circuitcheck.diagnostics import NOWHERE
from circuitcheck.model.parts import KINDS, lamp, lever, torch
from circuitcheck.model.parts.base import Conducts, Device, Part, Port
from circuitcheck.model.parts.kinds import Kind
from circuitcheck.model.parts.lamp import Lamp, LampDevice
from circuitcheck.model.parts.lever import Lever, LeverDevice
from circuitcheck.model.parts.questions import ASKED, KindError, faulty, table_of
from circuitcheck.model.parts.simulator_view import SimulatorView
from circuitcheck.model.parts.torch import Torch
from circuitcheck.model.parts.waits import ALL_ELSE, CALLED, wait_of

from .ember import KIND as EMBER


def refused(kind: Kind) -> str:
    """What a table says that is given this kind."""
    with pytest.raises(KindError) as wrong:
        table_of([kind])
    return str(wrong.value)


def with_sample(kind: Kind, sample: Part) -> Kind:
    return replace(kind, samples=(sample,))


@pytest.mark.parametrize("word", [*KINDS, "ember"])
def test_a_kind_of_the_table_answers_rightly(word: str) -> None:
    kind = {**KINDS, "ember": EMBER}[word]
    assert list(faulty(replace(kind, samples=(*kind.samples, *kind.seldom())))) == []


def test_what_few_circuits_have_is_among_what_is_asked() -> None:
    assert {type(part).__name__ for part in KINDS["detector"].seldom()} == {
        "SelfArming",
        "ArmingBlock",
        "LineThroughHome",
    }


@pytest.mark.parametrize("question", ASKED)
def test_a_kind_that_leaves_a_question_open_is_refused_and_the_question_named(question: str) -> None:
    answers = {name: value for name, value in vars(Lamp).items() if name in ASKED and name != question}
    silent = type("Silent", (Part,), {**answers, "ports": Lamp.ports, "feeds": ("y",), "device": Lamp.device})
    message = refused(with_sample(lamp.KIND, silent(name="x", span=NOWHERE)))
    assert "'lamp'" in message
    assert f"('{question}')" in message


def test_no_question_has_an_answer_to_fall_back_on() -> None:
    assert not {name for name in ASKED if name in vars(Part)} - {"faults", "mistakes", "adjustments"}
    bare = Part(name="x", span=NOWHERE)
    for question in (bare.faults, bare.mistakes, bare.adjustments):
        with pytest.raises(NotImplementedError):
            question()


def test_a_kind_without_a_sample_is_refused() -> None:
    assert "sample" in refused(replace(lamp.KIND, samples=()))


def test_what_is_wrong_with_a_second_sample_is_reported_beside_what_the_first_leaves_open() -> None:
    answers = {name: value for name, value in vars(Lamp).items() if name in ASKED and name != "burns_out"}
    silent = type("Silent", (Part,), {**answers, "ports": Lamp.ports, "feeds": ("y",), "device": Lamp.device})
    shining = type("Shining", (Lamp,), {"light": 16})
    samples = (silent(name="x", span=NOWHERE), shining(name="x", span=NOWHERE, feeds=("y",)))
    open_one, wrong_one = faulty(replace(lamp.KIND, samples=samples))
    assert "Silent" in open_one
    assert "'burns_out'" in open_one
    assert "Shining" in wrong_one
    assert "'light'" in wrong_one


def test_two_kinds_of_one_word_are_refused() -> None:
    with pytest.raises(KindError, match="lever"):
        table_of([lever.KIND, lever.KIND])


@pytest.mark.parametrize("light", [16, -1])
def test_a_light_that_is_no_level_is_refused(light: int) -> None:
    shining = type("Shining", (Lamp,), {"light": light})
    assert str(light) in refused(with_sample(lamp.KIND, shining(name="x", span=NOWHERE, feeds=("y",))))


def test_a_field_that_it_has_not_is_refused_as_what_powers_it() -> None:
    wired = type("Wired", (Lamp,), {"powered_by": ("fed",)})
    assert "'fed'" in refused(with_sample(lamp.KIND, wired(name="x", span=NOWHERE, feeds=("y",))))


def test_a_port_that_nothing_powers_is_refused() -> None:
    wired = type("Wired", (Lamp,), {"ports": lambda _: (Port("power", ("elsewhere",)),)})
    assert "elsewhere" in refused(with_sample(lamp.KIND, wired(name="x", span=NOWHERE, feeds=("y",))))


def lamp_that_behaves(**does: object) -> Kind:
    """A lamp with a device of other behaviour."""
    device = type("Other", (LampDevice,), {"__slots__": (), **does})

    @dataclass(frozen=True, slots=True, kw_only=True)
    class Other(Lamp):
        def device(self, index: int, ports: object, straight: bool, rules: object) -> Device:
            made = device(self, index, ports)
            assert isinstance(made, Device)
            return made

    return with_sample(lamp.KIND, Other(name="x", span=NOWHERE, feeds=("y",)))


def test_a_level_of_16_is_refused() -> None:
    assert "16" in refused(lamp_that_behaves(act=lambda *_: 16))


def test_a_wait_of_0_is_refused() -> None:
    assert "wait of 0" in refused(lamp_that_behaves(waits=frozenset({wait_of(0, ALL_ELSE)})))


def test_a_level_that_is_given_at_once_is_refused_where_it_is_not_said() -> None:
    assert "'zero_delay'" in refused(lamp_that_behaves(zero_delay=False))


def test_a_wait_that_it_does_not_say_it_begins_is_refused() -> None:
    assert "'waits_on_change'" in refused(lamp_that_behaves(on_input_change=lambda *_: wait_of(7, ALL_ELSE)))


def begins_of_itself(device: Device, simulator: SimulatorView) -> int:
    simulator.begin(device.index, wait_of(7, ALL_ELSE))
    return 0


def test_a_wait_that_it_does_not_say_it_begins_of_itself_is_refused() -> None:
    assert "'own_waits'" in refused(lamp_that_behaves(act=begins_of_itself))


def test_a_part_that_is_called_may_start_in_the_same_gt() -> None:
    """M2: what is called before pistons start, starts in that gt; the call is a wait of none, in a class of its own."""
    called = lamp_that_behaves(
        on_input_change=lambda _, simulator: simulator.call,
        waits_on_change=lambda *_: frozenset({wait_of(0, CALLED)}),
    )
    assert list(faulty(called)) == []


def test_levels_between_none_and_full_are_refused_of_what_says_that_it_gives_none() -> None:
    assert "'graded'" in refused(lamp_that_behaves(act=lambda *_: 7))


def test_a_delay_that_is_not_its_own_is_refused() -> None:
    late = type("Late", (Torch,), {"lag": 6})
    assert "'lag'" in refused(with_sample(torch.KIND, late(name="x", span=NOWHERE, feeds=("y",))))


def test_a_part_that_gives_no_power_says_how_that_is_reported() -> None:
    class Mute(Lever):
        conducts: ClassVar[Conducts] = Conducts.NOTHING

        def device(self, index: int, *_: object) -> Device:
            return LeverDevice(self, index, ())

    assert "'powerless'" in refused(with_sample(lever.KIND, Mute(name="x", span=NOWHERE)))
