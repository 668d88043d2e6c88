"""Why a signal is what it is: the chain of parts that made it so, back to the action that began it.

Each step is one change of one part: the rule behind it, how long the part waited, and the step that made its level
(`making.py`). Where a signal did not change, what stood in the way is looked for upstream: a pulse swallowed, a change
missed, a lock.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from circuitcheck.checks.findings import NOTED, static_findings
from circuitcheck.engine.program import Program, read
from circuitcheck.engine.record import Change, Noted, Recording
from circuitcheck.explain.made_by import Making
from circuitcheck.model.claims import Study
from circuitcheck.model.duration import show
from circuitcheck.model.rules import RULES

MOST_STEPS = 40
"""How long a chain may grow before its beginning is left out."""


@dataclass(frozen=True, slots=True)
class Step:
    """One change on the way: at which gt which part went to which level, by which rule, in words."""

    at: int
    part: str
    level: int
    rule: str
    words: str
    waited: int
    """How many gt the part waited; 0 for outside actions and for changes at once."""
    starts: bool = False
    """Whether it is a piston that starts to move: its level changes when it lands."""


@dataclass(frozen=True, slots=True)
class Hindrance:
    """Something that kept a signal from changing: at which gt, at which part, by which rule."""

    at: int
    part: str
    rule: str
    words: str
    hint: str = ""
    """What would have had to be different."""


@dataclass(frozen=True, slots=True)
class Why:
    """A signal's level at a gt and how it came about: steps from the first cause to the last."""

    name: str
    at: int
    level: int
    steps: tuple[Step, ...]
    hindrances: tuple[Hindrance, ...]
    """What was lost upstream since its last change: why it has never changed, or perhaps why not once more."""
    changed: bool = True
    """Whether it has changed at all; if not, the steps lead to where its change was lost."""
    fed_by: tuple[tuple[str, int], ...] = ()
    """What feeds it, with the levels there: all that can be said of a signal that has been the same from the start."""


def why(recording: Recording, name: str, at: int) -> Why:
    """Why the signal had its level at the end of gt `at`."""
    program = recording.program
    feeds = program.probe(name)
    levels = recording.levels_at(at)
    level = max((levels[source] - loss for source, loss in feeds if levels[source] > loss), default=0)
    sources = {source for source, _ in feeds}
    making = Making(recording)
    last = making.of_reading(feeds, at)
    hindrances = _hindrances(recording, sources, -1 if last is None else last.at, at)
    steps = _chain(making, recording, last)
    if last is None and hindrances:
        # It has never changed: what was lost on the way tells why, and how it came to where it was lost.
        lost = hindrances[-1]
        device = program.number[lost.part]
        feeding = {source for port in program.devices[device].ports for source, _ in program.feeds[port]}
        steps = _chain(making, recording, _last_change(recording, feeding - {device}, lost.at))
    elif last is None:
        hindrances = dead_wiring(program, name, at) if level == 0 else ()
        waiting = None if hindrances else _waiting(recording, sources, at)
        if waiting is not None:
            steps = () if waiting.cause is None else _chain(making, recording, recording.changes[waiting.cause])
            hindrances = (_still_waits(recording, waiting, at),)
    return Why(
        name, at, recording.shown(name, level), steps, hindrances, last is not None, _fed_by(program, name, levels)
    )


def _fed_by(program: Program, name: str, levels: bytes) -> tuple[tuple[str, int], ...]:
    """The sources that a part names, with the level that can be read at each."""
    part = program.circuit.by_name.get(name)  # a place of water is none of its parts
    sources = dict.fromkeys(source for port in (part.ports() if part else ()) for source in port.sources)
    return tuple((source, read(program.probe(source), levels)) for source in sources)


def _last_change(recording: Recording, devices: set[int], at: int) -> Change | None:
    """The latest change of any of these devices up to gt `at`."""
    return next((c for c in reversed(recording.changes) if c.at <= at and c.device in devices), None)


def _chain(making: Making, recording: Recording, last: Change | None) -> tuple[Step, ...]:
    steps: list[Step] = []
    change = last
    while change is not None and len(steps) < MOST_STEPS:
        steps.append(_step(recording, change))
        change = making.of_change(change)
    return tuple(reversed(steps))


def _step(recording: Recording, change: Change) -> Step:
    device = recording.program.devices[change.device]
    name, waited = device.part.name, change.at - change.began
    if change.stroke is not None:
        return Step(change.at, name, change.level, *change.stroke, waited, starts=True)
    reason = device.reason(change.level)
    rule, words = change.reason or (reason.rule, reason.words)
    return Step(change.at, name, recording.shown(name, change.level), rule, words, waited)


def _hindrances(recording: Recording, sources: Iterable[int], since: int, at: int) -> tuple[Hindrance, ...]:
    """What stood in the way upstream of a signal after its last change: the nearest notes, or wiring that is dead."""
    program = recording.program
    seen = set(sources)
    ring = list(seen)
    while ring:
        found = [note for note in _telling_notes(recording) if note.device in ring and since < note.at <= at]
        if found:
            return tuple(_hindrance(recording, note) for note in found[-3:])
        ports = [port for device in ring for port in program.devices[device].ports]
        following = {source for port in ports for source, _ in program.feeds[port]}
        ring = [device for device in following if device not in seen]
        seen |= following
    return ()


def _waiting(recording: Recording, sources: Iterable[int], at: int) -> Change | None:
    """The change, nearest upstream of a signal, that has been called for by gt `at` and comes later."""
    program = recording.program
    coming = {change.device: change for change in reversed(recording.changes) if change.began <= at < change.at}
    seen = set(sources)
    ring = list(seen)
    while ring:
        for device in ring:
            if device in coming:
                return coming[device]
        ports = [port for device in ring for port in program.devices[device].ports]
        ring = list(dict.fromkeys(source for port in ports for source, _ in program.feeds[port] if source not in seen))
        seen.update(ring)
    return None


def _still_waits(recording: Recording, change: Change, at: int) -> Hindrance:
    reason = recording.program.devices[change.device].reason(change.level)
    level = recording.shown(recording.program.names[change.device], change.level)
    state = "on" if level == 15 else "off" if level == 0 else f"at {level}"
    words = f"called at {show(change.began)}, and still waiting at {show(at)}: it is {state} from {show(change.at)} on"
    return Hindrance(at, recording.program.names[change.device], reason.rule, words)


def dead_wiring(program: Program, name: str, at: int) -> tuple[Hindrance, ...]:
    """Lines too long and blocks too weak (rules P2, P4) upstream of a signal, from the part as far back as wires go."""
    circuit = program.circuit
    study = Study(circuit, (), ())
    upstream = set(circuit.upstream([name]))
    return tuple(
        Hindrance(at, finding.part, finding.rule, finding.message, finding.hint)
        for finding in static_findings(study, program)
        if finding.rule in ("P2", "P4") and finding.part in upstream
    )


def _telling_notes(recording: Recording) -> list[Noted]:
    """The notes without pulses of no width and their swallowing, which keep nothing from happening."""
    widthless = {(note.device, note.at) for note in recording.notes if note.rule == "V3"}
    devices = recording.program.devices
    return [
        note
        for note in recording.notes
        if note.rule != "V3" and (note.device, note.at - devices[note.device].part.lag) not in widthless
    ]


def _hindrance(recording: Recording, note: Noted) -> Hindrance:
    words, hint = NOTED.get(note.rule, (RULES[note.rule], "release the lock before"))
    return Hindrance(note.at, recording.program.names[note.device], note.rule, words, hint)


def sentence(step: Step) -> str:
    """A step in words, without its time and part."""
    state = "starts" if step.starts else "on" if step.level == 15 else "off" if step.level == 0 else f"at {step.level}"
    waited = f", {show(step.waited)} after it was called" if step.waited else ""
    return f"{state}: {step.words}{waited}"
