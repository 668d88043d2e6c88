"""An explorer that follows every order as soon as it is open: nothing is left open, and no two are taken for one."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from contextlib import contextmanager

import pytest

from circuitcheck.engine import step as stepping
from circuitcheck.engine.machine import read
from circuitcheck.engine.moment import Moment
from circuitcheck.engine.orders import Orders
from circuitcheck.engine.step import Action
from circuitcheck.model.parts.base import CLASS_BITS


class TooMany(Exception):
    """There is more to follow than a test should."""


MOST_AT_ONCE = 1_000
"""More orders of one change than this are not followed."""


def _permuted(moment: Moment, begun: Sequence[tuple[int, int]], first_pending: int) -> list[Moment]:
    """Copies of a moment for all other orders of the waits and the changes that one change has brought about."""
    slots: dict[int, list[int]] = {}
    for wait, device in begun:
        slots.setdefault((moment.now << CLASS_BITS) + wait, []).append(device)
    changes = list(itertools.permutations(moment._pending[first_pending:]))
    chosen = list(itertools.product(*(itertools.permutations(devices) for devices in slots.values())))
    if len(changes) * len(chosen) > MOST_AT_ONCE:
        raise TooMany
    moments = [moment, *(moment.copy() for _ in range(len(changes) * len(chosen) - 1))]
    for twin, (change, orders) in zip(moments, itertools.product(changes, chosen), strict=True):
        twin._pending[first_pending:] = change
        for key, order in zip(slots, orders, strict=True):
            twin.calendar[key][-len(order) :] = order
    return moments[1:]


def _tell(moment: Moment, changed: int) -> list[Moment]:
    """`Moment._tell`, with nothing left open."""
    first_pending = len(moment._pending)
    feeling = {}
    for reader in moment.machine.readers[changed]:
        level = read(reader.feeds, moment.levels)
        if level != moment.readings[reader.port]:
            moment.readings[reader.port] = level
            if reader.felt:
                feeling[reader.device] = reader.told
    begun = []
    for device, told in feeling.items():
        wait = told(moment)
        if wait:
            moment.begin(device, wait)
            begun.append((wait, device))
    return _permuted(moment, begun, first_pending)


def _tell_everyone(moment: Moment) -> list[Moment]:
    """`Moment.tell_everyone`, with nothing left open."""
    moment.starting = True
    begun = []
    for device in moment.machine.devices:
        wait = device.told(moment)
        if wait:
            moment.begin(device.index, wait)
            begun.append((wait, device.index))
    moments = [moment, *_permuted(moment, begun, 0)]
    for each in moments:
        each.starting = False
    return [later for each in moments for later in each.run(0)]


@contextmanager
def every_order() -> Iterator[None]:
    """Has the engine follow all permutations of everything that ties, and take no two orders for one."""

    def as_it_is(self: Orders, devices: Sequence[int], levels: Sequence[int]) -> tuple[int, ...]:
        return tuple(devices)

    def always(moment: Moment, one: Action, other: Action) -> bool:
        return True

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Moment, "_tell", _tell)
        patch.setattr(Moment, "tell_everyone", _tell_everyone)
        patch.setattr(Orders, "least", as_it_is)
        patch.setattr(stepping, "_matter", always)
        yield
