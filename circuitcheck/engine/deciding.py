"""Where open orders come to matter: a slot of the calendar comes up in which devices collide (rule C5)."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from typing import TYPE_CHECKING

from circuitcheck.engine import work
from circuitcheck.engine.orders import MOST_ORDERS, TooManyOrders
from circuitcheck.engine.state import Log, Order
from circuitcheck.engine.ties import Known, Ties

if TYPE_CHECKING:
    from circuitcheck.engine.moment import Moment

Colliding = dict[tuple[int, int], tuple[int, int]]
"""Pairs of devices, each with the seats of one tie that they descend from."""

MOST_MOMENTS = 10_000
"""In how many orders one gt is followed, equal moments not merged yet."""


def come_up(moment: Moment, key: int) -> list[Moment]:
    """Splits for the open orders of the next slot that matter as its devices act, and lets go of the rest.

    Returns the copies. Raises TooManyOrders.
    """
    ties = moment.still_open()
    if ties is None:
        return []
    work.count(len(moment.levels) + ties.size)
    ties.begin_turn()
    moments = [moment]
    for tie, colliding in _colliding(moment, ties, moment.calendar[key]).items():
        moments += [more for each in moments for more in _take_orders(each, key, tie, colliding)]
        if len(moments) > MOST_MOMENTS:
            raise TooManyOrders(moment.calendar[key])
    return moments[1:]


def _colliding(moment: Moment, ties: Ties, devices: Sequence[int]) -> dict[int, Colliding]:
    """Of each tie the devices of a slot whose open order matters as they act, with the seats they descend from."""
    orders, found = moment.machine.orders, dict[int, Colliding]()
    for one, other in itertools.combinations(devices, 2):
        seats = ties.open_between(one, other)
        if seats is not None and orders.collide(one, other, moment.levels, devices):
            found.setdefault(seats[0], {})[one, other] = seats[1:]
    return found


def _take_orders(moment: Moment, key: int, tie: int, colliding: Colliding) -> list[Moment]:
    """Puts colliding devices of the next slot into each order; the moment takes the first, and copies the others."""
    assert moment.ties is not None
    ways = _ways(moment, moment.ties, tie, colliding)
    twins, before = [moment, *(moment.copy() for _ in ways[1:])], moment.log
    for twin, known in zip(twins, ways, strict=True):
        twin.learn(known)
        twin.log = Log(_order_taken(twin, twin.ties, key, tie, colliding), before)
    return twins[1:]


def _order_taken(moment: Moment, ties: Ties | None, key: int, tie: int, colliding: Colliding) -> Order:
    """A choice, told by those who began to wait in that order, and when; by who collides if that is forgotten."""
    assert ties is not None
    began, known = ties.began.get(tie), ties.known[tie]
    if began is None:
        met = {device for pair in colliding for device in pair}
        return Order(moment.now, tuple(device for device in moment.calendar[key] if device in met))
    seats = {seat for pair in colliding.values() for seat in pair}
    return Order(began, tuple(sorted(seats, key=lambda seat: (sum((each, seat) in known for each in seats), seat))))


def _ways(moment: Moment, ties: Ties, tie: int, colliding: Colliding) -> list[dict[int, Known]]:
    """What may be known once devices that collide are in order: as a script asks for, the first, or all."""
    if moment.script:
        place = {each: number for number, each in enumerate(moment.script.pop(0))}
        by_seat = tie in ties.began
        wanted = [
            pair if (place[pair[0]] < place[pair[1]] if by_seat else place[one] < place[other]) else pair[::-1]
            for (one, other), pair in colliding.items()
        ]
        return [ties.ordered(tie, wanted)]
    ways = ties.ways(tie, list(dict.fromkeys(colliding.values())))
    if moment.one_way:
        return [next(ways)]
    found = list(itertools.islice(ways, MOST_ORDERS + 1))
    if len(found) > MOST_ORDERS:
        raise TooManyOrders(sorted({device for pair in colliding for device in pair}))
    return found
