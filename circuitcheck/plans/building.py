"""A build simulated while it grows: what is lit after each stage, and what must not be placed too early.

What has been placed so far is read as a circuit of its own and let come to rest after each thing that gives or
carries power. A thing comes as it is when it is placed: a torch lit, all else off, what is worked by hand as the file
starts it.
"""

from __future__ import annotations

from collections.abc import Container, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import NamedTuple

from circuitcheck.engine.machine import Machine
from circuitcheck.engine.moment import Moment
from circuitcheck.engine.orders import TooManyOrders
from circuitcheck.engine.step import merge
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.drawing import BEHAVES, At, Drawing, Thing
from circuitcheck.model.parts.latch import Latch
from circuitcheck.model.rules import FULL_POWER
from circuitcheck.plans.staging import Stage, stages
from circuitcheck.space.circuit import read
from circuitcheck.space.room import neighbours

RESTS_WITHIN = 400
"""How many gt are waited for a build to come to rest after something was placed."""
MOST_PLACINGS = 400
"""After how many placings a build is simulated; of a larger one only whole stages are."""
MOST_WAYS = 16
"""How many different ways the orders that are left open (C5) are followed at one time."""
MOST_RETRIES = 12
"""How many other orders of building are tried."""

Levels = dict[str, int]


class Checkpoint(NamedTuple):
    """After a stage: what must be lit, what must be dark, and what may be either."""

    stage: Stage
    lit: tuple[str, ...]
    dark: tuple[str, ...]
    either: tuple[str, ...]
    restless: bool
    """Whether it never comes to rest, as a clock does."""


class Early(NamedTuple):
    """Something that must not be placed early: its name, the latch that it upsets, and when to place it instead."""

    name: str
    place: At
    latch: str
    mend: str


class Built(NamedTuple):
    """A build from its first thing to its last."""

    checkpoints: tuple[Checkpoint, ...]
    early: tuple[Early, ...]
    order: tuple[At, ...]
    coarse: bool
    """Whether it was too large to be simulated after each thing that was placed."""
    rests_as_said: tuple[tuple[str, bool], ...]
    """For each latch with a declared start: whether it has that state once all is built."""


def build_up(drawn: Circuit, drawing: Drawing, declared: Circuit) -> Built:
    """Builds a drawing up. `declared` says how parts start: the drawing's own circuit, or the one that it is."""
    wanted = {
        part.name: part.start for part in declared.parts if part.start is not None and not isinstance(part, Latch)
    }
    plan = stages(drawing, drawn.rules, wanted)
    order = [place for stage in plan for place in stage.places]
    site = _Site(drawn, drawing, wanted)
    upset = site.upset_by(order)
    early: list[Early] = []
    for _ in range(MOST_RETRIES):
        if not upset:
            break
        culprit, latch = upset[0]
        order, mend = _another(site, order, culprit, latch)
        early.append(Early(drawing.name(culprit), culprit, latch, mend))
        upset = [each for each in site.upset_by(order) if each[0] not in {one.place for one in early}]
    checkpoints = tuple(site.checkpoints(plan, order))
    ends = site.last
    rests = tuple(
        (name, all(levels.get(name) == wanted[name] for levels in ends)) for name in drawn.latches if name in wanted
    )
    return Built(checkpoints, tuple(early), tuple(order), site.coarse, rests)


def _another(site: _Site, order: list[At], culprit: At, latch: str) -> tuple[list[At], str]:
    """The order with one thing placed at another time, so that it upsets the latch no more."""
    rest = [place for place in order if place != culprit]
    last = [*rest, culprit]
    if not any(each == (culprit, latch) for each in site.upset_by(last)):
        return last, "place it last, when all that feeds it is there"
    torches = [site.where[name] for name in (latch, f"{latch}.inverse")]
    first = min(rest.index(torch) for torch in torches)
    before = [*rest[:first], culprit, *rest[first:]]
    if not any(each == (culprit, latch) for each in site.upset_by(before)):
        return before, f"place it before the torches of '{latch}'"
    return order, f"set '{latch}' again once it stands"


class _Site:
    """What stands on a building site, in every way that it can be."""

    def __init__(self, drawn: Circuit, drawing: Drawing, wanted: Mapping[str, int]) -> None:
        self._drawing = drawing
        self._rules = drawn.rules
        self._wanted = wanted
        self._latches = [name for name in drawn.latches if name in wanted and f"{name}.inverse" in wanted]
        self.where = dict(drawn.where)
        matter = [place for place, thing in drawing.things.items() if thing.word in BEHAVES or thing.word == "dust"]
        self.coarse = len(matter) > MOST_PLACINGS
        self.last: list[Levels] = [{}]

    def _placings(self, order: Sequence[At], ends: Container[At]) -> Iterator[tuple[dict[At, Thing], At]]:
        """What has been placed whenever that may have changed something, and what was placed last."""
        placed: dict[At, Thing] = {}
        wired = 0
        for place in order:
            thing = placed[place] = self._drawing.things[place]
            matters = thing.word in BEHAVES or thing.word == "dust"
            wired += matters
            # A solid block changes something only where wiring stands beside it.
            joins = wired and thing.matter.solid and any(each in placed for _, each in neighbours(place))
            if place in ends or ((matters or joins) and not self.coarse):
                yield placed, place

    def _grown(self, order: Sequence[At], ends: Container[At] = ()) -> Iterator[tuple[At, list[Levels], bool]]:
        """Builds everything up: what was placed last, every way in which all that stands rests, whether it does not."""
        ways: list[Levels] = [{}]
        for placed, latest in self._placings(order, ends):
            ways, restless = self._at_rest(placed, ways)
            yield latest, ways, restless

    def upset_by(self, order: Sequence[At]) -> list[tuple[At, str]]:
        """Each thing whose placing throws over a latch that was finished and as it should be."""
        found: list[tuple[At, str]] = []
        before: set[str] = set()
        for latest, ways, _ in self._grown(order):
            as_said = {latch for latch in self._latches if all(self._as_said(latch, levels) for levels in ways)}
            found += [(latest, latch) for latch in sorted(before - as_said)]
            before = as_said
        return found

    def _as_said(self, latch: str, levels: Levels) -> bool:
        return all(levels.get(name) == self._wanted[name] for name in (latch, f"{latch}.inverse"))

    def checkpoints(self, plan: Sequence[Stage], order: Sequence[At]) -> Iterator[Checkpoint]:
        """What is lit after each stage; of a stage of which something is put off, once that is placed too."""
        turn = {place: number for number, place in enumerate(order)}
        ends = {max(stage.places, key=turn.__getitem__): stage for stage in plan}
        for latest, ways, restless in self._grown(order, ends):
            self.last = ways
            if latest in ends:
                stands = [place for place in order[: turn[latest] + 1] if self._shows(place)]
                names = [self._drawing.name(place) for place in sorted(stands)]
                states = {name: {levels.get(name, 0) > 0 for levels in ways} for name in names}
                lit, dark, either = (
                    [n for n, s in states.items() if s == wanted] for wanted in ({True}, {False}, {True, False})
                )
                yield Checkpoint(ends[latest], tuple(lit), tuple(dark), tuple(either), restless)

    def _shows(self, place: At) -> bool:
        return self._drawing.things[place].word in ("torch", "lamp")

    def _at_rest(self, placed: Mapping[At, Thing], ways: Sequence[Levels]) -> tuple[list[Levels], bool]:
        """Every way in which what has been placed comes to rest, and whether it does not."""
        names = {place: name for place, name in self._drawing.names.items() if place in placed}
        made = read(replace(self._drawing, things=dict(placed), names=names), self._rules)
        if made.mistakes:
            return list(ways), False
        machine = Machine(made.circuit)
        found: dict[bytes, Levels] = {}
        restless = False
        for levels in ways:
            begins = bytes(
                levels.get(name, self._as_placed(machine, number)) for number, name in enumerate(machine.names)
            )
            ended, moves = _rested(machine, begins)
            restless = restless or moves
            for moment in ended:
                found[bytes(moment.levels)] = dict(zip(machine.names, moment.levels, strict=True))
        return list(found.values())[:MOST_WAYS], restless

    def _as_placed(self, machine: Machine, number: int) -> int:
        """The level of a thing when it is placed."""
        part = machine.devices[number].part
        if part.word == "torch":
            return FULL_POWER
        start = self._wanted.get(part.name) if part.name in self._wanted else part.start
        return (start or 0) if part.verbs else 0


def _rested(machine: Machine, levels: bytes) -> tuple[list[Moment], bool]:
    """Everything told, and let come to rest: every way it can, and whether some way never does."""
    moments = Moment(machine, 0, levels).tell_everyone()
    for _ in range(RESTS_WITHIN):
        due = [each for each in (moment.next_due() for moment in moments) if each is not None]
        if not due or min(due) > RESTS_WITHIN:
            break
        try:
            moments = merge([later for moment in moments for later in moment.run(min(due))])[:MOST_WAYS]
        except TooManyOrders:
            return moments[:1], True
    return moments, any(moment.next_due() is not None for moment in moments)
