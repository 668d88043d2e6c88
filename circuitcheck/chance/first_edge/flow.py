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
from typing import NamedTuple

from circuitcheck.chance.machine.chain import Chain
from circuitcheck.chance.machine.draws import NOBODY, Drawn
from circuitcheck.chance.machine.joint import Changed, TooLarge
from circuitcheck.model.claims import Atom, Test

RARE = 1e-10
"""A turn of a passage that is rarer than this, once the passage has begun, is left out."""
LEAST_CLOSELY = 6
"""A state that holds a tenth of the probability is followed ten times less closely, down to 10 to the power of this."""
FAINT = 1e-12
"""A state that holds less probability than this is left out."""
MOST_STEPS = 1_000_000
"""How often probability is taken from one state to the next, gt by gt, before a machine is called too large."""

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


Step = tuple[int, bool, bool]
"""The state that is led to, whether an order was open (rule C5), and whether the edge is met."""


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

    def __init__(self, chain: Chain, edge: Atom) -> None:
        self._chain = chain
        self._meets = edge_test(chain, edge)
        self._steps = 0
        self._passages: dict[tuple[int, int, int, bool], Passage] = {}
        self._too_long: dict[tuple[int, int, int, bool], int] = {}
        """For passages that were given up, after how many gt."""
        self._steps_from: dict[tuple[int, int], tuple[Drawn, list[Step | None]]] = {}
        """From each state under each sky: what can be drawn, and where it leads, as far as that was asked for."""
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
        return not any(self._leaves(state, sky) for state in self.resting)

    def _leaves(self, state: int, sky: int) -> bool:
        """Whether anything can be drawn in a resting state."""
        return len(self._chain.chances(state, sky)) > 1

    def _game_tick(self, now: int, span: Stretch, ends: bool, seen: Seen) -> None:
        chain, sky = self._chain, span.sky
        self._step(len(self.resting))
        moved: Masses = {}
        for state, mass in self._moving.items():
            seen.left_out += self._spread(state, mass, now, sky, ends, seen, moved)
        stayed: Masses = {}
        for state, mass in self.resting.items():
            if mass < FAINT:
                seen.left_out += mass
                continue
            if not self._leaves(state, sky):
                stayed[state] = mass
                continue
            passage = self._passage(state, mass, sky, ends, span.end - now)
            if passage is not None:
                self._add_up(passage, mass, now, seen)
                stayed[state] = mass * (1.0 - passage.chance)
            else:
                seen.left_out += self._spread(state, mass, now, sky, ends, seen, moved)
        for state, mass in self._due.pop(now, {}).items():
            stayed[state] = stayed.get(state, 0.0) + mass
        self._moving = {}
        for state, mass in moved.items():
            home = stayed if chain.resting[state] else self._moving
            home[state] = home.get(state, 0.0) + mass
        self.resting = stayed

    def _spread(self, state: int, mass: float, now: int, sky: int, ends: bool, seen: Seen, moved: Masses) -> float:
        """Lets the probability in one state go on for one gt. Returns what was left out."""
        left_out = 0.0
        key = (state, sky)
        known = self._steps_from.get(key)
        if known is None:
            drawn = self._chain.chances(self._chain.waited(state), sky)
            known = self._steps_from[key] = (drawn, [None] * len(drawn))
        drawn, steps = known
        self._step(len(drawn))
        for place, (chance, changed) in enumerate(drawn):
            part = mass * chance
            if part < FAINT:
                left_out += part
                continue
            step = steps[place]
            if step is None:
                step = steps[place] = self._step_to(state, changed)
            after, was_open, meets = step
            if was_open:
                seen.open += part
            if meets:
                seen.edges[now] = seen.edges.get(now, 0.0) + part
                if ends:
                    continue
            moved[after] = moved.get(after, 0.0) + part
        return left_out

    def _step_to(self, state: int, changed: Changed) -> Step:
        """Where these changes of cells lead, whether an order was open in them, and whether the edge is in them."""
        chain = self._chain
        after = chain.drawn(chain.waited(state), changed)
        return after, chain.was_open(state, changed), self._meets(state, after)

    def _step(self, count: int) -> None:
        """Counts steps from state to state. Raises TooLarge."""
        self._steps += count
        if self._steps > MOST_STEPS:
            raise TooLarge(f"it is seldom at rest: more than {MOST_STEPS:,} steps from state to state")

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

        The less probability takes it, the less closely it is looked at.
        """
        closely = min(max(int(-math.log10(mass)), 0), LEAST_CLOSELY)
        key = (state, closely, sky, ends)
        known = self._passages.get(key)
        if known is None and most > self._too_long.get(key, 0):
            known = self._followed(state, sky, ends, RARE * 10**closely, most)
            if known is None:
                self._too_long[key] = most
            else:
                self._passages[key] = known
        return known if known is not None and known.longest < most else None

    def _followed(self, state: int, sky: int, ends: bool, rare: float, most: int) -> Passage | None:
        """Follows a resting state from the gt in which something is drawn to its next rest, for at most so many gt."""
        chain = self._chain
        leaving = sum(chance for chance, _ in chain.chances(state, sky)[1:])
        rests: list[tuple[int, int, float]] = []
        edges: dict[int, float] = {}
        left_out = opened = 0.0
        ways = [(state, 1.0, chance / leaving, changed) for chance, changed in chain.chances(state, sky)[1:]]
        later = 0
        masses: Masses = {}
        while ways:
            self._step(len(ways))
            masses = {}
            for before, mass, chance, changed in ways:
                part = mass * chance
                if part < rare:
                    left_out += part
                    continue
                after = chain.drawn(before if later == 0 else chain.waited(before), changed)
                if chain.was_open(before, changed):
                    opened += part
                if self._meets(before, after):
                    edges[later] = edges.get(later, 0.0) + part
                    if ends:
                        continue
                masses[after] = masses.get(after, 0.0) + part
            for after in [each for each in masses if chain.resting[each]]:
                rests.append((later, after, masses.pop(after)))
            later += 1
            if later >= most and masses:
                return None
            ways = [
                (before, mass, chance, changed)
                for before, mass in masses.items()
                for chance, changed in chain.chances(chain.waited(before), sky)
            ]
        return Passage(leaving, tuple(rests), tuple(edges.items()), later, left_out, opened)


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
