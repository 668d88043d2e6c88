"""Whether a signal ever depends on an unknown order (rule C5): every set of states that one and the same run can be in.

The world's actions are known, the orders are not: after the same actions the circuit is in one of several states. Those
sets are explored, nearest first. Where two members of one give a signal different levels, it is raced for.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from circuitcheck.engine.program import read
from circuitcheck.engine.start import starts
from circuitcheck.engine.step import Action
from circuitcheck.model.claims import Atom
from circuitcheck.prove.compose import Stimulus
from circuitcheck.prove.cut import ProofScope, cone, uncut
from circuitcheck.prove.meter import OverBudget
from circuitcheck.prove.piece import Deed, Move, Piece
from circuitcheck.prove.space import Setting, seen_by
from circuitcheck.prove.world import Pace


class Raced(NamedTuple):
    """What came of it."""

    states: int
    """How many sets were looked at."""
    depth: int
    complete: bool
    name: str
    """The signal that is raced for; empty if none is."""
    trace: Stimulus | None
    limit: str = ""


Belief = tuple[frozenset[int], tuple[int, ...]]
"""The states that the circuit may be in, and the changes of inputs that still count for their pace."""


class Races:
    """Looks for a race for some signals."""

    def __init__(self, setting: Setting, names: Sequence[str]) -> None:
        program = setting.program
        self._feeds = {name: seen_by(Atom(name), program) for name in names}
        devices = cone(program, (device for feeds in self._feeds.values() for device, _ in feeds))
        self._setting = setting
        self._starts = [start.levels for start in starts(program)]
        self._devices = devices
        self._machine = program

    def run(self) -> Raced:
        """Explores from each start apart: which of several starts it is, is no race. Raises TooMuch."""
        states = depth = 0
        for levels in self._starts:
            scope = ProofScope(self._machine, self._devices, (), (levels,), self._setting.assumptions)
            # What members of one set differ in is who did what, so here no states are taken together.
            piece = Piece(scope, uncut(scope), (), 0, self._setting.meter, lumped=False)
            found = _FromStart(self._setting, piece, self._feeds).run()
            states, depth = states + found.states, max(depth, found.depth)
            if not found.complete:
                return found._replace(states=states, depth=depth)
        return Raced(states, depth, True, "", None)


class _FromStart:
    def __init__(self, setting: Setting, piece: Piece, feeds: dict[str, tuple[tuple[int, int], ...]]) -> None:
        names = setting.program.names
        number = piece.program.number
        self._setting = setting
        self._piece = piece
        self._feeds = {
            name: tuple((number[names[device]], loss) for device, loss in each) for name, each in feeds.items()
        }
        self._pace = Pace(setting.assumptions)
        self._parents: dict[Belief, tuple[Belief | None, tuple[Action, ...]]] = {}

    def run(self) -> Raced:
        depth = -1
        try:
            layer = self._meet(None, self._piece.starts(), ())
            while layer:
                depth += 1
                following = []
                for belief in layer:
                    name = self._disputed(belief[0])
                    if name:
                        return Raced(len(self._parents), depth, False, name, self._trace(belief))
                    moves = [move for local in belief[0] for move in self._piece.moves(local, ())]
                    self._setting.meter.count(1, len(moves))
                    following += self._meet(belief, moves, belief[1])
                self._setting.grown(len(self._parents))
                layer = following
        except OverBudget as over:
            return Raced(len(self._parents), max(depth, 0), False, "", None, str(over))
        return Raced(len(self._parents), depth, True, "", None)

    def _meet(self, before: Belief | None, moves: Sequence[Move], recent: tuple[int, ...]) -> list[Belief]:
        """The new sets of states that some moves lead to, those with the same actions together."""
        by_actions: dict[tuple[Action, ...], set[int]] = {}
        for move in moves:
            by_actions.setdefault(move.actions, set()).add(move.target)
        new = []
        for actions, targets in by_actions.items():
            pace = self._pace.after(recent, len(actions))
            if pace is None:
                continue
            belief: Belief = (frozenset(targets), pace)
            if belief not in self._parents:
                self._parents[belief] = (before, actions)
                new.append(belief)
        return new

    def _disputed(self, members: frozenset[int]) -> str:
        """The first signal whose level the members do not agree on."""
        if len(members) > 1:
            all_levels = [self._piece.locals[local].state.levels for local in members]
            for name, feeds in self._feeds.items():
                if len({read(feeds, levels) for levels in all_levels}) > 1:
                    return name
        return ""

    def _trace(self, last: Belief) -> Stimulus:
        names = self._piece.program.names
        stimulus: Stimulus = []
        belief: Belief | None = last
        while belief is not None:
            belief, actions = self._parents[belief]
            stimulus.append([Deed(names[each.device], each.verb, each.level) for each in actions])
        stimulus.reverse()
        return stimulus
