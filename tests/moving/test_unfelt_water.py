"""Water that no part feels is followed in one order, and what a part may feel in all (Z2, Z6, Z8, C5).

Common practice, no source. How many states there are at most while the water falls dry is what the orders come to.
"""

from __future__ import annotations

import pytest

from circuitcheck.engine.program import Program
from circuitcheck.engine.simulator import Simulator
from circuitcheck.engine.start import the_start
from circuitcheck.engine.step import Action, merge, run_game_tick
from circuitcheck.language.load import load_text
from circuitcheck.model.drawing import Drawing
from circuitcheck.space import unfelt

LEGEND = """language 1
circuit race
rules newest
legend
  .  air
  S  block
  W  water
  -  dust
  h  half      at top
  i  lever     named gear
  P  piston    facing below  named gate
  p  piston    facing west   sticky
  d  detector  facing east
  t  torch
end
"""


def channels(many: int, at_the_end: str = "S", floor: str = "S", beside: str = ".") -> str:
    """Channels side by side, a gate above the first place of each; what stands at its end, below a place of it, and
    beside the place above its end.
    """
    rows = 2 * many + 1
    layers = (
        [f"SSSS{floor}SSS" if row % 2 else "SSSSSSSS" for row in range(rows)],
        [f"SW....{at_the_end}S" if row % 2 else "SSSSSSSS" for row in range(rows)],
        [f".SP....{beside}" if row % 2 else ".S......" for row in range(rows)],
        [".i......", *[".-......"] * (rows - 1)],
    )
    drawn = [f"  layer {number}\n" + "".join(f"    {row}\n" for row in each) for number, each in enumerate(layers, 1)]
    return LEGEND + "drawing\n" + "".join(f"{each}  end\n" for each in drawn) + "end\n"


def most_states(text: str, until: int = 50) -> int:
    """How many states there are at most, with the gates called in gt 10."""
    loaded = load_text(text)
    assert not loaded.diagnostics
    program = Program(loaded.studies[0].circuit)
    simulators, most = Simulator(program, 0, the_start(program).levels).tell_everyone(), 0
    for gt in range(1, until):
        for simulator in simulators:
            simulator.now = gt
        hands = [Action(program.number["gear"], "on")] if gt == 10 else []
        simulators = merge(run_game_tick(simulators, hands))
        most = max(most, len(simulators))
    return most


def test_the_water_of_four_channels_is_one_state_where_nobody_feels_it() -> None:
    assert most_states(channels(1)) == 1
    assert most_states(channels(4)) == 1


def test_every_order_is_followed_where_a_detector_watches_the_last_place() -> None:
    assert most_states(channels(1, at_the_end="d")) > 1


def test_every_order_is_followed_where_a_stuck_piston_stands_beside_the_water() -> None:
    assert most_states(channels(1, at_the_end="p", beside="t")) > 1


def test_a_piston_that_nothing_ever_powers_feels_no_water() -> None:
    assert most_states(channels(1, at_the_end="p")) == 1


def test_every_order_is_followed_over_a_half_block_which_the_water_may_not_come_to_stand_on_as_a_source() -> None:
    assert most_states(channels(1, floor="h")) > 1


def test_two_channels_that_are_felt_are_independent() -> None:
    """So their states are those of each with each; that the gates start in either order adds nothing (M2, M13)."""
    one = most_states(channels(1, at_the_end="d"))
    assert most_states(channels(2, at_the_end="d")) == one * one


def test_which_parts_are_graded_is_asked_once_a_drawing_however_many_pistons_there_are(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A drawing of 64 × 64 × 16 with 200 pistons spent half of its time on asking all its things for each of them."""
    asked, ask = list[Drawing](), unfelt.graded_parts

    def counted(drawing: Drawing) -> frozenset[str]:
        asked.append(drawing)
        return ask(drawing)

    monkeypatch.setattr(unfelt, "graded_parts", counted)
    circuit = load_text(channels(4)).studies[0].circuit
    assert circuit.drawing is not None
    assert sum(thing.pushes for thing in circuit.drawing.things.values()) == 4
    Program(circuit)
    assert len(asked) == 1
