"""Pistons that one change calls together: the orders that the program leaves out show nothing that the others don't.

Random boxes with two to four pistons abreast, run twice: as always, and with every order of what ties followed. At the
end of each gt both can show the same. (Common practice, no source: C5, M2, M13, Z10.)

`CIRCUITCHECK_BOXES=3000 python -m pytest tests/moving/test_orders_of_strokes.py` compares so many boxes instead.
"""

from __future__ import annotations

import itertools
import os
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from random import Random

import pytest

from circuitcheck.engine import work
from circuitcheck.engine.moving_orders import MovingOrders
from circuitcheck.engine.orders import TooManyOrders
from circuitcheck.engine.stroke_orders import StrokeOrders
from circuitcheck.model.parts.simulator_view import SimulatorView
from circuitcheck.space.configuration import Configuration

from .engine_runs import Runs, Unread
from .plain.boxes import Sketcher, at_rest
from .plain.runs import Shot
from .plain.things import SOURCE, Action, Box, Settings, Thing, box

BATCHES = 4
BOXES = int(os.environ.get("CIRCUITCHECK_BOXES", "12"))
WORK = 400_000
"""How much work a run may take; one with every order followed often takes more, and is left out."""
UNTIL = 30


class Abreast(Sketcher):
    """A line on blocks, beside them pistons that face away from it, their loads, channels of water, and the rest."""

    def box(self) -> Box:
        chance = self.chance
        columns = chance.randint(4, 7)
        self.size = (4, 6, columns)
        self.things |= {(1, row, column): Thing("block") for row in range(1, 7) for column in range(1, columns + 1)}
        for column in range(2, columns + 1):
            self.things[2, 1, column] = Thing("block")
            self.things[3, 1, column] = Thing("dust")
        self.things[2, 1, 1] = Thing("block")
        self.things[3, 1, 1] = Thing("lever")
        for column in chance.sample(range(1, columns + 1), chance.randint(2, min(4, columns))):
            self._abreast(column)
        for column in (*range(1, columns + 1), 0):
            if self.wet and column and chance.random() < 0.5:
                self._wall_or_free((2, 5, column))
        for _ in range(chance.randint(2, 10)):
            self._anything(self._some_place())
        return box(self.size, self.things, self.water)

    def _abreast(self, column: int) -> None:
        chance = self.chance
        self.things[2, 2, column] = Thing("piston", facing="south", sticky=chance.random() < 0.6)
        if chance.random() < 0.6:
            self.things[2, 3, column] = self._load(chance.choice(["block"] * 5 + ["glass", "lamp", "soil", "detector"]))
        self.clear |= {(2, 3, column), (2, 4, column)}
        if self.wet and chance.random() < 0.6:
            self.water[2, 4 if (2, 3, column) in self.things else 3, column] = SOURCE

    def _wall_or_free(self, place: tuple[int, int, int]) -> None:
        if self._free(place) and self.chance.random() < 0.7:
            self.things[place] = Thing("block")


class BesideALine(Abreast):
    """The same with a line of dust beside the places that the loads come to, which those power, and with readers."""

    def box(self) -> Box:
        made = super().box()
        columns, things = range(1, made.size[2] + 1), dict(made.things)
        for column in columns:
            things[1, 4, column] = Thing("torch", name=f"ember_{column}", on="north", level=15)
            things[2, 5, column] = Thing("dust", name=f"line_{column}")
            things.pop((2, 6, column), None)
        for column in self.chance.sample(columns, 2):
            delay = self.chance.choice([2, 2, 4])
            things[2, 6, column] = Thing("repeater", name=f"reader_{column}", facing="south", delay=delay)
        return box(made.size, things, made.water)


@contextmanager
def every_order() -> Iterator[None]:
    """Has the program follow every order of what ties, each time."""

    def collide(self: MovingOrders, one: int, other: int, levels: Sequence[int], acting: Sequence[int]) -> bool:
        return True

    def colliding(
        self: StrokeOrders, simulator: SimulatorView, now: Configuration, pistons: Sequence[int], order_class: int
    ) -> frozenset[tuple[int, int]]:
        return frozenset(itertools.combinations(pistons, 2))

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(MovingOrders, "collide", collide)
        patch.setattr(StrokeOrders, "colliding", colliding)
        yield


def run(made: Box, actions: Sequence[Action], settings: Settings) -> tuple[list[frozenset[Shot]], int]:
    """What may show at the end of each gt, and how many states there are at most. A refusal ends it."""
    runs, shown, most = Runs(made, settings), [], 0
    with work.bounded(WORK):
        for gt in range(UNTIL):
            found = runs.step([action for action in actions if action.gt == gt])
            if runs.refused:
                break
            shown.append(frozenset(map(runs.shot, found)))
            most = max(most, len(found))
    return shown, most


def throws(chance: Random, made: Box) -> list[Action]:
    """The lever on the line, on and off and so on; sometimes so fast that strokes are short."""
    (name,) = [thing.name for place, thing in made.things.items() if place == (3, 1, 1)]
    found, gt, level = list[Action](), 2, 0
    while gt < UNTIL:
        level = 15 - level
        found.append(Action(gt, name, level))
        gt += chance.choice([1, 2, 3, 5, 9])
    return found


def boxes(sketcher: type[Sketcher], chance: Random, count: int, settings: Settings) -> Iterator[Box]:
    """So many random boxes that come to rest with their pistons at home."""
    while count:
        made = at_rest(sketcher(chance, wet=chance.random() < 0.5).box(), settings)
        if made is not None:
            count -= 1
            yield made


def compared(sketcher: type[Sketcher], chance: Random, count: int, settings: Settings) -> tuple[int, int]:
    """How many random boxes ran both ways and showed the same, and in how many of them fewer states were followed."""
    found = fewer = 0
    for number, made in enumerate(boxes(sketcher, chance, count, settings)):
        actions = throws(chance, made)
        try:
            with every_order():
                expected, all_states = run(made, actions, settings)
            shown, states = run(made, actions, settings)
        except (Unread, work.Undecided, TooManyOrders):
            continue
        first = next((gt for gt, (here, there) in enumerate(zip(shown, expected, strict=False)) if here != there), None)
        assert first is None, (number, first)
        assert len(shown) == len(expected)
        found += 1
        fewer += states < all_states
    return found, fewer


@pytest.mark.parametrize("batch", range(BATCHES))
def test_the_orders_that_are_left_out_show_nothing_else(batch: int) -> None:
    found, fewer = compared(Abreast, Random(700 + batch), BOXES // BATCHES, Settings())
    assert found > BOXES // BATCHES // 2
    assert fewer


@pytest.mark.parametrize("lands", ["late", "wait"])
def test_nor_do_those_of_blocks_that_land_beside_one_line_which_two_repeaters_read(lands: str) -> None:
    """M3, W8, R2: who lands first, or leaves last, calls the repeaters; what they do then shows nothing of it."""
    found, fewer = compared(BesideALine, Random(900), BOXES // 2, Settings(piston_lands=lands))
    assert found > BOXES // 5
    assert fewer
