"""A circuit between two gt, frozen; the choices and records up to it; who takes notes."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple, Protocol

from circuitcheck.engine.offs import Offs, aged
from circuitcheck.engine.ties import FrozenTies

if TYPE_CHECKING:
    from circuitcheck.space.configuration import Configuration


class State(NamedTuple):
    """A circuit between two gt: levels, what devices remember, waits to go, and latest offs of torches."""

    levels: bytes
    device_state: bytes
    waits: tuple[tuple[int, int, tuple[int, ...]], ...]
    """(gt to go, order class, the devices in the order in which they act)."""
    offs: Offs
    """The offs of torches within the window of rule T4."""
    ties: FrozenTies
    """Which of those waits stand in an order that is open."""
    readings: bytes
    """The level at each port. The levels say it all, but to compute it again would cost as much as there are ports."""
    configuration: Configuration | None = None
    """What is not where it is drawn, where things move; None where nothing does."""

    def later(self, window: int) -> State:
        """The state a gt later, where nothing is due in it and no order is open: only waits and offs grow older."""
        waits = tuple([(to_go - 1, order_class, devices) for to_go, order_class, devices in self.waits])
        return State(
            self.levels,
            self.device_state,
            waits,
            aged(self.offs, 1, window),
            self.ties,
            self.readings,
            self.configuration,
        )

    @property
    def idle(self) -> bool:
        """Whether nothing but time passes in the next gt, unless somebody acts."""
        if self.ties.descents:
            return False
        waits = self.waits
        return not waits or min(waits)[0] > 1


class Order(NamedTuple):
    """A choice that rule C5 leaves open, as it was made: who began first among devices that tie."""

    game_tick: int
    devices: tuple[int, ...]


class Log(NamedTuple):
    """The choices made on the way to a simulator, latest first."""

    order: Order
    before: Log | None


class Notes(Protocol):
    """Takes what a device noted of itself: a pulse swallowed, a change missed, a burn-out."""

    def __call__(self, game_tick: int, device: int, rule: str) -> None: ...


class Trail(NamedTuple):
    """What a recorder wrote down on the way to a simulator, latest first; each of several ways has its own."""

    entry: tuple[int, ...]
    before: Trail | None


def ignore(game_tick: int, device: int, rule: str) -> None:
    """Takes notes and drops them."""
