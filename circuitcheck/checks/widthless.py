"""Pulses and gaps of no width (rule V3): which two parts make one, and what would part them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from circuitcheck.checks.finding import Finding
from circuitcheck.checks.run import Notebook, replay, run_check
from circuitcheck.engine.program import Program
from circuitcheck.engine.record import Change, Recording
from circuitcheck.engine.start import Start
from circuitcheck.model.claims import Check
from circuitcheck.model.duration import show

MOST_TIMES = 4
"""At how many times of a run it is looked into who makes a pulse."""
MOST_REPLAYED = 50
"""In how many ways that lead there."""
MOST_NAMED = 3


class Pulse(NamedTuple):
    """The change that began a pulse or gap of no width, and the one that ended it in the same gt."""

    first: Change
    second: Change


def widthless_findings(
    program: Program, all_starts: Sequence[Start], check: Check, noted: Mapping[int, int]
) -> Iterator[Finding]:
    """A finding for each device that felt a pulse of no width; `noted` says in which gt it first did."""
    made = _pulses(program, all_starts, check, noted)
    for device, at in noted.items():
        name = program.names[device]
        said, hint = _words(program, made[device]) if device in made else _unknown(program, device)
        message = f"'{name}', at {show(at)} of \"{check.title}\": what feeds it changes twice in one gt: {said}"
        yield Finding("V3", name, program.devices[device].part.span, message, hint)


def _pulses(
    program: Program, all_starts: Sequence[Start], check: Check, noted: Mapping[int, int]
) -> Mapping[int, Pulse]:
    """Who makes the pulses, for those that are found again: the run is gone through once more, up to each of them.

    At its end the ways in which a part felt a pulse differ from the others by its wait, and so have not been merged.
    """
    found: dict[int, Pulse] = {}
    for at in sorted(set(noted.values()))[:MOST_TIMES]:
        acts = tuple(act for act in check.acts if act.at <= at)
        short = check._replace(acts=acts, expectations=(), throughout=(), until=at)
        run = run_check(program, all_starts, short, (), Notebook())
        for track in [] if run.limit else run.tracks[:MOST_REPLAYED]:
            recording = replay(run, track, at)
            for note in recording.notes:
                if note.rule == "V3" and note.at == noted.get(note.device) == at:
                    pulse = _pulse(recording, note.device, at)
                    if pulse is not None:
                        found.setdefault(note.device, pulse)
    return found


def _feeding(program: Program, device: int) -> dict[int, None]:
    return {source: None for port in program.devices[device].ports for source, _ in program.feeds[port]}


def _pulse(recording: Recording, device: int, at: int) -> Pulse | None:
    sources = _feeding(recording.program, device)
    changes = [
        change for change in recording.changes if change.at == at and change.device in sources and change.stroke is None
    ]
    return Pulse(changes[-2], changes[-1]) if len(changes) > 1 else None


def _words(program: Program, pulse: Pulse) -> tuple[str, str]:
    """What happens, and what would part the two."""
    first, second = (program.names[change.device] for change in pulse)
    said = f"'{first}' {_goes(pulse.first)} and '{second}' {_goes(pulse.second)} in one gt, in this order"
    if first == second:
        return said, f"let what calls '{first}' come once"
    behind = f"put a repeater of 1t behind '{first}', so that '{second}' comes before it"
    if pulse.first.by_hand and pulse.second.by_hand:
        return said, f"work '{first}' and '{second}' in different gt, or {behind}"
    return said, f"{behind}; or one behind '{second}', so that the pulse or gap has a width"


def _goes(change: Change) -> str:
    return "comes on" if change.level == 15 else "goes off" if change.level == 0 else f"goes to {change.level}"


def _unknown(program: Program, device: int) -> tuple[str, str]:
    names = [f"'{program.names[source]}'" for source in _feeding(program, device)]
    shown = f"{', '.join(names[:MOST_NAMED])}{', …' if len(names) > MOST_NAMED else ''}"
    said = f"two of its drivers ({shown}) change in one gt, the second against the first"
    return said, "put a repeater of 1t behind one of them"
