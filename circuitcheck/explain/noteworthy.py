"""What of a run is worth telling: the causes of what broke in it, and the signals to draw, the most important first."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from circuitcheck.checks.outcome import Failure
from circuitcheck.checks.trial import Trial
from circuitcheck.engine.record import Recording
from circuitcheck.explain.cause import Why, why

MOST_SIGNALS = 8
"""How many signals are drawn of a failure, unless it asks for more."""
MOST_ASKED = 4
"""How many of the signals that a failure refers to are drawn."""
MOST_EXPLAINED = 2
"""Of how many of the signals that broke something the causes are reported."""


@dataclass(frozen=True, slots=True)
class Noteworthy:
    """What is worth telling of a failure."""

    causes: tuple[Why, ...]
    """Why the first of the signals that broke it are as they are."""
    signals: tuple[str, ...]
    """The signals to draw: causes first, those asked for last, no more than fit a glance."""


def noteworthy(failure: Failure, undetermined: bool = False) -> Noteworthy:
    """What is worth telling of a failure.

    What would have to be different on the way is left out of what broke by an order or a start that nothing decides.
    """
    names = failure.deciding or failure.signals
    found = [why(failure.recording, name, failure.at) for name in names[:MOST_EXPLAINED]]
    causes = tuple(map(_without_hints, found)) if undetermined else tuple(found)
    return Noteworthy(causes, _drawn(failure, causes))


def _without_hints(each: Why) -> Why:
    return replace(each, hindrances=tuple(replace(hindrance, hint="") for hindrance in each.hindrances))


def _drawn(failure: Failure, causes: Iterable[Why]) -> tuple[str, ...]:
    asked = failure.signals[:MOST_ASKED]
    parts = list(dict.fromkeys(_parts(causes)))
    if not parts and failure.check is not None:
        parts = list(dict.fromkeys(act.name for act in failure.check.acts if act.at <= failure.at))
    room = max(MOST_SIGNALS - len(asked), 2)
    return tuple(dict.fromkeys([*[name for name in parts if name not in asked][-room:], *asked]))


def _parts(causes: Iterable[Why]) -> Iterator[str]:
    for each in causes:
        for step in each.steps:
            yield step.part
        for hindrance in each.hindrances:
            yield hindrance.part


def signals_of(trial: Trial, recording: Recording) -> list[str]:
    """The signals to draw of a run: those of what broke and its causes, else inputs, latches, lamps and outputs."""
    failure = trial.outcome.failure
    return telling_signals(recording) if failure is None else list(noteworthy(failure).signals)


def telling_signals(recording: Recording) -> list[str]:
    """Inputs first, then latches, lamps and outputs."""
    circuit = recording.program.circuit
    changed = {change.device for change in recording.changes}
    number = recording.program.number
    devices = recording.program.devices
    # Of the many inputs that chance works, as the cells of a sensor, only those are worth a row that change.
    names = [
        each.name for each in circuit.inputs if not devices[number[each.name]].drawn or number[each.name] in changed
    ]
    inputs = len(names)
    names += circuit.latches
    names += [part.name for part in circuit.parts if part.indicates]
    names += [output.source for output in circuit.own_outputs]
    if len(names) == inputs:
        names += [part.name for part in circuit.parts if part.latch is None]
    return list(dict.fromkeys(names))
