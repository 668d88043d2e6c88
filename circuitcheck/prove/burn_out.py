"""How quickly the world can burn a torch out (rule T4): the least span of eight offs, by shortest paths.

A burn-out needs eight offs within the window, and the first one has a past without any. So the states are those of the
circuit without burn-out, each step one gt long, and what is looked for is the shortest trace through eight offs, the
first of them anywhere: a search over (state, offs so far) from every off at once. The history of offs never becomes
part of a state.
"""

from __future__ import annotations

from typing import NamedTuple

from circuitcheck.model.claims import Atom, Test
from circuitcheck.model.rules import BURN_OUT_COUNT
from circuitcheck.prove.compose import Stimulus
from circuitcheck.prove.meter import OverBudget
from circuitcheck.prove.space import Setting, Space


class LeastSpan(NamedTuple):
    """What came of it for one torch."""

    states: int
    span: int | None
    """The least gt from a torch's first to its eighth off, if at most what was asked; None if it takes longer."""
    trace: Stimulus | None
    """A shortest trace to such eight offs."""
    limit: str = ""


Node = tuple[int, int]
"""A state and how many offs there have been."""


def least_span(setting: Setting, torch: str, longest: int) -> LeastSpan:
    """The least span of eight offs of a torch, looked for up to `longest` gt. Raises PieceTooLarge and TooMuch."""
    space = Space(setting, (Atom(torch, Test.FALLS),))
    try:
        parents = _reach(space, setting)
        return _search(space, setting, parents, longest)
    except OverBudget as over:
        return LeastSpan(0, None, None, str(over))


def _reach(space: Space, setting: Setting) -> dict[int, int | None]:
    """Every state with the one that it was first met from."""
    parents: dict[int, int | None] = {state: None for _, state in space.starts()}
    queue = list(parents)
    for state in queue:
        successors = space.successors(state)
        setting.meter.count(1, len(successors))
        for _, after in successors:
            if after not in parents:
                parents[after] = state
                queue.append(after)
    return parents


def _search(space: Space, setting: Setting, parents: dict[int, int | None], longest: int) -> LeastSpan:
    came_from: dict[Node, Node | int | None] = {}
    layer: list[Node] = []
    for state in parents:
        setting.meter.count(0, 1)
        for falls, after in space.successors(state):
            if falls and (after, 1) not in came_from:
                came_from[after, 1] = state
                layer.append((after, 1))
    span = 0
    while layer and span < longest:
        span += 1
        following: list[Node] = []
        for node in layer:
            state, offs = node
            successors = space.successors(state)
            setting.meter.count(1, len(successors))
            for falls, after in successors:
                later = (after, offs + falls)
                if later[1] == BURN_OUT_COUNT:
                    return LeastSpan(len(parents), span, _trace(space, parents, came_from, node, after))
                if later not in came_from:
                    came_from[later] = node
                    following.append(later)
        layer = following
    return LeastSpan(len(parents), None, None)


def _trace(
    space: Space,
    parents: dict[int, int | None],
    came_from: dict[Node, Node | int | None],
    node: Node,
    last: int,
) -> Stimulus:
    """What the world does from the start on, through the eight offs."""
    states: list[int] = []
    falling: list[int] = [1]
    at: Node | int | None = node
    while isinstance(at, tuple):
        states.append(at[0])
        before = came_from[at]
        falling.append(at[1] - before[1] if isinstance(before, tuple) else 1)
        at = before
    while at is not None:
        states.append(at)
        falling.append(0)
        at = parents[at]
    states.reverse()
    falls = falling[::-1]
    return space.stimulus(
        states,
        lambda step, after: after == last and bool(step.bits) is bool(falls[-1]),
        lambda place, step: not falls[place] or bool(step.bits),
    )
