"""Blocks that land in one moment beside one line: whether it matters which is first to those who read the line.

Common practice, no source: rules C5, M2, M3, R2, W8. Blocks come to stand over torches that always burn, in the order
in which one lever called their pistons, which is open; so they light a line of dust, and leave it dark again.
"""

from __future__ import annotations

import pytest

from circuitcheck.engine.program import Program
from circuitcheck.engine.simulator import Simulator
from circuitcheck.engine.start import the_start
from circuitcheck.engine.step import Action, merge, run_game_tick
from circuitcheck.engine.stroke_orders import StrokeOrders
from circuitcheck.language.load import load_text
from circuitcheck.model.parts.simulator_view import SimulatorView
from circuitcheck.space.configuration import Configuration

LEGEND = """language 1
circuit row
rules newer
setting piston_lands {lands}
legend
  .  air
  S  block
  -  dust
  *  torch     on north
  v  piston    facing south  sticky  named stir
  i  lever     named rope
  r  repeater  facing south  delay {delay}  named reader
  q  repeater  facing west   delay 1t  named other
end
"""


def row(many: int, beside: str = ".", delay: str = "1t", lands: str = "late") -> str:
    """Pistons abreast on one line, whose blocks come to light another; what is beside the first, where it lands."""
    wall, free = "S" * (many + 2), "." * (many + 2)
    layers = (
        [wall, wall, wall, f"S{'*' * many}S", wall, wall],
        [wall, f".{'v' * many}.", f".{'S' * many}.", beside + free[1:], f".{'-' * many}.", f".r{'.' * many}"],
        [f"i{'-' * many}.", free, free, free, free, free],
    )
    drawn = [f"  layer {number}\n" + "".join(f"    {row}\n" for row in each) for number, each in enumerate(layers, 1)]
    return LEGEND.format(delay=delay, lands=lands) + "drawing\n" + "".join(f"{each}  end\n" for each in drawn) + "end\n"


def followed(text: str, monkeypatch: pytest.MonkeyPatch) -> tuple[int, set[frozenset[str]]]:
    """How many ways were followed at most, and who collided, while the rope is pulled in gt 10 and let go in gt 40."""
    loaded = load_text(text)
    assert not loaded.diagnostics
    program, collided = Program(loaded.studies[0].circuit), set[frozenset[str]]()
    as_it_is = StrokeOrders.colliding

    def colliding(
        self: StrokeOrders, simulator: SimulatorView, now: Configuration, pistons: tuple[int, ...], order_class: int
    ) -> frozenset[tuple[int, int]]:
        found = as_it_is(self, simulator, now, pistons, order_class)
        collided.update(frozenset(program.names[piston] for piston in pair) for pair in found)
        return found

    monkeypatch.setattr(StrokeOrders, "colliding", colliding)
    simulators, most = Simulator(program, 0, the_start(program).levels).tell_everyone(), 0
    for gt in range(1, 60):
        for simulator in simulators:
            simulator.now = gt
        actions = {10: [Action(program.number["rope"], "on")], 40: [Action(program.number["rope"], "off")]}
        simulators = run_game_tick(simulators, actions.get(gt, []))
        most = max(most, len(simulators))
        simulators = merge(simulators)
        if gt == 20:
            assert {simulator.levels[program.number["reader"]] for simulator in simulators} == {15}
    return most, collided


@pytest.mark.parametrize("lands", ["late", "wait"])
def test_seven_that_land_beside_one_line_are_followed_in_one_order(lands: str, monkeypatch: pytest.MonkeyPatch) -> None:
    assert followed(row(7, lands=lands), monkeypatch) == (1, set())


def test_they_collide_where_the_block_of_one_calls_another_repeater_that_acts_with_the_reader(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Who is called first acts first, so the first block's landing before the others or behind them can show."""
    _, collided = followed(row(3, beside="q"), monkeypatch)
    assert frozenset({"stir.1", "stir.2"}) in collided


def test_they_don_t_where_the_other_repeater_acts_in_another_gt(monkeypatch: pytest.MonkeyPatch) -> None:
    assert followed(row(3, beside="q", delay="2t"), monkeypatch) == (1, set())
