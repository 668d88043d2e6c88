"""What every kind of part has in common.

A *part* is what the author wrote: a frozen value with names of other parts in it. A *device* is the same part
wired up: it knows its number, the numbers of its ports, and how it behaves when it is updated
(`on_input_change`), when its wait is over (`act`) and when someone throws or presses it (`drive`). A device keeps
nothing of its own: all that changes lives in the simulator that is handed to it.

A *kind* is the word of the language for a part: which options it takes and how they become parts.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields, replace
from enum import Enum
from typing import TYPE_CHECKING, ClassVar, NamedTuple, Protocol

from circuitcheck.diagnostics import Span
from circuitcheck.model.parts.simulator_view import SimulatorView
from circuitcheck.model.rules import FULL_POWER, RuleSet

if TYPE_CHECKING:
    from circuitcheck.model.parts.cells import Cell


@dataclass(frozen=True, slots=True)
class Port:
    """An input of a part: its name and the names of what feeds it.

    `watches` ports feel the state of what they name (a lamp lit, a piston out) instead of its power.
    `boolean` ports feel only whether there is power, so that two updates with one reading count once.
    A `silent` port can be read, but the part is not told when it changes.
    Power at a port that `inverts` turns the part off or down; at one that does not `carries`, it holds the part still.
    Only parts that point may feed one that is `from_directed`.
    """

    name: str
    sources: tuple[str, ...]
    watches: bool = False
    boolean: bool = True
    silent: bool = False
    inverts: bool = False
    carries: bool = True
    from_directed: bool = False


class Conducts(Enum):
    """What a part passes on, and as what (rules P2, P4)."""

    LEVEL = "its own level"
    BLOCK = "the power that reaches it, as a solid block: that of dust weakly, all other strongly"
    LINE = "the power that reaches it, as dust, one level less a dust"
    RUN = "the power that reaches it along dust in a drawing, less what is lost on each path"
    NOTHING = "no power: its state can only be watched"


class Change(NamedTuple):
    """A part built or set otherwise than it is written: in words, and how likely it is beside other mistakes."""

    words: str
    part: Part
    likely: int = 0
    added: tuple[Part, ...] = ()
    """Other parts that stand for what was done to it."""


class Adjustment(NamedTuple):
    """Something that can be set otherwise at a part: the field, its value, and all values that make sense there."""

    field: str
    chosen: int
    values: tuple[int, ...]
    timed: bool
    """Whether the values are times in gt; else plain numbers."""
    slows: bool
    """Whether a higher value is a longer delay from its inputs to what it gives."""


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a device changed: the rule's id and plain words."""

    rule: str
    words: str


class Latch(Protocol):
    """What the name of a set–reset latch says of it; its two sides are parts of their own (rule L1)."""

    @property
    def name(self) -> str: ...
    @property
    def start(self) -> int | None: ...
    @property
    def set_by(self) -> tuple[str, ...]: ...
    @property
    def reset_by(self) -> tuple[str, ...]: ...
    @property
    def inverse(self) -> str:
        """The name of the other side."""

    def ports(self) -> tuple[Port, ...]: ...

    def crossed(self, side: Part, inverse: Part) -> dict[Part, Part]:
        """What becomes of its two sides, and of itself, where each side is powered by what should power the other."""

    def flipped(self, side: Part, inverse: Part) -> dict[Part, Part]:
        """What becomes of them where it starts the other way; nothing where no start is said."""


class Reaction(NamedTuple):
    """How a device answers what it feels at its only port, where all that it does is to follow it or to invert it.

    The simulator looks such waits up in a table instead of asking the device each time.
    """

    inverts: bool
    going_on: int
    """The wait that it begins while it is off and should be on."""
    going_off: int

    @property
    def waits(self) -> tuple[int, int, int, int]:
        """The wait that it begins, or 0: while it is off and feels nothing, is on and feels nothing, is off and feels
        something, is on and feels something."""
        if self.inverts:
            return (self.going_on, 0, 0, self.going_off)
        return (0, self.going_off, self.going_on, 0)


class Device:
    """A part wired up. See the module's docstring for what the methods are for."""

    __slots__ = ("index", "part", "ports")

    reaction: Reaction | None = None
    """What its `on_input_change` comes to, where it is a reaction (see `Reacting`)."""

    waits: ClassVar[frozenset[int]] = frozenset()
    zero_delay: ClassVar[bool] = False
    """Whether it may change while it is being updated, without a wait."""
    drawn: ClassVar[bool] = False
    """Whether it is worked by chance and not by hands, which is another moment of a gt (rule C2)."""
    beside: ClassVar[int] = 0
    """Where the one device stands that it moves, or that moves it: steps from its own number; 0 for none."""
    strokes: ClassVar[bool] = False
    """Whether its acting moves things in a drawing, and so may change who reads whom (rule M9)."""
    flows: ClassVar[bool] = False
    """Whether it is a place of water, which spreads as it acts (rule Z2)."""

    def __init__(self, part: Part, index: int, ports: Sequence[int]) -> None:
        self.part = part
        self.index = index
        self.ports = tuple(ports)

    def on_input_change(self, simulator: SimulatorView) -> int:
        """Something that this device reads has changed. Returns the wait that it begins, or 0 (rule C4)."""
        return 0

    def act(self, simulator: SimulatorView) -> int:
        """The device's wait is over. Returns the level it gives from now on."""
        return simulator.levels[self.index]

    def after(self, simulator: SimulatorView) -> None:
        """Everyone has been updated about the change after which this device is to be called."""

    def drive(self, simulator: SimulatorView, verb: str, level: int) -> None:
        """An outside action: the part is thrown, pressed, stood on or set to a level."""

    def moved_off(self, simulator: SimulatorView) -> None:
        """A stroke has begun to move it: the wait that it held is lost already, and it reads nothing (rule M4)."""

    def landed(self, simulator: SimulatorView) -> int:
        """It stands again, where a stroke has moved it. Returns the wait that it begins, or 0 (rules M10, M11)."""
        return self.on_input_change(simulator)

    def settled(self, low: Mapping[int, int], high: Mapping[int, int]) -> tuple[int, int]:
        """The least and the highest level the device can rest at, given those of its ports (rule C6)."""
        return (0, FULL_POWER)

    def waits_on_change(self, rising: bool | None) -> frozenset[int]:
        """Every wait it may begin when what it reads goes on or off; None if that is not known."""
        return self.waits

    def own_waits(self, rising: bool | None) -> frozenset[int]:
        """Every wait it may begin of itself, while it goes on or off or is worked; None if that is not known."""
        return frozenset()

    def reason(self, level: int) -> Reason:
        """Why the device changes to `level`, for people."""
        raise NotImplementedError


class Reacting(Device):
    """A device whose change reaches others by its reaction alone."""

    __slots__ = ("_reaction", "_waits", "reaction")

    def __init__(self, part: Part, index: int, ports: Sequence[int], reaction: Reaction) -> None:
        super().__init__(part, index, ports)
        self.reaction = reaction
        self._reaction, self._waits = reaction, reaction.waits

    def on_input_change(self, simulator: SimulatorView) -> int:
        index = self.index
        on = simulator.levels[index] > 0
        wait = self._waits[2 * (simulator.readings[self.ports[0]] > 0) + on]
        if wait:
            return 0 if simulator.waiting[index] else wait
        would_begin = self._reaction.going_off if on else self._reaction.going_on
        if simulator.waiting[index] and simulator.holds(index, would_begin):
            simulator.note(index, "V3")
        return 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """A part as its author wrote it.

    >>> mill.circuit.by_name["winch"].word
    'repeater'
    """

    name: str
    span: Span
    start: int | None = None
    """The declared level at the start, or None (rule C6)."""
    word: ClassVar[str] = ""
    verbs: ClassVar[frozenset[str]] = frozenset()
    """The outside actions it takes; empty for all that are not inputs."""

    # What each kind of part must answer for itself: see `questions`. There are no defaults here on purpose.

    powered_by: ClassVar[tuple[str, ...]]
    """The names of its fields that hold what powers it; what it only watches is not among them."""
    conducts: ClassVar[Conducts]
    behaves: ClassVar[bool]
    """Whether it has a state of its own that changes; what does not is wiring between those that do."""
    graded: ClassVar[bool]
    """Whether it gives levels between none and full."""
    measures: ClassVar[bool]
    """Whether what it gives depends on how high the levels are that it reads, not only on whether there is power."""
    directed: ClassVar[bool]
    """Whether it points: takes from behind and gives in front, to one thing only where that stands right there."""
    indicates: ClassVar[bool]
    """Whether it is there for people to look at, so that what it shows is given out, and its flashing can harm."""
    burns_out: ClassVar[bool]
    """Whether it burns out when it goes off too often (rule T4)."""
    ends: ClassVar[bool]
    """Whether it does something of its own: it need not feed anything."""
    powerless: ClassVar[str]
    """Of what conducts nothing, how it is said of it that it gives no power: what it is, and then the reason."""
    light: ClassVar[int]
    """The level of light that it gives while it is on; 0 for none (rule G1)."""

    def faults(self) -> tuple[Change, ...]:
        """The single faults that it can have of its own, to see whether checks notice them."""
        raise NotImplementedError

    def mistakes(self) -> tuple[Change, ...]:
        """The single mistakes that may be made where it is built, to tell what was seen from."""
        raise NotImplementedError

    def adjustments(self) -> tuple[Adjustment, ...]:
        """What can be set otherwise at it."""
        raise NotImplementedError

    # What follows from those

    def adjusted(self, adjustment: Adjustment, value: int) -> Part:
        """The part with something set to another value."""
        return replace(self, **{adjustment.field: value})  # type: ignore[arg-type]

    @property
    def said(self) -> tuple[tuple[str, object], ...]:
        """What its author says of it, field by field, but for its name, its start and what it is wired to."""
        values = ((field.name, getattr(self, field.name)) for field in fields(self))
        return tuple(
            (name, value)
            for name, value in values
            if name not in ("name", "span", "start")
            and not (isinstance(value, tuple) and all(isinstance(each, str) for each in value))
        )

    @property
    def powers(self) -> tuple[str, ...]:
        """The names of all that powers it."""
        return tuple(name for field in self.powered_by for name in getattr(self, field))

    @property
    def inverter(self) -> bool:
        """Whether it is on exactly while nothing that it reads is: all its inputs turn it off."""
        ports = self.ports()
        return bool(ports) and all(port.inverts for port in ports)

    @property
    def lockable(self) -> bool:
        """Whether something can hold it still."""
        return any(port.sources and not port.carries for port in self.ports())

    @property
    def cell(self) -> Cell | None:
        """What it says of its changes by chance, if it is drawn by chance."""
        return None

    @property
    def latch(self) -> Latch | None:
        """The latch that it is, if it is one: the name of two torches that hold each other (rule L1)."""
        return None

    @property
    def arms_itself(self) -> bool:
        """Whether its arming comes through what it moves itself (rule M12)."""
        return False

    @property
    def stuck(self) -> bool:
        """Whether it looks at its power only when it gets an update from something else (rule D2)."""
        powering = [port for port in self.ports() if not port.watches]
        return bool(powering) and all(port.silent for port in powering)

    @property
    def dust(self) -> int:
        """How many dust it is long; 0 for all that is no line."""
        return 0

    @property
    def losses(self) -> Mapping[str, int]:
        """Of dust in a drawing, what reaches it, with the levels lost on the way."""
        return {}

    @property
    def lag(self) -> int:
        """The least gt from a change at an input to the part's own change; 0 where it is at once."""
        return 0

    @property
    def late(self) -> int:
        """The most gt from a change at an input that the part follows to its own change; as a rule the same."""
        return self.lag

    def ports(self) -> tuple[Port, ...]:
        """The part's inputs."""
        return ()

    def all_ports(self) -> tuple[Port, ...]:
        """Its inputs with those that it can have and nothing feeds; where things move, something may yet."""
        return self.ports()

    def in_a_drawing(self) -> Part:
        """The part as it runs where strokes move things."""
        return self

    def rewired(self, old: str, new: str | None) -> Part:
        """The part with one of its sources of power replaced by another, or left out."""
        put = () if new is None else (new,)
        changed = {
            field: tuple(name for source in getattr(self, field) for name in (put if source == old else (source,)))
            for field in self.powered_by
        }
        return replace(self, **changed)  # type: ignore[arg-type]

    def device(self, index: int, ports: Sequence[int], straight: bool, rules: RuleSet) -> Device:
        """The part wired up under a set of rules; `straight` says that it points straight (rule C3)."""
        raise TypeError(f"{self.word} is wiring and has no behaviour of its own")


def no_changes(part: Part) -> tuple[Change, ...]:
    """The answer of a part that can have no faults, or no mistakes, of its own."""
    return ()


def no_adjustments(part: Part) -> tuple[Adjustment, ...]:
    """The answer of a part at which nothing can be set."""
    return ()
