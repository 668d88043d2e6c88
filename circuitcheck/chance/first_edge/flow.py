"""The chain let run over a day: which state it is in with what probability, and when a signal has its first edge.

Probability rests for most of a day in a few states in which nothing waits, and leaves them seldom. So a *passage*, from
leaving a resting state to the next rest or edge, is computed once for each state and kind of light, and then only
added up. Near a change of the light passages are followed gt by gt instead, since they would see both kinds of it.

What is rarer than a bound is left out and added up in `left_out`. Where an order is open (rule C5) the first is
followed, and the probability of all such ways is added up as well: no probability that comes out of here is wrong by
more than both.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from operator import itemgetter
from typing import NamedTuple

from circuitcheck.chance.machine.chain import Chain
from circuitcheck.chance.machine.draws import NOBODY, Drawn
from circuitcheck.chance.machine.joint import Changed, TooLarge
from circuitcheck.model.claims import Atom, Test

HALVINGS = 20
"""A passage that half as much probability takes is followed half as closely, down to 2 to the power of this."""

Masses = dict[int, float]
"""The probability in each state."""


class Stretch(NamedTuple):
    """Some gt under one kind of light: from `begin` up to, but not at, `end`."""

    begin: int
    end: int
    sky: int


class Passage(NamedTuple):
    """What leaving a resting state comes to, if it is left."""

    chance: float
    """Of leaving it, in one gt."""
    rests: tuple[tuple[int, int, float], ...]
    """(gt later than the first gt, resting state, probability)."""
    edges: tuple[tuple[int, float], ...]
    """(gt later than the first gt, probability) of each edge on the way."""
    longest: int
    left_out: float
    open: float
    """The probability that an order is open on the way (rule C5)."""


class Lots(NamedTuple):
    """What can be drawn in one gt: that nothing is, then the rest, the likeliest first."""

    nothing: float
    changes: tuple[tuple[float, float, Changed], ...]
    """(chance, chance of this and of all that is less likely, cells that change)"""
    missing: float
    """The chance of what was too unlikely to be listed."""

    @property
    def leaving(self) -> float:
        """The chance that something is drawn."""
        return self.changes[0][1] if self.changes else 0.0


Way = tuple[int, bool, bool]
"""Where one thing that can be drawn leads: the state at the end of the gt, whether an order is open on the way (rule
C5), and whether the edge is met."""


class Ways(NamedTuple):
    """What can be drawn in the gt behind a state. Many states share their lots."""

    lots: Lots
    led: list[Way | None]
    """Where the changes lead, as far as they have been asked for: first nothing, then the likeliest."""


@dataclass(slots=True)
class Seen:
    """What was seen of a signal while probability flowed."""

    edges: dict[int, float] = field(default_factory=dict)
    """In each gt, the probability of an edge; where an edge ends a way, of the first one."""
    left_out: float = 0.0
    open: float = 0.0
    """The probability of all ways on which an order was open (rule C5), and the first was followed."""


class Flow:
    """Probability on its way through a chain; `edge` is what is looked for."""

    def __init__(self, chain: Chain, edge: Atom, rare: float, faint: float) -> None:
        """A turn of a passage that is rarer than `rare` is left out, and a state fainter than that (`Closeness`)."""
        self._chain = chain
        self._faint, self._rare = faint, rare
        self._meets = edge_test(chain, edge)
        self._steps = 0
        self._weight = 1.0
        """How much probability takes the passage that is followed, to a factor of 2."""
        self._passages: dict[tuple[int, int, bool], dict[int, Passage]] = {}
        """From each state, under each sky, by how often `rare` was doubled for it."""
        self._too_long: dict[tuple[int, int, int, bool], int] = {}
        """For passages that were given up, after how many gt."""
        self._lots: dict[int, tuple[Drawn, Lots]] = {}
        """Of everything that was drawn from, by its identity."""
        self._ways_under: dict[int, dict[int, Ways]] = {}
        """Under each sky, from each state: what can be drawn, the likeliest first."""
        start = chain.start()
        self.resting: Masses = {start: 1.0} if chain.resting[start] else {}
        self._moving: Masses = {} if chain.resting[start] else {start: 1.0}
        self._due: dict[int, Masses] = {}

    def take_out(self, so: Callable[[int], bool]) -> float:
        """Takes the probability out of all states for which something is so. Returns how much it was."""
        assert not self._due
        taken = 0.0
        for masses in (self.resting, self._moving):
            for state in [each for each in masses if so(each)]:
                taken += masses.pop(state)
        return taken

    def over(self, spans: Sequence[Stretch], ends: bool, seen: Seen) -> None:
        """Lets probability flow over spans that follow each other; if `ends`, a way ends at its first edge."""
        for span in spans:
            now = span.begin
            while now < span.end:
                if self._still(span.sky):
                    break
                self._game_tick(now, span, ends, seen)
                now += 1

    def _still(self, sky: int) -> bool:
        """Whether nothing is under way, and nothing can be drawn under this sky."""
        if self._moving or self._due:
            return False
        return not any(self._ways(state, sky).lots.changes for state in self.resting)

    def _game_tick(self, now: int, span: Stretch, ends: bool, seen: Seen) -> None:
        chain, sky = self._chain, span.sky
        self._step(len(self.resting))
        moved: Masses = {}
        for state, mass in self._moving.items():
            self._spread(state, mass, self._ways(state, sky), self._faint, now, ends, seen, moved)
        stayed: Masses = {}
        for state, mass in self.resting.items():
            if mass < self._faint:
                seen.left_out += mass
                continue
            ways = self._ways(state, sky)
            if not ways.lots.changes:
                stayed[state] = mass
                continue
            passage = self._passage(state, mass, sky, ends, span.end - now)
            if passage is not None:
                self._add_up(passage, mass, now, seen)
                stayed[state] = mass * (1.0 - passage.chance)
            else:
                self._spread(state, mass, ways, self._faint, now, ends, seen, moved)
        for state, mass in self._due.pop(now, {}).items():
            stayed[state] = stayed.get(state, 0.0) + mass
        self._moving = {}
        for state, mass in moved.items():
            home = stayed if chain.resting[state] else self._moving
            home[state] = home.get(state, 0.0) + mass
        self.resting = stayed

    def _spread(
        self, state: int, mass: float, ways: Ways, least: float, now: int, ends: bool, seen: Seen, moved: Masses
    ) -> None:
        """Lets the probability in one state go on for one gt; parts of it below `least` are left out."""
        nothing = ways.led[0] if ways.led else None
        if nothing is None:
            nothing = self._lead(state, ways, 0, ())
        self._arrive(mass * ways.lots.nothing, nothing, now, ends, seen, moved)
        seen.left_out += mass * ways.lots.missing
        self._take(state, mass, ways, least, now, ends, seen, moved)

    def _take(
        self, state: int, mass: float, ways: Ways, least: float, now: int, ends: bool, seen: Seen, moved: Masses
    ) -> None:
        """Lets the probability in one state take what changes, the likeliest first. Most of the time is spent here."""
        led, place = ways.led, 0
        for chance, rest, changed in ways.lots.changes:
            part = mass * chance
            if part < least:
                seen.left_out += mass * rest
                return
            place += 1
            way = led[place] if place < len(led) else None
            if way is None:
                if not self._chain.is_worth(state, changed, part * self._weight):
                    seen.left_out += part
                    continue
                way = self._lead(state, ways, place, changed)
            self._arrive(part, way, now, ends, seen, moved)

    def _arrive(self, part: float, way: Way, now: int, ends: bool, seen: Seen, moved: Masses) -> None:
        self._steps += 1
        after, opens, meets = way
        if opens:
            seen.open += part
        if meets:
            seen.edges[now] = seen.edges.get(now, 0.0) + part
            if ends:
                return
        moved[after] = moved.get(after, 0.0) + part

    def _ways(self, state: int, sky: int) -> Ways:
        """What can be drawn in the gt behind a state."""
        under = self._ways_under.setdefault(sky, {})
        known = under.get(state)
        if known is None:
            drawn = self._chain.chances(self._chain.waited(state), sky)
            kept = self._lots.get(id(drawn))
            if kept is None:
                kept = self._lots[id(drawn)] = (drawn, _sorted(drawn))
            known = under[state] = Ways(kept[1], [])
        return known

    def _lead(self, state: int, ways: Ways, place: int, changed: Changed) -> Way:
        """Finds out where what is drawn leads."""
        chain = self._chain
        self._step(chain.closeness.steps_of_engine)
        after = chain.drawn(chain.waited(state), changed)
        way = (after, chain.was_open(state, changed), self._meets(state, after))
        led = ways.led
        led += [None] * (place + 1 - len(led))
        led[place] = way
        return way

    def _step(self, count: int) -> None:
        """Counts steps from state to state. Raises TooLarge."""
        self._steps += count
        most = self._chain.most_steps
        if self._steps > most:
            raise TooLarge(f"it is seldom at rest: more than {most:,} steps from state to state")

    def _add_up(self, passage: Passage, mass: float, now: int, seen: Seen) -> None:
        out = mass * passage.chance
        seen.left_out += out * passage.left_out
        seen.open += out * passage.open
        for later, state, share in passage.rests:
            due = self._due.setdefault(now + later, {})
            due[state] = due.get(state, 0.0) + out * share
        for later, share in passage.edges:
            seen.edges[now + later] = seen.edges.get(now + later, 0.0) + out * share

    def _passage(self, state: int, mass: float, sky: int, ends: bool, most: int) -> Passage | None:
        """The passage from a resting state; None if it can take longer than there is time.

        The less probability can take it in that time, the less closely it is followed. What it misses is known in any
        case, so that one that was followed more closely serves as well.
        """
        taking = mass * min(1.0, self._ways(state, sky).lots.leaving * most)
        doubled = min(int(-math.log2(taking)), HALVINGS) if taking > 0.0 else HALVINGS
        known = self._passages.setdefault((state, sky, ends), {})
        for closely, passage in known.items():
            if closely <= doubled and passage.longest < most:
                return passage
        if doubled in known or most <= self._too_long.get((state, doubled, sky, ends), 0):
            return None
        self._weight = 2.0**-doubled
        found = self._followed(state, sky, ends, min(self._rare * 2.0**doubled, 1.0), most)
        self._weight = 1.0
        if found is None:
            self._too_long[state, doubled, sky, ends] = most
            return None
        known[doubled] = found
        return found if found.longest < most else None

    def _followed(self, state: int, sky: int, ends: bool, rare: float, most: int) -> Passage | None:
        """Follows a resting state from the gt in which something is drawn to its next rest, for at most so many gt."""
        first, passed = self._ways(state, sky), Seen()
        rests: list[tuple[int, int, float]] = []
        masses: Masses = {}
        leaving = first.lots.leaving
        passed.left_out += first.lots.missing / leaving
        self._take(state, 1.0 / leaving, first, rare, 0, ends, passed, masses)
        later = 0
        while True:
            for after in [each for each in masses if self._chain.resting[each]]:
                rests.append((later, after, masses.pop(after)))
            later += 1
            if not masses:
                return Passage(leaving, tuple(rests), tuple(passed.edges.items()), later, passed.left_out, passed.open)
            if later >= most:
                return None
            self._step(0)
            following: Masses = {}
            for before, mass in masses.items():
                if mass < rare:
                    passed.left_out += mass
                else:
                    self._spread(before, mass, self._ways(before, sky), rare, later, ends, passed, following)
            masses = following


def _sorted(drawn: Drawn) -> Lots:
    """What can be drawn, the likeliest change first."""
    (nothing, _), *changes = drawn
    missing = max(1.0 - math.fsum((nothing, *(chance for chance, _ in changes))), 0.0)
    rest, found = 0.0, list[tuple[float, float, Changed]]()
    for chance, changed in sorted(changes, key=itemgetter(0)):
        rest += chance
        found.append((chance, rest, changed))
    found.reverse()
    return Lots(nothing, tuple(found), missing)


def edge_test(chain: Chain, edge: Atom) -> Callable[[int, int], bool]:
    """Whether a signal has its edge between two states."""
    levels = chain.levels[edge.name]
    tests: dict[Test, Callable[[int, int], bool]] = {
        Test.RISES: lambda before, after: levels[before] == 0 < levels[after],
        Test.FALLS: lambda before, after: levels[before] > 0 == levels[after],
        Test.CHANGES: lambda before, after: levels[before] != levels[after],
    }
    return tests[edge.test]


def spans(chain: Chain, stretches: Sequence[tuple[int, int, int | None]]) -> Iterator[Stretch]:
    """Stretches of (begin, end, level of the sky, or None while nobody is near), those alike for the cells as one."""
    last: Stretch | None = None
    for begin, end, sky in stretches:
        alike = NOBODY if sky is None else chain.draws.alike(sky)
        if last is not None and last.sky == alike and last.end == begin:
            last = last._replace(end=end)
            continue
        if last is not None:
            yield last
        last = Stretch(begin, end, alike)
    if last is not None:
        yield last
