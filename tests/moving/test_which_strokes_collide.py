"""Which of two pistons that one line calls collide as they start or land, so that both orders are followed.

Common practice, no source: rules C5, M2, M5, M6, M7, M13. Each build says who is affected by both strokes, if anyone.
The orders that are left out are held against all others in `test_orders_of_strokes.py`, which takes longer.
"""

from __future__ import annotations

from typing import NamedTuple

import pytest

from circuitcheck.engine.program import Program
from circuitcheck.engine.simulator import Simulator
from circuitcheck.engine.start import the_start
from circuitcheck.engine.step import Action, merge, run_game_tick
from circuitcheck.engine.stroke_orders import StrokeOrders
from circuitcheck.language.load import load_text
from circuitcheck.model.parts.simulator_view import SimulatorView
from circuitcheck.model.parts.waits import CALLED
from circuitcheck.space.configuration import Configuration

HEAD = """language 1
circuit pair
rules newer
legend
  .  air
  S  block
  -  dust
  *  torch     named ember
  v  piston    facing south  sticky  named stir
  e  piston    facing east   named paddle
  w  piston    facing west   named paddle
  n  piston    facing north  named warden
  W  water
  d  detector  facing south  named float
  i  lever     named rope
end
"""
WALL = "SSSSS"
FREE = "....."


class Collided(NamedTuple):
    """The pairs that collide, by name: of those that start in one moment, and of those that land."""

    starting: frozenset[frozenset[str]]
    landing: frozenset[frozenset[str]]


def build(*rows: str, above: str = FREE) -> str:
    """Rows from the third on of the layer of the pistons, whose first is a wall; with what is above the fifth."""
    plan = [WALL, *rows, *[FREE] * (5 - len(rows))]
    layers = [[WALL] * 6, plan, ["i----", FREE, FREE, FREE, above, FREE]]
    drawn = [f"  layer {number}\n" + "".join(f"    {row}\n" for row in each) for number, each in enumerate(layers, 1)]
    return HEAD + "drawing\n" + "".join(f"{each}  end\n" for each in drawn) + "end\n"


def collided(text: str, monkeypatch: pytest.MonkeyPatch, off: int) -> Collided:
    """Who collides while the rope is pulled in gt 10 and let go later."""
    loaded = load_text(text)
    assert not loaded.diagnostics, loaded.diagnostics
    program = Program(loaded.studies[0].circuit)
    starting, landing = set[frozenset[str]](), set[frozenset[str]]()
    as_it_is, asked = StrokeOrders.colliding, list[bool]()

    def colliding(
        self: StrokeOrders, simulator: SimulatorView, now: Configuration, pistons: tuple[int, ...], order_class: int
    ) -> frozenset[tuple[int, int]]:
        found = as_it_is(self, simulator, now, pistons, order_class)
        asked.append(len(pistons) > 1)
        pairs = {frozenset(program.names[piston] for piston in pair) for pair in found}
        (starting if order_class == CALLED else landing).update(pairs)
        return found

    monkeypatch.setattr(StrokeOrders, "colliding", colliding)
    simulators = Simulator(program, 0, the_start(program).levels).tell_everyone()
    actions = {10: [Action(program.number["rope"], "on")], off: [Action(program.number["rope"], "off")]}
    for gt in range(1, off + 10):
        for simulator in simulators:
            simulator.now = gt
        simulators = merge(run_game_tick(simulators, actions.get(gt, [])))
    assert any(asked), "the two never tie"
    return Collided(frozenset(starting), frozenset(landing))


NOBODY: frozenset[frozenset[str]] = frozenset()
STIRS = frozenset({frozenset({"stir.1", "stir.2"})})
PADDLES = frozenset({frozenset({"paddle.1", "paddle.2"})})
FAR_APART = (".v.v.", ".S.S.")
BESIDE_A_WARDEN = (*FAR_APART, "..n..", "..S..")
"""The blocks come to the two sides of a piston. A torch above the fifth row powers the place above it (rule W9)."""


def test_two_with_nothing_around_them_collide_neither_as_they_start_nor_as_they_land(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    assert collided(build(*FAR_APART), monkeypatch, off=40) == (NOBODY, NOBODY)
    assert collided(build(*FAR_APART), monkeypatch, off=11) == (NOBODY, NOBODY)


def test_neighbours_do_not_collide(monkeypatch: pytest.MonkeyPatch) -> None:
    assert collided(build(".vv..", ".SS.."), monkeypatch, off=40) == (NOBODY, NOBODY)


def test_two_whose_blocks_land_beside_an_armed_piston_collide(monkeypatch: pytest.MonkeyPatch) -> None:
    """M5: the landings of both update it, and it starts at the first."""
    found = collided(build(*BESIDE_A_WARDEN, above="..*.."), monkeypatch, off=40)
    assert STIRS in (found.starting, found.landing)


def test_two_that_let_go_of_their_blocks_beside_an_armed_piston_collide_as_they_start_home(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """M6: the blocks land in the moment in which the pistons start home, and that updates what is around them."""
    assert collided(build(*BESIDE_A_WARDEN, above="..*.."), monkeypatch, off=11).starting == STIRS


def test_two_face_to_face_with_one_place_between_collide_as_they_start(monkeypatch: pytest.MonkeyPatch) -> None:
    assert collided(build(".e.w."), monkeypatch, off=40) == (PADDLES, NOBODY)


def test_two_that_cut_water_which_nobody_feels_do_not_collide(monkeypatch: pytest.MonkeyPatch) -> None:
    """Z10: of water that no part feels one order is followed."""
    assert collided(build(".v.v.", "S.W.S", "SSSSS"), monkeypatch, off=40) == (NOBODY, NOBODY)


def test_two_whose_blocks_take_the_water_of_channels_of_their_own_do_not_collide(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Z7, Z8: each water that is felt is updated by one stroke alone, however long the pistons stay out."""
    channels = build(*FAR_APART, "SWSWS", "SdSdS")
    assert collided(channels, monkeypatch, off=40) == (NOBODY, NOBODY)
    assert collided(channels, monkeypatch, off=11) == (NOBODY, NOBODY)


def test_two_whose_blocks_take_the_water_on_both_sides_of_water_that_is_felt_collide(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Z8: the place between them is updated by both, and holds one look, begun by the first."""
    found = collided(build(*FAR_APART, "SWWWS", "SSdSS"), monkeypatch, off=40)
    assert STIRS in (found.starting, found.landing)
