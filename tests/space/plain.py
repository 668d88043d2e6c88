"""Drawings read a second time, the plain way: one part at a time is on, and its power is followed wherever it goes.

Written from the page of rules alone (W1 to W10), in the opposite direction to the program's reader: that one asks at
each input what may feed it, this one lets each part give 15 and looks where it arrives, and with how much left.
Without a thought of speed, and light is no part of it.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from circuitcheck.model.drawing import ABOVE, AROUND, BELOW, At, Direction, Drawing, Thing
from circuitcheck.model.rules import RuleSet

FULL = 15
SOLID = ("block", "lamp", "sensor")
IN_FRONT = ("repeater", "comparator", "detector")
BESIDE = ("torch", "lever", "button")
PARTS = (*IN_FRONT, *BESIDE, "lamp", "piston", "sensor")
PUSHED = ("block", "glass", "half", "lamp", "sensor", "piston", "detector")
"""What a piston moves before it (M1)."""

Inputs = dict[tuple[str, str], int]
"""The port and the source of each input, with the levels lost on the way where they can be felt."""


class Lit(NamedTuple):
    """Where the power of one part goes: dust with what is left there, and solid blocks, strongly and weakly."""

    dust: dict[At, int]
    strong: set[At]
    weak: dict[At, int]


class PlainReading:
    """One drawing under a set of rules."""

    def __init__(self, drawing: Drawing, rules: RuleSet) -> None:
        self.things = drawing.things
        self.names = {place: drawing.name(place) for place in drawing.things}
        self.rules = rules
        self.powers = {place: self.lit_by(place) for place in self.things if self.word(place) in (*IN_FRONT, *BESIDE)}

    def word(self, place: At) -> str:
        return self.things[place].word if place in self.things else "air"

    def front(self, place: At) -> At | None:
        facing = self.things[place].facing
        return None if facing is None or self.word(place) not in IN_FRONT else facing.from_(place)

    def holder(self, place: At) -> At | None:
        on = self.things[place].on
        return None if on is None else on.from_(place)

    # Dust

    def steps(self, dust: At) -> Iterator[tuple[Direction, At, bool]]:
        """Every dust that is joined to a dust: which way it lies, and whether power goes there from here (W2)."""
        for way in AROUND:
            for layers in (0, 1, -1):
                beside = way.from_(dust)
                other = (beside[0] + layers, beside[1], beside[2])
                if self.word(other) != "dust":
                    continue
                low, high = (dust, other) if layers > 0 else (other, dust)
                if layers and self.word(ABOVE.from_(low)) in SOLID:
                    continue
                yield way, other, layers >= 0 or self.word(BELOW.from_(high)) in SOLID

    def points(self, dust: At) -> set[Direction]:
        """Where a dust points (W3)."""
        ways = {way for way, _, _ in self.steps(dust)}
        for way in AROUND:
            thing = self.things.get(way.from_(dust))
            if thing is not None and self.counts_as_join(thing, way):
                ways.add(way)
        if not ways:
            return set() if self.things[dust].shape == "dot" else set(AROUND)
        for axis in (set(AROUND[0::2]), set(AROUND[1::2])):
            if ways <= axis:
                return axis
        return ways

    def counts_as_join(self, thing: Thing, way: Direction) -> bool:
        if thing.word == "repeater":
            return thing.facing is way or thing.facing is way.back
        if thing.word == "detector":
            return thing.facing is way.back
        return thing.word in ("torch", "lever", "button", "comparator")

    # Giving

    def gives(self, giver: At, to: At) -> bool:
        """Whether a part gives to a part at a place beside it, of itself (W5 to W7)."""
        if self.word(giver) in IN_FRONT:
            return self.front(giver) == to
        return to != self.holder(giver)

    def lit_by(self, giver: At) -> Lit:
        """Where the power of a part goes."""
        word = self.word(giver)
        strong: set[At] = set()
        into = {"torch": ABOVE.from_(giver), "lever": self.holder(giver), "button": self.holder(giver)}
        target = into[word] if word in into else self.front(giver)
        if target is not None and self.word(target) in SOLID:
            strong.add(target)
        dust: dict[At, int] = {}
        for place in self.things:
            beside = self.word(place) == "dust" and any(way.from_(place) == giver for way in Direction)
            near_strong = self.word(place) == "dust" and any(way.from_(place) in strong for way in Direction)
            if (beside and self.gives(giver, place)) or near_strong:
                dust[place] = FULL
        changed = True
        while changed:
            changed = False
            for place, level in list(dust.items()):
                for _, other, goes in self.steps(place):
                    if goes and level - 1 > dust.get(other, 0):
                        dust[other] = level - 1
                        changed = True
        weak: dict[At, int] = {}
        for place, level in dust.items():
            for block in (BELOW.from_(place), *(way.from_(place) for way in self.points(place))):
                if self.word(block) in SOLID:
                    weak[block] = max(level, weak.get(block, 0))
        return Lit(dust, strong, weak)

    def in_block(self, giver: At, block: At) -> int:
        lit = self.powers[giver]
        return FULL if block in lit.strong else lit.weak.get(block, 0)

    def through(self, giver: At, place: At, way: Direction) -> int:
        """What comes to a part at a place from the place on one side of it, of one part's power (W4 to W8)."""
        beside = way.from_(place)
        if beside == giver:
            return FULL if self.gives(giver, place) else 0
        if self.word(beside) == "dust":
            pointing = way in AROUND and way.back in self.points(beside)
            return self.powers[giver].dust.get(beside, 0) if pointing else 0
        return self.in_block(giver, beside) if self.word(beside) in SOLID else 0

    # Reading

    def ports(self, place: At, giver: At) -> Iterator[tuple[str, int]]:
        """Each port of the part at a place, with what of the giver's power comes there."""
        thing = self.things[place]
        word, facing = thing.word, thing.facing
        if word == "torch":
            holder = self.holder(place)
            assert holder is not None
            yield "block", self.in_block(giver, holder)
        elif word == "lamp":
            yield "power", max(self.in_block(giver, place), *(self.through(giver, place, way) for way in Direction))
        elif word in ("repeater", "comparator"):
            assert facing is not None
            yield "back", self.through(giver, place, facing.back)
            for way in AROUND:
                if way not in (facing, facing.back):
                    yield "side", self.at_side(place, giver, way)
        elif word == "piston":
            yield "power", max(self.through(giver, place, way) for way in Direction if way is not facing)
            if self.rules.power_above_piston:
                over = ABOVE.from_(place)
                yield "above", max(self.through(giver, over, way) for way in Direction if way is not BELOW)

    def at_side(self, place: At, giver: At, way: Direction) -> int:
        beside = way.from_(place)
        if self.word(beside) == "dust":
            return self.through(giver, place, way) if self.word(place) == "comparator" else 0
        may = ("repeater", "comparator") if self.word(place) == "repeater" else IN_FRONT
        return FULL if beside == giver and self.word(giver) in may and self.front(giver) == place else 0

    def behind(self, place: At) -> At:
        facing = self.things[place].facing
        assert facing is not None
        return facing.back.from_(place)

    def state_of(self, place: At, port: str) -> Inputs:
        """What a part feels that feels the state of what is at a place."""
        thing = self.things.get(place)
        if thing is None or (thing.word not in (*PARTS, "dust") and thing.when is None):
            return self.moved_there(place, port)
        if thing.word == "dust":
            reached = ((giver, lit.dust[place]) for giver, lit in self.powers.items() if place in lit.dust)
            return {(port, self.names[giver]): self.felt(giver, FULL - level) for giver, level in reached}
        if thing.when is not None:
            return {(port, thing.when.part): 0}
        return {(port, self.names[place]): 0}

    def moved_there(self, place: At, port: str) -> Inputs:
        """A place that a piston's head comes to, or a block that it moves leaves or comes to, changes with it (D1)."""
        found: Inputs = {}
        for at, thing in self.things.items():
            if thing.word != "piston" or thing.facing is None:
                continue
            head = thing.facing.from_(at)
            row = self.row(at, thing.facing)
            moves = bool(row)
            if place in (head, *row, *(thing.facing.from_(each) for each in row)):
                own = {port for giver in self.powers for port, level in self.ports(at, giver) if level}
                stuck = "power" not in own and "above" in own
                found[port, f"{self.names[at]}{'.block' if moves and not stuck else ''}"] = 0
        return found

    def row(self, piston: At, toward: Direction) -> list[At]:
        """What a piston pushes one place on, if it can and breaks nothing (M1, M7, M8)."""
        row: list[At] = []
        end = toward.from_(piston)
        while self.word(end) in PUSHED:
            row.append(end)
            end = toward.from_(end)
        blocked = len(row) > self.rules.push_limit or end[0] < 1
        refused = "detector" in map(self.word, row) and not self.rules.detectors_move
        breaks = self.word(end) not in ("air", "water") or any(self.stands_on(each) in row for each in self.things)
        return [] if blocked or refused or breaks else row

    def stands_on(self, place: At) -> At | None:
        """What holds the thing at a place, or what it lies on."""
        lies = self.word(place) in ("dust", "repeater", "comparator")
        return BELOW.from_(place) if lies else self.holder(place)

    def felt(self, giver: At, lost: int, reader: str = "detector") -> int:
        """Levels lost count where a comparator gives, or where one reads."""
        return lost if "comparator" in (self.word(giver), reader) else 0

    def inputs(self) -> dict[str, Inputs]:
        """What feeds each part."""
        found: dict[str, Inputs] = {}
        for place, thing in self.things.items():
            if thing.word not in PARTS:
                continue
            name = self.names[place]
            mine = found[name] = self.state_of(self.behind(place), "watched") if thing.word == "detector" else {}
            for giver in self.powers:
                for port, level in self.ports(place, giver):
                    key = (port, self.names[giver])
                    if level:
                        boolean = thing.word != "comparator"
                        lost = 0 if boolean else FULL - level
                        mine[key] = min(lost, mine.get(key, FULL))
            if thing.word == "piston":
                self._piston(place, mine, found)
            if "grows" in thing.flags:
                found[name] = {("grows", self.names[cell]): 0 for cell in self.cells_reaching(place)}
        return found

    def _piston(self, place: At, mine: Inputs, found: dict[str, Inputs]) -> None:
        """A piston without power of its own is stuck, and power above that it has itself is no more power (W9, D2)."""
        own = {source for port, source in mine if port == "power"}
        above = {source for port, source in mine if port == "above"}
        if above and not own:
            for source in above:
                mine["arming", source] = mine.pop(("above", source))
        else:
            found[f"{self.names[place]}.block"] = {("piston", self.names[place]): 0}
        if above - own:
            for other in self.things:
                if place in self.update_targets(other):
                    mine.update(self.state_of(other, "heard"))

    def cells_reaching(self, cell: At) -> list[At]:
        """The cells whose tries fall on a cell: one to the side, three down, one up (X3)."""
        return [
            other
            for other in self.things
            if self.word(other) == "sensor"
            and other != cell
            and -3 <= cell[0] - other[0] <= 1
            and abs(cell[1] - other[1]) <= 1
            and abs(cell[2] - other[2]) <= 1
        ]

    # Telling

    def update_targets(self, place: At) -> set[At]:
        """The places that get an update from a change at a place (W10)."""
        thing = self.things[place]
        if thing.word in ("dust", "torch"):
            steps = range(-2, 3)
            near = {(up, south, east) for up in steps for south in steps for east in steps}
            return {_moved(place, step) for step in near if 0 < sum(map(abs, step)) <= 2}
        changing = [place]
        if thing.word in ("lever", "button"):
            changing.append(self.holder(place) or place)
        elif thing.word in IN_FRONT:
            changing = [self.front(place) or place]
        elif thing.word == "piston":
            assert thing.facing is not None
            changing.append(thing.facing.from_(place))
            changing += [thing.facing.from_(each) for each in self.row(place, thing.facing)]
        elif thing.word not in ("lamp", "sensor") and thing.when is None:
            return set()
        told = {way.from_(each) for each in changing for way in Direction}
        return (told | ({changing[0]} if thing.word in IN_FRONT else set())) - {place}


def _moved(place: At, step: At) -> At:
    return (place[0] + step[0], place[1] + step[1], place[2] + step[2])
