"""A circuit wired up: devices and ports by number, who feeds whom, who is updated. Built once, never changed."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from circuitcheck.diagnostics import NOWHERE
from circuitcheck.engine.fanout import PortDrivers
from circuitcheck.engine.power import Power, is_block
from circuitcheck.engine.source import Source
from circuitcheck.engine.wired import Wired
from circuitcheck.engine.wiring import pointing_straight, read
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.light import DEEPEST, FULL

if TYPE_CHECKING:
    from circuitcheck.engine.motion import Motion
    from circuitcheck.engine.stroke_orders import StrokeOrders
    from circuitcheck.engine.water_flow import Flow

__all__ = ["PortDrivers", "Program", "read"]


class Program(Wired):
    """A circuit wired up under its rules."""

    def __init__(self, circuit: Circuit, still: bool = False) -> None:
        """Wires up a circuit; `still` leaves everything where it is drawn, so that nothing moves however it runs."""
        self.circuit = circuit
        self.rules = circuit.rules
        self.power = Power(circuit)
        self.straight = pointing_straight(circuit)
        self.moving = not still and circuit.things_move
        self.motion: Motion | None = None
        """What strokes do to it, where things move."""
        self.stroke_orders: StrokeOrders | None = None
        """Whose strokes collide, where things move."""
        self._probes: dict[str, PortDrivers] = {}
        if not self.moving:
            self._wire([part for part in circuit.parts if part.behaves], {})
            return
        from circuitcheck.engine.moving_parts import moving_parts  # what moves is imported only where something does
        from circuitcheck.engine.water_flow import Flow

        flow = Flow(circuit)
        self._wire(moving_parts(circuit, flow), {})
        self._set_in_motion(flow)

    def _set_in_motion(self, flow: Flow, whole: Motion | None = None) -> None:
        """Lets strokes change the wiring, which begins as it is with everything at home."""
        from circuitcheck.engine.motion import Motion
        from circuitcheck.engine.stroke_orders import StrokeOrders
        from circuitcheck.space.configuration import AT_HOME

        self.motion = Motion(self, flow, whole)
        self.stroke_orders = StrokeOrders(self.motion)
        self.wiring = self.motion.standing(AT_HOME).wiring

    def __reduce__(self) -> tuple[type[Program], tuple[Circuit, bool]]:
        """A machine goes to another process as its circuit and is wired up there; one that was cut can't go."""
        return Program, (self.circuit, not self.moving)

    @classmethod
    def cut(cls, whole: Program, devices: Iterable[int], sources: Iterable[Sequence[int]]) -> Program:
        """Some devices of a machine standing alone. Where things move, nothing else may have a say in them.

        Each group in `sources` is of other devices that feed these, all at the same places with the same loss; one
        `Source` stands for them, which gives the highest of their levels. Sources come first in the numbering.
        """
        part = object.__new__(cls)
        part.motion, part.stroke_orders, part.moving = None, None, whole.moving
        part.circuit, part.rules, part.power, part.straight = whole.circuit, whole.rules, whole.power, whole.straight
        groups = list(sources)
        stand_ins = [Source(name=whole.names[group[0]], span=NOWHERE) for group in groups]
        aliases = {whole.names[each]: number for number, group in enumerate(groups) for each in group}
        part._probes = {}
        part._wire([*stand_ins, *(whole.devices[number].part for number in devices)], aliases)
        if whole.motion is not None:
            assert not groups, "where things move, no source stands for what feeds a piece"
            part._set_in_motion(whole.motion.flow.within(part.number), whole.motion)
        return part

    def probe(self, name: str) -> PortDrivers:
        """What makes the level that a person reads at a part: a device's own, a line's last dust, a block's power."""
        known = self._probes.get(name)
        if known is None:
            if self.motion is not None and name in self.number:
                return ((self.number[name], 0),)
            if self.motion is not None and name.removesuffix(FULL) in self.number:
                return ((self.number[name.removesuffix(FULL)], DEEPEST - 1),)  # what is below the deepest gives nothing
            part = self.circuit.by_name[name]
            watched = part.behaves or not is_block(part)
            feeds = self.power.watched((name,)) if watched else self.power.feeds((name,))
            known = self._probes[name] = self._numbered(feeds)
        return known

    def is_water(self, name: str) -> bool:
        """Whether a place of water that strokes can change is called so."""
        return self.motion is not None and self.number.get(name) in self.motion.flow.place_of

    def only_felt(self, device: int) -> bool:
        """Whether all that read a device, as everything is drawn, watch it alone: more than its changes is not read."""
        return all(self.ports[each.port].watches and each.feeds == ((device, 0),) for each in self.readers[device])

    def probe_sources(self, sources: Iterable[str]) -> PortDrivers:
        """What makes the power that these sources give together, as at the set input of a latch."""
        return self._numbered(self.power.feeds(sources))
