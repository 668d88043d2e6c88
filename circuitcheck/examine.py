"""Doors to all that looks into one circuit: read a file, pick a run, hand both to the explanations. Never prints."""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, NamedTuple

from circuitcheck.checks.drawing.built import started
from circuitcheck.checks.finding import Finding
from circuitcheck.checks.judge import places_of, try_out
from circuitcheck.checks.outcome import Verdict
from circuitcheck.checks.sensing import rows, still
from circuitcheck.checks.trial import Trial
from circuitcheck.diagnostics import Diagnostic, did_you_mean
from circuitcheck.engine.program import Program
from circuitcheck.engine.record import Recording
from circuitcheck.engine.start import OpenStart
from circuitcheck.explain.noteworthy import signals_of
from circuitcheck.language.load import Loaded, load_file, load_with
from circuitcheck.model import duration
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.claims import Check, Study
from circuitcheck.model.drawing import At, Drawing

if TYPE_CHECKING:
    from circuitcheck.plans.hearing import Listener
    from circuitcheck.plans.hearing_as_moved import AsMoved
    from circuitcheck.space.configuration import Configuration

SEEN_AT = "100t"
"""When an observation without a time is taken to have been made: long after everything has settled."""


class Refused(Exception):
    """The call asks for something that is not there; the text says what, and what would be."""


REFUSALS = (Refused, OpenStart)
"""What ends a look into a circuit: the call asks for what is not there, or how the circuit starts is not said."""


class Drawn(NamedTuple):
    """A drawing, the circuit read out of it, and the circuit that it is held against, if the file names one."""

    drawing: Drawing
    circuit: Circuit
    meant: Circuit | None

    @property
    def started(self) -> Circuit:
        """The drawn circuit with the starts that the circuit it is held against declares."""
        return started(self.meant, self.circuit)

    @property
    def declared(self) -> Circuit:
        """The circuit that says how parts start."""
        return self.meant or self.circuit


@dataclass(frozen=True, slots=True)
class Opened:
    """A file that has been read. Without diagnostics it has a study of its circuit, or of the definition asked for."""

    path: str
    diagnostics: tuple[Diagnostic, ...]
    sources: dict[str, tuple[str, ...]]
    study: Study | None
    studies: tuple[Study, ...]
    """All of the file's studies: its circuit under other values, and its definitions."""

    @property
    def program(self) -> Program:
        """The circuit wired up. Raises Refused where the file has none."""
        return Program(self.circuit_study.circuit)

    @property
    def circuit_study(self) -> Study:
        """The study of the circuit asked for. Raises Refused where the file has none."""
        if self.study is None:
            raise Refused(f"{self.path} has no circuit of its own; {self._definitions()}")
        return self.study

    @property
    def drawn(self) -> Drawn:
        """What the file draws. Raises Refused where it draws nothing."""
        study = self.circuit_study
        circuit = study.drawn or study.circuit
        if circuit.drawing is None:
            raise Refused(
                f"{self.path} draws nothing there: add a 'legend' and a 'drawing' (grammar/README.md, Drawings)"
            )
        if study.drawn is None:
            return Drawn(circuit.drawing, circuit, None)
        # What the circuit gives out is given out of the drawing, where that has it by name.
        outputs = tuple(each for each in study.circuit.outputs if each.source in circuit.by_name)
        return Drawn(circuit.drawing, replace(circuit, outputs=outputs), study.circuit)

    @property
    def where(self) -> Mapping[str, At]:
        """Where the parts of the circuit asked for stand; empty where nothing is drawn."""
        return {} if self.study is None else places_of(self.study)

    def where_of(self, circuit: Circuit) -> Mapping[str, At]:
        """Where the parts stand of the circuit of one of the file's studies; empty where it is not drawn."""
        study = next((each for each in self.studies if each.circuit is circuit), None)
        return {} if study is None else places_of(study)

    @property
    def still_cells(self) -> list[Finding]:
        """What was found of cells that can never change where they are. Raises Refused where there is no circuit."""
        return list(still(self.circuit_study.circuit))

    @property
    def has_sensors(self) -> bool:
        """Whether anything in the circuit changes by chance. Raises Refused where there is no circuit."""
        return bool(rows(self.circuit_study.circuit))

    def _definitions(self) -> str:
        names = list(dict.fromkeys(study.circuit.name for study in self.studies))
        return f"--define takes one of its definitions: {', '.join(names)}" if names else "name a file that has one"


def opened(path: str | os.PathLike[str], definition: str = "", root: str = "") -> Opened:
    """Reads a file for its own circuit, or for one of its definitions standing alone. Raises Refused."""
    return opened_as_read(load_file(path, root), definition)


def opened_as_asked(path: str, lines: Sequence[str], definition: str, root: str) -> Opened:
    """Reads a file as a call asks: with a check of its lines, or else for one of its definitions. Raises Refused."""
    return opened_with(path, lines, root) if lines else opened(path, definition, root)


def opened_with(path: str | os.PathLike[str], lines: Sequence[str], root: str = "") -> Opened:
    """Reads a file for its own circuit with one check made of the lines of a call. Raises Refused."""
    return opened_as_read(load_with(path, lines, root), "")


def opened_as_read(loaded: Loaded, definition: str) -> Opened:
    """What has been read, for its own circuit, or for one of its definitions standing alone. Raises Refused."""
    labels = {study.label: study for study in reversed(loaded.studies)}
    by_name = {study.circuit.name: study for study in reversed(loaded.studies) if study.label}
    study = by_name.get(definition) if definition else labels.get("")
    if definition and study is None and not loaded.diagnostics:
        hint = did_you_mean(definition, by_name) or f"it has {', '.join(sorted(by_name)) or 'none'}"
        raise Refused(f"{loaded.path} has no definition '{definition}': {hint}")
    return Opened(loaded.path, loaded.diagnostics, loaded.sources, study, loaded.studies)


def signal(program: Program, name: str) -> str:
    """The part behind a name. Raises Refused."""
    part = program.circuit.signal(name)
    if part is None:
        known = program.circuit.signals
        near = did_you_mean(name, known) or f"there are {', '.join(known[:8])}{', …' if len(known) > 8 else ''}"
        raise Refused(f"nothing is called '{name}'; {near}")
    return part


def shown(program: Program, name: str) -> str:
    """The part behind a name, or the place of water that runs call by it. Raises Refused."""
    return name if program.is_water(name) else signal(program, name)


def input_of(program: Program, name: str) -> str:
    """The input of that name. Raises Refused."""
    part = signal(program, name)
    inputs = [each.name for each in program.circuit.inputs]
    if part not in inputs:
        raise Refused(f"'{name}' is no input; the inputs are {', '.join(inputs[:8]) or 'none'}")
    return part


def game_tick(text: str) -> int:
    """A time of a call, as 16t, 3gt or 1.5s, in gt. Raises Refused."""
    try:
        return duration.whole(text)
    except ValueError as wrong:
        raise Refused(str(wrong)) from None


@dataclass(frozen=True, slots=True)
class Traced:
    """One run of one check, written down."""

    title: str
    trial: Trial
    recording: Recording

    @property
    def signals(self) -> list[str]:
        """The signals that matter: those of a failing expectation and its causes, else inputs and outputs."""
        return signals_of(self.trial, self.recording)


def traced(opened_file: Opened, title: str = "") -> Traced:
    """The run of a check: the one named, else the first that fails, else the first. Raises Refused."""
    study = opened_file.study
    if title:
        asked = [(each, check) for each in opened_file.studies for check in each.checks]
        known = next(((each, check) for each, check in asked if check.title == title), None)
        if known is None:
            titles = [check.title for _, check in asked]
            named = ", ".join(f"'{each}'" for each in titles[:4])
            near = did_you_mean(title, titles) or f"there are {named}{', …' if len(titles) > 4 else ''}"
            raise Refused(f"no check is titled '{title}'; {near}")
        return _traced(*known)
    if study is None or not study.checks:
        raise Refused(
            f"{opened_file.path} has no check of its own circuit: name a --check, or say what is done with --line"
        )
    found: Traced | None = None
    for check in study.checks:
        run = _traced(study, check)
        if run.trial.outcome.verdict not in (Verdict.HOLDS, Verdict.FAILS_AS_SAID):
            return run
        found = found or run
    assert found is not None
    return found


def _traced(study: Study, check: Check) -> Traced:
    trial: Trial = try_out(Study(study.circuit, (check,), ()))
    if trial.shown is None:
        raise Refused(f"'{check.title}' can't be traced: {trial.outcome.detail}")
    return Traced(check.title, trial, trial.shown)


def observations(opened_file: Opened, lines: Sequence[str]) -> list[str]:
    """What a builder sees, as lines of a check: `pond on` is done to an input first, `open off` is seen at the end."""
    inputs = {part.name for part in opened_file.program.circuit.inputs}
    timed = ("at ", "by ", "from ", "until ", "throughout ")
    made = []
    for line in lines:
        words = line.split()
        if line.lstrip().startswith(timed) or not words:
            made.append(line)
        elif words[0] in inputs or words[0] in ("press", "throw"):
            made.append(f"at 1t {line}")
        else:
            made.append(f"at {SEEN_AT} expect {line}")
    return made


def heard_at_rests(drawn: Drawn, found: Sequence[Listener]) -> AsMoved | None:
    """What listeners hear otherwise where a machine rests, and while strokes lead there; None where nothing moves."""
    if not found or not drawn.circuit.things_move:
        return None
    from circuitcheck.explain.function import TooLarge
    from circuitcheck.explain.moving_function import survey
    from circuitcheck.plans.hearing_as_moved import AsMoved, as_moved

    program = Program(drawn.started)
    passed: list[Configuration] = []
    assert program.motion is not None
    program.motion.look = passed.append
    rests = survey(program, [each.name for each in found], hurried=False)
    if isinstance(rests, TooLarge):
        return AsMoved(0, (), rests.why)
    return as_moved(drawn.circuit, (rest.configuration for rest in rests.rests), passed, rests.ended)
