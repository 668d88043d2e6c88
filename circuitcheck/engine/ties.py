"""Orders that are left open until they matter: which waits of a simulator stand in an order that nothing decides yet.

Parts that one change tells may begin waits that end in one gt and class in an order that is unknown (rule C5). Such
parts form a *tie*, each on a *seat* of it, and the order of the seats stays open. As long as it is open, one simulator
stands for all orders: the levels are the same in each of them, and waits are too but for their order.

A part on one seat acts, and those that it calls begin their waits at its turn. So whoever a part calls, and whoever
those call, descends from its seat. Two waits of one slot of the calendar are compared by their descent, as words are by
their letters:

* if the turns in which they were begun, or those in which their callers' waits were begun, and so on, are not the same
  turns, the earlier turn comes first;
* else their seats are compared, oldest tie first. Where they sit on two seats of one tie, the order of the seats is
  their order, known or open. In all other cases they have one caller, or callers whose order was known, and the list of
  the slot has their order.

A descent is of a wait, not of a device: a piston that is called home before what it moves has landed holds two.

A descent is kept as a number, which is the same for two waits if and only if all their turns are the same, and the
seats. A seat has one order for all that descends from it, so that an order which shows in two slots is open in both or
known in both. What is known of the seats of a tie is a partial order; each of its linear extensions can happen, and
nothing else can. That is why nothing is lost and nothing is added.

When a slot comes up, the seats of those of its parts that collide (`engine.orders`) are put in order, in every way
there is, and the simulator splits into as many. All other open orders of the slot can stay open: parts that don't
collide may be taken in any order that the known ones allow, what each of them does is the same in all, and what they
call descends from their seats.

A seat is given up once its order can't matter any more: no wait that descends from it matters to one that descends from
another seat of its tie in an open order. Seats that matter to each other are given up together only: as long as one of
them is open, what it calls may come before or behind what the others call. Of what is known of the seats that are left
nothing is lost, since each linear extension of a part of a partial order is part of one of the whole.
"""

from __future__ import annotations

import heapq
import itertools
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import NamedTuple

from circuitcheck.engine import work

Wait = tuple[int, int]
"""A device and the slot of the calendar in which it acts: a piston may be called before what it moves has landed."""
WORKED = -1
"""Instead of a slot, for what is worked from outside."""
Slots = Iterable[tuple[int, Sequence[int]]]
"""Slots of the calendar with their devices."""
Seat = tuple[int, int]
"""A tie and the number of a seat of it."""
Parting = tuple[int, int, int]
"""A tie and two seats of it."""
Known = frozenset[tuple[int, int]]
"""Pairs of seats of one tie, the earlier first; closed under transitivity."""
Matters = Callable[[int, int], bool]
"""Whether it can matter which of two devices acts first."""


class Descent(NamedTuple):
    """What a wait descends from."""

    turns: int
    """One number for all waits whose turns, callers' turns and so on are the same."""
    seats: tuple[Seat, ...]
    """Oldest tie first."""


class FrozenTies(NamedTuple):
    """All that is open between two gt, by numbers that do not depend on how it came about."""

    descents: tuple[tuple[int, Descent], ...] = ()
    """Of each device that waits and descends from a seat; of one that holds two waits, of either."""
    known: tuple[tuple[tuple[int, int], ...], ...] = ()
    """Of each tie, what is known of its seats."""
    slots: tuple[int, ...] = ()
    """Of each of the descents, by number among the waits of a state, the slot in which the device acts."""


NO_TIES = FrozenTies()


class Ties:
    """The open orders of one simulator."""

    __slots__ = ("_caller", "_fresh", "_turns", "began", "descents", "known")

    def __init__(self, frozen: FrozenTies = NO_TIES, slots: Sequence[int] = ()) -> None:
        self.descents: dict[Wait, Descent] = {
            (device, slots[slot]): descent
            for (device, descent), slot in zip(frozen.descents, frozen.slots, strict=True)
        }
        self.known: dict[int, Known] = {tie: frozenset(pairs) for tie, pairs in enumerate(frozen.known)}
        self.began: dict[int, int] = {}
        """The gt in which a tie came about; its seats have the device numbers of that gt. Unknown if restored."""
        self._caller: Descent | None = None
        self._turns: dict[int, int] = {}
        turns = [descent.turns for descent in self.descents.values()]
        self._fresh = max([*turns, *self.known], default=-1) + 1

    def copy(self) -> Ties:
        """The same, to be changed apart."""
        twin = Ties()
        twin.descents, twin.known, twin.began = self.descents.copy(), self.known.copy(), self.began.copy()
        twin._caller, twin._fresh, twin._turns = self._caller, self._fresh, self._turns.copy()
        return twin

    # While devices act.

    def begin_turn(self) -> None:
        """The devices of another slot act from now on."""
        self._turns = {}

    def act(self, wait: Wait | None) -> None:
        """A device acts, whose wait is over; or a hand, which descends from nothing."""
        self._caller = None if wait is None else self.descents.pop(wait, None)

    def drop(self, device: int) -> None:
        """A device loses all its waits."""
        for wait in [wait for wait in self.descents if wait[0] == device]:
            del self.descents[wait]

    def begin(self, wait: Wait) -> None:
        """A device begins a wait: it descends from whoever acts."""
        caller = self._caller
        if caller is not None:
            turns = self._turns.get(caller.turns)
            if turns is None:
                turns = self._turns[caller.turns] = self._number()
            self.descents[wait] = Descent(turns, caller.seats)

    def tie(self, slot: int, devices: Iterable[int], now: int) -> None:
        """Devices that have just begun waits of one slot: their order is open."""
        tie, turns = self._number(), self._number()
        self.known[tie] = frozenset()
        self.began[tie] = now
        for device in devices:
            descent = self.descents.get((device, slot))
            if descent is None:
                self.descents[device, slot] = Descent(turns, ((tie, device),))
            else:
                self.descents[device, slot] = Descent(descent.turns, (*descent.seats, (tie, device)))

    def _number(self) -> int:
        self._fresh += 1
        return self._fresh - 1

    # What is open.

    def _parted(self, slot: int, one: int, other: int) -> Parting | None:
        """The tie on two seats of which two devices of a slot sit, and the seats of the one and the other."""
        return self._parting(self.descents.get((one, slot)), self.descents.get((other, slot)))

    def descends_beside(self, slot: int, device: int) -> bool:
        """Whether a device of a slot and the one that acts sit on two seats of one tie: their order was not given."""
        return self._parting(self._caller, self.descents.get((device, slot))) is not None

    @staticmethod
    def _parting(mine: Descent | None, theirs: Descent | None) -> Parting | None:
        if mine is None or theirs is None or mine.turns != theirs.turns:
            return None
        for (tie, seat), (their_tie, their_seat) in zip(mine.seats, theirs.seats, strict=False):
            if tie != their_tie:
                return None
            if seat != their_seat:
                return tie, seat, their_seat
        return None

    def open_between(self, slot: int, one: int, other: int) -> Parting | None:
        """The seats whose order decides between two devices of a slot, if it is open."""
        parted = self._parted(slot, one, other)
        if parted is None:
            return None
        tie, seat, their_seat = parted
        known = self.known[tie]
        return None if (seat, their_seat) in known or (their_seat, seat) in known else parted

    def ways(self, tie: int, pairs: Sequence[tuple[int, int]]) -> Iterator[dict[int, Known]]:
        """Every way in which the order of these pairs of seats of a tie can come to be known."""
        stack = [(0, self.known[tie])]
        while stack:
            place, known = stack.pop()
            while place < len(pairs):
                one, other = pairs[place]
                place += 1
                if (one, other) not in known and (other, one) not in known:
                    stack.append((place, _closed(known, other, one)))
                    known = _closed(known, one, other)
            yield self.known | {tie: known}

    def ordered(self, tie: int, pairs: Iterable[tuple[int, int]]) -> dict[int, Known]:
        """What comes to be known when of each of these pairs of seats of a tie the first comes first."""
        known = self.known[tie]
        for one, other in pairs:
            if (one, other) not in known and (other, one) not in known:
                known = _closed(known, one, other)
        return self.known | {tie: known}

    def arranged(self, slot: int, devices: Sequence[int], matters: Matters, rank: Sequence[int]) -> list[int]:
        """An order of a slot's devices that all that is known allows; where nothing is or matters, by their ranks."""
        work.count(len(devices) ** 2)
        behind: dict[int, list[int]] = {device: [] for device in devices}
        before = dict.fromkeys(devices, 0)
        for one, other in itertools.combinations(devices, 2):
            if not matters(one, other):
                continue
            first, second = one, other
            parted = self._parted(slot, one, other)
            if parted is not None:
                tie, seat, their_seat = parted
                if (their_seat, seat) in self.known[tie]:
                    first, second = other, one
                elif (seat, their_seat) not in self.known[tie]:
                    continue
            behind[first].append(second)
            before[second] += 1
        place = dict(zip(devices, rank, strict=True))
        ready = [(place[device], device) for device in devices if not before[device]]
        heapq.heapify(ready)
        found: list[int] = []
        while ready:
            _, device = heapq.heappop(ready)
            found.append(device)
            for later in behind[device]:
                before[later] -= 1
                if not before[later]:
                    heapq.heappush(ready, (place[later], later))
        return found

    def forget(self, slots: Slots, matters: Matters) -> None:
        """Gives up the seats whose order can't matter any more."""
        leader: dict[Seat, Seat] = {}
        still_open: list[Seat] = []
        for slot, devices in slots:
            descending = [device for device in devices if (device, slot) in self.descents]
            work.count(len(descending) ** 2)
            for one, other in itertools.combinations(descending, 2):
                parted = self._parted(slot, one, other)
                if parted is not None and matters(one, other):
                    tie, seat, their_seat = parted
                    mine, theirs = _leading(leader, (tie, seat)), _leading(leader, (tie, their_seat))
                    leader[mine] = theirs
                    if (seat, their_seat) not in self.known[tie] and (their_seat, seat) not in self.known[tie]:
                        still_open.append(theirs)
        leaders = {_leading(leader, seat) for seat in still_open}
        kept = {seat for seat in leader if _leading(leader, seat) in leaders}
        for wait, descent in list(self.descents.items()):
            seats = tuple(seat for seat in descent.seats if seat in kept)
            if not seats:
                del self.descents[wait]
            elif len(seats) != len(descent.seats):
                self.descents[wait] = Descent(descent.turns, seats)
        ties_kept = {tie for tie, _ in kept}
        self.known = {
            tie: frozenset(pair for pair in known if (tie, pair[0]) in kept and (tie, pair[1]) in kept)
            for tie, known in self.known.items()
            if tie in ties_kept
        }

    @property
    def size(self) -> int:
        """How much there is to look through: pairs in a known order, and devices that descend from some tie."""
        return sum(map(len, self.known.values())) + len(self.descents)

    def frozen(self, slots: Slots) -> FrozenTies:
        """The same by numbers given out in the order in which the devices of these slots stand.

        Waits whose oldest ties differ are never compared by seats, now or later: all waits of a tie had one caller, so
        what is older is the same for all of them. Whether their turns are the same is left out, as it depends on
        whether their callers' seats were given up before they acted or after.
        """
        turns: dict[tuple[int, int], int] = {}
        ties: dict[int, dict[int, int]] = {}
        descents: list[tuple[int, Descent]] = []
        numbered: list[int] = []
        waits = ((number, device, slot) for number, (slot, devices) in enumerate(slots) for device in devices)
        for number, device, slot in waits:
            descent = self.descents.get((device, slot))
            if descent is not None:
                numbered.append(number)
                seats = []
                for tie, seat in descent.seats:
                    numbers = ties.setdefault(tie, {})
                    seats.append((list(ties).index(tie), numbers.setdefault(seat, len(numbers))))
                same_turns = descent.turns, descent.seats[0][0]
                descents.append((device, Descent(turns.setdefault(same_turns, len(turns)), tuple(seats))))
        known = tuple(
            tuple(sorted((numbers[one], numbers[other]) for one, other in self.known[tie]))
            for tie, numbers in ties.items()
        )
        return FrozenTies(tuple(descents), known, tuple(numbered))


def _leading(leader: dict[Seat, Seat], seat: Seat) -> Seat:
    """Who stands for all that were put together with a seat."""
    while leader.setdefault(seat, seat) != seat:
        leader[seat] = seat = leader[leader[seat]]
    return seat


def _closed(known: Known, first: int, second: int) -> Known:
    """What is known once it is known that a seat comes before another."""
    earlier = {one for one, other in known if other == first} | {first}
    later = {other for one, other in known if one == second} | {second}
    return known | {(one, other) for one in earlier for other in later}
