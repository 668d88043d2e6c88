"""An explorer that follows every order as soon as it is open: nothing is left open, and no two are taken for one."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from contextlib import contextmanager

import pytest

from circuitcheck.engine import step as stepping
from circuitcheck.engine.orders import Orders
from circuitcheck.engine.program import read
from circuitcheck.engine.simulator import Simulator
from circuitcheck.engine.step import Action
from circuitcheck.model.parts.waits import CLASS_BITS


class TooMany(Exception):
    """There is more to follow than a test should."""


MOST_AT_ONCE = 1_000
"""More orders of one change than this are not followed."""


def _permuted(simulator: Simulator, begun: Sequence[tuple[int, int]], first_pending: int) -> list[Simulator]:
    """Copies of a moment for all other orders of the waits and the changes that one change has brought about."""
    slots: dict[int, list[int]] = {}
    for wait, device in begun:
        slots.setdefault((simulator.now << CLASS_BITS) + wait, []).append(device)
    changes = list(itertools.permutations(simulator.pending[first_pending:]))
    chosen = list(itertools.product(*(itertools.permutations(devices) for devices in slots.values())))
    if len(changes) * len(chosen) > MOST_AT_ONCE:
        raise TooMany
    simulators = [simulator, *(simulator.copy() for _ in range(len(changes) * len(chosen) - 1))]
    for twin, (change, orders) in zip(simulators, itertools.product(changes, chosen), strict=True):
        twin.pending[first_pending:] = change
        for key, order in zip(slots, orders, strict=True):
            twin.calendar[key][-len(order) :] = order
    return simulators[1:]


def _tell(simulator: Simulator, changed: int) -> list[Simulator]:
    """`Simulator._tell`, with nothing left open."""
    first_pending = len(simulator.pending)
    feeling = {}
    for reader in simulator.program.readers[changed]:
        level = read(reader.feeds, simulator.levels)
        if level != simulator.readings[reader.port]:
            simulator.readings[reader.port] = level
            if reader.felt:
                feeling[reader.device] = reader.on_input_change
    begun = []
    for device, told in feeling.items():
        wait = told(simulator)
        if wait:
            simulator.begin(device, wait)
            begun.append((wait, device))
    return _permuted(simulator, begun, first_pending)


def _tell_everyone(simulator: Simulator) -> list[Simulator]:
    """`Simulator.tell_everyone`, with nothing left open."""
    simulator.starting = True
    begun = []
    for device in simulator.program.devices:
        wait = device.on_input_change(simulator)
        if wait:
            simulator.begin(device.index, wait)
            begun.append((wait, device.index))
    simulators = [simulator, *_permuted(simulator, begun, 0)]
    for each in simulators:
        each.starting = False
    return [later for each in simulators for later in each.run(0)]


@contextmanager
def every_order() -> Iterator[None]:
    """Has the engine follow all permutations of everything that ties, and take no two orders for one."""

    def as_it_is(self: Orders, devices: Sequence[int], levels: Sequence[int]) -> tuple[int, ...]:
        return tuple(devices)

    def always(simulator: Simulator, one: Action, other: Action) -> bool:
        return True

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Simulator, "_tell", _tell)
        patch.setattr(Simulator, "tell_everyone", _tell_everyone)
        patch.setattr(Orders, "least", as_it_is)
        patch.setattr(stepping, "_matter", always)
        yield
