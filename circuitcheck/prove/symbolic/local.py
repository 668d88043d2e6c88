"""What one device may do within one gt, as a table, found by having the engine's own device do it.

A device sees its ports change, its wait end, and what is done to it from outside. Between two gt it is in a `Local`
state. Within a gt each port goes from one reading to another, perhaps past other readings, before or after the device
acts; each such change is an update. All that is kept of this is: what each port reads at the beginning, as the device
acts, and at the end, and whether the device notices a dip of it. For each of these the table has everything that the
device may have come to.

A dip is a change of a reading that is undone within the gt. A device that notices dips may notice any number of them,
at any time in the gt, so that more is allowed here than the engine does, and never less.
"""

from __future__ import annotations

import itertools
from collections.abc import Hashable, Iterable, Iterator, Sequence
from functools import lru_cache
from typing import NamedTuple

from circuitcheck.engine.program import Program
from circuitcheck.prove.interleavings import TooMuch
from circuitcheck.prove.symbolic.alone import Alone, Wait

MOST_STATES = 1_000
"""How many states one device may have, those with other readings counted apart."""


class Local(NamedTuple):
    """A device between two gt: whether it is on, its mark, and what it waits for."""

    on: bool
    mark: int
    wait: Wait | None

    @property
    def due(self) -> bool:
        """Whether its wait is over in the next gt."""
        return self.wait is not None and self.wait.to_go == 1


class Seen(NamedTuple):
    """What a device sees in a gt: of each port a reading, 1 or 0, and what is done to it from outside."""

    first: tuple[int, ...]
    acting: tuple[int, ...]
    """As it acts; as at the beginning where it does not."""
    last: tuple[int, ...]
    dips: tuple[int, ...]
    """Whether dips are noticed."""
    driven: str
    """The verb of the action, or an empty text."""


class Comes(NamedTuple):
    """What a device may come to, and whether its own level went there and back on the way."""

    after: Local
    dipped: bool


class _Within(NamedTuple):
    """A device in the midst of a gt."""

    local: Local
    readings: tuple[int, ...]
    changed: tuple[int, ...]
    """Of each port, whether it has changed since the gt began or since the device acted."""
    acted: bool
    driven: bool
    changes: int
    """How often the device's own level has changed, up to 2."""


def _alone(local: Local, readings: Sequence[int]) -> Alone:
    return Alone(local.on, local.mark, local.wait, readings)


class LocalMachine:
    """One device of a circuit, standing alone."""

    def __init__(self, program: Program, number: int) -> None:
        part = program.devices[number].part
        device = program.devices[number]
        unfit = part.measures or device.beside or any(port.silent for port in part.ports())
        if unfit or not has_two_levels(program, number):
            raise TooMuch(f"the formula has no levels between off and on, and nothing that moves: '{part.name}'")
        self.ports = len(part.ports())
        self._device = part.device(0, range(self.ports), part.name in program.straight, program.rules)
        self.verbs = part.verbs
        self._after: dict[tuple[Local, Seen], tuple[Comes, ...]] = {}

    def actions(self, local: Local) -> tuple[str, ...]:
        """What may be done to it in the next gt (see `prove.world`)."""
        if "throw" in self.verbs:
            return ("throw",)
        if "press" in self.verbs:
            return ("press",) if local.due or not local.on else ()
        return ("off" if local.mark else "on",) if self.verbs else ()

    def situations(self, starts: Iterable[tuple[Local, tuple[int, ...]]]) -> dict[tuple[Local, tuple[int, ...]], None]:
        """Every state that it can come to, with what its ports read then, whatever it sees. Raises TooMuch."""
        found = dict.fromkeys(starts)
        queue = list(found)
        for local, readings in queue:
            for seen in self.sights(local):
                if seen.first != readings:
                    continue
                for comes in self.after(local, seen):
                    pair = (comes.after, seen.last)
                    if pair not in found:
                        found[pair] = None
                        queue.append(pair)
            if len(found) > MOST_STATES:
                raise TooMuch("a part has too many states for the formula")
        return found

    def waits_in_a_row(self, situations: Iterable[tuple[Local, tuple[int, ...]]]) -> bool:
        """Whether it may begin a wait as it acts, whatever its ports read from then on."""
        still = (0,) * self.ports
        return any(
            come.after.wait is not None
            for local, readings in situations
            if local.due
            for come in self.after(local, Seen(readings, readings, readings, still, ""))
        )

    def sights(self, local: Local) -> Iterator[Seen]:
        """All that it may see in the gt after a state."""
        each = list(itertools.product((0, 1), repeat=self.ports))
        for first, last, dips in itertools.product(each, each, each):
            for acting in each if local.due else (first,):
                for driven in ("", *self.actions(local)):
                    yield Seen(first, acting, last, dips, driven)

    def after(self, local: Local, seen: Seen) -> tuple[Comes, ...]:
        """Everything that it may have come to after a gt in which it sees this."""
        known = self._after.get((local, seen))
        if known is None:
            known = self._after[local, seen] = self._tried(local, seen)
        return known

    def _tried(self, local: Local, seen: Seen) -> tuple[Comes, ...]:
        wait = local.wait
        if wait is not None:
            local = local._replace(wait=wait._replace(to_go=wait.to_go - 1))
        still = (0,) * self.ports
        first = _Within(local, seen.first, still, not (wait and wait.to_go == 1), not seen.driven, 0)
        found: dict[Comes, None] = {}
        met = {first}
        queue = [first]
        for within in queue:
            if within.acted and within.driven and within.readings == seen.last:
                dipped = within.changes > 1
                found[Comes(within.local, dipped)] = None
            for later in self._next(within, seen):
                if later not in met:
                    met.add(later)
                    queue.append(later)
        return tuple(sorted(found, key=str))

    def _next(self, within: _Within, seen: Seen) -> Iterator[_Within]:
        still = (0,) * self.ports
        if not within.acted and within.readings == seen.acting:
            view = _alone(within.local, within.readings)
            view.waiting[0], view.wait = 0, None
            view.levels[0] = self._device.act(view)
            yield self._changed(within, view)._replace(acted=True, changed=still)
        if within.acted and not within.driven:
            view = _alone(within.local, within.readings)
            self._device.drive(view, seen.driven, 0)
            yield self._changed(within, view)._replace(driven=True)
        for flips in itertools.product((0, 1), repeat=self.ports):
            if any(flips) and not any(
                flip and done and not dips for flip, done, dips in zip(flips, within.changed, seen.dips, strict=True)
            ):
                readings = tuple(a ^ b for a, b in zip(within.readings, flips, strict=True))
                view = _alone(within.local, readings)
                wait = self._device.on_input_change(view)
                if wait:
                    view.begin(0, wait)
                changed = tuple(a | b for a, b in zip(within.changed, flips, strict=True))
                yield self._changed(within, view)._replace(readings=readings, changed=changed)

    def _changed(self, within: _Within, view: Alone) -> _Within:
        local = Local(view.levels[0] > 0, view.device_state[0], view.wait)
        changes = within.changes + (local.on is not within.local.on)
        return within._replace(local=local, changes=min(changes, 2))


@lru_cache(maxsize=8)
def _machines(program: Program) -> dict[Hashable, LocalMachine]:
    """What is known of the kinds of device of a program: every system of each of its claims asks the same of them."""
    return {}


def machine_of(program: Program, device: int) -> LocalMachine:
    """The machine of a device; one for all of a kind. Raises TooMuch."""
    known, kind = _machines(program), kind_of(program, device)
    if kind not in known:
        known[kind] = LocalMachine(program, device)
    return known[kind]


def has_two_levels(program: Program, number: int) -> bool:
    """Whether a device gives full power or none, and does nothing that the formula has no words for."""
    device = program.devices[number]
    return not (device.part.graded or device.strokes or device.flows or "is" in device.part.verbs)


def kind_of(program: Program, number: int) -> Hashable:
    """What devices of one behaviour have in common: all that is said of their parts but names."""
    part = program.devices[number].part
    return (type(part), part.name in program.straight, len(part.ports()), part.said)
