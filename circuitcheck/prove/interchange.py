"""Like cells in proofs about machines in which things move: of states that differ in which did what, one is kept.

Six cells of a row, each with the piston that hears it, can be *exchanged* if each step that one of them can lead to is
a step that any other can lead to, moved to its place (`chance.machine.exchange` says when, and checks it; chance relies
on the same). Such an exchange is an automorphism of the graph of states: it maps the start to the start, each step to a
step, and, as nothing of these cells and pistons is asked about, it keeps every answer to a question of the claim. So
the orbits of states under all exchanges are bisimilar to the states themselves. One representative of each orbit is
explored, whose units are in sorted order, and what the world does is chosen up to exchanges as well: how many of the
cells that are in like states change, not which. (C. N. Ip and D. L. Dill, Better verification through symmetry, Formal
Methods in System Design 9, 1996; E. M. Clarke, R. Enders, T. Filkorn and S. Jha, Exploiting symmetry in temporal logic
model checking, the same volume.)

A path of representatives is no run: between two steps units may have changed places. `Arrangement` follows who stands
where, so that a counterexample names the cells that really change; the simulator runs it again in any case.

Where water has no say in what a claim is about, the machine is taken without it.

That nothing in a configuration tells units apart is checked as configurations are met. Where something does, `Widened`
is raised, and the proof begins again without exchanges.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache

from circuitcheck.chance.machine.alike import NotAlike
from circuitcheck.chance.machine.exchange import Exchange, Turn
from circuitcheck.engine.program import Program
from circuitcheck.engine.state import State
from circuitcheck.engine.step import Action
from circuitcheck.prove.influence import Widened
from circuitcheck.prove.world import Held, World

Turns = tuple[Turn, ...]
"""For each group of like units and each slot of it, the slot whose unit comes to stand there."""


class _Kept:
    """The like units of one whole machine, with its water or without, until something tells them apart."""

    def __init__(self, whole: Program, wet: bool) -> None:
        self.exchange: Exchange | None = Exchange(whole, (), wet)


@lru_cache(maxsize=8)
def _kept(whole: Program, wet: bool) -> _Kept:
    return _Kept(whole, wet)


def like_cells(whole: Program) -> frozenset[str]:
    """The cells of a machine in which things move of which, water apart, it does not matter which is which, by name."""
    exchange = _kept(whole, wet=False).exchange
    groups = () if exchange is None else exchange.groups
    return frozenset(whole.names[unit.devices[0]] for units in groups for unit in units)


class Interchange:
    """The like units of one piece. Raises Widened where they turn out not to be alike."""

    def __init__(self, whole: Program, exchange: Exchange, world: World, wet: bool) -> None:
        self._whole = whole
        self._exchange = exchange
        self._world = world
        self._wet = wet

    def in_order(self, state: State, held: Held) -> tuple[State, Held, Turns]:
        """The representative of a state, with what its inputs are held to, and who comes to stand where in it."""
        try:
            (ordered,), turns, _ = self._exchange.turned([state], self._held_of(held))
        except NotAlike:
            raise self._without() from None
        later = list(held)
        for units, turn in zip(self._exchange.groups, turns, strict=True):
            for slot, source in enumerate(turn):
                here, there = (self._world.place.get(units[each].devices[0]) for each in (slot, source))
                if here is not None and there is not None:
                    later[here] = held[there]
        return ordered, tuple(later), turns

    def alike(self, state: State, held: Held) -> Iterable[Sequence[int]]:
        """The cells that are one as good as another in a state."""
        try:
            return list(self._exchange.alike(state, self._held_of(held)))
        except NotAlike:
            raise self._without() from None

    def arrangement(self) -> Arrangement:
        """Everyone in his own place."""
        return Arrangement([[unit.devices[0] for unit in units] for units in self._exchange.groups])

    def _held_of(self, held: Held) -> Mapping[int, int]:
        return {device: held[place] for device, place in self._world.place.items() if held[place]}

    def _without(self) -> Widened:
        _kept(self._whole, self._wet).exchange = None
        return Widened()


class Arrangement:
    """Whose turn it really is on a path of representatives: which cell stands in the place of each."""

    def __init__(self, cells: Sequence[Sequence[int]]) -> None:
        self._cells = cells
        self._stands = [list(each) for each in cells]

    def own(self, action: Action) -> int:
        """The device that an action on a representative is really done to."""
        for cells, stands in zip(self._cells, self._stands, strict=True):
            if action.device in cells:
                return stands[cells.index(action.device)]
        return action.device

    def turn(self, turns: Turns) -> None:
        """Units change places."""
        for number, turn in enumerate(turns):
            self._stands[number] = [self._stands[number][source] for source in turn]


def interchange(whole: Program, part: Program, asked: Iterable[int], world: World) -> Interchange | None:
    """The like units of some devices of a machine in which nothing else has a say; None if there are none.

    `asked` are the devices that somebody wants to tell from their like.
    """
    wet = any(device.flows for device in part.devices)
    exchange = _kept(whole, wet).exchange if whole.moving else None
    if exchange is None:
        return None
    inside = exchange.within(part, asked)
    inputs = world.place.keys()
    for units in inside.groups:
        cells = (unit.devices[0] for unit in units)
        holds = {world.hold[world.place[cell]] if cell in inputs else -1 for cell in cells}
        if len(holds) > 1:
            return None  # what is assumed of them tells them apart
    return Interchange(whole, inside, world, wet) if inside.groups else None
