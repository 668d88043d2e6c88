"""A build simulated while it grows: what is lit after each stage, and what must not be placed too early.

What has been placed so far is read as a circuit of its own and let come to rest after each thing that gives or
carries power. A thing comes as it is when it is placed: a torch lit, all else off, what is worked by hand as the file
starts it.
"""

from __future__ import annotations

from collections.abc import Container, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import NamedTuple

from circuitcheck.engine.orders import TooManyOrders
from circuitcheck.engine.program import Program
from circuitcheck.engine.simulator import Simulator
from circuitcheck.engine.start import OpenStart, the_start
from circuitcheck.engine.step import merge
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.drawing import At, Drawing, Thing
from circuitcheck.model.rules import FULL_POWER
from circuitcheck.plans.placed_against import Faces, bearer, in_the_air, out_of_reach, shut_in
from circuitcheck.plans.staging import Stage, stages
from circuitcheck.space.reading import wired
from circuitcheck.space.room import neighbours

RESTS_WITHIN = 400
"""How many gt are waited for a build to come to rest after something was placed."""
MOST_WORK = 200_000
"""How many things may be looked at again while a build is simulated after each placing, and after each stage.

Of a larger build only whole stages are simulated; where even that is too much, only its end.
"""
MOST_WAYS = 16
"""How many different ways the orders that are left open (C5) are followed at one time."""
MOST_RETRIES = 12
"""How many other orders of building are tried."""

"""The things that show their state to who builds."""

Levels = dict[str, int]


class Checkpoint(NamedTuple):
    """After a stage: which torches, lamps and pistons must be lit, or out; which not; and which may be either."""

    stage: Stage
    lit: tuple[str, ...]
    dark: tuple[str, ...]
    either: tuple[str, ...]
    restless: bool
    """Whether it never comes to rest, as a clock does."""
    looked_at: bool = True
    """Whether the build was simulated up to here."""


class Early(NamedTuple):
    """Something that must not be placed when its turn comes: what it upsets, and when to place it instead."""

    name: str
    place: At
    upsets: str
    """The latch, or another part, that it throws over."""
    hint: str


class Built(NamedTuple):
    """A build from its first thing to its last."""

    checkpoints: tuple[Checkpoint, ...]
    early: tuple[Early, ...]
    order: tuple[At, ...]
    coarse: bool
    """Whether it was too large to be simulated after each thing that was placed."""
    cut: bool
    """Whether orders that are left open (C5) led to more ways than were followed."""
    astray: tuple[str, ...]
    """The parts that do not stand as they start once all is built, be it in some of the ways only."""
    compared: bool
    """Whether it is known how the parts start, so that this could be said."""
    helpers: tuple[At, ...] = ()
    """What needs a helper block to be placed against."""
    shut_in: tuple[At, ...] = ()
    """What no hand can come to when its turn comes."""
    out_of_reach: tuple[At, ...] = ()
    """What is worked by hand, and no hand comes to once all is built."""


class Grown(NamedTuple):
    """What comes of building in one order."""

    upset: tuple[tuple[At, str], ...]
    """Each thing whose placing throws over a latch that was finished and as it should be."""
    checkpoints: tuple[Checkpoint, ...]
    ways: tuple[Levels, ...]
    cut: bool


def build_up(drawn: Circuit, drawing: Drawing, declared: Circuit, most: int = MOST_WORK) -> Built:
    """Builds a drawing up. `declared` says how parts start: the drawing's own circuit, or the one that it is.

    Where more than `most` things were to be looked at again, only whole stages are simulated.
    """
    wanted = _start(declared)
    plan = stages(drawing, drawn.rules, wanted)
    order = [place for stage in plan for place in stage.places]
    site = _Site(drawn, drawing, wanted, most)
    grown = site.grow(plan, order)
    early: list[Early] = []
    for _ in range(0 if site.coarse else MOST_RETRIES):
        culprit = next((each for each in grown.upset if each[0] not in {one.place for one in early}), None)
        if culprit is None:
            break
        order, grown, hint = _another(site, plan, order, grown, culprit)
        early.append(Early(drawing.name(culprit[0]), culprit[0], culprit[1], hint))
    if site.astray(grown) and not early and not site.coarse:
        found = _put_off(site, plan, order, drawing, site.astray(grown)[0])
        if found is not None:
            order, grown, each = found
            early.append(each)
    astray = site.astray(grown)
    return Built(
        grown.checkpoints,
        tuple(early),
        tuple(order),
        site.coarse,
        grown.cut,
        astray,
        bool(wanted),
        tuple(in_the_air(drawing, order)),
        tuple(shut_in(drawing, order)),
        tuple(out_of_reach(drawing)),
    )


def _start(declared: Circuit) -> dict[str, int]:
    """How every part starts, if there is but one way; else as far as it is declared."""
    program = Program(declared)
    said = {part.name: part.start for part in declared.parts if part.start is not None and part.latch is None}
    try:
        return dict(zip(program.names, the_start(program).levels, strict=True))
    except OpenStart:
        return said


def _another(
    site: _Site, plan: Sequence[Stage], order: list[At], grown: Grown, culprit: tuple[At, str]
) -> tuple[list[At], Grown, str]:
    """The order with one thing placed at another time, so that it upsets the latch no more, and what comes of it."""
    place, latch = culprit
    rest = [each for each in order if each != place]
    first = min(rest.index(site.where[name]) for name in (latch, f"{latch}.inverse"))
    trials = (
        ([*rest, place], "place it last, when all that feeds it is there"),
        ([*rest[:first], place, *rest[first:]], f"place it before the torches of '{latch}'"),
    )
    for trial, hint in trials:
        if not site.stands(trial):
            continue
        found = site.grow(plan, trial, place)
        if culprit not in found.upset and not site.astray(found):
            return trial, found, hint
    return order, grown, f"set '{latch}' again once it stands"


def _put_off(
    site: _Site, plan: Sequence[Stage], order: list[At], drawing: Drawing, upset: str
) -> tuple[list[At], Grown, Early] | None:
    """Where the build does not end as it starts: one torch that, placed last, lets it."""
    torches = [place for place in order if drawing.things[place].is_inverter]
    # What goes astray although only whole stages are looked at is not gone through thing by thing.
    for place in torches[:MOST_RETRIES]:
        trial = [*(each for each in order if each != place), place]
        if not site.stands(trial) or site.astray(site.grow(plan, trial, place, by_stage=True)):
            continue
        grown = site.grow(plan, trial, place)
        if not site.astray(grown):
            return (
                trial,
                grown,
                Early(drawing.name(place), place, upset, "place it last, when all that feeds it is there"),
            )
    return None


class _Site:
    """What stands on a building site, in every way that it can be."""

    def __init__(self, drawn: Circuit, drawing: Drawing, wanted: Mapping[str, int], most: int) -> None:
        self._drawing = drawing
        self._rules = drawn.rules
        self._wanted = wanted
        self._latches = [name for name in drawn.latches if name in wanted and f"{name}.inverse" in wanted]
        self.where = dict(drawn.where)
        matter = [place for place, thing in drawing.things.items() if thing.is_part or thing.is_dust]
        self._hanging = Faces(drawing).hanging
        self.coarse = len(matter) * len(drawing.things) > most

    def stands(self, order: Sequence[At]) -> bool:
        """Whether all comes after its bearer in an order, and nothing floats, but for what does in any."""
        turn = {place: number for number, place in enumerate(order)}
        for place, thing in self._drawing.things.items():
            if turn.get(bearer(place, thing) or place, -1) > turn[place]:
                return False
        return not set(in_the_air(self._drawing, order)) - self._hanging

    def grow(
        self, plan: Sequence[Stage], order: Sequence[At], moved: At | None = None, by_stage: bool = False
    ) -> Grown:
        """Builds everything up in one order; `moved` is what is placed at another time than with its stage.

        A stage comes to its checkpoint without that; the last one once all is built. With `by_stage` what is placed is
        looked at after each stage only.
        """
        turn = {place: number for number, place in enumerate(order)}
        usual = [tuple(place for place in stage.places if place != moved) or stage.places for stage in plan]
        ends = {max(places, key=turn.__getitem__): stage for places, stage in zip(usual, plan, strict=True)}
        if plan:
            kept = ends if len(plan) * len(order) <= MOST_WORK else {}
            ends = {place: stage for place, stage in kept.items() if stage is not plan[-1]} | {order[-1]: plan[-1]}
        ways: list[Levels] = [{}]
        upset: list[tuple[At, str]] = []
        checkpoints: list[Checkpoint] = []
        before: set[str] = set()
        cut = False
        for placed, latest in self._placings(order, ends, self.coarse or by_stage):
            ways, seen, more = self._at_rest(placed, ways)
            cut = cut or more
            as_said = {latch for latch in self._latches if all(self._as_said(latch, levels) for levels in ways)}
            upset += [(latest, latch) for latch in sorted(before - as_said)]
            before = as_said
            if latest in ends:
                checkpoints.append(self._checkpoint(ends[latest], placed, [*ways, *seen], bool(seen)))
        known = {each.stage.layer: each for each in checkpoints}
        every = (known.get(stage.layer, Checkpoint(stage, (), (), (), False, looked_at=False)) for stage in plan)
        return Grown(tuple(upset), tuple(every), tuple(ways), cut)

    def astray(self, grown: Grown) -> tuple[str, ...]:
        """The parts that do not stand as they start, in some way in which all that is built may rest."""
        drawn = (self._drawing.name(at) for at, thing in sorted(self._drawing.things.items()) if self._shows(at))
        return tuple(
            name
            for name in drawn
            if name in self._wanted and any(levels.get(name, 0) != self._wanted[name] for levels in grown.ways)
        )

    def _placings(
        self, order: Sequence[At], ends: Container[At], by_stage: bool
    ) -> Iterator[tuple[dict[At, Thing], At]]:
        """What has been placed whenever that may have changed something, and what was placed last."""
        placed: dict[At, Thing] = {}
        wiring, moved = set[At](), set[At]()
        """The parts and the dust that stand, and where pistons among them may push or pull."""
        for place in order:
            thing = placed[place] = self._drawing.things[place]
            matters = thing.is_part or thing.is_dust
            if matters:
                wiring.add(place)
                moved.update(self._before_piston(place))
            # A solid block changes something only beside wiring (W2, W5, W6), or before a piston (M1).
            beside = place in moved or any(each in wiring for _, each in neighbours(place))
            joins = thing.block_type.solid and beside
            if place in ends or ((matters or joins) and not by_stage):
                yield placed, place

    def _before_piston(self, place: At) -> Iterator[At]:
        """Where a piston that stands at a place may push or pull something."""
        thing = self._drawing.things[place]
        if thing.pushes and thing.facing is not None:
            for _ in range(self._rules.push_limit + 2):
                place = thing.facing.from_(place)
                yield place

    def _as_said(self, latch: str, levels: Levels) -> bool:
        return all(levels.get(name) == self._wanted[name] for name in (latch, f"{latch}.inverse"))

    def _checkpoint(
        self, stage: Stage, placed: Mapping[At, Thing], ways: Sequence[Levels], restless: bool
    ) -> Checkpoint:
        names = [self._drawing.name(place) for place in sorted(placed) if self._shows(place)]
        states = {name: {levels.get(name, 0) > 0 for levels in ways} for name in names}
        lit, dark, either = (
            [n for n, s in states.items() if s == wanted] for wanted in ({True}, {False}, {True, False})
        )
        return Checkpoint(stage, tuple(lit), tuple(dark), tuple(either), restless)

    def _shows(self, place: At) -> bool:
        return self._drawing.things[place].block_type.shows

    def _at_rest(self, placed: Mapping[At, Thing], ways: Sequence[Levels]) -> tuple[list[Levels], list[Levels], bool]:
        """Every way in which what is placed ends; what is seen if it does not rest; whether some ways were cut."""
        names = {place: name for place, name in self._drawing.names.items() if place in placed}
        partly = replace(self._drawing, things=dict(placed), names=names)
        program = Program(Circuit("site", wired(partly, self._rules).parts, rules=self._rules))
        found: dict[bytes, Levels] = {}
        seen: list[Levels] = []
        cut = False
        for levels in ways:
            begins = bytes(
                levels.get(name, self._as_placed(program, number)) for number, name in enumerate(program.names)
            )
            ended, moves, more = _rested(program, begins)
            seen += [dict(zip(program.names, each, strict=True)) for each in moves]
            cut = cut or more
            for simulator in ended:
                found[bytes(simulator.levels)] = dict(zip(program.names, simulator.levels, strict=True))
        return list(found.values())[:MOST_WAYS], seen, cut or len(found) > MOST_WAYS

    def _as_placed(self, program: Program, number: int) -> int:
        """The level of a thing when it is placed."""
        part = program.devices[number].part
        if part.inverter:
            return FULL_POWER
        start = self._wanted.get(part.name) if part.name in self._wanted else part.start
        return (start or 0) if part.verbs else 0


def _rested(program: Program, levels: bytes) -> tuple[list[Simulator], set[bytes], bool]:
    """Everything told, and let come to rest: every way it can; levels seen late if it never does; if some were cut."""
    simulators = Simulator(program, 0, levels).tell_everyone()
    seen: set[bytes] = set()
    cut = False
    while True:
        due = [each for each in (simulator.next_due() for simulator in simulators) if each is not None]
        if not due:
            return simulators, set(), cut
        if min(due) > RESTS_WITHIN:
            return simulators, seen, cut
        try:
            after = merge([later for simulator in simulators for later in simulator.run(min(due))])
        except TooManyOrders:
            return simulators[:1], {bytes(simulators[0].levels)}, True
        simulators, cut = after[:MOST_WAYS], cut or len(after) > MOST_WAYS
        if min(due) > RESTS_WITHIN // 2:
            seen |= {bytes(simulator.levels) for simulator in simulators}
