"""The moments of one gt (C2, M2), one event at a time; where the order is unknown, each event that may be next."""

from __future__ import annotations

from collections.abc import Iterable

from . import changes, strokes, water
from .things import Action
from .world import World


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


def advance(world: World) -> list[World]:
    """What one more event makes of a world; several worlds where rules leave the order open (C5).

    Raises Refused where the rules refuse; then no order of this world goes on.
    """
    if world.moment == "waits":
        return _waits(world)
    if world.moment == "starts":
        return _starts(world)
    if world.moment == "landings":
        after = world.copy()
        return [after] if strokes.land_due(after) else [_next(world)]
    return _works(world, "hand" if world.moment == "hands" else "draw")


def _next(world: World) -> World:
    after = world.copy()
    moments = order(world)
    after.moment = moments[moments.index(world.moment) + 1]
    return after


def _waits(world: World) -> list[World]:
    due = [wait for wait in world.waits if wait.due <= world.gt]
    if not due:
        return [_next(world)]
    first = min((wait.grade, wait.batch) for wait in due)
    found = []
    for wait in due:
        if (wait.grade, wait.batch) != first:
            continue
        after = world.copy()
        after.waits.remove(wait)
        if wait.what == "look":
            water.look(after, wait.place)
        elif wait.what == "land":
            strokes.land(after, next(one for one in after.landings if one.order == wait.batch))
        else:
            changes.act(after, wait.who)
        found.append(after)
    return found


def _starts(world: World) -> list[World]:
    if not world.calls:
        return [_next(world)]
    first = min(call.batch for call in world.calls)
    found = []
    for call in world.calls:
        if call.batch == first:
            after = world.copy()
            after.calls.remove(call)
            strokes.start(after, call)
            found.append(after)
    return found


def _works(world: World, who: str) -> list[World]:
    """Outside actions of one moment, in every order; a lever that is there already stays."""
    mine = [one for one in world.todo if one[0].startswith(who + " ")]
    if not mine:
        return [_next(world)]
    found = []
    for one in mine:
        after = world.copy()
        after.todo = tuple(other for other in world.todo if other != one)
        name = one[0].partition(" ")[2]
        place = after.place_of(name)
        if place is not None and after.level[name] != one[1]:
            changes.change(after, place, one[1])
        found.append(after)
    return found
