"""The kernel is one loop: it hands back where an order is open, and goes on by itself where none can matter."""

from __future__ import annotations

import pytest

from circuitcheck.engine import kernel
from circuitcheck.engine.orders import Orders
from circuitcheck.engine.program import Program
from circuitcheck.engine.simulator import Simulator
from circuitcheck.engine.start import the_start
from circuitcheck.engine.wiring import rewired
from circuitcheck.language.load import load_text
from circuitcheck.model.parts.waits import CLASS_BITS

FOR_EVER = 1 << 40
RING = """
torch wheel.0 from wheel.4 starts on
torch wheel.1 from wheel.0
torch wheel.2 from wheel.1
torch wheel.3 from wheel.2
torch wheel.4 from wheel.3
torch bell.0 from wheel.0
torch bell.1 from wheel.0
"""
MEETING = """
lever rope
torch drum from rope
torch winch from rope
torch bell from drum, winch
torch gong from drum, bell
"""


def started(text: str) -> Simulator:
    program = Program(load_text(text).studies[0].circuit)
    (simulator,) = Simulator(program, 0, the_start(program).levels).tell_everyone()
    return simulator


def test_it_stops_where_nothing_is_due() -> None:
    simulator = started("lever rope\ntorch drum from rope\n")
    assert kernel.run(simulator, FOR_EVER) == kernel.NOTHING_DUE
    assert simulator.now == 0


def test_it_hands_back_the_device_whose_readers_may_tie_and_only_once_where_they_do_not(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Rule C5b: that the order of three torches that nobody feels together can't matter is found out once."""
    simulator = started(RING)
    handed_back: list[int] = []
    told = Simulator._tell

    def counted(self: Simulator, changed: int) -> list[Simulator]:
        handed_back.append(changed)
        return told(self, changed)

    monkeypatch.setattr(Simulator, "_tell", counted)
    assert simulator.run(400) == [simulator]
    assert simulator.now > 390
    assert handed_back == [simulator.program.number["wheel.0"]]


def test_it_hands_back_a_slot_that_comes_up_while_an_order_is_open() -> None:
    simulator = started(MEETING)
    rope = simulator.program.number["rope"]
    (thrown,) = simulator.act_outside(rope, "throw", 0)
    assert thrown.ties is not None, "drum and winch are updated by one change, and the bell feels which is first"
    assert kernel.run(thrown, FOR_EVER) == kernel.SLOT_COMES_UP
    assert thrown.now == 2
    assert [key >> CLASS_BITS for key in thrown.keys] == [2], "nothing of the slot has been taken yet"


def test_what_its_fast_way_does_is_what_the_careful_way_does() -> None:
    quick, careful = started(RING), started(RING)
    careful.recorder = Silent()
    for until in range(1, 60):
        for simulator in (quick, careful):
            assert simulator.run(until) == [simulator]
            simulator.now = until
        assert quick.snapshot() == careful.snapshot()


class Silent:
    """A recorder that writes nothing down."""

    one_way = True

    def began(self, memory: object, device: int) -> None:
        pass

    def changed(self, memory: object, device: int, level: int) -> None:
        pass

    def stroked(self, memory: object, piston: int, rule: str, words: str, left: object) -> None:
        pass


def test_another_wiring_asks_again_whose_order_cannot_matter() -> None:
    """Rules M9, C5b: what was found out of one wiring's readers is not taken over into another's."""
    simulator = started(RING)
    program, home = simulator.program, simulator.wiring
    simulator.run(40)
    wheel, bell = program.number["wheel.0"], program.number["bell.0"]
    assert home.direct[wheel] == home.fanout[wheel]
    assert len(home.fanout[wheel]) == 3
    (port,) = program.devices[bell].ports
    feeds = [*home.feeds[:port], (), *home.feeds[port + 1 :]]
    made = rewired(home, program.devices, home.ports, home.port_device, feeds, home.straight, [port], Orders)
    assert [made.direct[wheel], made.free.get(wheel)] == [None, None]
    unchanged = rewired(home, program.devices, home.ports, home.port_device, home.feeds, home.straight, [], Orders)
    assert unchanged.direct[wheel] is None
    assert unchanged.is_free(wheel)
    assert unchanged.direct[wheel] == home.fanout[wheel]
