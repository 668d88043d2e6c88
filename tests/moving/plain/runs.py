"""All histories of a box: gt by gt, over every order that the rules leave open."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from random import Random

from .changes import begin_look
from .moments import advance, begin_gt
from .power import read
from .things import Action, Box, Place, Refused, Settings
from .water import look
from .world import World, first_world


@dataclass(frozen=True)
class Shot:
    """What shows at the end of a gt.

    `levels`: name of each part to its level (a piston's changes at its landings; a lamp is 15 while lit).
    `dust`: place to level. `things`: place to the name of what stands there, "head of NAME", or "motion".
    `water`: place to its level.
    """

    levels: tuple[tuple[str, int], ...]
    dust: tuple[tuple[Place, int], ...]
    things: tuple[tuple[Place, str], ...]
    water: tuple[tuple[Place, str], ...]

    def level(self, name: str) -> int:
        return dict(self.levels)[name]

    def dust_at(self, place: Place) -> int:
        return dict(self.dust)[place]

    def at(self, place: Place) -> str:
        """What stands at a place; empty for air and water."""
        return dict(self.things).get(place, "")

    def water_at(self, place: Place) -> str:
        """The level of water there; empty where it is dry."""
        return dict(self.water).get(place, "")


@dataclass(frozen=True)
class History:
    """One way that a box can go: what shows at the end of gt 0, 1, …, and where the rules refused to go on, if so."""

    shots: tuple[Shot, ...]
    refused: tuple[str, Place, int] | None = None

    def where(self, seen: Callable[[Shot], object]) -> list[tuple[int, object]]:
        """Each gt in which what is asked changes, with its new value; gt 0 as well."""
        found: list[tuple[int, object]] = []
        for gt, shot in enumerate(self.shots):
            value = seen(shot)
            if not found or found[-1][1] != value:
                found.append((gt, value))
        return found


class Open(Exception):
    """There are more orders than the bound."""


def shot(world: World) -> Shot:
    places = {place: thing.name for place, thing in world.things.items()}
    places |= {place: f"head of {name}" for place, name in world.heads.items()}
    places |= dict.fromkeys(world.in_motion(), "motion")
    return Shot(
        tuple(sorted(world.level.items())),
        tuple(sorted(read(world).dust.items())),
        tuple(sorted(places.items())),
        tuple(sorted(world.water.items())),
    )


def gt_after(
    worlds: Iterable[World], actions: Sequence[Action], bound: int = 2000
) -> tuple[list[World], list[Refused]]:
    """Every world at the end of the next gt, and every refusal on the way. Like worlds run together."""
    going = [begin_gt(world, actions) for world in worlds]
    done: dict[tuple[object, ...], World] = {}
    met: set[tuple[object, ...]] = set()
    refused = []
    while going:
        world = going.pop()
        if world.moment == "over":
            done[world.key()] = world
            continue
        for one in advance(world):
            if isinstance(one, Refused):
                refused.append(one)
                continue
            if one is world:
                going.append(one)
                continue
            key = one.key()
            if key not in met:
                met.add(key)
                going.append(one)
        if len(met) > bound:
            raise Open(f"more than {bound} worlds in {world.gt}gt")
    return list(done.values()), refused


def histories(
    box: Box, actions: Sequence[Action], until: int, settings: Settings | None = None, bound: int = 2000
) -> set[History]:
    """The set of all histories from gt 0 to gt `until`; raises Open past the bound."""
    start = first_world(box, settings or Settings())
    going: list[tuple[World, set[tuple[Shot, ...]]]] = [(start, {()})]
    ended: set[History] = set()
    for _ in range(until + 1):
        following: dict[tuple[object, ...], tuple[World, set[tuple[Shot, ...]]]] = {}
        for world, pasts in going:
            worlds, refused = gt_after([world], actions, bound)
            ended |= {History(past, (why.rule, why.place, why.gt)) for why in refused for past in pasts}
            for after in worlds:
                now = shot(after)
                kept = following.setdefault(after.key(), (after, set()))
                kept[1].update((*past, now) for past in pasts)
        going = list(following.values())
        if sum(len(pasts) for _, pasts in going) + len(ended) > bound:
            raise Open(f"more than {bound} histories")
    return ended | {History(past) for _, pasts in going for past in pasts}


def one_history(
    box: Box, actions: Sequence[Action], until: int, chance: Random, settings: Settings | None = None
) -> History:
    """One history, each unknown order drawn by chance: for boxes with more orders than can be followed."""
    world, shots = first_world(box, settings or Settings()), list[Shot]()
    for _ in range(until + 1):
        world = begin_gt(world, actions)
        while world.moment != "over":
            one = chance.choice(advance(world))
            if isinstance(one, Refused):
                return History(tuple(shots), (one.rule, one.place, one.gt))
            world = one
        shots.append(shot(world))
    return History(tuple(shots))


def only(found: set[History]) -> History:
    """The one history, if there is one."""
    if len(found) != 1:
        raise AssertionError(f"{len(found)} histories")
    return next(iter(found))


class Follower:
    """Follows a box beside another engine: of all orders, those that show what the other shows."""

    def __init__(self, box: Box, settings: Settings | None = None, bound: int = 2000) -> None:
        self.worlds = [first_world(box, settings or Settings())]
        self.refused: list[Refused] = []
        self.bound = bound

    def step(self, actions: Sequence[Action]) -> set[Shot]:
        """One more gt: all that may show at its end."""
        self.worlds, self.refused = gt_after(self.worlds, actions, self.bound)
        return {shot(world) for world in self.worlds}

    def keep(self, fits: Callable[[Shot], bool]) -> bool:
        """Leaves the orders that show what fits; whether any is left."""
        self.worlds = [world for world in self.worlds if fits(shot(world))]
        return bool(self.worlds)


def with_water_at_rest(box: Box, settings: Settings | None = None, most: int = 1000) -> Box:
    """The box with its water spread until nothing changes, before gt 0: things stand still meanwhile."""
    world = first_world(box, settings or Settings())
    world.gt = 0
    for place in sorted(world.water):
        begin_look(world, place, world.next_batch())
    for _ in range(most):
        looks = sorted((w for w in world.waits if w.what == "look"), key=lambda w: (w.due, w.batch))
        if not looks:
            return replace(box, water=dict(world.water))
        world.gt = looks[0].due
        world.waits = looks[1:]
        look(world, looks[0].place)
        world.calls = []
    raise Open("water doesn't come to rest")
