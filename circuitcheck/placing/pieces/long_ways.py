"""Which ways of dust were too long for the levels that dust carries, where a layout in pieces was not found."""

from __future__ import annotations

from typing import NamedTuple

from circuitcheck.placing.grid import BACK, COMPARATOR, HOLDER, POWER
from circuitcheck.placing.pieces.arranged import Plan
from circuitcheck.placing.pieces.ground import Standing
from circuitcheck.placing.pieces.made_pieces import Spot
from circuitcheck.placing.pieces.negotiating import FURTHEST, Router
from circuitcheck.placing.problem import Problem

LONG = FURTHEST // 2
"""A way of fewer steps, with nothing in between, leaves enough to go around what is in its way."""
SHARE = 4
"""Of so many nets one, at least, is named at once: pieces stand elsewhere once it has a repeater."""


class Way(NamedTuple):
    """What leads from the parts of a net to some of its inputs: those that are nearer to the farthest one."""

    sources: tuple[int, ...]
    """The numbers of parts."""
    ports: tuple[int, ...]
    """The numbers of ports."""


def long_ways(plan: Plan, standing: Standing, router: Router) -> list[Way]:
    """The long ways of nets that lack an end or are in the way of others, those first that are so at most places."""
    found = []
    pins, taps = standing.pins(), standing.taps()
    for number, net in enumerate(plan.nets):
        lacking, fought = len(router.trees[number].lacking), router.in_the_way(number)
        if not (lacking or fought):
            continue
        at = {port: pins[port, number] for port in net.ports if feels_no_level(plan.problem, port)}
        far = {port: max(min(_steps(tap, to) for tap in taps[part]) for part in net.sources) for port, to in at.items()}
        if far and max(far.values()) >= LONG:
            farthest = at[max(far, key=lambda port: far[port])]
            ports = tuple(port for port, to in at.items() if _steps(farthest, to) < far[port])
            found.append((-len(ports), -lacking, -fought, number, Way(net.sources, ports)))
    return [way for *_, way in sorted(found)[: 1 + len(plan.nets) // SHARE]]


def feels_no_level(problem: Problem, number: int) -> bool:
    """Whether only power or none counts at an input: a repeater changes what a comparator measures, what locks a
    repeater, and what is watched.
    """
    port = problem.ports[number]
    return port.how in (HOLDER, POWER, BACK) and problem.codes[port.part] != COMPARATOR


def _steps(one: Spot, other: Spot) -> int:
    """How many steps dust takes at least: each goes one place aside, and one up or down at most."""
    up, south, east = (abs(here - there) for here, there in zip(one, other, strict=True))
    return max(up, south + east)
