"""One gt of a circuit as a formula that keeps no order: states as bits, and what may follow.

The engine keeps the order in which waits began, since it decides who acts first (rule C3). This formula keeps none. Who
acts first of two devices that act in one gt is read from their order classes and the lengths of their waits, which say
when these began; where both are the same, a free bit says it. What a device sees as it acts is what it would see with
those ahead of it already changed. A reader may notice a dip of a reading only where something that feeds it falls,
something else rises, no earlier, and nothing stays on; or, if it feels every level and its sources lose different
amounts on the way, where any of them changes (15 may fall to 12 while there is power). What devices do with what they
see is tabulated from the engine's own devices (`prove.symbolic.local`).

So the formula allows each run of the engine: take the bits to be what the run did. It allows more, for instance orders
of three devices that go round in a circle, or an order that an earlier gt has fixed. Hence a claim that no run of the
formula breaks is proved; a run of the formula that breaks one must be gone again by the engine.

Some devices may be *left free*: what they do is left open. One of them may be on or off at the end of each gt, go there
and back within it, and do so before or after anything else. That allows more still, and what feeds it needs no place in
the formula. So a claim about a part may be proved of the part and of little around it, whatever the rest does.

Readings are on or off here. So only circuits are taken whose parts give full power or none.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence

from circuitcheck.engine.program import PortDrivers, Program
from circuitcheck.engine.simulator import Simulator
from circuitcheck.engine.start import starts
from circuitcheck.engine.state import State
from circuitcheck.engine.step import Action
from circuitcheck.model.rules import FULL_POWER
from circuitcheck.prove.compose import Stimulus
from circuitcheck.prove.interleavings import TooMuch
from circuitcheck.prove.meter import Meter
from circuitcheck.prove.piece import Deed
from circuitcheck.prove.symbolic.alone import Wait
from circuitcheck.prove.symbolic.formula import FALSE, TRUE, Bits, Formula, code, width_of
from circuitcheck.prove.symbolic.local import Local, LocalMachine, machine_of

MOST_COMPARED = 8
"""Of so many feeds of a port it is compared which changes first, to see whether the port can dip."""


class _Part:
    """A device in the formula."""

    def __init__(
        self, formula: Formula, machine: LocalMachine, begins: Iterable[tuple[Local, tuple[int, ...]]]
    ) -> None:
        self.machine = machine
        self.situations = machine.situations(begins)
        self.states = list(dict.fromkeys(local for local, _ in self.situations))
        self._formula = formula
        self._phases = sorted({local[1:] for local in self.states}, key=_phase)
        self._width = width_of(len(self._phases))
        self.on = formula.fresh()
        self.phase = [formula.fresh() for _ in range(self._width)]
        self.then_on = formula.fresh()
        self.verbs = machine.verbs
        self.driven = formula.fresh() if machine.verbs else FALSE
        self.due = self.asks(lambda local: local.due)
        self.kinds = sorted({local.wait[1:] for local in self.states if local.wait is not None})
        """The lengths and order classes that its waits can have."""

    @property
    def now(self) -> list[int]:
        """The literals of its state."""
        return [self.on, *self.phase]

    def bits(self, local: Local) -> Bits:
        """A state as bits."""
        return (int(local.on), *code(self._phases.index(local[1:]), self._width))

    def asks(self, question: Callable[[Local], bool]) -> int:
        """A literal for something that is so of its state."""
        return self._formula.table(self.now, {self.bits(local): int(question(local)) for local in self.states})

    def ends(self, kind: tuple[int, int]) -> int:
        """A literal for: a wait of this length and order class is over."""
        return self.asks(lambda local: local.due and local.wait is not None and local.wait[1:] == kind)


class LeftFree:
    """A device in the formula of which nothing is known but whether it is on."""

    driven = due = FALSE
    verbs: tuple[str, ...] = ()

    def __init__(self, formula: Formula) -> None:
        self.on, self.then_on = formula.fresh(), formula.fresh()


def _phase(each: tuple[int, Wait | None]) -> tuple[int, ...]:
    mark, wait = each
    return (mark, *(wait or ()))


class System:
    """The devices of a circuit with a say in something, as a formula of one gt.

    `state` are the literals of a state and `following` those of the state a gt later; `starts` are the states before
    gt 0, so that the first step is gt 0. `allowed` is true where a step is one. `free` are the variables that nothing
    else decides.
    """

    def __init__(self, program: Program, cone: Sequence[int], meter: Meter, left_free: Sequence[int] = ()) -> None:
        """Builds it of the devices of a cone, and of those that are left free. Raises TooMuch and OverBudget."""
        self._meter = meter
        self.formula = Formula()
        self.program = Program.cut(program, cone, [[device] for device in left_free])
        cone = (*left_free, *cone)
        self._ports: list[list[PortDrivers]] = [[] for _ in cone]
        """What feeds the ports of each device."""
        for feeds, number in zip(self.program.feeds, self.program.port_device, strict=True):
            self._ports[number].append(feeds)
        begun = [dict(enumerate(each)) for each in begins(program, self.program, cone)]
        self.parts: list[_Part | LeftFree] = [LeftFree(self.formula) for _ in left_free]
        for number, device in list(enumerate(cone))[len(left_free) :]:
            seen = [(each[number], tuple(_reading(feeds, each) for feeds in self._ports[number])) for each in begun]
            self.parts.append(_Part(self.formula, machine_of(program, device), seen))
        self.waiting: list[tuple[int, int]] = []
        """Of each device and number of gt a literal for: it waits for so many more, now and in the next gt."""
        self._following: dict[int, Sequence[int]] = {}
        """Of each device that is not left free the literals of its state in the next gt."""
        self._valid: list[int] = []
        self.paces: list[tuple[int, int]] = []
        """The literals of what is remembered of the inputs' pace, now and in the next gt."""
        self.counting: list[tuple[int, int]] = []
        """The literals of what counts down since some inputs changed, now and in the next gt."""
        self.watching: list[tuple[int, int]] = []
        """The literals of what the claim's watch remembers, now and in the next gt."""
        self._order: dict[tuple[int, int], int] = {}
        self._first_of: dict[tuple[int, int], int] = {}
        self.free: list[int] = [part.driven for part in self.parts if part.driven != FALSE]
        self.free += [part.then_on for part in self.parts]
        self.state: list[int] = []
        self.following: list[int] = []
        self.starts: list[list[int]] = [[] for _ in begun]
        self.rules: list[int] = []
        """Literals for what a step must keep to."""
        self._dipped: dict[int, int] = dict.fromkeys(range(len(self.parts)), FALSE)
        self._declare_dips()
        for number, part in enumerate(self.parts):
            if isinstance(part, LeftFree):
                self.keeps([part.on], [part.then_on], ())
            else:
                self._device(number, part)
            for start, begin in zip(self.starts, begun, strict=True):
                start += (int(begin[number].on),) if isinstance(part, LeftFree) else part.bits(begin[number])

    @property
    def allowed(self) -> int:
        """A literal for: everything that a step must keep to."""
        return self.formula.all(self.rules)

    @property
    def valid(self) -> int:
        """A literal for what is so in every state, since each device sees to it by itself."""
        return self.formula.all(self._valid)

    def require(self, literal: int) -> None:
        """From now on only steps are allowed in which this is so."""
        self.rules.append(literal)

    def fresh(self) -> int:
        """A new variable that nothing else decides."""
        found = self.formula.fresh()
        self.free.append(found)
        return found

    def keeps(self, now: Sequence[int], following: Sequence[int], begin: Bits) -> None:
        """More that a state holds, how it goes on, and how it begins."""
        self.state += now
        self.following += following
        for start in self.starts:
            start += begin

    def actions(self, model: set[int]) -> tuple[Action, ...]:
        """What is done from outside in a step, by the devices' numbers here."""
        found = []
        for number, part in enumerate(self.parts):
            if isinstance(part, _Part) and part.driven in model:
                bits = tuple(int(literal in model) for literal in part.now)
                local = next(local for local in part.states if part.bits(local) == bits)
                found.append(Action(number, part.machine.actions(local)[0]))
        return tuple(found)

    # Levels

    def reads(self, feeds: PortDrivers, level: int = 1, later: bool = False) -> int:
        """A literal for: a place that is fed so has at least this level."""
        sources = [self.parts[source] for source, loss in feeds if FULL_POWER - loss >= level]
        return self.formula.any(part.then_on if later else part.on for part in sources)

    # One device

    def _declare_dips(self) -> None:
        """A variable for each device whose level may go there and back within a gt."""
        for number, part in enumerate(self.parts):
            if isinstance(part, LeftFree) or self.program.devices[number].zero_delay or (part.verbs and part.kinds):
                self._dipped[number] = self.fresh()

    def _device(self, number: int, part: _Part) -> None:
        formula, machine = self.formula, part.machine
        ports = self._ports[number]
        first = [self.reads(feeds) for feeds in ports]
        last = [self.reads(feeds, later=True) for feeds in ports]
        acting = [self._seen_acting(feeds, number) for feeds in ports]
        feels = self.program.devices[number].part.ports()
        dips = [self._dips(feeds, port.boolean) for feeds, port in zip(ports, feels, strict=True)]
        rows = {
            (
                *part.bits(local),
                *seen.first,
                *seen.acting,
                *seen.last,
                *seen.dips,
                int(bool(seen.driven)),
            ): machine.after(local, seen)
            for local in part.states
            for seen in machine.sights(local)
            if (local, seen.first) in part.situations
        }
        width = width_of(max(map(len, rows.values())))
        self._meter.count(0, len(rows) << width)
        choices = [self.fresh() for _ in range(width)]
        table = {
            (*key, *code(choice, width)): found[choice % len(found)]
            for key, found in rows.items()
            for choice in range(1 << width)
        }
        inputs = [*part.now, *first, *acting, *last, *dips, part.driven, *choices]
        bits = {key: part.bits(comes.after) for key, comes in table.items()}
        made = [
            formula.table(inputs, {key: each[place] for key, each in bits.items()}) for place in range(len(part.now))
        ]
        self.require(formula.same(part.then_on, made[0]))
        self.state += part.now
        self.following += [part.then_on, *made[1:]]
        shown = dict.fromkeys(_readings(len(part.now) + len(ports)), 0)
        shown |= {(*part.bits(local), *readings): 1 for local, readings in part.situations}
        self._valid.append(formula.table([*part.now, *first], shown))
        then = self.following[-len(part.now) :]
        self._following[number] = then
        left = {local: (local.wait.to_go,) for local in part.states if local.wait is not None}
        self._tell_waits(part, then, left)
        if self._dipped[number] != FALSE:
            dipped = formula.table(inputs, {key: int(comes.dipped) for key, comes in table.items()})
            self.require(formula.same(self._dipped[number], dipped))
        if part.driven != FALSE:
            self.require(formula.any((-part.driven, part.asks(lambda local: bool(machine.actions(local))))))

    def _tell_waits(self, part: _Part, then: Sequence[int], kinds: Mapping[Local, tuple[int, ...]]) -> None:
        for kind in sorted(set(kinds.values())):
            waits = {part.bits(local): int(kinds.get(local) == kind) for local in part.states}
            self.waiting.append((self.formula.table(part.now, waits), self.formula.table(then, waits)))

    def tell_waits_apart(self) -> None:
        """Adds to `waiting` those waits by themselves of which one may follow on another of the same device."""
        for number, then in self._following.items():
            part = self.parts[number]
            if isinstance(part, _Part) and part.machine.waits_in_a_row(part.situations):
                kinds = {
                    local: (local.wait.to_go, local.on, local.mark) for local in part.states if local.wait is not None
                }
                self._tell_waits(part, then, kinds)

    def _seen_acting(self, feeds: PortDrivers, reader: int) -> int:
        """A literal for what a port reads as its device acts."""
        seen = []
        for source, loss in feeds:
            if loss >= FULL_POWER:
                continue
            part = self.parts[source]
            if source == reader:
                seen.append(part.on)
                continue
            changed = self.formula.choose(self._before(source, reader, acts=True), part.then_on, part.on)
            if self._dipped[source] != FALSE:
                changed = self.formula.choose(self._dipped[source], self.fresh(), changed)
            seen.append(changed)
        return self.formula.any(seen)

    def _dips(self, feeds: PortDrivers, boolean: bool) -> int:
        """A literal for: a dip of a port, or a change of its level while there is power, is noticed."""
        formula = self.formula
        sources = sorted({source for source, loss in feeds if loss < FULL_POWER})
        dipped = formula.any(self._dipped[source] for source in sources)
        if not boolean and len({loss for _, loss in feeds if loss < FULL_POWER}) > 1:
            changes = [-formula.same(self.parts[each].on, self.parts[each].then_on) for each in sources]
            possible = formula.any((dipped, *changes))
            return possible if possible == FALSE else formula.both(possible, self.fresh())
        steady = formula.any(
            formula.all((self.parts[each].on, self.parts[each].then_on, -self._dipped[each])) for each in sources
        )
        falls = {each: formula.both(self.parts[each].on, -self.parts[each].then_on) for each in sources}
        rises = {each: formula.both(-self.parts[each].on, self.parts[each].then_on) for each in sources}
        crossed = [formula.any(falls.values()), formula.any(rises.values())]
        if len(sources) <= MOST_COMPARED:
            for fall, rise in itertools.permutations(sources, 2):
                together = formula.both(falls[fall], rises[rise])
                crossed.append(formula.any((-together, self._before(fall, rise))))
        possible = formula.both(-steady, formula.any((dipped, formula.all(crossed))))
        return possible if possible == FALSE else formula.both(possible, self.fresh())

    # Who is first

    def _before(self, one: int, other: int, acts: bool = False) -> int:
        """A literal for: a device changes before another does, or, with `acts`, before the other acts.

        It is of no matter what it says where one of them does not change.
        """
        devices = self.program.devices
        if isinstance(self.parts[one], LeftFree) or isinstance(self.parts[other], LeftFree):
            return self.fresh()
        if devices[one].zero_delay or (devices[other].zero_delay and not acts):
            return self.fresh()
        formula = self.formula
        mine, theirs = self.parts[one].driven, FALSE if acts else self.parts[other].driven
        if self._dipped[one] != FALSE or (self._dipped[other] != FALSE and not acts):
            # A button may let go and be pressed in one gt.
            due = formula.any(self.parts[each].due for each in (one, other) if self._dipped[each] != FALSE)
            return formula.choose(due, self.fresh(), self._in_turn(one, other, mine, theirs))
        return self._in_turn(one, other, mine, theirs)

    def _in_turn(self, one: int, other: int, mine: int, theirs: int) -> int:
        devices, formula = self.program.devices, self.formula
        both = self._moment(one, other)
        if mine == FALSE and theirs == FALSE:
            return self._rank(one, other)
        outside = self.program.rules.outside_first
        by_hand = TRUE if outside and not devices[one].drawn else FALSE
        by_turn = FALSE if outside and not devices[other].drawn else TRUE
        return formula.choose(
            mine,
            formula.choose(theirs, both, by_hand),
            formula.choose(theirs, by_turn, self._rank(one, other)),
        )

    def _moment(self, one: int, other: int) -> int:
        """Of two devices that are both worked: cells are drawn in another moment than hands act."""
        drawn = self.program.devices[one].drawn, self.program.devices[other].drawn
        if drawn[0] is drawn[1]:
            return self._unknown(one, other)
        return TRUE if drawn[0] is not self.program.rules.outside_first else FALSE

    def _unknown(self, one: int, other: int) -> int:
        """A free bit for who of two is first."""
        pair = (min(one, other), max(one, other))
        if pair not in self._order:
            self._order[pair] = self.fresh()
        return self._order[pair] if one < other else -self._order[pair]

    def _rank(self, one: int, other: int) -> int:
        """Of two devices that act: by order class, then by when their waits began; what ties is open."""
        if one > other:
            return -self._rank(other, one)
        known = self._first_of.get((one, other))
        if known is None:
            known = self._first_of[one, other] = self._ranked(one, other)
        return known

    def _ranked(self, one: int, other: int) -> int:
        mine, theirs = self.parts[one], self.parts[other]
        assert isinstance(mine, _Part)
        assert isinstance(theirs, _Part)
        found: dict[int, list[tuple[tuple[int, int], tuple[int, int]]]] = {TRUE: [], FALSE: [], 0: []}
        for pair in itertools.product(mine.kinds, theirs.kinds):
            (length, order_class), (their_length, their_class) = pair
            first, second = (order_class, -length), (their_class, -their_length)
            found[TRUE if first < second else FALSE if second < first else 0].append(pair)
        if not found[0] and not found[FALSE]:
            return TRUE
        if not found[0] and not found[TRUE]:
            return FALSE
        formula = self.formula
        ends = {
            answer: formula.any(formula.both(mine.ends(kind), theirs.ends(their_kind)) for kind, their_kind in pairs)
            for answer, pairs in found.items()
        }
        open_ = self._unknown(one, other) if found[0] else FALSE
        return formula.any((ends[TRUE], formula.both(-ends[FALSE], open_)))


def stimulus_of(system: System, run: Iterable[set[int]]) -> Stimulus:
    """What is done from outside in each step of a run, of which is given what is true in it."""
    names = system.program.names
    return [[Deed(names[each.device], each.verb, each.level) for each in system.actions(step)] for step in run]


def _reading(feeds: PortDrivers, begin: Mapping[int, Local]) -> int:
    """What a place that is fed so reads at the start."""
    return int(any(begin[source].on for source, loss in feeds if loss < FULL_POWER))


def _readings(ports: int) -> list[Bits]:
    """Everything that so many places can read."""
    return list(itertools.product((0, 1), repeat=ports))


def begins(program: Program, part: Program, cone: Sequence[int]) -> Iterator[list[Local]]:
    """The states of the devices before gt 0: all have been updated, and each wait has yet to be waited in full."""
    seen: dict[State, None] = {}
    for start in starts(program):
        levels = bytes(start.levels[device] for device in cone)
        for simulator in Simulator(part, 0, levels).tell_everyone():
            state = simulator.snapshot()
            if state.levels != levels:
                raise TooMuch("something changes as soon as the circuit starts, and the formula knows no such thing")
            seen[state] = None
    for state in seen:
        waits = {
            device: Wait(to_go + 1, to_go, order_class)
            for to_go, order_class, devices in state.waits
            for device in devices
        }
        yield [
            Local(level > 0, mark, waits.get(device))
            for device, (level, mark) in enumerate(zip(state.levels, state.device_state, strict=True))
        ]
