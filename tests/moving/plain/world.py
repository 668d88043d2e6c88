"""A box at one moment: what stands where, what is in motion, levels, waits, calls and water."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from .things import BREAKS, MOVABLE, SOLID, Box, Place, Refused, Settings, Thing, Water, beside

HOME, GOING_OUT, OUT, GOING_HOME = "home", "going out", "out", "going home"


@dataclass(frozen=True)
class Wait:
    """What ends in gt `due`, in its class (C3); `batch` numbers the change that began it (C5)."""

    due: int
    grade: int
    batch: int
    what: str
    who: str
    """The name of a part; for water its place, written."""
    place: Place = (0, 0, 0)


@dataclass(frozen=True)
class Call:
    """A piston that is to start in moment 3."""

    batch: int
    who: str
    out: bool


@dataclass(frozen=True)
class Landing:
    """What is in motion by one start, and when it lands. `head` is where a head lands."""

    due: int
    order: int
    piston: str
    out: bool
    moved: tuple[tuple[Thing, Place], ...]
    head: Place | None

    def places(self) -> list[Place]:
        return [place for _, place in self.moved] + ([self.head] if self.head else [])


@dataclass
class World:
    """Copied before each change; the copies of one gt are the orders that can be."""

    box: Box
    settings: Settings
    gt: int = -1
    moment: str = "over"
    todo: tuple[tuple[str, int], ...] = ()
    things: dict[Place, Thing] = field(default_factory=dict)
    heads: dict[Place, str] = field(default_factory=dict)
    water: dict[Place, Water] = field(default_factory=dict)
    level: dict[str, int] = field(default_factory=dict)
    state: dict[str, str] = field(default_factory=dict)
    started: dict[str, int] = field(default_factory=dict)
    lost: dict[str, int] = field(default_factory=dict)
    silent: frozenset[str] = frozenset()
    """Detectors that were moved in their pulse: their landing gives none (M10)."""
    waits: list[Wait] = field(default_factory=list)
    calls: list[Call] = field(default_factory=list)
    landings: list[Landing] = field(default_factory=list)
    batch: int = 0

    def copy(self) -> World:
        return replace(
            self,
            things=dict(self.things),
            heads=dict(self.heads),
            water=dict(self.water),
            level=dict(self.level),
            state=dict(self.state),
            started=dict(self.started),
            lost=dict(self.lost),
            waits=list(self.waits),
            calls=list(self.calls),
            landings=list(self.landings),
        )

    def next_batch(self) -> int:
        self.batch += 1
        return self.batch

    def place_of(self, name: str) -> Place | None:
        """Where a thing stands; None while it is in motion."""
        return next((place for place, thing in self.things.items() if thing.name == name), None)

    def in_motion(self) -> dict[Place, tuple[str, bool]]:
        """Places in motion, but for those of pistons themselves (M4); by which piston, and whether on its way out."""
        return {place: (one.piston, one.out) for one in self.landings for place in one.places()}

    def solid(self, place: Place) -> bool:
        return place in self.things and self.things[place].kind in SOLID

    def free(self, place: Place) -> bool:
        """Nothing stands there, and nothing is in motion there; water may be."""
        return place not in self.things and place not in self.heads and place not in self.in_motion()

    def movable(self, place: Place) -> bool:
        if place not in self.things or self.things[place].kind not in MOVABLE:
            return False
        thing = self.things[place]
        if thing.fixed:
            return False
        return thing.kind != "piston" or self.state[thing.name] == HOME

    def waiting(self, name: str) -> bool:
        return any(wait.who == name for wait in self.waits)

    def refuse(self, rule: str, place: Place) -> Refused:
        return Refused(rule, place, self.gt)

    def _counts(self, name: str) -> bool:
        """Whether it still matters when a piston started."""
        return self.state[name] == GOING_OUT or name in self.lost

    def key(self) -> tuple[object, ...]:
        """What tells two worlds apart: of waits and calls only their order, not the numbers of their changes."""
        return (
            self.gt,
            self.moment,
            tuple(sorted(self.todo)),
            frozenset((place, thing.name) for place, thing in self.things.items()),
            tuple(sorted(self.heads.items())),
            tuple(sorted(self.water.items())),
            tuple(sorted(self.level.items())),
            tuple(sorted(self.state.items())),
            tuple(sorted((name, gt) for name, gt in self.started.items() if self._counts(name))),
            tuple(sorted(self.lost.items())),
            tuple(sorted(self.silent)),
            tuple(sorted((w.due, w.grade, rank, w.what, w.who) for w, rank in ranked(self.waits))),
            tuple(sorted((c.batch, c.who, c.out) for c in relabelled(self.calls))),
            tuple((one.due, one.piston, one.out, one.moved, one.head) for one in self.landings),
        )


def row(world: World, piston: Place) -> tuple[list[Place], Place] | None:
    """The places whose things an outward stroke moves, nearest first, and the place that ends it; None if blocked."""
    way = world.things[piston].facing
    at, found = beside(piston, way), []
    while world.movable(at):
        found.append(at)
        at = beside(at, way)
    if len(found) > world.settings.push_limit or at[0] < 1:
        return None
    breaks = at in world.things and world.things[at].kind in BREAKS
    return (found, at) if breaks or world.free(at) else None


def ranked(waits: list[Wait]) -> list[tuple[Wait, int]]:
    """Each wait with the rank of its change among waits that end with it in its class."""
    batches: dict[tuple[int, int], list[int]] = {}
    for wait in waits:
        batches.setdefault((wait.due, wait.grade), []).append(wait.batch)
    order = {group: sorted(set(found)) for group, found in batches.items()}
    return [(wait, order[wait.due, wait.grade].index(wait.batch)) for wait in waits]


def relabelled(calls: list[Call]) -> list[Call]:
    order = sorted({call.batch for call in calls})
    return [replace(call, batch=order.index(call.batch)) for call in calls]


def first_world(box: Box, settings: Settings) -> World:
    """The box before gt 0, nothing told yet."""
    pistons = {thing.name: HOME for thing in box.things.values() if thing.kind == "piston"}
    levels = {thing.name: thing.level for thing in box.things.values() if thing.kind not in _NO_LEVEL}
    return World(box, settings, things=dict(box.things), water=dict(box.water), level=levels, state=pistons)


_NO_LEVEL = frozenset({"block", "glass", "half", "dust"})
