"""What one change sets off at once: who is updated, which waits and calls begin, which lamps light (C3 to C5, W10)."""

from __future__ import annotations

from collections.abc import Iterable

from .power import Power, holder, input_of, locked, own_power, read, wanted
from .things import BACK, Place, Thing, beside, six, within_two
from .world import GOING_HOME, GOING_OUT, HOME, OUT, Call, Wait, World, row

LAST = 4
"""The class of all waits but those of repeaters (C3)."""


def told_by(place: Place, thing: Thing) -> set[Place]:
    """The places that a part tells when it changes (W10)."""
    if thing.kind in ("dust", "torch"):
        return within_two(place)
    if thing.kind == "lever":
        block = holder(place, thing)
        return {*six(place), *(six(block) if block else ())}
    if thing.kind in ("repeater", "detector"):
        front = beside(place, thing.facing)
        return {front, *six(front)}
    return set(six(place))


def change(world: World, place: Place, level: int) -> None:
    """A part changes its level, and all that follows at once follows."""
    before, thing = world.copy(), world.things[place]
    world.level[thing.name] = level
    settle(world, before, told_by(place, thing))


def settle(
    world: World, before: World, told: Iterable[Place], deaf: str = "", landed: frozenset[str] = frozenset()
) -> None:
    """One change is made: dust settles, and each part that reads something new, or stands at an updated place, looks.

    `deaf` is a piston that doesn't hear its own start (M5). `landed` are the things that land by this change.
    """
    batch = world.next_batch()
    was, now = read(before), read(world)
    ears = set(told)
    for place, level in now.dust.items():
        if was.dust.get(place) != level:
            ears |= within_two(place)
    for place, thing in sorted(world.things.items()):
        _call_part(world, now, place, thing, batch)
        if thing.kind == "detector":
            _feel(world, before, was, now, place, thing, batch, landed)
        if thing.kind == "piston" and thing.name != deaf and _hears(world, before, was, now, place, thing, ears):
            look(world, now, place, thing, batch)
    for place in sorted(world.water):
        if place in ears:
            begin_look(world, place, batch)
    for place, thing in sorted(world.things.items()):
        if thing.kind == "lamp" and not world.level[thing.name] and input_of(world, now, place):
            dark = world.copy()
            world.level[thing.name] = 15
            settle(world, dark, told_by(place, thing), deaf)


def begin_at_start(world: World) -> None:
    """In gt 0 every part is updated once (C6); stuck pistons and water are taken to be at rest."""
    batch, now = world.next_batch(), read(world)
    for place, thing in sorted(world.things.items()):
        _call_part(world, now, place, thing, batch)
        if thing.kind == "piston" and own_power(world, now, place):
            look(world, now, place, thing, batch)
        if thing.kind == "lamp":
            world.level[thing.name] = 15 if input_of(world, now, place) else 0


def begin(world: World, delay: int, grade: int, batch: int, what: str, who: str, place: Place = (0, 0, 0)) -> None:
    world.waits.append(Wait(world.gt + delay, grade, batch, what, who, place))


def begin_look(world: World, place: Place, batch: int) -> None:
    """Water that is updated looks later, one look at a time (Z2)."""
    who = f"water {place}"
    if not world.waiting(who):
        grade = LAST if world.settings.water_looks == "class_4" else LAST + 1
        begin(world, world.settings.water_step, grade, batch, "look", who, place)


def grade_of(world: World, place: Place, thing: Thing) -> int:
    """The class of a repeater's wait (C3)."""
    front = world.things.get(beside(place, thing.facing))
    if front is not None and front.kind == "repeater" and front.facing != BACK[thing.facing]:
        return 1
    return 2 if world.level[thing.name] else 3


def _call_part(world: World, power: Power, place: Place, thing: Thing, batch: int) -> None:
    """A part that disagrees with what it reads begins a wait, unless it waits (T2, R2, R5, O2, C4)."""
    if thing.kind not in ("torch", "repeater", "lamp") or world.waiting(thing.name):
        return
    on, fed = world.level[thing.name] > 0, input_of(world, power, place)
    if thing.kind == "torch" and on == fed:
        begin(world, 2, LAST, batch, "act", thing.name)
    if thing.kind == "repeater" and on != fed and not locked(world, place):
        begin(world, thing.delay, grade_of(world, place, thing), batch, "act", thing.name)
    if thing.kind == "lamp" and on and not fed:
        begin(world, 4, LAST, batch, "act", thing.name)


def act(world: World, name: str) -> None:
    """A part whose wait is over acts."""
    place = world.place_of(name)
    assert place is not None, f"{name} waits while it is in motion"
    thing, on, power = world.things[place], world.level[name] > 0, read(world)
    if thing.kind == "detector":
        if not on:
            begin(world, thing.pulse, LAST, world.next_batch(), "act", name)
        change(world, place, 0 if on else 15)
    elif thing.kind == "repeater":
        _repeater_acts(world, power, place, thing)
    elif thing.kind == "torch" and on == input_of(world, power, place):
        change(world, place, 0 if on else 15)
    elif thing.kind == "lamp" and not input_of(world, power, place):
        change(world, place, 0)


def _repeater_acts(world: World, power: Power, place: Place, thing: Thing) -> None:
    """Going on is a promise, going off is a question (R2); a wait that ends under a lock is spent (R5)."""
    if locked(world, place):
        return
    on, fed = world.level[thing.name] > 0, input_of(world, power, place)
    if on and fed:
        return
    if not on and not fed:
        begin(world, thing.delay, 2, world.next_batch(), "act", thing.name)
    change(world, place, 0 if on else 15)


def seen(world: World, power: Power, place: Place) -> tuple[object, ...]:
    """The state of what a detector watches (D1, M10, and water's level)."""
    thing = world.things.get(place)
    if thing is None:
        moving = world.in_motion().get(place)
        return ("", world.heads.get(place, ""), moving, world.water.get(place, ""))
    if thing.kind == "piston":
        state = world.state[thing.name]
        return (thing.name, "out" if state in (GOING_OUT, OUT) else state)
    return (thing.name, world.level.get(thing.name, 0), power.dust.get(place, 0))


def _feel(
    world: World,
    before: World,
    was: Power,
    now: Power,
    place: Place,
    thing: Thing,
    batch: int,
    landed: frozenset[str],
) -> None:
    """A detector feels a change of what it watches, and each landing of its own but one (D1, M10)."""
    watched = beside(place, BACK[thing.facing])
    if thing.name in landed:
        felt = thing.name not in world.silent
        world.silent -= {thing.name}
    else:
        felt = seen(before, was, watched) != seen(world, now, watched)
    if felt and not world.waiting(thing.name):
        begin(world, thing.delay, LAST, batch, "act", thing.name)


def _hears(world: World, before: World, was: Power, now: Power, place: Place, thing: Thing, ears: set[Place]) -> bool:
    """A piston hears the updates of its place, of its landed head's place, and any change of its own power."""
    if place in ears:
        return True
    if world.state[thing.name] == OUT and beside(place, thing.facing) in ears:
        return True
    stood = before.things.get(place)
    return stood == thing and own_power(before, was, place) != own_power(world, now, place)


def look(world: World, power: Power, place: Place, thing: Thing, batch: int) -> None:
    """A piston that is updated looks at its power, and may be called out or home (M2, M4, M6, M7)."""
    name, state, want = thing.name, world.state[thing.name], wanted(world, power, place)
    if state == GOING_HOME:
        return
    if world.settings.piston_lands == "wait" and state != HOME:
        if want:
            world.lost.pop(name, None)
        elif state == GOING_OUT:
            world.lost.setdefault(name, world.gt)
        if state == GOING_OUT:
            return
    call_out = state == HOME and want and row(world, place) is not None
    call_home = state != HOME and not want
    queued = any(call.who == name and call.out == call_out for call in world.calls)
    if (call_out or call_home) and not queued:
        world.calls.append(Call(batch, name, call_out))
