"""The Python interface for driving a circuit by hand: work its inputs, let time pass, read its signals, expect things.

Time stands still between calls. `run` lets whole gt pass; an input worked in between acts in the next gt, as a hand's
action does (rule C2). Where an order is open (rule C5) all orders are followed; reading a signal that hangs on one
raises OpenOrder instead of picking one silently.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from circuitcheck.checks.outcome import GOOD, Outcome
from circuitcheck.diagnostics import NOWHERE, Diagnostic, did_you_mean
from circuitcheck.engine.machine import Machine, read
from circuitcheck.engine.moment import Moment
from circuitcheck.engine.start import starts
from circuitcheck.engine.step import Action, merge, run_game_tick
from circuitcheck.language.load import Loaded, load_file, load_text
from circuitcheck.model import duration
from circuitcheck.model.circuit import Circuit
from circuitcheck.prove.meter import USUAL_STATES
from circuitcheck.verify import Exit, FileReport, attempted, report_on

WIDTH = 90
"""How wide the text of a failed expectation is."""


class InvalidCircuit(ValueError):
    """The circuit's text has mistakes; they stand in `diagnostics`."""

    def __init__(self, diagnostics: tuple[Diagnostic, ...], words: str = "") -> None:
        """`words` are what was expected, where that is what has the mistakes and not a file."""
        self.diagnostics = diagnostics
        rows = [f"{words or each.span}: {each.message}{f' ({each.mend})' * bool(each.mend)}" for each in diagnostics]
        super().__init__("\n".join(rows))


class UnknownName(KeyError):
    """No part of the circuit has this name."""


class NotAsExpected(AssertionError):
    """A run is not as was expected; the text says what happened, and why, as for a check of a file."""


class OpenOrder(RuntimeError):
    """The signal asked for hangs on an order or a start that nothing decides (rules C5, L5)."""


@dataclass(frozen=True, slots=True)
class Edge:
    """A change of a signal: the gt in which it happened and the level it went to."""

    at: int
    level: int


@dataclass(frozen=True, slots=True)
class Pulse:
    """A stretch in which a signal was on: from gt `start` to before gt `end`, None while it lasts."""

    start: int
    end: int | None

    @property
    def length(self) -> int | None:
        """In gt; None while it lasts."""
        return None if self.end is None else self.end - self.start


class LoadedCircuit:
    """A circuit file that has been read without mistakes."""

    def __init__(self, loaded: Loaded, folder: str | Path, root: str | Path = "") -> None:
        if not loaded.valid:
            raise InvalidCircuit(loaded.diagnostics)
        self._loaded = loaded
        self._folder = folder
        self._root = root

    @property
    def circuit(self) -> Circuit:
        """The file's own circuit. Raises ValueError if the file only holds definitions."""
        study = next((study for study in self._loaded.studies if not study.label), None)
        if study is None:
            raise ValueError(f"{self._loaded.path} holds definitions only, and no circuit of its own")
        return study.circuit

    def verify(self) -> FileReport:
        """Runs and judges every check and claim of the file."""
        return report_on(self._loaded)

    def expect_all(self, states: int = USUAL_STATES) -> None:
        """Asserts that every check and claim of the file holds. Raises NotAsExpected with the report on the rest."""
        __tracebackhide__ = True
        report = report_on(self._loaded, states=states)
        if report.exit is not Exit.HOLDS:
            from circuitcheck.report.lines import plain
            from circuitcheck.report.terminal import report_lines, summary

            text = plain([summary([report]), *report_lines(report, WIDTH, quiet=True)])
            raise NotAsExpected(text.rstrip())

    def start(self) -> Simulation:
        """The circuit at the end of gt 0, nobody having touched it."""
        return Simulation(self.circuit, self)

    def tried(self, lines: list[str]) -> Outcome:
        """What a check made of these lines comes to in the file's own circuit.

        The last line but one is what is expected. Raises InvalidCircuit.
        """
        text = "\n".join(self._loaded.sources[self._loaded.path])
        attempt = attempted(load_text(text, self._loaded.path, self._folder, self._root, lines))
        if attempt.trial is None:
            raise InvalidCircuit(attempt.diagnostics, lines[-2])
        return attempt.trial.outcome

    def __repr__(self) -> str:
        return f"<circuit of {self._loaded.path}>"


def load(path: str | Path, root: str | Path = "") -> LoadedCircuit:
    """Reads a circuit file; it uses files below `root`, or below its own folder without one. Raises InvalidCircuit."""
    return LoadedCircuit(load_file(path, root), Path(path).parent, root)


def loads(text: str, folder: str | Path = ".") -> LoadedCircuit:
    """Reads a circuit from text; `use` lines look into `folder`. Raises InvalidCircuit."""
    return LoadedCircuit(load_text(text, "circuit", folder), folder)


class Simulation:
    """One circuit in time."""

    def __init__(self, circuit: Circuit, loaded: LoadedCircuit | None = None) -> None:
        """`loaded` is the file that the circuit is of; without one, nothing can be expected in words."""
        self._loaded = loaded
        self._machine = Machine(circuit)
        self._moments: list[Moment] = []
        for start in starts(self._machine):
            self._moments += Moment(self._machine, 0, start.levels).tell_everyone()
        self._moments = merge(self._moments)
        self._queued: list[Action] = []
        self._done: list[str] = []
        self._history: list[tuple[int, tuple[bytes, ...]]] = []
        self._now = 0
        self._remember()

    def __repr__(self) -> str:
        return f"<run of {self._machine.circuit.name} at {duration.show(self._now)}>"

    @property
    def now(self) -> int:
        """The gt at whose end the circuit stands."""
        return self._now

    def work(self, name: str, verb: str, level: int = 0) -> Simulation:
        """Works an input in the next gt: `on`, `off` or `throw` a lever, `press` a button, `is` a level.

        Returns itself. Raises UnknownName, and ValueError for an action the part does not take.
        """
        number = self._machine.number.get(name)
        if number is None:
            raise UnknownName(f"no input is called '{name}'. {did_you_mean(name, self._machine.number)}".strip())
        verbs = self._machine.devices[number].part.verbs
        if verb not in verbs:
            raise ValueError(f"'{name}' takes {', '.join(sorted(verbs)) or 'no actions'}, not '{verb}'")
        if not 0 <= level <= 15:
            raise ValueError(f"levels go from 0 to 15, not {level}")
        if any(action.device == number for action in self._queued):
            raise ValueError(f"'{name}' is worked twice in one gt, and nothing says which comes first")
        self._queued.append(Action(number, verb, level))
        part = self._machine.devices[number].part.name
        act = f"{verb} {part}" if verb in ("throw", "press") else f"{part} {verb}" + (f" {level}" * (verb == "is"))
        self._done.append(f"at {self._now + 1}gt {act}")
        return self

    def run(self, time: int | str) -> Simulation:
        """Lets time pass: a number of gt, or text like "8t". Returns itself. Raises ValueError."""
        game_ticks = _game_ticks(time)
        end = self._now + game_ticks
        while self._now < end:
            due = [due for moment in self._moments if (due := moment.next_due()) is not None]
            following = self._now + 1 if self._queued else min([*due, end])
            self._now = min(max(following, self._now + 1), end)
            for moment in self._moments:
                moment.now = self._now
            actions, self._queued = self._queued, []
            self._moments = merge(run_game_tick(self._moments, actions))
            self._remember()
        return self

    def level(self, name: str) -> int:
        """A signal's level now. Raises UnknownName and OpenOrder."""
        return self._agreed(name, self._history[-1][1], self._now)

    def is_on(self, name: str) -> bool:
        """Whether a signal is on now. Raises UnknownName and OpenOrder."""
        return self.level(name) > 0

    def levels(self, name: str) -> set[int]:
        """Every level that a signal may have now, over all open orders and starts. Raises UnknownName."""
        feeds = self._feeds(name)
        return {read(feeds, levels) for levels in self._history[-1][1]}

    def edges(self, name: str) -> list[Edge]:
        """Every change of a signal so far, at the ends of gt. Raises UnknownName and OpenOrder."""
        found: list[Edge] = []
        before: int | None = None
        for at, snapshots in self._history:
            level = self._agreed(name, snapshots, at)
            if before is not None and level != before:
                found.append(Edge(at, level))
            before = level
        return found

    def pulses(self, name: str) -> list[Pulse]:
        """Every stretch in which a signal was on that began in this run. Raises UnknownName and OpenOrder."""
        found: list[Pulse] = []
        for edge in self.edges(name):
            running = bool(found) and found[-1].end is None
            if edge.level and not running:
                found.append(Pulse(edge.at, None))
            elif not edge.level and running:
                found[-1] = Pulse(found[-1].start, edge.at)
        return found

    def expect(self, condition: str) -> Simulation:
        """Asserts a condition of the language at the end of this gt: "open on", "gate set", "level at least 7".

        It must hold over every open order and start; the run so far is run again for it. Returns itself. Raises
        NotAsExpected, whose text tells what happened and why, and InvalidCircuit for words that are no condition.
        """
        __tracebackhide__ = True
        return self._expect(f"at {duration.show(self._now)} expect {condition}")

    def throughout(self, claim: str) -> Simulation:
        """Asserts a claim of the language over the run up to here: "every pulse of opening lasts at least 2t".

        Returns itself. Raises NotAsExpected and InvalidCircuit, like expect.
        """
        __tracebackhide__ = True
        return self._expect(f"throughout {claim}")

    def _expect(self, line: str) -> Simulation:
        __tracebackhide__ = True
        if self._loaded is None:
            raise ValueError("only the circuit of a file can be asked in words: load it")
        acts = self._done[: len(self._done) - len(self._queued)]
        outcome = self._loaded.tried([*acts, line, f"until {self._now}gt"])
        if outcome.verdict in GOOD:
            return self
        from circuitcheck.report.lines import plain
        from circuitcheck.report.terminal import headline, outcome_lines

        failure = outcome.failure
        if failure is not None:
            # The lines that it was made of stand in no file.
            check = failure.check and failure.check._replace(title=line)
            failure = replace(failure, broken=failure.broken._replace(span=NOWHERE), check=check)
        shown = replace(outcome, title=line, failure=failure)
        raise NotAsExpected(f"{headline(shown)}\n{plain(outcome_lines(shown, WIDTH)).rstrip()}")

    def _remember(self) -> None:
        self._history.append((self._now, tuple(bytes(moment.levels) for moment in self._moments)))

    def _feeds(self, name: str) -> tuple[tuple[int, int], ...]:
        circuit = self._machine.circuit
        part = circuit.signal(name)
        if part is None:
            raise UnknownName(f"no part is called '{name}'. {did_you_mean(name, circuit.signals)}".strip())
        return self._machine.probe(part)

    def _agreed(self, name: str, snapshots: tuple[bytes, ...], at: int) -> int:
        feeds = self._feeds(name)
        levels = {read(feeds, levels) for levels in snapshots}
        if len(levels) > 1:
            shown = " or ".join(map(str, sorted(levels)))
            raise OpenOrder(f"'{name}' is {shown} at {duration.show(at)}: it hangs on an open order or start")
        return levels.pop()


def _game_ticks(time: int | str) -> int:
    if isinstance(time, int):
        if time < 0:
            raise ValueError("time runs forward only")
        return time
    if not isinstance(time, str):
        raise ValueError(f"{time!r} is no duration; write for example 8t, or a whole number of gt")
    return duration.whole(time)
