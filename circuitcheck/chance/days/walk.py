"""Days lived through by chance: one way through the chain, drawn with a seed.

A run is so many consecutive days from the file's start. Each run has its own source of randomness, made of the seed and
the run's number, so that it comes out the same wherever and beside whatever it is run.
"""

from __future__ import annotations

import math
import random
from bisect import bisect_left
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple

from circuitcheck.chance.days.assumed import Break, Breaks
from circuitcheck.chance.days.calendar import Calendar, Phase
from circuitcheck.chance.first_edge.flow import edge_test
from circuitcheck.chance.machine.burning import OFFS
from circuitcheck.chance.machine.chain import Chain
from circuitcheck.chance.machine.draws import NOBODY
from circuitcheck.chance.machine.identity import Identities
from circuitcheck.chance.machine.joint import Changed
from circuitcheck.engine.program import read
from circuitcheck.model.claims import Assumption, Atom

BOTH = "both inputs on at once"
TWICE = "set again while set, or reset again while reset"
BURNT = "burns out (T4), which these days do not follow"


class Event(NamedTuple):
    """Something about a latch or a torch that only the whole machine shows."""

    time: int
    kind: str
    part: str


class Lived(NamedTuple):
    """What one run came to. Times are in gt from the beginning of the first day."""

    run: int
    edges: tuple[tuple[int, ...], ...]
    """For each edge that was looked for, when it was."""
    already: tuple[frozenset[int], ...]
    """For each edge, the days at whose phase the signal was already so."""
    events: tuple[Event, ...]
    open_orders: int
    """In how many gt an order was open (rule C5), and the first was followed."""
    breaks: tuple[Break, ...] = ()
    """Where it broke what the proofs assume."""


class Watching(NamedTuple):
    """What is looked for: edges, each with the phase from whose beginning it is due."""

    edges: tuple[Atom, ...]
    phases: tuple[str, ...]


Step = tuple[int, int, Changed, bool]
"""A gt, the state after it, the cells that change in it, and whether an order was open."""
Told = Callable[[int, Changed], None]
"""Called for each gt in which anything happens, with the cells that change in it."""


class Walker:
    """Walks through the chain of one circuit, under one calendar."""

    def __init__(
        self,
        chain: Chain,
        calendar: Calendar,
        watching: Watching,
        window: int = 0,
        assumptions: Sequence[Assumption] = (),
    ) -> None:
        """`window` is the burn-out window in gt; where there is none, nobody minds torches that would burn out.

        Where the chain keeps its turns, cells that change are reported by their own numbers.
        """
        self._chain = chain
        self._assumptions = assumptions
        self._watching = watching
        self._tests = [edge_test(chain, edge) for edge in watching.edges]
        followed = (name for name in chain.program.circuit.latches if name in chain.program.number)
        self._latches = [_Latch(chain, name) for name in followed]
        self._window = window
        self._last = calendar.begins(calendar.days)
        """What happens to latches and torches later belongs to no day that was asked for."""
        windows = (each for phase in watching.phases for each in calendar.windows(phase))
        until = max([self._last, *(each.end for each in windows)])
        # Phases that are alike for the cells stay apart where something is due from their beginning on.
        self._spans = [
            (phase, NOBODY if phase.sky is None else chain.draws.alike(phase.sky))
            for phase in calendar.phases
            if phase.begin < until
        ]
        self._begins = [{each.begin: each.day for each in calendar.windows(phase)} for phase in watching.phases]
        """For each edge, the day that begins to be asked about it at a time."""
        self._leaving: dict[tuple[int, int], tuple[float, float]] = {}

    def run(self, number: int, seed: int, faded: bool = False, told: Told = lambda now, changed: None) -> Lived:
        """One run, by its number."""
        chance = random.Random(f"{seed}/{number}")
        edges: list[list[int]] = [[] for _ in self._tests]
        already: list[set[int]] = [set() for _ in self._tests]
        events: list[Event] = []
        open_orders = 0
        burning = _Burning(self._chain, self._window)
        state = self._chain.start()
        breaks = Breaks(self._chain, self._assumptions)
        who = Identities(self._chain, seed, number) if self._chain.keeps_turns else None
        if faded:
            changed = self._all_that_fade(state)
            state, own = self._changed(state, changed, who)
            told(-1, own)
        for phase, sky in self._spans:
            self._ask_already(phase.begin, state, already)
            for now, after, changed, was_open in self._through(state, phase, sky, chance, who):
                told(now, changed)
                if changed:
                    breaks.changed(now, changed)
                open_orders += was_open
                for found, meets in zip(edges, self._tests, strict=True):
                    if meets(state, after):
                        found.append(now)
                if now < self._last:
                    for latch in self._latches:
                        events += latch.events(now, state, after)
                    events += burning.events(now, state, after)
                state = after
        return Lived(
            number,
            tuple(tuple(each) for each in edges),
            tuple(frozenset(each) for each in already),
            tuple(events),
            open_orders,
            tuple(each for each in breaks.found if each.time < self._last),
        )

    def _all_that_fade(self, state: int) -> Changed:
        levels = self._chain.states[state].levels
        cells = self._chain.draws.cells
        return tuple(number for number, cell in cells.items() if cell.fades and levels[number])

    def _ask_already(self, now: int, state: int, already: Sequence[set[int]]) -> None:
        for found, edge, days in zip(already, self._watching.edges, self._begins, strict=True):
            if now in days and is_so(self._chain.levels[edge.name][state], edge):
                found.add(days[now])

    def _changed(self, state: int, changed: Changed, who: Identities | None) -> tuple[int, Changed]:
        """The state after these cells of it have changed, and which they are."""
        after = self._chain.drawn(state, changed)
        if who is None or not changed:
            return after, changed
        own = who.of(state, changed)
        who.moved(self._chain.turn(state, changed))
        return after, own

    def _through(
        self, state: int, phase: Phase, sky: int, chance: random.Random, who: Identities | None
    ) -> Iterator[Step]:
        """Each gt of a phase in which anything goes on."""
        chain, now, end = self._chain, phase.begin, phase.end
        resting, draw = chain.resting, chance.random
        while now < end:
            if resting[state]:
                stays, log = self._stays(state, sky)
                if stays == 1.0:
                    return
                # The gt in which something is drawn next is geometric: its inverse distribution at a uniform number.
                now += int(math.log(1.0 - draw()) / log)
                if now >= end:
                    return
                number = stays + draw() * (1.0 - stays)
                middle = state
            else:
                middle = chain.waited(state)
                if who is not None:
                    who.moved(chain.turn(state, None))
                number = draw()
            changed = _picked(chain.chances(middle, sky), number)
            after, own = self._changed(middle, changed, who)
            yield now, after, own, chain.was_open(state, changed)
            state = after
            now += 1

    def _stays(self, state: int, sky: int) -> tuple[float, float]:
        """The chance that nothing is drawn in a gt, and its logarithm."""
        known = self._leaving.get((state, sky))
        if known is None:
            drawn = self._chain.chances(state, sky)
            left = math.fsum(chance for chance, _ in drawn[1:])
            # Where something is drawn for sure, it is drawn at once.
            known = (1.0 - left, math.log1p(-left)) if left < 1.0 else (0.0, -math.inf)
            self._leaving[state, sky] = known
        return known


def _picked(drawn: Sequence[tuple[float, Changed]], number: float) -> Changed:
    """What is drawn at a number from 0 to 1; rounding may leave it past the last, which it is then."""
    for chance, changed in drawn:
        number -= chance
        if number < 0.0:
            return changed
    return drawn[-1][1]


def is_so(level: int, edge: Atom) -> bool:
    """Whether a signal is already what an edge would make it; of `changes` it never is."""
    return level > 0 if edge.test.value == "rises" else level == 0 if edge.test.value == "falls" else False


def first_within(edges: Sequence[int], begin: int, end: int) -> int | None:
    """How many gt after `begin` the first edge before `end` comes, the first gt counted as 1; None if none does."""
    place = bisect_left(edges, begin)
    return edges[place] - begin + 1 if place < len(edges) and edges[place] < end else None


def between(edges: Sequence[int], begin: int, end: int) -> int:
    """How many edges there are from `begin` up to, but not at, `end`."""
    return bisect_left(edges, end) - bisect_left(edges, begin)


class _Burning:
    """The torches that would burn out in a run, but that days are followed without it (rule T4)."""

    def __init__(self, chain: Chain, window: int) -> None:
        self._chain = chain
        self._window = window
        self._torches = [device.index for device in chain.program.devices if device.part.burns_out]
        self._offs: dict[int, deque[int]] = {torch: deque(maxlen=OFFS) for torch in self._torches}

    def events(self, now: int, before: int, after: int) -> Iterator[Event]:
        """The torches whose eighth off within the window this gt brought."""
        if self._window <= 0:
            return
        was, levels = self._chain.states[before].levels, self._chain.states[after].levels
        for torch in self._torches:
            if was[torch] and not levels[torch]:
                offs = self._offs[torch]
                offs.append(now)
                if len(offs) == OFFS and now - offs[0] <= self._window:
                    yield Event(now, BURNT, self._chain.program.names[torch])


class _Latch:
    """What happens to one latch that should not."""

    def __init__(self, chain: Chain, name: str) -> None:
        latch = chain.program.circuit.latches[name]
        self._chain = chain
        self._name = name
        self._set = chain.program.probe_sources(latch.set_by)
        self._reset = chain.program.probe_sources(latch.reset_by)
        self._side = chain.program.number[name]
        self._known: dict[int, tuple[bool, bool, bool]] = {}

    def _inputs(self, state: int) -> tuple[bool, bool, bool]:
        known = self._known.get(state)
        if known is None:
            levels = self._chain.states[state].levels
            known = self._known[state] = (
                read(self._set, levels) > 0,
                read(self._reset, levels) > 0,
                levels[self._side] > 0,
            )
        return known

    def events(self, now: int, before: int, after: int) -> Iterator[Event]:
        """What a gt brought: both inputs on at once, or an input that comes when it has nothing left to do."""
        was_set, was_reset, side = self._inputs(before)
        is_set, is_reset, _ = self._inputs(after)
        if is_set and is_reset and not (was_set and was_reset):
            yield Event(now, BOTH, self._name)
        if (is_set and not was_set and side) or (is_reset and not was_reset and not side):
            yield Event(now, TWICE, self._name)
