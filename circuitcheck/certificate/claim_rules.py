"""What a claim says at the end of each gt, and what is assumed of the inputs, as and-gates beside a circuit's.

Counters are rows of bits, the k-th for: k or more.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from circuitcheck.certificate.gates import NO, YES, Gates
from circuitcheck.certificate.power_ways import FULL
from circuitcheck.certificate.transition import Transition, Wired
from circuitcheck.certificate.uncertified import Uncertified
from circuitcheck.model.claims import (
    AllOf,
    Assumption,
    Atom,
    Body,
    Condition,
    Delay,
    Eventually,
    Holding,
    Invariant,
    Lengths,
    Not,
    Possible,
    Recurring,
    Relation,
    Response,
    Resting,
    Steady,
    Test,
    Unburnt,
    Unraced,
    Until,
    Watched,
    atoms,
    conditions,
)

LONGEST = 600
"""How many gt a claim or an assumption may count."""


def broken(system: Transition, body: Body) -> int:
    """Adds the watch of a claim. Returns a literal of a state: the claim has been broken. Raises Uncertified."""
    now = breaks(system, body)
    ever = system.held("the claim has been broken")
    system.becomes(ever, system.gates.any((ever, now)))
    return ever


def breaks(system: Transition, body: Body) -> int:
    """Adds the watch of a claim. Returns a literal of a step: the claim is broken in its gt. Raises Uncertified."""
    if not isinstance(body, Watched):
        raise Uncertified(_why_not(body))
    return _Watching(system).breaks(body)


def holds(system: Transition, condition: Condition) -> int:
    """A literal of a step: a condition holds at the end of its gt. Raises Uncertified."""
    return _Watching(system).holds(condition)


def named(wired: Wired, body: Body) -> dict[str, None]:
    """The parts that a claim reads."""
    if isinstance(body, Resting):
        return dict.fromkeys(wired.parts)
    if not isinstance(body, Watched | Eventually | Recurring):
        raise Uncertified(_why_not(body))
    found: dict[str, None] = {}
    for atom in (each for condition in conditions(body) for each in atoms(condition)):
        latch = wired.circuit.latches.get(atom.name)
        if latch is not None:
            both = wired.ways.powering((*latch.set_by, *latch.reset_by))
            found |= dict.fromkeys((atom.name, latch.inverse, *both))
        else:
            found |= dict.fromkeys(wired.ways.seen(atom.name))
    return found


def _why_not(body: Body) -> str:
    if isinstance(body, Eventually | Recurring | Resting):
        return "it is broken by a run without end, for which certificates have no form"
    if isinstance(body, Possible):
        return "it says what can always be brought about, which no single run can break"
    if isinstance(body, Unraced | Unburnt):
        unknown = isinstance(body, Unraced)
        return f"it is about {'unknown orders' if unknown else 'burn-out'}, which certificates don't know"
    return "it is a matter of chance"


class _Watching:
    """The watch of one claim."""

    def __init__(self, system: Transition) -> None:
        self._system = system
        self._gates: Gates = system.gates

    def breaks(self, body: Watched) -> int:
        """The claim is broken in this gt."""
        if isinstance(body, Invariant):
            return self.holds(body.condition) ^ 1
        if isinstance(body, Response):
            return self._response(body)
        if isinstance(body, Until):
            return self._until(body)
        if isinstance(body, Steady):
            return self._steady(body)
        if isinstance(body, Relation):
            return self._relation(body)
        return self._lengths(body) if isinstance(body, Lengths) else self._delay(body)

    def _response(self, body: Response) -> int:
        gates, trigger = self._gates, self.holds(body.trigger)
        answered = gates.any((self.holds(body.goal), self.holds(body.unless) if body.unless else NO))
        left = _row(self._system, "gt to answer", body.within)
        open_ = left[0] if left else NO
        new = gates.both(trigger, open_ ^ 1)
        _shift(self._system, left, new, body.within, also=answered ^ 1)
        last = gates.both(open_, (left[1] if len(left) > 1 else NO) ^ 1)
        return gates.both(answered ^ 1, new if not body.within else last)

    def _until(self, body: Until) -> int:
        gates = self._gates
        held_to = self._system.held("the claim is held to its word")
        bound = gates.all((gates.any((held_to, self.holds(body.trigger))), self.holds(body.release) ^ 1))
        held = self.holds(body.held)
        self._system.becomes(held_to, gates.both(bound, held))
        return gates.both(bound, held ^ 1)

    def _steady(self, body: Steady) -> int:
        if not body.duration:
            raise Uncertified("it says nothing about any gt")
        left = _row(self._system, "gt to keep still", body.duration)
        _shift(self._system, left, self.holds(body.trigger), body.duration)
        return self._gates.both(left[0], self.holds(Atom(body.name, Test.CHANGES)))

    def _relation(self, body: Relation) -> int:
        gates = self._gates
        alike = gates.same(self.holds(Atom(body.name)), self.holds(Atom(body.other)))
        wrong = alike if body.inverted else alike ^ 1
        since = _row(self._system, "gt wrong to each other", body.within)
        self._ages(since, wrong)
        return gates.both(wrong, since[-1] if since else YES)

    def _lengths(self, body: Lengths) -> int:
        gates = self._gates
        inside = self.holds(Atom(body.name, Test.OFF if body.of_gaps else Test.ON))
        least, most = body.least or 0, body.most
        age = [YES, *_row(self._system, "gt long", max(least, most or 0))]
        unseen = self._system.held("its beginning was not seen", YES)
        self._system.becomes(unseen, gates.both(unseen, inside))
        self._ages(age[1:], inside)
        too_long = gates.both(inside, age[most]) if most is not None else NO
        too_short = gates.all((inside ^ 1, unseen ^ 1, age[1], age[least] ^ 1)) if least else NO
        return gates.any((too_long, too_short))

    def _delay(self, body: Delay) -> int:
        gates = self._gates
        starts, ends = self.holds(body.start), self.holds(body.end)
        least, most = body.least or 0, body.most
        own = gates.both(starts, ends) if body.start[:2] != body.end[:2] else NO
        open_ = self._system.held("a delay has begun")
        age = [open_, *_row(self._system, "gt since then", max(least, most or 0))]
        begins = gates.choose(open_, gates.both(starts, ends), gates.both(starts, own ^ 1))
        self._system.becomes(open_, gates.any((begins, gates.both(open_, ends ^ 1))))
        self._ages(age[1:], gates.both(open_, ends ^ 1))
        early = gates.all((open_, ends, age[least - 1] ^ 1)) if least > 1 else NO
        at_once = gates.all((open_ ^ 1, own)) if least else NO
        late = NO
        if most is not None:
            late = gates.all((open_, ends ^ 1, age[most - 1])) if most else gates.any((begins, open_))
        return gates.any((early, at_once, late))

    def _ages(self, row: Sequence[int], goes_on: int) -> None:
        """A row that grows by one in each gt in which it goes on, and is empty after any other."""
        for place, held in enumerate(row):
            self._system.becomes(held, self._gates.both(goes_on, row[place - 1] if place else YES))

    # Conditions

    def holds(self, condition: Condition) -> int:
        """A condition holds at the end of the gt."""
        if isinstance(condition, Atom):
            return self._answer(condition)
        if isinstance(condition, Not):
            return self.holds(condition.part) ^ 1
        parts = [self.holds(part) for part in condition.parts]
        return self._gates.all(parts) if isinstance(condition, AllOf) else self._gates.any(parts)

    def _answer(self, atom: Atom) -> int:
        gates, system = self._gates, self._system
        wired = system.wired
        latch = wired.circuit.latches.get(atom.name)
        if latch is not None and atom.test is Test.FORBIDDEN:
            both = (wired.ways.powering(latch.set_by), wired.ways.powering(latch.reset_by))
            return gates.all(system.reads(ways, later=True) for ways in both)
        if latch is not None and atom.test in (Test.SET, Test.RESET):
            side, inverse = (system.reads({name: 0}, later=True) for name in (atom.name, latch.inverse))
            return gates.both(side, inverse ^ 1) if atom.test is Test.SET else gates.both(side ^ 1, inverse)
        ways = wired.ways.seen(atom.name)
        now, before = system.reads(ways, later=True), system.reads(ways)

        def least(level: int) -> int:
            return system.reads(ways, level, later=True)

        answers: dict[Test, Callable[[], int]] = {
            Test.ON: lambda: now,
            Test.OFF: lambda: now ^ 1,
            Test.RISES: lambda: gates.both(now, before ^ 1),
            Test.FALLS: lambda: gates.both(now ^ 1, before),
            Test.CHANGES: lambda: system.changes(ways),
            Test.AT_LEAST: lambda: least(atom.level) if atom.level else YES,
            Test.AT_MOST: lambda: least(atom.level + 1) ^ 1 if atom.level < FULL else YES,
            Test.LEVEL: lambda: gates.both(
                least(atom.level) if atom.level else YES, least(atom.level + 1) ^ 1 if atom.level < FULL else YES
            ),
        }
        if atom.test not in answers:
            raise Uncertified("it asks whether a latch is known")
        return answers[atom.test]()


def assume(system: Transition, assumptions: Sequence[Assumption]) -> None:
    """Adds what is assumed of the inputs: only steps count that keep to it. Raises Uncertified."""
    driven = {name: part.driven for name, part in system.parts.items() if part.driven != NO}
    for each in assumptions:
        if isinstance(each, Holding):
            for name in each.names:
                if name in driven:
                    _keeps_still(system, name, driven[name], each.at_least)
        elif driven:
            _keeps_pace(system, list(driven.values()), each.most, each.within)


def _keeps_still(system: Transition, name: str, driven: int, gt: int) -> None:
    """After a change an input keeps still for so many gt."""
    if gt < 2:
        return
    left = _row(system, f"gt {name} keeps still", gt - 1)
    system.require(system.gates.both(driven, left[0]) ^ 1)
    _shift(system, left, driven, gt - 1)


def _keeps_pace(system: Transition, driven: Sequence[int], most: int, within: int) -> None:
    """At most so many changes within so many gt: of the latest changes, each keeps a place until it is old enough."""
    gates = system.gates
    if most * within > LONGEST * 4:
        raise Uncertified("the pace that is assumed counts too much")
    more = _counted(gates, driven, most)
    system.require(more[most] ^ 1)
    places = [_row(system, f"gt the change {place} back counts", within - 1) for place in range(1, most + 1)]
    for count in range(1, most + 1):
        old = places[most - count]
        system.require(gates.both(more[count - 1], old[0] if old else NO) ^ 1)
    for place, row in enumerate(places):
        for bit, held in enumerate(row):
            then = NO
            for count in range(most + 1):  # how many changes there are in this gt
                exactly = gates.both(more[count - 1] if count else YES, more[count] ^ 1 if count < most else YES)
                if count > place:
                    comes = YES
                else:
                    earlier = places[place - count]
                    comes = earlier[bit + 1] if bit + 1 < len(earlier) else NO
                then = gates.any((then, gates.both(exactly, comes)))
            system.becomes(held, then)


def _counted(gates: Gates, literals: Sequence[int], most: int) -> list[int]:
    """For each number up to `most`: more than so many are true."""
    more = [NO] * (most + 1)
    for literal in literals:
        for number in range(most, -1, -1):
            more[number] = gates.any((more[number], gates.both(literal, more[number - 1] if number else YES)))
    return more


def _row(system: Transition, what: str, longest: int) -> list[int]:
    """The bits of a counter."""
    if longest > LONGEST:
        raise Uncertified(f"it counts more than {LONGEST} gt")
    row = [system.held(f"{number} or more {what}") for number in range(1, longest + 1)]
    system.rows.append(row)
    return row


def _shift(system: Transition, row: Sequence[int], begins: int, length: int, also: int = YES) -> None:
    """A row that is full where something begins, and else one less in each gt."""
    gates = system.gates
    for place, held in enumerate(row):
        later = row[place + 1] if place + 1 < len(row) else NO
        system.becomes(held, gates.both(also, gates.any((later, begins if length > place else NO))))
