"""A run of one circuit, driven by hand: work its inputs, let time pass, read its signals, expect things.

Time stands still between calls. `run` lets whole gt pass; an input worked in between acts in the next gt, as a hand's
action does (rule C2). Where an order is open (rule C5) all orders are followed; reading a signal that depends on one
raises OpenOrder instead of picking one silently.
"""

from __future__ import annotations

from collections.abc import Iterator
from collections.abc import Set as AbstractSet
from contextlib import contextmanager
from dataclasses import replace
from typing import TYPE_CHECKING, Protocol

from circuitcheck.checks.outcome import GOOD, Outcome
from circuitcheck.diagnostics import NOWHERE, did_you_mean, either
from circuitcheck.engine.orders import TooManyOrders
from circuitcheck.engine.program import PortDrivers, Program, read
from circuitcheck.engine.simulator import Simulator
from circuitcheck.engine.start import OpenStart, starts
from circuitcheck.engine.step import Action, merge, run_game_tick
from circuitcheck.engine.work import Undecided
from circuitcheck.errors import (
    NotAsExpected,
    OpenOrder,
    RunGivenUp,
    UnknownName,
    WrongCall,
    must_be_name,
    must_be_words,
)
from circuitcheck.model import duration
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.rules import FULL_POWER
from circuitcheck.signals import Edge, Pulse, Row, edges_of, pulses_of

WIDTH = 90
"""How wide the text of a failed expectation is."""
MOST_NAMED = 6
"""How many inputs a hint names."""
CALLS = {
    "on": "set({!r}, True)",
    "off": "set({!r}, False)",
    "throw": "throw({!r})",
    "press": "press({!r})",
    "is": "set({!r}, LEVEL)",
}
"""The call for each action of the language."""
RETIRED = {"work": "set, throw and press"}
"""Names that a run had once, and what took their place."""


class Asked(Protocol):
    """What a run's circuit is of, which can be asked in the words of the language."""

    def tried(self, lines: list[str]) -> Outcome: ...


class Simulation:
    """One circuit in time, as `LoadedCircuit.start` makes it. What drives it returns the run itself, to chain calls.

    >>> run = mill.start().set("rope", True).run("5t")
    >>> run.is_on("open")
    True
    """

    def __init__(self, circuit: Circuit, loaded: Asked | None = None) -> None:
        """`loaded` is the file that the circuit is of; without one, nothing can be expected in words."""
        if not isinstance(circuit, Circuit):
            raise WrongCall(f"{circuit!r:.60} is no Circuit", "give the circuit of a file, or call its start()")
        self._loaded = loaded
        self._given_up = ""
        self._moments: list[Simulator] = []
        with self._followed("say in the circuit how its parts start, or make it smaller"):
            self._machine = Program(circuit)
            for start in starts(self._machine):
                self._moments += Simulator(self._machine, 0, start.levels).tell_everyone()
            self._moments = merge(self._moments)
        self._queued: list[Action] = []
        self._done: list[str] = []
        self._history: list[tuple[int, tuple[bytes, ...]]] = []
        self._now = 0
        self._remember()

    def __repr__(self) -> str:
        return f"<run of {self._machine.circuit.name} at {duration.show(self._now)}>"

    if not TYPE_CHECKING:  # else every misspelt name of a run would pass as known

        def __getattr__(self, name: str) -> object:
            if name in RETIRED:
                raise Retired(f"a run has no '{name}' any more", f"use {RETIRED[name]}")
            raise AttributeError(f"a run has no '{name}'", name=name, obj=self)

    @property
    def now(self) -> int:
        """The gt at whose end the circuit stands.

        >>> mill.start().run("1s").now
        20
        """
        return self._now

    def copy(self) -> Simulation:
        """A run of its own that stands where this one does: what is done to one is not done to the other.

        >>> run = mill.start().set("rope", True).run("5t")
        >>> other = run.copy().set("rope", False).run("5t")
        >>> run.run("5t").is_on("open"), other.is_on("open")
        (True, False)
        """
        twin = object.__new__(type(self))
        twin.__dict__.update(self.__dict__)
        twin._moments = [simulator.copy() for simulator in self._moments]
        twin._queued, twin._done, twin._history = self._queued[:], self._done[:], self._history[:]
        return twin

    __copy__ = copy

    def set(self, name: str, level: bool | int) -> Simulation:
        """Puts an input on (True) or off (False), or an analogue one to a level from 0 to 15, in the next gt.

        Returns itself. Raises UnknownName, and WrongCall for what the input does not take.

        >>> mill.start().set("rope", True).step().is_on("rope")
        True
        """
        if isinstance(level, bool):
            return self._act(name, "on" if level else "off")
        if not isinstance(level, int) or not 0 <= level <= FULL_POWER:
            raise WrongCall(f"{level!r} is not a level", f"give True, False, or a level from 0 to {FULL_POWER}")
        return self._act(name, "is", level)

    def throw(self, name: str) -> Simulation:
        """Throws a lever, in the next gt: on if it was off, off if it was on. Returns itself. Raises as `set` does.

        >>> mill.start().throw("rope").step().level("rope")
        15
        """
        return self._act(name, "throw")

    def press(self, name: str) -> Simulation:
        """Presses a button, in the next gt. Returns itself. Raises as `set` does.

        >>> mill.start().press("bell_push").step().is_on("bell")
        True
        """
        return self._act(name, "press")

    def step(self) -> Simulation:
        """Lets one gt pass. Returns itself. Raises RunGivenUp.

        >>> mill.start().step().now
        1
        """
        return self.run(gt=1)

    def run(self, time: str | None = None, *, gt: int | None = None) -> Simulation:
        """Lets time pass: a text like "8t", "3gt" or "1.5s", or a whole number of gt.

        Returns itself. Raises WrongCall, and RunGivenUp where open orders lead to more than is followed.

        >>> mill.start().run("8t").run(gt=4).now
        20
        """
        end = self._now + _game_ticks(time, gt)
        self._goes_on()
        while self._now < end:
            due = [due for simulator in self._moments if (due := simulator.next_due()) is not None]
            following = self._now + 1 if self._queued else min([*due, end])
            at = min(max(following, self._now + 1), end)
            for simulator in self._moments:
                simulator.now = at
            actions, self._queued = self._queued, []
            with self._followed("say in which order things happen, or run it for less time"):
                self._moments = merge(run_game_tick(self._moments, actions))
            self._now = at
            self._remember()
        return self

    def level(self, name: str) -> int:
        """A signal's level now. Raises UnknownName and OpenOrder.

        >>> mill.start().level("open")
        0
        """
        return self._agreed(name, self._feeds(name), self._history[-1][1], self._now)

    def is_on(self, name: str) -> bool:
        """Whether a signal is on now. Raises UnknownName and OpenOrder.

        >>> mill.start().is_on("open")
        False
        """
        return self.level(name) > 0

    def levels(self, name: str) -> AbstractSet[int]:
        """Every level that a signal may have now, over all open orders and starts. Raises UnknownName.

        >>> mill.start().levels("open")
        {0}
        """
        feeds = self._feeds(name)
        return {read(feeds, levels) for levels in self._history[-1][1]}

    def edges(self, name: str) -> list[Edge]:
        """Every change of a signal so far, at the ends of gt. Raises UnknownName and OpenOrder.

        >>> for at, level in mill.start().set("rope", True).run("5t").edges("open"):
        ...     print(at, level)
        5 15
        """
        return edges_of(self._followed_levels(name))

    def pulses(self, name: str) -> list[Pulse]:
        """Every stretch in which a signal was on that began in this run. Raises UnknownName and OpenOrder.

        >>> mill.start().set("rope", True).run("5t").pulses("open")
        [Pulse(start=5, end=None)]
        """
        return pulses_of(self.edges(name))

    def rows(self, *names: str) -> list[Row]:
        """The run as a table of these signals, or of all: level at gt 0, at each change, and now.

        Raises UnknownName and OpenOrder.

        >>> for row in mill.start().set("rope", True).run("5t").rows("rope", "open"):
        ...     print(*row)
        rope 0 0
        rope 1 15
        rope 10 15
        open 0 0
        open 5 15
        open 10 15
        """
        found: list[Row] = []
        for name in names or self._machine.circuit.signals:
            levels = self._followed_levels(name)
            rows = [Row(name, *levels[0]), *(Row(name, *edge) for edge in edges_of(levels))]
            found += rows if rows[-1].at == self._now else [*rows, Row(name, *levels[-1])]
        return found

    def expect(self, condition: str) -> Simulation:
        """Asserts a condition of the language at the end of this gt: "open on", "gate set", "level at least 7".

        It must hold over every open order and start; the run so far is run again for it. Returns itself. Raises
        NotAsExpected, whose text tells what happened and why, and InvalidCircuit for words that are no condition.

        >>> mill.start().set("rope", True).run("5t").expect("open on and bell off")
        <run of mill at 5t>
        """
        __tracebackhide__ = True
        must_be_words(condition)
        return self._expect(f"at {duration.show(self._now)} expect {condition}")

    def throughout(self, claim: str) -> Simulation:
        """Asserts a claim of the language over the run up to here: "every pulse of opening lasts at least 2t".

        Returns itself. Raises NotAsExpected and InvalidCircuit, like expect.

        >>> mill.start().press("bell_push").run("2s").throughout("every pulse of bell_push lasts 10t")
        <run of mill at 20t>
        """
        __tracebackhide__ = True
        must_be_words(claim)
        return self._expect(f"throughout {claim}")

    def _act(self, name: str, verb: str, level: int = 0) -> Simulation:
        must_be_name(name)
        self._goes_on()
        part = self._machine.circuit.by_name.get(name)
        if part is None:
            raise UnknownName(f"no input is called '{name}'", did_you_mean(name, self._machine.number))
        if not part.verbs:
            inputs = [each.name for each in self._machine.circuit.inputs]
            more = ", …" if len(inputs) > MOST_NAMED else ""
            known = f"the inputs are {', '.join(inputs[:MOST_NAMED])}{more}" if inputs else "the circuit has none"
            raise WrongCall(f"'{name}' is no input", known)
        if verb not in part.verbs:
            calls = (call.format(name) for each, call in CALLS.items() if each in part.verbs)
            raise WrongCall(f"'{name}' has no such action", f"it takes {either(calls)}")
        number = self._machine.number[name]
        if any(action.device == number for action in self._queued):
            what = f"'{name}' has two actions in one gt, so their order is unknown"
            raise WrongCall(what, "let time pass in between, for example with step()")
        self._queued.append(Action(number, verb, level))
        act = f"{verb} {name}" if verb in ("throw", "press") else f"{name} {verb}" + (f" {level}" * (verb == "is"))
        self._done.append(f"at {self._now + 1}gt {act}")
        return self

    def _goes_on(self) -> None:
        if self._given_up:
            raise RunGivenUp(self._given_up, "start another, or copy a run before it goes on")

    @contextmanager
    def _followed(self, hint: str) -> Iterator[None]:
        """Turns what the engine says when it gives up into what a caller is reported; the run can't go on after it."""
        try:
            yield
        except (OpenStart, TooManyOrders, Undecided) as refused:
            self._given_up = f"this run was given up: {refused}"
            raise RunGivenUp(self._given_up, hint) from refused

    def _expect(self, line: str) -> Simulation:
        __tracebackhide__ = True
        if self._loaded is None:
            raise WrongCall("only the circuit of a file can be asked in words", "load it")
        acts = self._done[: len(self._done) - len(self._queued)]
        outcome = self._loaded.tried([*acts, line, f"until {self._now}gt"])
        if outcome.verdict in GOOD:
            return self
        from circuitcheck.report.lines import plain
        from circuitcheck.report.terminal.verdict_lines import headline, outcome_lines

        failure = outcome.failure
        if failure is not None:
            # The lines that it was made of stand in no file.
            check = failure.check and failure.check._replace(title=line)
            failure = replace(failure, broken=failure.broken._replace(span=NOWHERE), check=check)
        shown = replace(outcome, title=line, failure=failure)
        raise NotAsExpected(f"{headline(shown)}\n{plain(outcome_lines(shown, WIDTH)).rstrip()}")

    def _remember(self) -> None:
        self._history.append((self._now, tuple(bytes(simulator.levels) for simulator in self._moments)))

    def _feeds(self, name: str) -> PortDrivers:
        must_be_name(name)
        circuit = self._machine.circuit
        part = circuit.signal(name)
        if part is None:
            raise UnknownName(f"no part is called '{name}'", did_you_mean(name, circuit.signals))
        return self._machine.probe(part)

    def _followed_levels(self, name: str) -> list[tuple[int, int]]:
        feeds = self._feeds(name)
        return [(at, self._agreed(name, feeds, snapshots, at)) for at, snapshots in self._history]

    @staticmethod
    def _agreed(name: str, feeds: PortDrivers, snapshots: tuple[bytes, ...], at: int) -> int:
        levels = {read(feeds, levels) for levels in snapshots}
        if len(levels) > 1:
            shown = " or ".join(map(str, sorted(levels)))
            what = f"'{name}' is {shown} at {duration.show(at)}: an open order or start decides"
            raise OpenOrder(what, f"levels('{name}') gives all")
        return levels.pop()


class Retired(WrongCall, AttributeError):
    """A name that was given up; as an AttributeError too, so that asking whether a run has it is answered no."""


def _game_ticks(time: str | None, gt: int | None) -> int:
    example = "write for example run('10t') or run(gt=20)"
    if (time is None) == (gt is None):
        raise WrongCall("a run takes one time: a text, or a number of gt", example)
    if gt is not None:
        if isinstance(gt, bool) or not isinstance(gt, int) or gt < 0:
            raise WrongCall(f"{gt!r} is not a number of gt from 0 up", example)
        return gt
    if not isinstance(time, str):
        raise WrongCall(f"{time!r} has no unit", example)
    try:
        return duration.whole(time)
    except ValueError as refused:
        what, _, hint = str(refused).partition(": ")
        raise WrongCall(what, hint or example) from None
