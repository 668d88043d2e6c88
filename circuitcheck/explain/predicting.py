"""Questions to ask before each moment of a run at which something happens of itself, made from the run."""

from __future__ import annotations

from collections import deque
from collections.abc import Collection, Iterator, Mapping, Sequence
from itertools import groupby
from typing import NamedTuple

from circuitcheck.engine.record import Change, Recording

CHANGES_IN_TURN = 2
"""After so many questions about changes one is about a signal that stays as it is: a change is no sure answer."""


class Question(NamedTuple):
    """What will happen to a signal in a gt."""

    at: int
    name: str
    before: int
    after: int


def questions(recording: Recording, names: Sequence[str]) -> Iterator[Question]:
    """One for each gt in which a device changes that nobody works then; `names` are the signals to ask about first.

    Of signals that are asked about alike, the one that was asked about longest ago comes first.
    """
    latest: deque[Question] = deque(maxlen=CHANGES_IN_TURN)
    asked_at: dict[str, int] = {}
    edges = {name: dict(recording.edges_of(name)) for name in names}
    last = {name: recording.level_at_start(name) for name in names}
    for at, several in groupby(recording.changes, key=lambda change: change.at):
        changes = list(several)
        found = _question(recording, changes, {name: edges[name].get(at) for name in names}, last, latest, asked_at)
        last |= {name: each[at] for name, each in edges.items() if at in each}
        if found is not None:
            latest.append(found)
            asked_at[found.name] = at
            yield found


def _question(
    recording: Recording,
    changes: Sequence[Change],
    now: Mapping[str, int | None],
    last: Mapping[str, int],
    latest: Collection[Question],
    asked_at: Mapping[str, int],
) -> Question | None:
    at = changes[0].at
    device_names = recording.program.names
    by_hand = {device_names[each.device] for each in changes if each.by_hand}
    of_itself = [each for each in changes if not each.by_hand and each.stroke is None and each.level != each.before]
    if not of_itself:
        return None
    inputs = {each.name for each in recording.program.circuit.inputs}
    moved = [name for name, level in now.items() if level is not None and level != last[name] and name not in by_hand]
    still = [name for name, level in now.items() if level is None and name not in inputs]
    turn = len(latest) == CHANGES_IN_TURN and all(each.before != each.after for each in latest)
    among = still if turn and still else moved
    if not among:
        change = of_itself[0]
        name = device_names[change.device]
        return Question(at, name, recording.shown(name, change.before), recording.shown(name, change.level))
    name = min(among, key=lambda each: asked_at.get(each, -1))
    level = now[name]
    return Question(at, name, last[name], last[name] if level is None else level)
