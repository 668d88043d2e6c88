"""The chain of a machine in which things move: each state is a core (`machine.cores`) and the levels of its cells.

The two change apart. Which cells change in a gt is drawn, and depends on which are grown and on the light; what becomes
of the core depends on which change only. So the engine is asked for each core once, and a state more costs next to
nothing. In contrast to the machines of `machine.chain`, the first half of a gt ends before pistons start (rule C2).
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import ClassVar, NamedTuple, overload

from circuitcheck.chance.machine.alike import NotAlike
from circuitcheck.chance.machine.chain import Chain, Closeness, Closer, small_enough
from circuitcheck.chance.machine.cores import Cores, Led
from circuitcheck.chance.machine.draws import NOBODY, Drawn
from circuitcheck.chance.machine.exchange import Classes, Exchange
from circuitcheck.chance.machine.joint import Changed, TooLarge
from circuitcheck.chance.machine.units import probes_of_places
from circuitcheck.engine.program import Program, read
from circuitcheck.engine.state import State
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.rules import FULL_POWER

MOST_STATES = 1_000_000
"""How many states, of cells and core together, are met before it is called too large to be followed."""
Arrangement = tuple[tuple[int, ...], ...]
"""For each group of units that can be exchanged, which unit stands in each slot of the core."""
Key = tuple[int, Arrangement, bytes]
"""A core, who stands in its slots, and the levels of the cells."""


class Machine(NamedTuple):
    """What a chain has of a circuit that does not depend on its days: it serves the next chain of the same."""

    circuit: Circuit
    watched: tuple[str, ...]
    exchanges: bool
    program: Program
    exchange: Exchange | None
    cores: Cores

    def is_of(self, circuit: Circuit) -> bool:
        """Whether a circuit is this one, its cycle apart."""
        mine = self.circuit
        same = mine.parts is circuit.parts and mine.drawing is circuit.drawing and mine.places is circuit.places
        return same and mine.rules == circuit.rules

    @property
    def has_room(self) -> bool:
        """Whether there is much left to find for whoever followed it last."""
        return self.cores.has_room(self.cores.most)


_KEPT: deque[Machine] = deque(maxlen=2)


def _kept(circuit: Circuit, watched: Sequence[str], most: int, exchanges: bool) -> Machine | None:
    """What an earlier chain found; none that has come to so much that little is left of `most` cores to find."""
    asked = (tuple(watched), exchanges)
    for each in _KEPT:
        if each[1:3] == asked and each.is_of(circuit) and each.cores.has_room(most):
            return each
    return None


def _kept_program(circuit: Circuit) -> Program | None:
    """The program of an earlier chain of the same circuit, whatever was watched: it has the wirings read so far."""
    return next((each.program for each in reversed(_KEPT) if each.is_of(circuit) and each.has_room), None)


def chain_of(
    circuit: Circuit, watched: Sequence[str], most_states: int = 0, whole: bool = True, exchanges: bool = True
) -> Chain:
    """The chain of a circuit; where things move in it, all of it is followed."""
    if circuit.things_move:
        return MovingChain(circuit, watched, most_states, exchanges)
    return Chain(circuit, watched, most_states, whole)


class MovingChain(Chain):
    """The states of one circuit in which things move, numbered from 0 as they are met.

    Raises NotAlike where its units turn out not to be alike; without `exchanges` it never does.
    """

    closeness: ClassVar[Closeness] = Closeness(
        faint=1e-7,
        faintest=1e-9,
        rare=(6e-6, 1e-6),
        negligible=1e-9,
        most_steps=3_000_000,
        steps_of_engine=1,
        most_outcomes=1_000_000,
        most_unasked=5e-3,
        most_left_out=2e-2,
        few_states=4_000,
        closest=Closer(
            rare=1e-7,
            faint=8e-9,
            at_once=6e-2,
            most_left_out=1e-1,
            times_the_states=4,
            most_outcomes=6_000_000,
            most_steps=10_000_000,
        ),
        most_sampled=500_000_000,
        most_outcomes_sampled=400_000,
        most_asked_sampled=400,
    )

    def __init__(self, circuit: Circuit, watched: Sequence[str], most_states: int = 0, exchanges: bool = True) -> None:
        super().__init__(circuit, watched, most_states, program=_kept_program(circuit))
        kept = _kept(circuit, watched, self._most_states, exchanges)
        self._cells = tuple(self.draws.cells)
        self._place = {cell: place for place, cell in enumerate(self._cells)}
        if kept is None:
            kept = Machine(circuit, tuple(watched), exchanges, self.program, *self._made(exchanges))
            _KEPT.append(kept)
        exchange, self._cores = kept.exchange, kept.cores
        self._cores.most = self._most_states
        self.groups = () if exchange is None else tuple(exchange.groups)
        self._slot_of = {} if exchange is None else exchange.slot_of
        self._tell_apart = frozenset[int]() if exchange is None else exchange.tell_apart
        self._most_states = MOST_STATES
        self._lit = Lit(self.program)
        self._followed = set[int]()
        """The cores in which light follows all that pistons have moved."""
        self._drawn_of: dict[tuple[int, int, bytes], Drawn] = {}
        self._arranged: dict[tuple[Led, Arrangement], Arrangement] = {}
        self._unasked: dict[tuple[int, frozenset[str]], float] = {}
        self._keys: list[Key] = []
        self.states = InOwnPlaces(self._keys, self._in_own_places)
        self._read: dict[tuple[int, Arrangement], Sequence[tuple[str, int]]] = {}
        self._cells_watched = any(source in self._place for feeds in self._probes.values() for source, _ in feeds)
        self._known: dict[Key, int] = {}

    def _made(self, exchanges: bool) -> tuple[Exchange | None, Cores]:
        seen = (*self._probes.values(), *probes_of_places(self.program).values())
        graded = any(self.program.devices[source].part.graded for feeds in self._probes.values() for source, _ in feeds)
        exchange = Exchange(self.program, self._probes.values()) if exchanges and not graded else None
        return exchange, Cores(self.program, self._cells, seen, exchange, exchanges)

    def give_room(self, closer: Closer) -> None:
        super().give_room(closer)
        self._cores.most *= closer.times_the_states
        self._most_states = MOST_STATES  # of states with their cells there may be as many as ever

    def start(self) -> int:
        begun = self._begun()
        grown = bytes(begun[0].levels[cell] for cell in self._cells)
        home = tuple(tuple(range(len(units))) for units in self.groups)
        with small_enough():
            return self._led(self._cores.begun(begun), home, grown)

    @property
    def asked(self) -> int:
        return self._cores.asked

    def waited(self, number: int) -> int:
        known = self._waited[number]
        if known < 0:
            core, arrangement, grown = self._keys[number]
            with small_enough():
                led = self._cores.waited(core)
            known = self._waited[number] = self._led(led, arrangement, grown)
            if (core, None) in self._cores.open:
                self.open_orders.add((number, None))
        return known

    def drawn(self, number: int, changed: Changed) -> int:
        key = (number, changed)
        known = self._after.get(key)
        if known is None:
            core, arrangement, grown = self._keys[number]
            slots, arranged = self._in_slots(core, arrangement, changed)
            with small_enough():
                led = self._cores.drawn(core, slots)
            known = self._after[key] = self._led(led, arranged, self._turned(core, grown, changed))
            if (core, slots) in self._cores.open:
                self.open_orders.add(key)
        return known

    def is_worth(self, number: int, changed: Changed, chance: float) -> bool:
        """Where cells of several rows change in one gt, and their pistons start, all orders of these strokes are open,
        and land as such (rule M13): to follow that takes a hundred times as long as all else."""
        rows = frozenset(self.draws.cells[cell].row for cell in changed)
        if len(rows) < 2:
            return True
        core, arrangement, _ = self._keys[self.waited(number)]
        slots, _ = self._in_slots(core, arrangement, changed)
        if self._cores.is_known(core, slots):
            return True
        so_far = self._unasked[core, rows] = self._unasked.get((core, rows), 0.0) + chance
        return so_far > self.closeness.most_unasked

    def _in_slots(self, core: int, arrangement: Arrangement, changed: Changed) -> tuple[Changed, Arrangement]:
        """The cells of the core that stand for those that change; of slots that are alike the last are taken."""
        if not self._tell_apart.isdisjoint(changed):
            raise NotAlike
        found = [cell for cell in changed if cell not in self._slot_of]
        of_groups: dict[int, set[int]] = {}
        for cell in changed:
            if cell in self._slot_of:
                group, unit = self._slot_of[cell]
                of_groups.setdefault(group, set()).add(unit)
        arranged = list(arrangement)
        for group, units in of_groups.items():
            stands = list(arrangement[group])
            for slots in _alike(self._cores.classes[core][group]):
                here = sorted((stands[slot] for slot in slots), key=lambda unit: (unit in units, unit))
                for slot, unit in zip(slots, here, strict=True):
                    stands[slot] = unit
                    if unit in units:
                        found.append(self.groups[group][slot].devices[0])
            arranged[group] = tuple(stands)
        return tuple(sorted(found)), tuple(arranged)

    def chances(self, number: int, sky: int) -> Drawn:
        core, arrangement, grown = self._keys[number]
        if sky != NOBODY:
            self._require_followed(core)
        key = (sky, self._lit.of((core, arrangement), self.states, number), grown)
        known = self._drawn_of.get(key)
        if known is None:
            known = self._drawn_of[key] = super().chances(number, sky)
        return known

    def _require_followed(self, core: int) -> None:
        """Raises TooLarge where what pistons have moved is where the light on cells does not follow it (rule M4).

        Of units that are exchanged it is not known whose it is: they count as not alike there.
        """
        if core in self._followed:
            return
        now, motion = self._cores.states[core][0].configuration, self.program.motion
        if motion is not None and now is not None:
            if self.groups and any(True for _ in motion.strays.of(now)):
                raise NotAlike
            if why := motion.strays.seen(now):
                raise TooLarge(why)
        self._followed.add(core)

    def _led(self, led: Led, arrangement: Arrangement, grown: bytes) -> int:
        """The number of the state that a step of the core leads to."""
        key = (led, arrangement)
        known = self._arranged.get(key)
        if known is None:
            known = self._arranged[key] = tuple(self._in_order(led, arrangement))
        return self._number(led.core, known, grown)

    def _in_order(self, led: Led, arrangement: Arrangement) -> Iterator[tuple[int, ...]]:
        """Who stands where after a step, group by group, with units that are alike in order."""
        for group, turn in enumerate(led.turns):
            stands = [arrangement[group][slot] for slot in turn]
            for slots in _alike(self._cores.classes[led.core][group]):
                for slot, unit in zip(slots, sorted(stands[slot] for slot in slots), strict=True):
                    stands[slot] = unit
            yield tuple(stands)

    def _turned(self, core: int, grown: bytes, changed: Changed) -> bytes:
        """The levels of the cells after some have changed; those in motion do not (rule M11)."""
        if not changed:
            return grown
        state, motion = self._cores.states[core][0], self.program.motion
        assert motion is not None
        assert state.configuration is not None
        still, levels = motion.standing(state.configuration).still, bytearray(grown)
        for cell in changed:
            if cell not in still:
                levels[self._place[cell]] = FULL_POWER - levels[self._place[cell]]
        return bytes(levels)

    def _number(self, core: int, arrangement: Arrangement, grown: bytes) -> int:
        key = (core, arrangement, grown)
        number = self._known.get(key)
        if number is None:
            if len(self._keys) >= self._most_states:
                raise TooLarge(f"it has more than {self._most_states:,} states")
            number = self._known[key] = len(self._keys)
            self._keys.append(key)
            self._marks.append(())
            for name, level in self._read_of(core, arrangement, number):
                self.levels[name].append(level)
            rests = not any(state.waits for state in self._cores.states[core])
            self.resting.append(rests)
            self._waited.append(number if rests else -1)
        return number

    def _read_of(self, core: int, arrangement: Arrangement, number: int) -> Sequence[tuple[str, int]]:
        """The levels of what is watched in a state, which are the same in all of one core where no cell is among it."""
        known = self._read.get((core, arrangement))
        if known is None:
            levels = self.states[number].levels
            known = [(name, read(feeds, levels)) for name, feeds in self._probes.items()]
            if not self._cells_watched:
                self._read[core, arrangement] = known
        return known

    def _in_own_places(self, core: int, arrangement: Arrangement, grown: bytes) -> State:
        """The first state of a core with the levels of cells and units in their own places."""
        state = self._cores.states[core][0]
        levels = bytearray(state.levels)
        for units, stands in zip(self.groups, arrangement, strict=True):
            for slot, unit in enumerate(stands):
                if slot != unit:
                    for device, own in zip(units[slot].devices, units[unit].devices, strict=True):
                        levels[own] = state.levels[device]
        for cell, level in zip(self._cells, grown, strict=True):
            levels[cell] = level
        return state._replace(levels=bytes(levels))


class InOwnPlaces(Sequence[State]):
    """The states of a chain, by their numbers: each is put together when it is asked for, as few are."""

    def __init__(self, keys: Sequence[Key], made: Callable[[int, Arrangement, bytes], State]) -> None:
        self._keys, self._made = keys, made

    def __len__(self) -> int:
        return len(self._keys)

    @overload
    def __getitem__(self, number: int) -> State: ...
    @overload
    def __getitem__(self, number: slice) -> Sequence[State]: ...
    def __getitem__(self, number: int | slice) -> State | Sequence[State]:
        if isinstance(number, slice):
            return [self._made(*key) for key in self._keys[number]]
        return self._made(*self._keys[number])


class Lit:
    """What the light at cells depends on, as it is in a core: one number for all in which it is the same."""

    def __init__(self, program: Program) -> None:
        self._probes = tuple(probes_of_places(program).values())
        self._numbers: dict[tuple[bool, ...], int] = {}
        self._known: dict[tuple[int, Arrangement], int] = {}

    def of(self, core: tuple[int, Arrangement], states: Sequence[State], number: int) -> int:
        """The number of a core, with who stands in its slots, that has a state by its number."""
        known = self._known.get(core)
        if known is None:
            levels = states[number].levels  # put together anew at each look
            lit = tuple(read(feeds, levels) > 0 for feeds in self._probes)
            known = self._known[core] = self._numbers.setdefault(lit, len(self._numbers))
        return known


def _alike(classes: Classes) -> Iterable[list[int]]:
    """The slots that are alike, class by class."""
    found: dict[int, list[int]] = {}
    for slot, first in enumerate(classes):
        found.setdefault(first, []).append(slot)
    return found.values()
