"""What strokes do to a program while it runs: the wiring of each configuration, and whom a stroke updates (rule M9).

A program whose drawing has pistons has a `Motion`. Its simulators and states carry a configuration: what is not where
it is drawn. At each start and each landing the configuration changes, and with it the wiring. All ports are then read
afresh from the levels of devices, so that nothing is left of power that has no source any more. Told are those whose
reading changed, and those whom the stroke itself tells (rules M5, M10).

Ports have the same numbers in every wiring. Behind them, in an order of its own, each wiring has a port for everything
that a piston hears in it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import cached_property, partial

from circuitcheck.engine import work
from circuitcheck.engine.configured import Draft, Standing
from circuitcheck.engine.fanout import PortDrivers
from circuitcheck.engine.gauge import Gauge
from circuitcheck.engine.moving_orders import MovingOrders, WaterPlaces
from circuitcheck.engine.moving_parts import shown_parts
from circuitcheck.engine.refused import RunRefused
from circuitcheck.engine.water_flow import Flow
from circuitcheck.engine.wired import Wired
from circuitcheck.engine.wiring import Wiring, rewired, wiring
from circuitcheck.model.drawing import At
from circuitcheck.model.light import BLOCK
from circuitcheck.model.parts.base import Device
from circuitcheck.model.rules import FULL_POWER
from circuitcheck.model.unsure import reached
from circuitcheck.space import wirings as space
from circuitcheck.space.configuration import AT_HOME, Configuration, Phase
from circuitcheck.space.kept_wirings import wirings_of
from circuitcheck.space.refusals import refusal
from circuitcheck.space.strays import Strays
from circuitcheck.space.strokes import Blocked, Breaks, Step, Strokes, Why
from circuitcheck.space.unfelt import unfelt_water
from circuitcheck.space.water_looks import Looks

NOT_HELD_AGAINST = ("above", "watched")
"""The ports that are read otherwise where things move: what a piston looks at, and what a detector watches."""


def _no_matter(now: Configuration) -> None:
    """Takes note of a configuration where nobody wants to."""


class Motion:
    """The strokes of one program; of a part of one, those of the pistons in it."""

    def __init__(self, program: Wired, flow: Flow, whole: Motion | None = None) -> None:
        circuit = program.circuit
        assert circuit.drawing is not None
        self._program = program
        self.names: Sequence[str] = program.names
        self.numbers: Mapping[str, int] = program.number
        self.drawing = circuit.drawing
        self.strokes = Strokes(circuit.drawing, circuit.rules)
        shown = frozenset(part.name for part in shown_parts(circuit))
        self.flow = flow
        self.flow.number(program.number)
        places = frozenset(flow.water.places)
        self.wirings: space.Wirings = (
            wirings_of(circuit.drawing, circuit.rules, shown, places) if whole is None else whole.wirings
        )
        self.look: Callable[[Configuration], None] = _no_matter
        """Shown each configuration of which the wiring is asked for the first time."""
        self.looks: Looks = Looks(circuit.drawing, circuit.rules) if whole is None else whole.looks
        self._unfelt: frozenset[At] = (
            unfelt_water(self.wirings, self.strokes, self.looks, places) if whole is None else whole._unfelt
        )
        self.unfelt = frozenset(flow.device_at[at] for at in self._unfelt if at in flow.device_at)
        """The places of water that nobody feels."""
        self._orders = partial(MovingOrders, water=WaterPlaces(flow.place_of, self.looks, self.unfelt))
        self.home_of: dict[int, At] = {}
        """The places at which devices are drawn; not of the blocks before pistons, which have no ports."""
        for number, name in enumerate(program.names):
            if name in self.wirings.home.home and number not in flow.place_of:
                self.home_of[number] = circuit.where[name]
        self._base = program.wiring
        """The ports of every wiring, fed as the parts of the circuit say."""
        self._as_changed = frozenset(self._ports_changed() if whole is None else self._ports_as_in(whole))
        self.device_at = {at: number for number, at in self.home_of.items()}
        self._blocks = dict(self._pushed_blocks())
        self._apart = [number for number, device in enumerate(program.devices) if device.strokes or device.flows]
        self._heard_ports: dict[int, range] = {}
        """Of what hears, the ports for what it hears at home."""
        self._standing: dict[space.Wiring, Standing] = {}
        self._of: dict[Configuration, Standing] = {}

    def _pushed_blocks(self) -> Iterator[tuple[At, int]]:
        """The devices that say whether the block before a piston is away, by the home of that block."""
        number = self._program.number
        for piston in self.strokes.pistons:
            block = number.get(f"{self.drawing.name(piston)}{BLOCK}")
            if block is not None:
                yield self.strokes.facing(piston).from_(piston), block

    def _ports_changed(self) -> Iterator[int]:
        """The ports that the circuit feeds otherwise than its drawing does, as after a fault: they stay so."""
        for number in self.home_of:
            if isinstance(self._program.devices[number].part, Gauge):
                continue
            drivers = dict(self.wirings.home.of(self._program.names[number]).ports)
            for port in self._program.devices[number].ports:
                name = self._base.ports[port].name
                if name not in NOT_HELD_AGAINST and self._base.feeds[port] != self.numbered(drivers.get(name, ())):
                    yield port

    def _ports_as_in(self, whole: Motion) -> Iterator[int]:
        """The same of a part of a program, which lacks what can't have a say in it."""
        for number in self.home_of:
            there = whole._program.devices[whole._program.number[self._program.names[number]]].ports
            for port, its in zip(self._program.devices[number].ports, there, strict=True):
                if its in whole._as_changed:
                    yield port

    # Wiring

    def start(self, levels: Sequence[int]) -> Configuration:
        """The configuration in which the pistons that are on are out. Raises RunRefused."""
        out = sorted(home for number, home in self.home_of.items() if self._is_piston(home) and levels[number])
        found = self.strokes.already_out(out) if out else AT_HOME
        if isinstance(found, Configuration):
            return found
        prefixes = (out[:count] for count in range(1, len(out) + 1))
        home = next(each for each in prefixes if not isinstance(self.strokes.already_out(each), Configuration))[-1]
        name, hint = self.drawing.name(home), "leave room before it, or let it start off"
        raise RunRefused(f"'{name}' starts out, and can't be out there", "M7", name, home, hint)

    def _is_piston(self, home: At) -> bool:
        return self.drawing.things[home].pushes

    def standing(self, now: Configuration) -> Standing:
        """How the program is wired in a configuration. Raises RunRefused past what is read of one drawing."""
        known = self._of.get(now)
        if known is None:
            inputs = self.wirings.wiring(now)
            if isinstance(inputs, space.TooMany):
                name = self.drawing.name(inputs.home)
                why = f"pistons such as '{name}' lead to too many wirings"
                raise RunRefused(why, "M9", name, inputs.home, "draw it in smaller pieces")
            known = self._standing.get(inputs)
            if known is None:
                known = self._standing[inputs] = self._wired(inputs)
            self._of[now] = known
            self.look(now)
        return known

    def _wired(self, inputs: space.Wiring) -> Standing:
        """How the program is wired where devices read this, out of how it is wired at home."""
        if inputs is self.wirings.home:
            return self._wired_whole(inputs)
        program, home = self._program, self.standing(AT_HOME)
        changed = {program.number[name]: mine for name, mine in inputs.changed.items() if name in program.number}
        work.count(len(program.devices) + len(changed) * work.WIRING)
        draft = Draft(program, home.wiring, home.devices, self._as_changed, self.numbered)
        hears, still, touched = dict(home.hears), set(home.still), list[int]()
        for number, mine in changed.items():
            if number in home.hears:
                hears[number] = tuple(map(self.numbered, mine.hears))
                for port in self._heard_ports[number]:
                    draft.feeds[port] = ()
                touched += [*self._heard_ports[number], *draft.hear(number, hears[number])]
            if number in self.home_of:
                draft.place(number, mine)
                touched += program.devices[number].ports
                if mine.place is None:
                    still.add(number)
        straight = frozenset(draft.straight)
        made = rewired(
            home.wiring, draft.devices, draft.ports, draft.port_device, draft.feeds, straight, touched, self._orders
        )
        self._told_apart(made)
        return Standing(made, draft.devices, inputs, home.fixed, frozenset(still), hears)

    def _told_apart(self, made: Wiring) -> None:
        """Has what strokes and looks do told where wirings are switched, and not by the loop that knows of none."""
        for number in self._apart:
            made.direct[number] = None

    def _wired_whole(self, inputs: space.Wiring) -> Standing:
        """How the program is wired at home, of which all others differ in little."""
        program, home = self._program, self._base
        work.count(len(program.devices) * work.WIRING)
        draft = Draft(program, home, program.devices, self._as_changed, self.numbered)
        still = set()
        for number in self.home_of:
            mine = inputs.of(program.names[number])
            draft.place(number, mine)
            if mine.place is None:
                still.add(number)
        hearing = [*(number for number, at in self.home_of.items() if self._is_piston(at)), *self.flow.place_of]
        hears = {number: tuple(map(self.numbered, inputs.of(program.names[number]).hears)) for number in hearing}
        for number, found in hears.items():
            self._heard_ports[number] = draft.hear(number, found)
        count, straight = range(len(draft.ports)), frozenset(draft.straight)
        made = wiring(draft.devices, draft.ports, draft.port_device, draft.feeds, straight, count, self._orders)
        self._told_apart(made)
        return Standing(made, draft.devices, inputs, len(home.ports), frozenset(still), hears)

    def numbered(self, drivers: space.Drivers) -> PortDrivers:
        """What feeds a port, by the numbers of devices."""
        number = self._program.number
        return tuple(sorted((number[name], loss) for name, loss in drivers if name in number))

    def rewires(self) -> str:
        """The first piston whose strokes may change what power reaches; empty where none does.

        Looked at is one stroke of each from home. Where one piston moves things and there is another, what the two do
        together is not looked at: it is taken to change something.
        """
        for piston, _, under_way, landed in self.strokes.one_at_a_time():
            together = len(self.strokes.pistons) > 1 and bool(under_way.moving)
            if together or self._is_rewired(under_way) or self._is_rewired(landed):
                return self.drawing.name(piston)
        return ""

    def _is_rewired(self, now: Configuration) -> bool:
        """Whether any part takes its power otherwise in a configuration than at home."""
        inputs = self.wirings.wiring(now)
        if isinstance(inputs, space.TooMany):
            return True
        home = inputs.home
        return any(
            (port, drivers) not in home[name].ports and port != "watched"
            for name, changed in inputs.changed.items()
            for port, drivers in changed.ports
        )

    # What is asked of devices

    def stays(self, port: int) -> bool:
        """Whether a port is fed as the circuit says and not as its drawing does, wherever things are."""
        return port in self._as_changed

    def device(self, number: int) -> Device:
        """A device, as it is at home."""
        return self._program.devices[number]

    def watches(self, number: int) -> bool:
        """Whether a device is a detector, which watches what is behind it."""
        home = self.home_of.get(number)
        return home is not None and self.drawing.things[home].watches

    def block_devices(self, homes: Iterable[At]) -> set[int]:
        """The devices that say whether some things are away from their homes."""
        return {self._blocks[home] for home in homes if home in self._blocks}

    @cached_property
    def strays(self) -> Strays:
        """What tells where the light on cells does not follow what pistons have moved."""
        return Strays(self._program.circuit)

    def away(self, now: Configuration) -> frozenset[str]:
        """The names that light has for what pistons move, of all that stands away from its home.

        To light, what is in motion stands where it was (rule M4): what is on its way home is still away.
        """
        moving, facing = dict(now.moving), self.strokes.facing
        homes = ((piston, facing(piston).from_(piston)) for piston in self.strokes.pistons)
        away = (piston for piston, home in homes if (now.place(home) != home) is not (home in moving))
        return frozenset(f"{self.drawing.name(piston)}{BLOCK}" for piston in away)

    # Strokes

    def can_start(self, now: Configuration, piston: int) -> bool:
        """Whether nothing stops a piston that is to go out (rule M7)."""
        return not isinstance(self.strokes.start_out(now, self.home_of[piston]), Blocked)

    def is_too_long(self, now: Configuration, piston: int) -> bool:
        """Whether more stands in a row before a piston than it moves (rule M1)."""
        step = self.strokes.start_out(now, self.home_of[piston])
        return isinstance(step, Blocked) and step.why is Why.TOO_LONG

    def start_out(self, now: Configuration, piston: int) -> Step | None:
        """A piston starts to go out; None where it is stopped. Raises RunRefused."""
        step = self.strokes.start_out(now, self.home_of[piston])
        return None if isinstance(step, Blocked) else self._made(step, piston)

    def start_home(self, now: Configuration, piston: int, cut_short: bool) -> Step:
        """A piston starts to go home; `cut_short` if it was to do so before it landed. Raises RunRefused."""
        lets_go = cut_short and self.strokes.rules.sticky_lets_go
        return self._made(self.strokes.start_home(now, self.home_of[piston], lets_go=lets_go), piston)

    def _made(self, step: Step | Breaks, piston: int) -> Step:
        if isinstance(step, Breaks):
            broken, name = step.broken[0], self._program.names[piston]
            found = refusal(self.drawing, self.home_of[piston], broken)
            raise RunRefused(found.why, found.rule, name, broken.place, found.hint)
        return step

    def land(self, now: Configuration, piston: int) -> Step:
        """What is due of a piston's strokes lands: what is left of the stroke out comes before the one home."""
        home = self.home_of[piston]
        due = next(stroke for stroke in sorted(now.under_way, reverse=True) if stroke.piston == home)
        return self.strokes.land(now, due)

    def shown_levels(self, before: Configuration, step: Step, piston: int) -> Iterator[tuple[int, int]]:
        """The levels that a step changes of pistons, and of what says whether a block is away."""
        phase = step.after.phase(self.home_of[piston])
        if phase is not before.phase(self.home_of[piston]) and phase in (Phase.OUT, Phase.HOME):
            yield piston, FULL_POWER if phase is Phase.OUT else 0
        for thing in step.landed:
            if thing in self._blocks:
                yield self._blocks[thing], FULL_POWER if step.after.place(thing) != thing else 0

    def at_start(self, now: Configuration, levels: Sequence[int]) -> list[int]:
        """Levels with those of the blocks before pistons as they are in a configuration."""
        given = list(levels)
        for thing, block in self._blocks.items():
            given[block] = FULL_POWER if now.place(thing) != thing else 0
        at_rest = self.flow.at_rest(now)
        for device, at in self.flow.place_of.items():
            given[device] = at_rest.get(at, 0)
        return given

    # Who is told

    def lifted(self, before: Configuration, after: Configuration) -> list[int]:
        """The devices that begin to move."""
        moving = dict(before.moving)
        return [self.device_at[home] for home, _ in after.moving if home not in moving and home in self.device_at]

    def told(
        self,
        old: Standing,
        new: Standing,
        step: Step,
        old_readings: Sequence[int],
        new_readings: Sequence[int],
        covered: Sequence[int] = (),
    ) -> list[int]:
        """The devices that a step of a stroke tells, but for what lands by it, which is updated itself.

        `covered` are the places of water at which something has come to be by it.
        """
        dried = [self.flow.place_of[device] for device in covered]
        landed = {self.device_at[home] for home in step.landed if home in self.device_at}
        apart = new.still | old.still | landed
        numbers = self._program.number
        felt = [name for name in self.wirings.watching(step.after, step.felt) if name in numbers]
        for key in ("feels_start", "feels_landing") if felt else ():
            reached(self._program.rules, key)
        watches = (*felt, *self.wirings.watching(step.after, dried))
        watching = {numbers[name] for name in watches if name in numbers}
        found = dict.fromkeys(sorted(watching - apart))
        ports, port_device = new.wiring.ports, new.wiring.port_device
        for port in range(new.fixed):
            if old_readings[port] != new_readings[port] and not ports[port].silent:
                device = port_device[port]
                if device not in apart and (not ports[port].watches or self._watches_dust(new, device)):
                    found[device] = None
        for piston, heard in new.hears.items():
            if piston not in apart and self._hears_power(old, new, piston, heard, old_readings, new_readings):
                found[piston] = None
        for names in self.wirings.told(step.after, (*step.tells, *dried)):
            for name in names:
                number = numbers.get(name)
                if number is None or number in apart:
                    continue
                if new.devices[number].strokes or new.devices[number].flows:
                    found[number] = None
        return list(found)

    def _watches_dust(self, new: Standing, detector: int) -> bool:
        """Whether a detector watches dust, which changes where it lies; of all else it feels that it comes or goes."""
        home = self.home_of.get(detector)
        facing = None if home is None else self.drawing.things[home].facing
        place = None if home is None else new.inputs.of(self._program.names[detector]).place
        if place is None or facing is None:
            return False
        watched = self.drawing.things.get(facing.back.from_(place))
        return watched is not None and (watched.word == "dust" or watched.when is not None)

    @staticmethod
    def _hears_power(
        old: Standing,
        new: Standing,
        piston: int,
        heard: tuple[PortDrivers, ...],
        old_readings: Sequence[int],
        new_readings: Sequence[int],
    ) -> bool:
        """Whether dust that a piston hears has another level now."""
        if heard == old.hears[piston]:
            return False
        levels = [sorted(_heard_levels(*each)) for each in ((old, piston, old_readings), (new, piston, new_readings))]
        return levels[0] != levels[1]


def _heard_levels(standing: Standing, piston: int, readings: Sequence[int]) -> Iterator[int]:
    """The levels above none that a piston hears."""
    owners = standing.wiring.port_device
    for port in range(standing.fixed, len(owners)):
        if owners[port] == piston and readings[port]:
            yield readings[port]
