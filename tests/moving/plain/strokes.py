"""What pistons do: rows, starts out and home, landings (M1 to M11)."""

from __future__ import annotations

from dataclasses import replace

from . import changes
from .power import holder, read, wanted
from .things import TRAVEL, Place, Thing, beside, six
from .world import GOING_HOME, GOING_OUT, HOME, OUT, Call, Landing, Wait, World, row


def start(world: World, call: Call) -> None:
    """A called piston starts, if it is still called for and nothing is in its way (M2, M7)."""
    place = world.place_of(call.who)
    if place is None:
        return
    state, want = world.state[call.who], wanted(world, read(world), place)
    if call.out and state == HOME and want and row(world, place) is not None:
        _start_out(world, place)
    elif not call.out and state in (GOING_OUT, OUT) and not want:
        if state == GOING_OUT and world.started[call.who] == world.gt:
            raise world.refuse("M6", place)
        _start_home(world, place)


def _start_out(world: World, place: Place) -> None:
    before, thing = world.copy(), world.things[place]
    reach = row(world, place)
    assert reach is not None
    found, end = reach
    if end in world.things:
        raise world.refuse("M8", end)
    for at in found:
        _held_by(world, at, set(found))
    moved = tuple((_lift(world, at), beside(at, thing.facing)) for at in found)
    world.water.pop(end, None)
    world.state[thing.name] = GOING_OUT
    world.started[thing.name] = world.gt
    world.lost.pop(thing.name, None)
    head = beside(place, thing.facing)
    _in_motion(world, thing.name, True, moved, head)
    told = {*six(place), *six(head)}
    for at in found:
        told |= set(six(at))
    if end in before.water:
        told |= set(six(end))
    changes.settle(world, before, told, deaf=thing.name)


def _start_home(world: World, place: Place) -> None:
    before, thing = world.copy(), world.things[place]
    head = beside(place, thing.facing)
    ahead = beside(head, thing.facing)
    told, landed, let_go = set(six(place)), frozenset[str](), False
    if world.state[thing.name] == GOING_OUT:
        told |= set(six(head))
        own = _cut_short(world, place)
        if own:
            told |= {ahead, *six(ahead)}
            landed, let_go = frozenset({own}), True
    else:
        del world.heads[head]
        let_go = thing.name in world.lost and world.lost[thing.name] - world.started[thing.name] < TRAVEL
    moved: tuple[tuple[Thing, Place], ...] = ()
    if thing.sticky and not let_go and world.movable(ahead):
        _held_by(world, ahead, {ahead})
        moved = ((_lift(world, ahead), head),)
        told |= set(six(ahead))
    else:
        told |= set(six(head))
    world.state[thing.name] = GOING_HOME
    world.lost.pop(thing.name, None)
    _in_motion(world, thing.name, False, moved, None)
    changes.settle(world, before, told, landed=landed)


def _cut_short(world: World, place: Place) -> str:
    """A homeward start while the head is under way: it vanishes, and a sticky piston's own thing lands at once (M6)."""
    thing = world.things[place]
    entry = next(one for one in world.landings if one.piston == thing.name and one.out and one.head)
    world.landings.remove(entry)
    own, rest = "", entry.moved
    if thing.sticky and entry.moved:
        (block, at), *others = entry.moved
        world.things[at] = block
        own, rest = block.name, tuple(others)
    if rest:
        world.landings.append(replace(entry, moved=rest, head=None))
        world.landings.sort(key=lambda one: one.order)
    return own


def _held_by(world: World, place: Place, leaving: set[Place]) -> None:
    """What hangs or lies on a thing that moves breaks (M8)."""
    for near in six(place):
        thing = world.things.get(near)
        if thing is not None and near not in leaving and holder(near, thing) == place:
            raise world.refuse("M8", near)


def _lift(world: World, place: Place) -> Thing:
    """A thing leaves its place. Waits that it held are lost, and so is a pulse under way (M10, M11)."""
    thing = world.things.pop(place)
    world.waits = [wait for wait in world.waits if wait.who != thing.name]
    world.calls = [call for call in world.calls if call.who != thing.name]
    if thing.kind == "detector" and world.level[thing.name]:
        world.level[thing.name] = 0
        world.silent |= {thing.name}
    return thing


def _in_motion(
    world: World, piston: str, out: bool, moved: tuple[tuple[Thing, Place], ...], head: Place | None
) -> None:
    late = world.settings.piston_lands == "late"
    entry = Landing(world.gt + TRAVEL - late, world.next_batch(), piston, out, moved, head)
    world.landings.append(entry)
    if not late:
        world.waits.append(Wait(entry.due, changes.LAST, entry.order, "land", f"stroke of {piston}"))


def land(world: World, entry: Landing) -> None:
    """What is in motion by one start lands (M3, M5)."""
    before = world.copy()
    world.landings.remove(entry)
    told: set[Place] = set()
    for thing, at in entry.moved:
        world.things[at] = thing
        told |= {at, *six(at)}
    piston = world.place_of(entry.piston)
    if entry.out and entry.head and piston is not None:
        world.heads[entry.head] = entry.piston
        world.state[entry.piston] = OUT
        world.level[entry.piston] = 15
        told |= set(six(entry.head))
    if not entry.moved:
        world.lost.pop(entry.piston, None)
    if not entry.out and piston is not None:
        world.state[entry.piston] = HOME
        world.level[entry.piston] = 0
        told |= {piston, *six(piston)}
    changes.settle(world, before, told, landed=frozenset(thing.name for thing, _ in entry.moved))
