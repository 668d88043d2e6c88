"""The moments of one gt (C2, M2), one event at a time; where the order is unknown, each event that may be next."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import TypeVar

from . import changes, strokes, water
from .things import Action, Refused
from .world import Call, Wait, World

Event = TypeVar("Event")


def begin_gt(world: World, actions: Iterable[Action]) -> World:
    """The world at the beginning of the next gt, with what is done from outside in it."""
    after = world.copy()
    after.gt += 1
    after.moment = order(after)[0]
    mine = [action for action in actions if action.gt == after.gt]
    after.todo = tuple((f"{'draw' if action.drawn else 'hand'} {action.name}", action.level) for action in mine)
    if after.gt == 0:
        changes.begin_at_start(after)
    return after


def order(world: World) -> list[str]:
    moments = ["waits", "draws", "starts", "landings"]
    return ["hands", *moments, "over"] if world.settings.outside_first else [*moments, "hands", "over"]


def advance(world: World) -> list[World | Refused]:
    """What one more event makes of a world: several where rules leave the order open (C5), and refusals."""
    if world.moment == "waits":
        return _waits(world)
    if world.moment == "starts":
        return _starts(world)
    if world.moment == "landings":
        return _landings(world)
    return _works(world, "hand" if world.moment == "hands" else "draw")


def _each(world: World, options: Sequence[Event], do: Callable[[World, Event], None]) -> list[World | Refused]:
    """A copy of the world for each event that may be next; the next moment if there is none."""
    if not options:
        moments = order(world)
        world.moment = moments[moments.index(world.moment) + 1]
        return [world]
    found: list[World | Refused] = []
    for option in options:
        after = world.copy()
        try:
            do(after, option)
            found.append(after)
        except Refused as why:
            found.append(why)
    return found


def _waits(world: World) -> list[World | Refused]:
    due = [wait for wait in world.waits if wait.due <= world.gt]
    first = min(((wait.grade, wait.batch) for wait in due), default=(0, 0))

    def do(after: World, wait: Wait) -> None:
        after.waits.remove(wait)
        if wait.what == "look":
            water.look(after, wait.place)
        elif wait.what == "land":
            strokes.land(after, next(one for one in after.landings if one.order == wait.batch))
        else:
            changes.act(after, wait.who)

    return _each(world, [wait for wait in due if (wait.grade, wait.batch) == first], do)


def _starts(world: World) -> list[World | Refused]:
    first = min((call.batch for call in world.calls), default=0)

    def do(after: World, call: Call) -> None:
        after.calls.remove(call)
        strokes.start(after, call)

    return _each(world, [call for call in world.calls if call.batch == first], do)


def _landings(world: World) -> list[World | Refused]:
    """Strokes land in the order of their starts (M13)."""
    due = [entry for entry in world.landings if entry.due <= world.gt]
    return _each(world, due[:1], strokes.land)


def _works(world: World, who: str) -> list[World | Refused]:
    """Outside actions of one moment, in every order; a lever that is there already stays."""

    def do(after: World, one: tuple[str, int]) -> None:
        after.todo = tuple(other for other in world.todo if other != one)
        name = one[0].partition(" ")[2]
        place = after.place_of(name)
        if place is not None and after.level[name] != one[1]:
            changes.change(after, place, one[1])

    return _each(world, [one for one in world.todo if one[0].startswith(who + " ")], do)
