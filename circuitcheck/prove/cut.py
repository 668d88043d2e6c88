"""Where a circuit can be cut into pieces that are explored apart, and which of the pieces are twins.

A cut goes right behind a part, the *exit*, when all that lies upstream of the exit feeds nothing else: what happens
there can be felt through the exit only, and nothing ever comes back. Cuts lie one in another or apart, so that the
pieces form a tree, with the rest of the circuit at its root.

Within one gt a piece and the rest take turns by class (rule C3). Where a part of the rest could act in the class of the
exit, and which of the two comes first could matter (`engine.orders`), the cut is not made. Exits of two pieces that tie
are no hindrance: their orders are all followed (`prove.interleavings`).

Pieces that are built alike, start alike, are asked the same and feed the same places with the same loss are twins: it
only matters how many of them are in a state, not which.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, fields
from functools import cached_property

from circuitcheck.engine.memory import CLASS_MASK
from circuitcheck.engine.program import Program
from circuitcheck.model.claims import Assumption
from circuitcheck.prove.influence import influence
from circuitcheck.prove.world import hold_of

LARGEST = 600
"""Circuits of more devices are not cut."""


@dataclass(frozen=True, slots=True)
class Plan:
    """A piece: its own devices, the groups of twins that feed it, and its exit; the root has none."""

    devices: tuple[int, ...]
    groups: tuple[tuple[Plan, ...], ...]
    exit: int | None
    questions: tuple[int, ...]
    """The questions of the claim that are answered in it."""
    order: tuple[int, ...] = ()
    """The devices of it and of all that feeds it; of pieces that are built alike, those alike at the same places."""


@dataclass(frozen=True)
class ProofScope:
    """What is looked at in a machine: some of its devices, closed upstream, and what is asked of them.

    `questions` are the devices that each question is about, with the losses on the way. `levels` are those of every
    device at each start.
    """

    program: Program
    devices: tuple[int, ...]
    questions: tuple[tuple[tuple[int, int], ...], ...]
    levels: tuple[bytes, ...]
    assumptions: tuple[Assumption, ...]

    @cached_property
    def reads(self) -> dict[int, int]:
        """For each device, all that feed it, as bits."""
        return {device: _bits(_sources(self.program, device)) for device in self.devices}

    @cached_property
    def upstream(self) -> dict[int, int]:
        """For each device, all that its level can come from, as bits, itself among them."""
        closed = {device: sources | 1 << device for device, sources in self.reads.items()}
        changed = True
        while changed:
            changed = False
            for device in self.devices:
                known = closed[device]
                wider = known
                for source in _members(self.reads[device]):
                    wider |= closed[source]
                if wider != known:
                    closed[device] = wider
                    changed = True
        return closed

    @cached_property
    def readers(self) -> dict[int, int]:
        """For each device, all that read it, as bits."""
        found = dict.fromkeys(self.devices, 0)
        for device, sources in self.reads.items():
            for source in _members(sources):
                found[source] |= 1 << device
        return found

    def loops(self, device: int) -> bool:
        """Whether what a device gives can come back to it."""
        return any(self.upstream[source] >> device & 1 for source in _members(self.reads[device]))


def _bits(numbers: Iterable[int]) -> int:
    found = 0
    for number in numbers:
        found |= 1 << number
    return found


def _members(bits: int) -> Iterable[int]:
    while bits:
        lowest = bits & -bits
        yield lowest.bit_length() - 1
        bits ^= lowest


def cone(program: Program, devices: Iterable[int]) -> tuple[int, ...]:
    """These devices and all that feed them, directly or not; where things move, all that can have a say in them."""
    if program.moving:
        return influence(program).cone(devices)
    found = dict.fromkeys(devices)
    queue = list(found)
    for device in queue:
        for source in _sources(program, device):
            if source not in found:
                found[source] = None
                queue.append(source)
    return tuple(sorted(found))


def _sources(program: Program, device: int) -> Iterable[int]:
    """All that has a say in a device directly; of a piston and its block, each has one in the other."""
    behaviour = program.devices[device]
    for port in behaviour.ports:
        for source, _ in program.feeds[port]:
            yield source
    if behaviour.beside:
        yield device + behaviour.beside


def uncut(scope: ProofScope) -> Plan:
    """All that is looked at in one piece."""
    return Plan(scope.devices, (), None, tuple(range(len(scope.questions))))


def cut(scope: ProofScope) -> Plan:
    """The tree of pieces; the plan of the root."""
    if len(scope.devices) > LARGEST or scope.program.moving:
        return uncut(scope)
    exits = _exits(scope)
    return _planned(scope, exits, None, scope.devices, range(len(scope.questions)))


# Where to cut


def _exits(scope: ProofScope) -> list[int]:
    exits = [device for device in scope.devices if _may_be_exit(scope, device)]
    while True:
        kept = [device for device in exits if not _hindered(scope, device, exits)]
        if len(kept) == len(exits):
            return kept
        exits = kept


def _may_be_exit(scope: ProofScope, device: int) -> bool:
    program = scope.program
    behaviour = program.devices[device]
    inside = scope.upstream[device]
    if behaviour.zero_delay or behaviour.beside or behaviour.part.verbs or inside == 1 << device:
        return False
    outside = scope.readers[device] & ~inside
    joins = any(scope.reads[reader] & ~(1 << device) or scope.loops(reader) for reader in _members(outside))
    if not outside or not joins:
        return False
    return not any(scope.readers[each] & ~inside for each in _members(inside) if each != device) and all(
        _fits(question, inside, device) for question in scope.questions
    )


def _fits(question: tuple[tuple[int, int], ...], inside: int, device: int) -> bool:
    """Whether a question can be answered wholly inside, or wholly outside with nothing but the exit seen."""
    asked = _bits(each for each, _ in question)
    return asked & ~inside == 0 or asked & inside in (0, 1 << device)


def _hindered(scope: ProofScope, device: int, exits: Sequence[int]) -> bool:
    """Whether a part of the rest could act in the exit's class in an order that matters."""
    around = _smallest(scope, device, exits)
    own = _own(scope, around, exits)
    classes = _classes(scope.program, device)
    orders = scope.program.orders
    return any(
        classes & _classes(scope.program, other) and orders.matter(device, None, other, None)
        for other in own
        if other not in exits or other == around
    )


def _classes(program: Program, device: int) -> set[int]:
    behaviour = program.devices[device]
    waits = behaviour.waits | behaviour.waits_on_change(None) | behaviour.own_waits(None)
    return {wait & CLASS_MASK for wait in waits}


def _smallest(scope: ProofScope, device: int, exits: Iterable[int]) -> int | None:
    """The exit of the piece right around a cut; None for the root."""
    around = [each for each in exits if each != device and scope.upstream[each] >> device & 1]
    return min(around, key=lambda each: scope.upstream[each].bit_count(), default=None)


def _own(scope: ProofScope, exit_: int | None, exits: Iterable[int]) -> tuple[int, ...]:
    """The devices of a piece that lie in no smaller one."""
    inside = _bits(scope.devices) if exit_ is None else scope.upstream[exit_]
    for each in exits:
        if each != exit_ and inside >> each & 1 and scope.upstream[each] != inside:
            inside &= ~scope.upstream[each]
    return tuple(_members(inside))


# The tree


def _planned(
    scope: ProofScope, exits: Sequence[int], exit_: int | None, devices: Sequence[int], questions: Iterable[int]
) -> Plan:
    inside = set(devices)
    children = [each for each in exits if each in inside and each != exit_ and _smallest(scope, each, exits) == exit_]
    left = list(questions)
    plans: dict[object, list[Plan]] = {}
    for child in children:
        below = scope.upstream[child]
        answered = [number for number in left if _bits(each for each, _ in scope.questions[number]) & ~below == 0]
        # What is asked of the exits of several pieces alike is answered outside, so that they can be twins.
        answered = [number for number in answered if scope.questions[number]]
        left = [number for number in left if number not in answered]
        plan = _planned(scope, exits, child, tuple(_members(below)), answered)
        plans.setdefault(_twin_key(scope, child, plan, left), []).append(plan)
    own = _own(scope, exit_, [*children, *([exit_] if exit_ is not None else [])])
    order = () if exit_ is None else _signature(scope, exit_)[1]
    return Plan(own, tuple(tuple(group) for group in plans.values()), exit_, tuple(left), order)


def _twin_key(scope: ProofScope, child: int, plan: Plan, left: Iterable[int]) -> object:
    """Equal for pieces that are twins."""
    if plan.questions or _asked_inside(plan):
        return child
    places = []
    for port, feeds in enumerate(scope.program.feeds):
        places += [(port, loss) for source, loss in feeds if source == child]
    asked = [(number, loss) for number in left for each, loss in scope.questions[number] if each == child]
    return (_signature(scope, child)[0], tuple(places), tuple(asked))


def _asked_inside(plan: Plan) -> bool:
    return any(each.questions or _asked_inside(each) for group in plan.groups for each in group)


def _signature(scope: ProofScope, exit_: int) -> tuple[object, tuple[int, ...]]:
    """All that a piece is, with numbers of its own for its devices: equal for pieces that are built alike.

    Beside it, the devices in the order of those numbers.
    """
    numbers = {exit_: 0}
    queue = [exit_]
    rows: list[object] = []
    program = scope.program
    for device in queue:
        beside = device + program.devices[device].beside
        if beside not in numbers:
            numbers[beside] = len(numbers)
            queue.append(beside)
        ports = []
        for port in program.devices[device].ports:
            feeds = []
            for source, loss in program.feeds[port]:
                if source not in numbers:
                    numbers[source] = len(numbers)
                    queue.append(source)
                feeds.append((numbers[source], loss))
            ports.append((program.ports[port].name, tuple(feeds)))
        rows.append((_kind(scope, device), tuple(ports)))
    return tuple(rows), tuple(queue)


def _kind(scope: ProofScope, device: int) -> object:
    program = scope.program
    part = program.devices[device].part
    settings: Mapping[str, object] = {each.name: getattr(part, each.name) for each in fields(part)}
    plain = tuple(
        (name, value)
        for name, value in settings.items()
        if name not in ("name", "span") and not (isinstance(value, tuple) and all(isinstance(e, str) for e in value))
    )
    levels = tuple(start[device] for start in scope.levels)
    straight = part.name in program.straight
    return (type(part), plain, straight, levels, hold_of(part.name, scope.assumptions))
