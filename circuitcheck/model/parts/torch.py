"""The torch: an inverter with a delay of 1t that burns out when it is toggled too fast (rules T1 to T6)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import ClassVar

from circuitcheck.model.duration import GAME_TICKS_PER_TICK
from circuitcheck.model.parts.base import (
    ALL_ELSE,
    Device,
    Kind,
    Moment,
    Part,
    Port,
    Reason,
    Request,
    from_option,
    start_option,
)
from circuitcheck.model.rules import FULL_POWER, RuleSet

DELAY = GAME_TICKS_PER_TICK
BURN_OUT_COUNT = 8
"""Offs within the window that burn a torch out (rule T4)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Torch(Part):
    feeds: tuple[str, ...]
    word: ClassVar[str] = "torch"
    powered_by: ClassVar[tuple[str, ...]] = ("feeds",)

    def ports(self) -> tuple[Port, ...]:
        return (Port("block", self.feeds),)

    def device(self, index: int, ports: Sequence[int], straight: bool, rules: RuleSet) -> Device:
        return TorchDevice(self, index, ports, rules)


class TorchDevice(Device):
    """Its latest offs stand in the moment: at most eight, and only those can burn it out."""

    __slots__ = ("block", "rest", "window")

    def __init__(self, part: Part, index: int, ports: Sequence[int], rules: RuleSet) -> None:
        super().__init__(part, index, ports)
        self.block = ports[0]
        self.window = rules.burn_out_window
        self.rest = rules.burn_out_rest

    def told(self, moment: Moment) -> None:
        index = self.index
        if (moment.readings[self.block] > 0) is (moment.levels[index] > 0):
            if not moment.waiting[index]:
                moment.begin(index, DELAY, ALL_ELSE)
        elif moment.waiting[index] and moment.waits_until(index, moment.now + DELAY, ALL_ELSE):
            moment.note(index, "V3")

    def act(self, moment: Moment) -> None:
        index = self.index
        powered = moment.readings[self.block]
        if moment.levels[index]:
            if powered:
                self._go_off(moment)
            else:
                moment.note(index, "T3")
        elif powered:
            moment.note(index, "T3")
        elif not self._burnt_out(moment):
            moment.put(index, FULL_POWER)

    def _go_off(self, moment: Moment) -> None:
        index = self.index
        if self.window:
            offs = moment.offs.get(index)
            if offs is None:
                offs = moment.offs[index] = []
            offs.append(moment.now)
            if len(offs) >= BURN_OUT_COUNT:
                if len(offs) > BURN_OUT_COUNT:
                    del offs[0]
                if moment.now - offs[0] <= self.window:
                    moment.note(index, "T4")
                    moment.afterwards(index)
        moment.put(index, 0)

    def _burnt_out(self, moment: Moment) -> bool:
        offs = moment.offs.get(self.index)
        if not self.window or offs is None or len(offs) < BURN_OUT_COUNT:
            return False
        return moment.now - offs[0] <= self.window

    def after(self, moment: Moment) -> None:
        if self.rest and not moment.waiting[self.index]:
            moment.begin(self.index, self.rest, ALL_ELSE)

    def settled(self, low: Mapping[int, int], high: Mapping[int, int]) -> tuple[int, int]:
        if low[self.block]:
            return (0, 0)
        return (0 if high[self.block] else FULL_POWER, FULL_POWER)

    def possible_waits(self) -> frozenset[tuple[int, int]]:
        return frozenset({(DELAY, ALL_ELSE)} | ({(self.rest, ALL_ELSE)} if self.rest else set()))

    def reason(self, level: int) -> Reason:
        words = "its block is unpowered, so it comes on" if level else "its block is powered, so it goes off"
        return Reason("T1", words)


def build(request: Request) -> tuple[Part, ...]:
    return (Torch(name=request.name, span=request.span, start=request.start, feeds=request.feeds("from")),)


KIND = Kind(
    "torch",
    "on while its block is unpowered: an inverter, or a NOR of several feeds, 1t late",
    (from_option("what powers the block it hangs on", required=False), start_option()),
    build,
)
