"""Random small boxes in which pistons matter: lines run through what they move, and what is around hears it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from random import Random

from .moments import advance, begin_gt
from .power import holder, own_power, read
from .printing import with_levels
from .runs import History, Open, Shot, one_history, with_water_at_rest
from .things import BACK, LEVEL_WAYS, SOURCE, STEPS, Action, Box, Place, Refused, Settings, Thing, beside, box
from .world import HOME, World, first_world

LARGEST: Place = (4, 5, 5)


@dataclass(frozen=True)
class Case:
    """A box at rest, and what is done to it from outside."""

    box: Box
    actions: tuple[Action, ...]
    until: int
    moves: bool
    """Whether something moves in one of its histories."""
    matters: bool
    """Whether dust or a part changes in a gt in which something comes to be in motion or lands."""


def cases(seed: int, count: int, settings: Settings | None = None, water: float = 0.2) -> list[Case]:
    """So many random cases; in most of them what moves matters."""
    chance, found = Random(seed), list[Case]()
    while len(found) < count:
        case = one_case(chance, settings or Settings(), chance.random() < water)
        if case is not None and (case.matters or chance.random() < (0.15 if case.moves else 0.03)):
            found.append(case)
    return found


def one_case(chance: Random, settings: Settings, wet: bool) -> Case | None:
    """A random box that comes to rest by itself with its pistons at home, or None."""
    made = one_box(chance, settings, wet)
    if made is None:
        return None
    actions, until = _actions(chance, made), 70
    run = one_history(made, actions, until, chance, settings)
    return Case(made, actions, until, moved(run), matters(run))


def one_box(chance: Random, settings: Settings, wet: bool) -> Box | None:
    return at_rest(Sketcher(chance, wet).box(), settings)


def moved(history: History) -> bool:
    return history.refused is not None or any(what == "motion" for shot in history.shots for _, what in shot.things)


def matters(history: History) -> bool:
    own = ("lever", "piston", "sensor")

    def seen(shot: Shot) -> object:
        return shot.dust, [level for name, level in shot.levels if not name.startswith(own)]

    pairs = zip(history.shots, history.shots[1:], strict=False)
    return any(one.things != other.things and seen(one) != seen(other) for one, other in pairs)


def at_rest(made: Box, settings: Settings, most: int = 60) -> Box | None:
    """The box with the levels to which it settles by itself; None if it doesn't, or if a piston moves first."""
    chance = Random(0)
    try:
        made = with_water_at_rest(made, settings)
        world = first_world(made, settings)
        for _ in range(most):
            world = begin_gt(world, ())
            while world.moment != "over":
                one = chance.choice(advance(world))
                if isinstance(one, Refused):
                    return None
                world = one
            if world.landings or world.calls:
                return None
            if not world.waits:
                return with_levels(made, world.level) if _rests(world) else None
    except (Refused, Open):
        return None
    return None


def _rests(world: World) -> bool:
    """Pistons at home have no power at their own places, so that all of them rest whoever tells them first."""
    power = read(world)
    pistons = [(place, thing) for place, thing in world.things.items() if thing.kind == "piston"]
    return all(world.state[thing.name] == HOME and not own_power(world, power, place) for place, thing in pistons)


def _actions(chance: Random, made: Box) -> tuple[Action, ...]:
    """Levers and cells are turned, sometimes two in one gt."""
    levels = {thing.name: thing.level for thing in made.things.values() if thing.kind in ("lever", "soil")}
    names, done, gt = sorted(levels), list[Action](), chance.randint(3, 8)
    while names and gt < 60:
        for name in chance.sample(names, min(len(names), 2 if chance.random() < 0.15 else 1)):
            levels[name] = 0 if levels[name] else (1 if name.startswith("sensor") else 15)
            done.append(Action(gt, name, levels[name]))
        gt += chance.choice([1, 2, 2, 3, 4, 5, 8, 13, 20])
    return tuple(done)


def _until(does: Callable[[], bool], most: int) -> None:
    """Tries until it works, so many times at most."""
    for _ in range(most):
        if does():
            return


class Sketcher:
    """Puts one random box together: floor, pistons with loads, lines through them, the rest by chance."""

    def __init__(self, chance: Random, wet: bool) -> None:
        self.chance, self.wet = chance, wet
        self.size: Place = (chance.randint(3, LARGEST[0]), chance.randint(3, LARGEST[1]), chance.randint(4, LARGEST[2]))
        self.things: dict[Place, Thing] = {}
        self.water: dict[Place, str] = {}
        self.clear: set[Place] = set()
        """Places that are to stay free."""

    def box(self) -> Box:
        for row in range(1, self.size[1] + 1):
            for column in range(1, self.size[2] + 1):
                if self.chance.random() < 0.97:
                    self.things[1, row, column] = Thing("glass" if self.chance.random() < 0.05 else "block")
        if self.wet:
            self._channel()
        for _ in range(self.chance.choice([1, 1, 2]) - self._pistons()):
            _until(self._piston, 8)
        for _ in range(self.chance.randint(4, 14)):
            self._anything(self._some_place())
        return box(self.size, self.things, self.water)

    def _inside(self, place: Place) -> bool:
        return all(1 <= at <= most for at, most in zip(place, self.size, strict=True))

    def _pistons(self) -> int:
        return sum(thing.kind == "piston" for thing in self.things.values())

    def _free(self, place: Place) -> bool:
        taken = place in self.things or place in self.clear or place in self.water
        return self._inside(place) and not taken

    def _some_place(self) -> Place:
        layer = self.chance.choices(range(2, self.size[0] + 1), [5, 2, 1][: self.size[0] - 1])[0]
        return layer, self.chance.randint(1, self.size[1]), self.chance.randint(1, self.size[2])

    def _put(self, place: Place, thing: Thing) -> bool:
        """Puts a thing where it can stand; whether it could."""
        held = holder(place, thing)
        if not self._free(place):
            return False
        if held is not None and self._free(held) and self.chance.random() < 0.7:
            self.things[held] = Thing("block")
        if held is not None:
            under = self.things.get(held)
            solid = under is not None and under.kind in ("block", "lamp", "soil")
            lies = thing.kind in ("dust", "repeater") and under is not None and under.kind in ("glass", "half")
            if not (solid or lies):
                return False
        self.things[place] = thing
        return True

    def _piston(self) -> bool:
        chance, place = self.chance, self._some_place()
        facing = chance.choice([*LEVEL_WAYS, *LEVEL_WAYS, *STEPS])
        head, out = beside(place, facing), beside(beside(place, facing), facing)
        if not (self._free(place) and self._free(head) and self._inside(out)):
            return False
        self.things[place] = Thing("piston", facing=facing, sticky=chance.random() < 0.7)
        if chance.random() < 0.9:
            kinds = ["block"] * 9 + ["glass", "half", "lamp", "soil", "detector"]
            self.things[head] = self._load(chance.choice(kinds))
        if out not in self.things and chance.random() < 0.85:
            self.clear.add(out)
        _until(lambda: self._call(place, facing), 4)
        for through in chance.choice([[head], [out], [head, out]]):
            self._line(through, facing)
        return True

    def _load(self, kind: str) -> Thing:
        if kind == "detector":
            return Thing(kind, facing=self.chance.choice(LEVEL_WAYS))
        return Thing(kind, top=True, level=1 if kind == "soil" else 0)

    def _line(self, through: Place, facing: str) -> None:
        """A line that goes through a place: what gives on one side, dust and what takes on the other."""
        way = self.chance.choice([one for one in LEVEL_WAYS if one not in (facing, BACK[facing])])
        before, behind = beside(through, BACK[way]), beside(through, way)
        if self.chance.random() < 0.6:
            self._put(before, Thing("repeater", facing=way, delay=self._delay()))
            kind = self.chance.choice(["lever", "lever", "dust", "torch"])
            on = kind == "torch" or (kind == "lever" and self.chance.random() < 0.7)
            self._put(beside(before, BACK[way]), Thing(kind, level=15 if on else 0))
        elif self.chance.random() < 0.4:
            self._put(before, Thing("torch", level=15))
            self._put(beside(before, "above"), Thing("block"))
        else:
            self._put(beside(through, "below"), Thing("torch", on=self.chance.choice(LEVEL_WAYS), level=15))
        at = behind
        for _ in range(self.chance.randint(1, 4)):
            kind = self.chance.choice(["dust", "dust", "dust", "repeater", "lamp"])
            if not self._put(at, Thing(kind, facing=way if kind == "repeater" else "", delay=self._delay())):
                break
            at = beside(at, self.chance.choice([way, way, *LEVEL_WAYS]))

    def _call(self, place: Place, facing: str) -> bool:
        """What powers a piston: a lever, a line, a detector, or a block beside the place above; whether it stands."""
        chance = self.chance
        way = chance.choice([one for one in LEVEL_WAYS if one != facing])
        side, how = beside(place, way), chance.random()
        if how < 0.4:
            return self._put(side, Thing("lever"))
        if how < 0.6:
            behind = Thing(chance.choice(["lever", "lever", "dust"]))
            self._put(side, Thing("repeater", facing=BACK[way], delay=self._delay()))
            return self._put(beside(side, way), behind)
        if how < 0.75:
            watched = chance.choice([Thing("lever"), Thing("soil", level=1), Thing("dust")])
            self._put(side, Thing("detector", facing=BACK[way]))
            return self._put(beside(side, way), watched)
        block = beside(beside(place, "above"), way)
        self._put(block, Thing("block"))
        self._put(beside(block, way), Thing("lever", on=BACK[way], level=chance.choice([0, 15])))
        return self._put(side, Thing("soil", level=1))

    def _channel(self) -> None:
        """A source at the end of a channel between walls, and around it what cuts the water and what feels it."""
        chance = self.chance
        way = chance.choice(LEVEL_WAYS)
        start = (2, chance.randint(1, self.size[1]), chance.randint(1, self.size[2]))
        lane = [start]
        while len(lane) < chance.randint(2, 5) and self._inside(beside(lane[-1], way)):
            lane.append(beside(lane[-1], way))
        for at in lane:
            self.things[beside(at, "below")] = Thing("block")
        self.water[lane[0]] = SOURCE
        self.clear |= set(lane)
        for at in lane:
            for side in LEVEL_WAYS:
                self._beside_water(beside(at, side), BACK[side])
        over = beside(chance.choice(lane), "above")
        if self._pistons() < 2 and chance.random() < 0.6 and self._free(over):
            self.things[over] = Thing("piston", facing="below", sticky=chance.random() < 0.3)
            _until(lambda: self._call(over, "below"), 4)

    def _beside_water(self, place: Place, water: str) -> None:
        """A wall, or a piston that can reach into the water, a detector that watches it, or a cell."""
        chance = self.chance
        if not self._free(place):
            return
        pistons = ["piston"] * 2 if self._pistons() < 2 else []
        kind = chance.choice(["block"] * 6 + ["glass", "detector", *pistons])
        facing = {"piston": chance.choice([water, water, BACK[water]]), "detector": BACK[water]}.get(kind, "")
        self.things[place] = Thing(kind, facing=facing, sticky=kind == "piston" and chance.random() < 0.5)
        if kind == "piston":
            _until(lambda: self._call(place, facing), 4)

    def _delay(self) -> int:
        return self.chance.choice([2, 2, 2, 4, 6, 8])

    def _anything(self, place: Place) -> None:
        chance = self.chance
        kind = chance.choices(
            ["dust", "block", "repeater", "torch", "lever", "lamp", "detector", "soil", "glass", "half"],
            [10, 4, 3, 3, 1, 2, 2, 1, 1, 1],
        )[0]
        thing = Thing(kind)
        if kind == "repeater":
            thing = Thing(kind, facing=chance.choice(LEVEL_WAYS), delay=self._delay())
        elif kind == "detector":
            thing = Thing(kind, facing=chance.choice(list(STEPS)), pulse=chance.choice([2, 2, 2, 4]))
        elif kind in ("torch", "lever"):
            sides = ["below", *LEVEL_WAYS] if kind == "torch" else ["below", *LEVEL_WAYS, "above"]
            thing = Thing(kind, on=chance.choice(sides), level=15 if kind == "torch" else 0)
        elif kind in ("soil", "half"):
            thing = self._load(kind)
        elif kind == "dust":
            thing = Thing(kind, dot=chance.random() < 0.1)
        self._put(place, thing)
