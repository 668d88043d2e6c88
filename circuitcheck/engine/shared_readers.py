"""Devices whose reading several strokes of one moment change, and to which it is all the same which of them is first.

Such is a repeater at the end of a line that seven blocks light as they land: whichever lands first lights it, and the
repeater begins the same wait. The argument, of a device that only reacts (`model.parts.base.Reaction`):

* If it waits already, an update begins nothing (rule C4), and notes a pulse without width (V3) only where it could hold
  the wait that it would begin now.
* Else, its only port has power or none after each part of the strokes, whatever the order in which that part was made;
  so the wait that it would begin is a function of that part. Let that be one wait in some parts and none in the others;
  none in the part of no stroke; and with each part in which it is that wait, also in those that hold more. Then in each
  order one stroke brings it from none to the wait: the reading changes there, so that an update comes and the wait
  begins. Before, an update begins nothing; behind, the device waits already. At the end it waits for the same in every
  order, or has never begun.

What differs is the stroke by which it is called. Who is updated of it must see to it that this can't show.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from typing import NamedTuple

from circuitcheck.engine.fanout import PortDrivers
from circuitcheck.model.parts.base import Device
from circuitcheck.model.parts.simulator_view import SimulatorView
from circuitcheck.space.wirings import Drivers, Inputs

Part = frozenset[int]
"""Some of the strokes of one moment, by their pistons."""


class Answer(NamedTuple):
    """What a device does in every order."""

    wait: int
    """The wait that it begins, or 0."""
    after: frozenset[Part]
    """The parts of the strokes after which it has begun it."""
    among: Part
    """All strokes that may change what it reads."""


def answer(
    simulator: SimulatorView,
    device: Device,
    reads: Mapping[Part, Inputs],
    numbered: Callable[[Drivers], PortDrivers],
    shifting: Collection[int],
) -> Answer | None:
    """What a device does that reads this after each part of some strokes; None where that may depend on their order.

    `shifting` are the devices whose own levels the strokes may change.
    """
    if device.reaction is None or len({each[:1] + each[3:] for each in reads.values()}) > 1:
        return None  # it does more than to react, moves, or does not point straight everywhere
    waits, on = device.reaction.waits, simulator.levels[device.index] > 0
    begun: dict[Part, int] = {}
    (port,) = device.part.ports()
    for part, inputs in reads.items():
        feeds = numbered(dict(inputs.ports).get(port.name, ()))
        if any(number in shifting for number, _ in feeds):
            return None
        powered = any(simulator.levels[number] > loss for number, loss in feeds)
        begun[part] = waits[2 * powered + on]
    whole = frozenset().union(*reads)
    if simulator.waiting[device.index]:
        back = device.reaction.going_off if on else device.reaction.going_on
        noted = simulator.holds(device.index, back) and not all(begun.values())
        return None if noted else Answer(0, frozenset(), whole)
    after = frozenset(part for part, wait in begun.items() if wait)
    found = {begun[part] for part in after}
    if not after:
        return Answer(0, after, whole)
    grows = all(larger in after for part in after for larger in begun if part < larger)
    if len(found) > 1 or frozenset() in after or not grows:
        return None
    return Answer(found.pop(), after, whole)
