"""A known way run again with everything written down: what changed, when, and what made it change."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from circuitcheck.engine.machine import Machine
from circuitcheck.engine.moment import ACTING, Moment
from circuitcheck.engine.step import Action, run_game_tick


@dataclass(frozen=True, slots=True)
class Change:
    """One change of one device's level."""

    number: int
    at: int
    """The gt in which it happened."""
    device: int
    before: int
    level: int
    cause: int | None
    """The number of the change that called the device; None for outside actions and for calls at the start."""
    began: int
    """The gt in which the wait began that ended in this change; `at` itself where there was no wait."""
    by_hand: bool


@dataclass(frozen=True, slots=True)
class Noted:
    """Something a device noted of itself: the rule says what."""

    at: int
    device: int
    rule: str


@dataclass(frozen=True, slots=True)
class Recording:
    """A whole run from gt 0 to `until`."""

    machine: Machine
    start: bytes
    changes: tuple[Change, ...]
    notes: tuple[Noted, ...]
    until: int

    def levels_at(self, game_tick: int) -> bytes:
        """Every device's level at the end of a gt."""
        levels = bytearray(self.start)
        for change in self.changes:
            if change.at > game_tick:
                break
            levels[change.device] = change.level
        return bytes(levels)


class RecordingMoment(Moment):
    """A moment that writes down what happens in it. It follows a script and is never split."""

    __slots__ = ("by_hand", "changes", "latest", "noted", "origins")

    def __init__(self, machine: Machine, levels: bytes, script: Sequence[tuple[int, ...]]) -> None:
        super().__init__(machine, 0, levels)
        self.script = list(script)
        self.changes: list[Change] = []
        self.noted: list[Noted] = []
        self.latest: dict[int, int] = {}
        """The number of each device's latest change."""
        self.origins: dict[int, tuple[int, int | None]] = {}
        """For each device that waits: since when, and the change that called it (its own number means itself)."""
        self.by_hand = False

    def copy(self) -> Moment:
        """Itself: a script leaves one way to go, so no second moment is ever needed."""
        return self

    def begin(self, device: int, delay: int, order_class: int) -> None:
        caller = self.latest.get(device if self.telling == ACTING else self.telling)
        own_next = self.telling == ACTING and not self.by_hand
        self.origins[device] = (self.now, None if own_next else caller)
        super().begin(device, delay, order_class)

    def put(self, device: int, level: int) -> None:
        number = len(self.changes)
        began, cause = self.now, self.latest.get(self.telling)
        if self.telling == ACTING:
            began, cause = self._origin(device)
        change = Change(number, self.now, device, self.levels[device], level, cause, began, self.by_hand)
        self.changes.append(change)
        self.latest[device] = number
        super().put(device, level)

    def _origin(self, device: int) -> tuple[int, int | None]:
        if self.by_hand:
            return self.now, None
        began, cause = self.origins.get(device, (self.now, None))
        # A wait that a device began of itself (the end of a pulse) goes back to its own latest change.
        return began, self.latest.get(device) if cause is None else cause

    def note(self, device: int, rule: str) -> None:
        self.noted.append(Noted(self.now, device, rule))

    def act_outside(self, device: int, verb: str, level: int) -> list[Moment]:
        self.by_hand = True
        moments = super().act_outside(device, verb, level)
        self.by_hand = False
        return moments


def record(
    machine: Machine,
    start: bytes,
    actions: Sequence[tuple[int, Action]],
    script: Sequence[tuple[int, ...]],
    until: int,
) -> Recording:
    """Runs from a start to gt `until`, making the open choices as `script` says."""
    moment = RecordingMoment(machine, start, script)
    moment.tell_everyone()
    times = sorted({at for at, _ in actions if at <= until} | {0})
    for at in times:
        while (due := moment.next_due()) is not None and due < at:
            moment.run(due)
        moment.now = at
        run_game_tick([moment], [action for when, action in actions if when == at])
    while (due := moment.next_due()) is not None and due <= until:
        moment.run(due)
    return Recording(machine, start, tuple(moment.changes), tuple(moment.noted), until)
