"""A claim about parts at the end of long ways without a loop, proved of how long these take, whatever they compute.

Behind inputs that are worked by hand let there be parts in no loop. Let D be how long one of them goes on at most once
what it reads has changed for the last time; that is found by having the engine's own device go on from every state that
it may be in (`prove.symbolic.local`), with its inputs as they are, on or off. Then along each way the D add up. Let
no input behind a part change after gt s. Each of its sources that is an input changes in gt s for the last time; each
other, by induction over the way, in gt s + T at the latest, there and back within a gt counted, where T is its own sum;
and the part itself D after the latest of these. So the part changes in a gt only if an input behind it has
changed no more than its T ago. Where anything behind it goes on from the start by itself, the start counts as such a
change in the gt before gt 0: there each wait has yet to be waited in full. Elsewhere all stands still until one comes.

That is all that is taken of such a part here. It is left free but for this: it may change in a gt in which an input
behind it changes, and in the T gt after that, and in no others. Each run of the circuit is one of this system, so that
a claim which nothing breaks here is proved. A run that breaks it here says nothing: what the part computes is left out.

This is the longest way of static timing analysis (T. I. Kirkpatrick and N. R. Clark, "PERT as an aid to logic design",
1966; from memory), as a bound on when a part may change.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Iterator, Mapping, Sequence
from typing import NamedTuple

from circuitcheck.engine.program import Program
from circuitcheck.model.claims import Assumption, RateLimit
from circuitcheck.model.rules import FULL_POWER
from circuitcheck.prove.cut import cone
from circuitcheck.prove.interleavings import TooMuch
from circuitcheck.prove.meter import Meter
from circuitcheck.prove.symbolic.local import Local, LocalMachine, Seen, kind_of, machine_of
from circuitcheck.prove.symbolic.system import System, begins
from circuitcheck.prove.symbolic.watched import countdown

WORTH = 12
"""Behind a part that is left free stand at least so many that need no place in the formula then."""

DEEP = 60
"""Behind a part with so many behind it a run that breaks a claim is sought at random before a shortest one is."""

Situation = tuple[Local, tuple[int, ...]]
"""A device's state, and what its ports read."""


class Settling(NamedTuple):
    """How long a part goes on at most once no input behind it changes any more."""

    inputs: frozenset[int]
    within: int
    """In gt."""
    behind: int
    """How many parts stand behind it."""
    calm: bool
    """Whether from each start all of them stay as they are until an input changes."""


def settling(program: Program, device: int) -> Settling | None:
    """How long a part goes on at most; None where that is not known: in a loop, or behind what is not known of."""
    whole = cone(program, (device,))
    order = _sources_first(program, whole)
    if order is None or program.moving:
        return None
    try:
        kinds = _kinds(program, whole)
    except TooMuch:
        return None
    by_hand = frozenset(each for each in whole if program.devices[each].part.verbs)
    within: dict[int, int] = {}
    for each in order:
        kind = kinds[kind_of(program, each)]
        if each in by_hand:
            if kind.may_change_by_itself:
                return None
            within[each] = 0
        elif kind.last is None:
            return None
        else:
            within[each] = kind.longest + max((within[source] for source in _feeding(program, each)), default=0)
    calm = all(kind.last is None or not any(kind.last[each] for each in kind.begins) for kind in kinds.values())
    return Settling(by_hand, within[device], len(whole) - len(by_hand), calm)


class _Kind(NamedTuple):
    """Devices of one behaviour."""

    machine: LocalMachine
    begins: Sequence[Situation]
    """How they begin."""
    situations: Sequence[Situation]
    """What they may come to."""
    last: Mapping[Situation, int] | None
    """Of each of these, after how many gt they have changed for the last time; none of what is worked by hand."""

    @property
    def may_change_by_itself(self) -> bool:
        """It has inputs, or waits."""
        return self.machine.ports > 0 or any(local.wait is not None for local, _ in self.situations)

    @property
    def longest(self) -> int:
        """After how many gt they have changed for the last time, at most."""
        return max(self.last.values(), default=0) if self.last else 0


def last_changes(machine: LocalMachine, situations: Iterable[Situation]) -> dict[Situation, int] | None:
    """From each situation, after how many gt a device has changed for the last time if its ports read the same from
    then on; None if it may change for ever.

    Changes there and back within a gt count as well.
    """
    after: dict[Situation, list[tuple[bool, Situation]]] = {}
    for local, readings in situations:
        still = Seen(readings, readings, readings, (0,) * machine.ports, "")
        after[local, readings] = [
            (come.dipped or come.after.on is not local.on, (come.after, readings))
            for come in machine.after(local, still)
        ]
    left = dict.fromkeys(after, 0)
    for _ in range(len(after) + 1):
        before = dict(left)
        for situation, comes in after.items():
            left[situation] = max(
                (before[then] + 1 if before[then] else int(changes) for changes, then in comes), default=0
            )
        if left == before:
            return left
    return None  # the number of gt grows beyond that of its states: it goes round


def _kinds(program: Program, whole: Sequence[int]) -> Mapping[Hashable, _Kind]:
    """The kinds of some devices that nothing else feeds. Raises TooMuch."""
    place = {device: number for number, device in enumerate(whole)}
    begun: dict[Hashable, dict[Situation, None]] = {}
    for start in begins(program, Program.cut(program, whole, ()), whole):
        for device in whole:
            ports = [program.feeds[port] for port in program.devices[device].ports]
            read = tuple(
                int(any(start[place[source]].on for source, loss in feeds if loss < FULL_POWER)) for feeds in ports
            )
            begun.setdefault(kind_of(program, device), {})[start[place[device]], read] = None
    found = {}
    for kind, device in {kind_of(program, device): device for device in whole}.items():
        machine = machine_of(program, device)
        situations = tuple(machine.situations(begun[kind]))
        last = None if machine.verbs else last_changes(machine, situations)
        found[kind] = _Kind(machine, tuple(begun[kind]), situations, last)
    return found


def _feeding(program: Program, device: int) -> set[int]:
    ports = program.devices[device].ports
    return {source for port in ports for source, loss in program.feeds[port] if loss < FULL_POWER}


def _sources_first(program: Program, whole: Sequence[int]) -> list[int] | None:
    """Some devices, each after those that feed it; None if some feed each other."""
    left = {device: _feeding(program, device) for device in whole}
    found: list[int] = []
    while left:
        free = [device for device, sources in left.items() if sources.isdisjoint(left)]
        if not free:
            return None
        found += free
        for device in free:
            del left[device]
    return found


class Cut(NamedTuple):
    """A claim's system in which some parts are known by how long they take alone."""

    inside: tuple[int, ...]
    settling: Mapping[int, Settling]

    def system(self, program: Program, meter: Meter) -> System:
        """It without claim and assumptions. Raises TooMuch and OverBudget."""
        left_free = tuple(self.settling)
        system = System(program, self.inside, meter, left_free)
        system.tell_waits_apart()  # what a pulse says of when inputs changed is most of such a proof
        numbers = {device: number for number, device in enumerate((*left_free, *self.inside))}
        for device, each in self.settling.items():
            _stays(system, numbers[device], [numbers[one] for one in sorted(each.inputs)], each)
        return system


def cuts_by_depth(program: Program, about: Iterable[int], assumptions: Sequence[Assumption]) -> Iterator[Cut]:
    """The cuts behind the parts that a claim is about, where they spare enough: behind all that can be, and behind one.

    What is behind the others stays, as one of them may be what says how long the claim waits for the rest. Parts that
    the pace gives no time to come to an end are left out: those may change at any moment.
    """
    about = tuple(dict.fromkeys(about))
    known = _in_time(program, about, assumptions, WORTH)
    most = [known] if len(known) > 1 else []
    for tried in (*most, *({device: known[device]} for device in sorted(known, key=lambda one: -known[one].behind))):
        rest = [device for device in about if device not in tried]
        inside = {*cone(program, rest), *(one for each in tried.values() for one in each.inputs)}
        if inside.isdisjoint(tried):
            yield Cut(tuple(sorted(inside)), tried)


def is_deep(program: Program, about: Iterable[int], assumptions: Sequence[Assumption]) -> bool:
    """Whether a claim is about a part at the end of so much that a shortest run takes long to find."""
    return bool(_in_time(program, about, assumptions, DEEP))


def _in_time(
    program: Program, about: Iterable[int], assumptions: Sequence[Assumption], least: int
) -> dict[int, Settling]:
    """The parts that come to an end within the pace, of those with so many behind them."""
    pace = max((each.within for each in assumptions if isinstance(each, RateLimit)), default=0)
    found = {device: settling(program, device) for device in dict.fromkeys(about)} if pace else {}
    return {device: each for device, each in found.items() if each and each.behind >= least and each.within < pace}


def _stays(system: System, number: int, inputs: Sequence[int], known: Settling) -> None:
    """A part changes only so soon after one of these inputs did, or after a start that is not calm."""
    formula = system.formula
    moved = formula.any(-formula.same(system.parts[each].on, system.parts[each].then_on) for each in inputs)
    part = system.parts[number]
    stays = formula.same(part.on, part.then_on)
    settled = countdown(system, moved, known.within, begun=not known.calm)
    system.require(formula.any((stays, moved, -settled)))
