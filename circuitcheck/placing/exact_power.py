"""Who gives to which input in a box, as clauses: rules W4 to W8 of space, P2 and P4 of power.

Whether a source comes to a place is said twice, as each half needs its own:

* `Spread` has all that power may do: where a source comes by a rule, it is. What must not come to an input is forbidden
  there. A spread may have too much, never too little; so what is forbidden there really does not come.
* What is shown has what power does for a reason: where a source is, a rule brings it, and along dust from a place that
  it reached with fewer levels lost. So no circle of dust holds itself up, and what is asked for there really comes.

Where how much is lost can be felt, or dust may be so long that power is lost on the way, both are one: true where there
is a reason and nowhere else, place by place and level by level.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import cache, partial

from circuitcheck.model.block_type import Gives
from circuitcheck.model.drawing import ABOVE, AROUND, BELOW, At, Direction
from circuitcheck.model.rules import CARRIES
from circuitcheck.placing.exact_clauses import NO
from circuitcheck.placing.exact_places import Places, gives_around
from circuitcheck.placing.exact_wanted import Losses, WantedPart
from circuitcheck.space.room import neighbours

Gate = Callable[[list[tuple[int, ...]]], int]
"""Makes a variable for something that comes about in any of some ways, each of which takes all of some literals."""


class Coming:
    """Where the power of one source comes."""

    def __init__(self, places: Places, source: WantedPart, gate: Gate, most_lost: int) -> None:
        self._places, self._source, self._gate = places, source, gate
        self.most_lost = most_lost
        self.strongly, self.dust = cache(self._strongly), cache(self._dust)
        self.block, self.toward = cache(self._block), cache(self._toward)
        self.lamp, self.side = cache(self._lamp), cache(self._side)

    def _reached(self, ways: list[tuple[int, ...]]) -> int:
        possible = [way for way in ways if NO not in way]
        return self._gate(possible) if possible else NO

    def _given(self, place: At) -> Iterator[int]:
        """The ways in which the source gives to a part that nothing is held by, or to dust, at a place (W5 to W7)."""
        name = self._source.name
        for direction, beside in neighbours(place):
            if gives_around(self._source):
                yield self._places.at(name, beside)
            else:
                yield self._places.way(name, beside, direction.back)

    def _strongly(self, block: At) -> int:
        """Whether the source strongly powers a solid block (rules W5 to W7)."""
        places, source = self._places, self._source
        ways = []
        if source.thing.block_type.gives is Gives.AROUND_AND_ABOVE:
            ways = [places.at(source.name, BELOW.from_(block))]
        else:
            # Held by the block, or pointing into it: both ways lead from the source to the block.
            ways = [places.way(source.name, beside, direction.back) for direction, beside in neighbours(block)]
        return self._reached([(way, places.solid(block)) for way in ways])

    def _dust(self, place: At, lost: int) -> int:
        """Whether the source comes to dust at a place with at most so many levels lost (rules P2, W2)."""
        places = self._places
        dust = places.dust.get(place, NO)
        if dust == NO:
            return NO
        ways: list[tuple[int, ...]] = [(way, dust) for way in self._given(place)]
        ways += [(self.strongly(beside), dust) for _, beside in neighbours(place)]
        if lost:
            ways.append((self.dust(place, lost - 1),))
            ways += [(self.dust(step.source, lost - 1), step.runs) for step in places.steps_to(place)]
        return self._reached(ways)

    def _pointing(self, place: At, direction: Direction, lost: int) -> tuple[int, int]:
        """What it takes that the source comes by dust that lies at a place and points in a direction."""
        return self.dust(place, lost), self._places.points(place, direction)

    def _block(self, block: At, lost: int) -> int:
        """Whether the source powers a solid block, strongly or weakly (rules P4, W4)."""
        solid = self._places.solid(block)
        ways: list[tuple[int, ...]] = [(self.strongly(block),), (self.dust(ABOVE.from_(block), lost), solid)]
        ways += [(*self._pointing(way.from_(block), way.back, lost), solid) for way in AROUND]
        return self._reached(ways)

    def _toward(self, place: At, direction: Direction, lost: int) -> int:
        """Whether what is at a place gives the source to a repeater or comparator before it (rules W4, W6, W8)."""
        places, name = self._places, self._source.name
        given = places.at(name, place) if gives_around(self._source) else places.way(name, place, direction)
        return self._reached([(given,), self._pointing(place, direction, lost), (self.block(place, lost),)])

    def _side(self, place: At, direction: Direction, lost: int) -> int:
        """Whether what is at a place gives the source to the side of a comparator before it (rule W6)."""
        ways: list[tuple[int, ...]] = [self._pointing(place, direction, lost)]
        if not gives_around(self._source):
            ways.append((self._places.way(self._source.name, place, direction),))
        return self._reached(ways)

    def _lamp(self, place: At, lost: int) -> int:
        """Whether the source lights a lamp at a place (rules O2, W4, W8)."""
        places, name = self._places, self._source.name
        ways: list[tuple[int, ...]] = [(self.block(place, lost),)]
        for direction, beside in neighbours(place):
            if gives_around(self._source):
                held = places.way(name, beside, direction.back)
                ways.append((places.at(name, beside), -held))
            else:
                ways.append((places.way(name, beside, direction.back),))
            ways.append((self.block(beside, lost),))
        ways += [self._pointing(way.from_(place), way.back, lost) for way in AROUND]
        return self._reached(ways)


class Power:
    """The clauses that say who gives to whom."""

    def __init__(self, places: Places) -> None:
        self._places, self._clauses = places, places.clauses
        self._wanted = places.wanted
        lamps = sum(part.word == "lamp" for part in self._wanted.parts)
        most_dust = max((places.box.volume - len(self._wanted.parts) + lamps) // 2, 1)
        self._most_lost = min(CARRIES, most_dust) - 1
        self.counts = most_dust > CARRIES
        self._sources = {source.name: source for source in self._wanted.sources}
        self._shown, self._spread = cache(self._make_shown), cache(self._make_spread)
        self._directed = [part for part in self._wanted.parts if part.thing.block_type.directed]

    def write(self) -> None:
        """Writes all of them."""
        for part in self._wanted.parts:
            self._read(part)
            if part in self._directed:
                self._straight(part)
        for dust in self._wanted.dust:
            for place, literal in self._places.named[dust.name].items():
                self._asked(literal, dust.reached, partial(_dust_at, place))

    def comes_to_dust(self, place: At) -> list[int]:
        """For each source whether it comes to dust at a place, for a reason."""
        return [self._shown(name).dust(place, self._most_lost) for name in self._sources]

    def comes_to_block(self, place: At) -> list[int]:
        """For each source whether it powers a block at a place, for a reason."""
        return [self._shown(name).block(place, self._most_lost) for name in self._sources]

    def spreads_to_dust(self, place: At) -> dict[str, int]:
        """For each source whether it may come to dust at a place."""
        return {name: self._spread(name).dust(place, self._most_lost) for name in self._sources}

    # The two halves

    def _make_shown(self, name: str) -> Coming:
        if self._is_counted(name):
            return self._spread(name)
        shown = Coming(self._places, self._sources[name], self._with_reason, self._most_lost)
        spread = self._spread(name)
        for place in self._places.places:
            self._clauses.add(-shown.dust(place, self._most_lost), spread.dust(place, self._most_lost))
            self._clauses.add(-shown.block(place, self._most_lost), spread.block(place, self._most_lost))
            self._clauses.add(-shown.strongly(place), spread.strongly(place))
        return shown

    def _make_spread(self, name: str) -> Coming:
        if self._is_counted(name):
            return Coming(self._places, self._sources[name], self._exactly, self._most_lost)
        return Spread(self._places, self._sources[name], self._as_far_as, self._most_lost)

    def _is_counted(self, name: str) -> bool:
        return self.counts or name in self._wanted.measured

    def _with_reason(self, ways: list[tuple[int, ...]]) -> int:
        """A variable that takes one of some ways to be true."""
        whole = self._clauses.fresh()
        self._clauses.add(-whole, *map(self._all_needed, ways))
        return whole

    def _all_needed(self, way: tuple[int, ...]) -> int:
        if len(way) == 1:
            return way[0]
        whole = self._clauses.fresh()
        for literal in way:
            self._clauses.add(-whole, literal)
        return whole

    def _as_far_as(self, ways: list[tuple[int, ...]]) -> int:
        """A variable that is true where any of some ways is open."""
        whole = self._clauses.fresh()
        for way in ways:
            self._clauses.implied(way, whole)
        return whole

    def _exactly(self, ways: list[tuple[int, ...]]) -> int:
        return self._clauses.any_of(self._clauses.all_of(*way) for way in ways)

    # What is asked

    def _asked(self, literal: int, losses: Losses, at: Callable[[Coming, int], list[int]]) -> None:
        """Where a literal is true, these sources come to something, with so much lost, and no others.

        `at` has the variables of which one is true where a source comes with at most so much lost.
        """
        if literal == NO:
            return
        for name in self._sources:
            if name in losses:
                shown, lost = self._shown(name), losses[name]
                self._clauses.add(-literal, *at(shown, shown.most_lost if lost is None else lost))
            forbidden = losses[name] if name in losses else self._most_lost + 1
            if forbidden:
                spread = self._spread(name)
                for comes in at(spread, forbidden - 1):
                    self._clauses.add(-literal, -comes)

    def _read(self, part: WantedPart) -> None:
        """What comes to each port of a part, wherever it stands."""
        ports = {"repeater": ("back", "side"), "comparator": ("back", "side"), "torch": ("block",), "lamp": ("power",)}
        for (place, way), literal in self._places.ways[part.name].items():
            for port in ports.get(part.word, ()):
                self._port(part.word, port, part.inputs.get(port, {}), literal, place, way)

    def _port(self, word: str, port: str, losses: Losses, literal: int, place: At, way: Direction | None) -> None:
        if way is None:
            self._asked(literal, losses, lambda coming, lost: [coming.lamp(place, lost)])
        elif word == "torch":
            self._asked(literal, losses, lambda coming, lost: [coming.block(way.from_(place), lost)])
        elif port == "back":
            behind = way.back.from_(place)
            self._asked(literal, losses, lambda coming, lost: [coming.toward(behind, way, lost)])
        else:
            sides = [side for side in AROUND if side not in (way, way.back)]
            if word == "comparator":
                self._asked(
                    literal,
                    losses,
                    lambda coming, lost: [coming.side(side.from_(place), side.back, lost) for side in sides],
                )
            else:
                self._locked(literal, losses, [(side.from_(place), side.back) for side in sides])

    def _locked(self, literal: int, losses: Losses, sides: list[tuple[At, Direction]]) -> None:
        """What points into the sides of a repeater (rule W6)."""
        for source in self._directed:
            pointing = [self._places.way(source.name, place, way) for place, way in sides]
            if source.name in losses:
                self._clauses.add(-literal, *pointing)
            else:
                for each in pointing:
                    self._clauses.add(-literal, -each)
        unlike = [name for name, lost in losses.items() if lost or self._sources[name] not in self._directed]
        if unlike:
            self._clauses.add(-literal)

    def _straight(self, part: WantedPart) -> None:
        """Whether a part points right into another that reads it there (rule C3)."""
        for (place, way), literal in self._places.ways[part.name].items():
            assert way is not None
            ahead = way.from_(place)
            readers = [
                self._places.way(reader.name, ahead, facing)
                for reader in self._directed
                if reader is not part
                for facing in AROUND
                if facing is not way.back
            ]
            if part.straight:
                self._clauses.add(-literal, *readers)
            else:
                for each in readers:
                    self._clauses.add(-literal, -each)


class Spread(Coming):
    """Where power may come, however far: what it may reach along dust it does reach, in circles too."""

    def __init__(self, places: Places, source: WantedPart, gate: Gate, most_lost: int) -> None:
        super().__init__(places, source, gate, most_lost)
        clauses = places.clauses
        self._whole = {place: clauses.fresh() for place, dust in places.dust.items() if dust != NO}
        for place, here in self._whole.items():
            lit = super()._dust(place, 0)
            clauses.add(-lit, here)
            for step in places.steps_to(place):
                clauses.add(-self._whole[step.source], -step.runs, here)

    def _dust(self, place: At, lost: int) -> int:
        return self._whole.get(place, NO)


def _dust_at(place: At, coming: Coming, lost: int) -> list[int]:
    return [coming.dust(place, lost)]
