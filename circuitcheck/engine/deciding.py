"""Where open orders come to matter: a slot of the calendar comes up in which devices collide (rule C5)."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Mapping, Sequence
from typing import TypeVar

from circuitcheck.engine import work
from circuitcheck.engine.memory import CLASS_MASK, Memory
from circuitcheck.engine.orders import MOST_ORDERS, TooManyOrders
from circuitcheck.engine.state import Log, Order
from circuitcheck.engine.ties import WORKED, Known, Ties
from circuitcheck.model.parts.simulator_view import SimulatorView
from circuitcheck.model.parts.waits import CLASS_BITS
from circuitcheck.model.unsure import reached

Simulator = TypeVar("Simulator", bound=Memory)

Colliding = dict[tuple[int, int], tuple[int, int]]
"""Pairs of devices, each with the seats of one tie that they descend from."""

MOST_MOMENTS = 10_000
"""In how many orders one gt is followed, equal simulators not merged yet."""


def come_up(simulator: Simulator, key: int) -> list[Simulator]:
    """Splits for the open orders of the next slot that matter as its devices act, and lets go of the rest.

    Returns the copies. Raises TooManyOrders.
    """
    ties = simulator.still_open()
    if ties is None:
        return []
    work.count(len(simulator.levels) + ties.size)
    ties.begin_turn()
    simulators = [simulator]
    for tie, colliding in _colliding(simulator, ties, key).items():
        simulators += [more for each in simulators for more in _take_orders(each, key, tie, colliding)]
        if len(simulators) > MOST_MOMENTS:
            raise TooManyOrders(simulator.calendar[key])
    return simulators[1:]


def _colliding(simulator: Memory, ties: Ties, key: int) -> dict[int, Colliding]:
    """Of each tie the devices of a slot whose open order matters as they act, with the seats they descend from."""
    devices, found = simulator.calendar[key], dict[int, Colliding]()
    pairs = [(pair, seats) for pair in itertools.combinations(devices, 2) if (seats := ties.open_between(key, *pair))]
    if not pairs:
        return found
    of = simulator.program.devices
    if any(of[one].flows is not of[other].flows for (one, other), _ in pairs):
        reached(simulator.program.rules, "class_4")  # what is open here is given where water looks last (rule Z2)
    strokes, now, order_class = simulator.program.stroke_orders, simulator.configuration, key & CLASS_MASK
    if strokes is not None and now is not None and strokes.any_moves(devices):
        meet = strokes.colliding(simulator, now, devices, order_class)
        pairs = [(pair, seats) for pair, seats in pairs if pair in meet]
    else:
        orders = simulator.wiring.orders
        pairs = [(pair, seats) for pair, seats in pairs if orders.collide(*pair, simulator.levels, devices)]
    for pair, seats in pairs:
        found.setdefault(seats[0], {})[pair] = seats[1:]
    return found


def _take_orders(simulator: Simulator, key: int, tie: int, colliding: Colliding) -> list[Simulator]:
    """Puts colliding devices of the next slot into each order; the simulator takes the first, and copies the others."""
    assert simulator.ties is not None
    ways = _ways(simulator, simulator.ties, tie, colliding)
    twins, before = [simulator, *(simulator.copy() for _ in ways[1:])], simulator.log
    for twin, known in zip(twins, ways, strict=True):
        _learn(twin, known)
        twin.log = Log(_order_taken(twin, twin.ties, key, tie, colliding), before)
    return twins[1:]


def _order_taken(simulator: Memory, ties: Ties | None, key: int, tie: int, colliding: Colliding) -> Order:
    """A choice, told by those who began to wait in that order, and when; by who collides if that is forgotten."""
    assert ties is not None
    began, known = ties.began.get(tie), ties.known[tie]
    if began is None:
        met = {device for pair in colliding for device in pair}
        return Order(simulator.now, tuple(device for device in simulator.calendar[key] if device in met))
    seats = {seat for pair in colliding.values() for seat in pair}
    return Order(began, tuple(sorted(seats, key=lambda seat: (sum((each, seat) in known for each in seats), seat))))


def _ways(simulator: Memory, ties: Ties, tie: int, colliding: Colliding) -> list[dict[int, Known]]:
    """What may be known once devices that collide are in order: as a script asks for, the first, or all."""
    if simulator.script:
        place = {each: number for number, each in enumerate(simulator.script.pop(0))}
        by_seat = tie in ties.began
        wanted = [
            pair if (place[pair[0]] < place[pair[1]] if by_seat else place[one] < place[other]) else pair[::-1]
            for (one, other), pair in colliding.items()
        ]
        return [ties.ordered(tie, wanted)]
    ways = ties.ways(tie, list(dict.fromkeys(colliding.values())))
    if simulator.one_way:
        return [next(ways)]
    found = list(itertools.islice(ways, MOST_ORDERS + 1))
    if len(found) > MOST_ORDERS:
        raise TooManyOrders(sorted({device for pair in colliding for device in pair}))
    return found


def leave_open(simulator: Memory, devices: Sequence[int]) -> None:
    """Leaves the order open of devices that are worked from outside in one gt, and don't collide (rule C5a)."""
    if simulator.ties is None:
        simulator.ties = Ties()
    simulator.ties.begin_turn()
    simulator.ties.tie(WORKED, devices, simulator.now)


def tie(simulator: Memory, begun: list[tuple[int, int]]) -> None:
    """Leaves the order open among the waits begun by one change, where it can matter (rule C5b)."""
    if len({wait for wait, _ in begun}) == len(begun):
        return
    slots: dict[int, list[int]] = {}
    for wait, device in begun:
        slots.setdefault(wait, []).append(device)
    for wait, devices in slots.items():
        if len(devices) > 1:
            for tied in simulator.wiring.orders.that_tie(tuple(devices), simulator.levels):
                if simulator.ties is None:
                    simulator.ties = Ties()
                simulator.ties.tie((simulator.now << CLASS_BITS) + wait, tied, simulator.now)


def split_changes(simulator: Simulator, first: int) -> list[Simulator]:
    """Splits for the orders in which devices that changed at once, told by one change, tell of it in turn."""
    devices = tuple(simulator.pending[first:])
    orders = simulator.wiring.orders.representative_orders(devices, simulator.levels)
    if len(orders) == 1:
        return []
    orders = _chosen(simulator, orders)
    twins, before = [simulator, *(simulator.copy() for _ in orders[1:])], simulator.log
    for twin, order in zip(twins, orders, strict=True):
        twin.pending[first:] = order
        twin.log = Log(Order(simulator.now, order), before)
    return twins[1:]


def _chosen(simulator: Memory, orders: tuple[tuple[int, ...], ...]) -> tuple[tuple[int, ...], ...]:
    """The order that a script asks for, the first where somebody writes down one way, or all."""
    if simulator.script:
        return (simulator.script.pop(0),)
    return orders[:1] if simulator.one_way else orders


def _learn(simulator: Memory, known: dict[int, Known]) -> None:
    """Puts all waits into an order that what is known of ties now allows."""
    assert simulator.ties is not None
    simulator.ties.known = known
    for slot, devices in simulator.slots_that_tie():
        devices[:] = simulator.ties.arranged(slot, devices, simulator.matter, range(len(devices)))


def tell_each(simulator: Simulator, feeling: Mapping[int, Callable[[SimulatorView], int]]) -> list[Simulator]:
    """Tells devices of one change, each once. Returns copies for the open orders."""
    begun: list[tuple[int, int]] = []
    still_to_tell = len(simulator.pending)
    for device, reacts in feeling.items():
        wait = reacts(simulator)
        if wait:
            simulator.begin(device, wait)
            begun.append((wait, device))
    tie(simulator, begun)
    return split_changes(simulator, still_to_tell) if len(simulator.pending) > still_to_tell + 1 else []
