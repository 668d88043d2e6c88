"""What is asked of a layout and can't be: told before anything is searched.

Whether all things find a place each is Hall's condition (P. Hall, "On representatives of subsets", 1935), answered by a
largest matching (J. Hopcroft and R. Karp, 1973).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import replace
from itertools import islice

from circuitcheck.model.drawing import At, Direction
from circuitcheck.placing.asked_places import FIRST, Spot
from circuitcheck.placing.bounds import LYING, Bounds, least_places, least_sides, places_of
from circuitcheck.placing.grid import LEVER
from circuitcheck.placing.problem import CantPlace, Problem

NAMED = 8
"""How many names, or places, a message has at most."""


def refuse_contradictions(problem: Problem, bounds: Bounds, by_hand: bool) -> None:
    """Raises CantPlace where what is asked contradicts itself, the bounds, or what things need to stand."""
    for name, code in zip(problem.names, problem.codes, strict=True):
        spot = problem.asked.spots.get(name)
        if spot is not None:
            _refuse(problem, bounds, name, code, spot)
            if by_hand and code == LEVER and _inside(spot, least_sides(problem)):
                hint = "ask for a side, or let it stand anywhere with --inputs-anywhere"
                raise CantPlace(f"'{name}' is to stand {spot}, where no hand comes to it from outside", hint)
    for spot, many in Counter(problem.asked.spots.values()).items():
        if many > (room := spot.room(bounds)):
            names = [f"'{name}'" for name, each in problem.asked.spots.items() if each == spot]
            raise CantPlace(
                f"{', '.join(names[:NAMED])} are to stand {spot}, where there is room for {room} only",
                "ask for other places",
            )
    _refuse_crowds(problem, bounds)
    if problem.asked.free:
        _refuse_what_stays(problem)
        left, needed = places_of(bounds) - len(problem.asked.left_out(bounds)), least_places(problem)
        if left < needed:
            raise CantPlace(f"what is kept free leaves {left} places, and {needed} are needed", "keep less free")


def _refuse(problem: Problem, bounds: Bounds, name: str, code: int, spot: Spot) -> None:
    if name in problem.staying.parts:
        raise CantPlace(f"'{name}' is to stand {spot}, and stays as it is drawn", "ask for one of them")
    if spot.opposite_sides:
        raise CantPlace(f"'{name}' is to stand {spot}: on opposite sides at once", "ask for one of them")
    if spot.is_empty:
        raise CantPlace(f"'{name}' is to stand {spot}, which is nowhere", "ask for less at once")
    if spot.room(bounds) == 0:
        size = f"{bounds.columns}x{bounds.rows}x{bounds.layers}"
        raise CantPlace(f"'{name}' is to stand {spot}, outside of a box of {size}", "allow a larger box")
    if code in LYING and (Direction.BELOW in spot.sides or spot.high[0] == 1):
        raise CantPlace(f"'{name}' can't stand {spot}: nothing is below it to lie on", "ask for a higher layer")
    if any(spot.within(free) for free in problem.asked.free):
        raise CantPlace(f"'{name}' is to stand {spot}, which is kept free", "keep less free")


def _refuse_what_stays(problem: Problem) -> None:
    """Slices are only ever taken out before what stays: where all places up to its own are kept free, it has none."""
    for at, thing in problem.staying.places:
        here = Spot(low=at, high=at)
        if thing is not None and any(replace(here, low=FIRST).within(free) for free in problem.asked.free):
            raise CantPlace(f"what stands {here} stays as it is drawn, where it is kept free", "keep less free")


def _refuse_crowds(problem: Problem, bounds: Bounds) -> None:
    """Raises CantPlace where some things are more than the places that they are asked to stand at, all in all."""
    asked = problem.asked.spots
    lying = {name for name, code in zip(problem.names, problem.codes, strict=True) if code in LYING}
    free = problem.asked.left_out(bounds)
    may = {}
    for name, spot in asked.items():
        open_ = (at for at in spot.places_in_any(bounds) if at not in free and (at[0] > 1 or name not in lying))
        places = set(islice(open_, len(asked)))
        if len(places) < len(asked):  # of as many, one is left whatever else stands
            may[name] = places
    if crowd := _crowd(may):
        names = ", ".join(f"'{name}'" for name in crowd[:NAMED])
        left = sorted({at for name in crowd for at in may[name]})
        many = "no place is" if not left else "1 place only is" if len(left) == 1 else f"{len(left)} places only are"
        where = "; ".join(str(Spot(low=at, high=at)) for at in left[:NAMED])
        raise CantPlace(f"{many} where {names} may stand as asked{where and ': '}{where}", "ask for other places")


def _crowd(may: Mapping[str, set[At]]) -> list[str]:
    """All things that may stand at fewer places than they are; none where each finds a place of its own.

    They are the same for each largest matching (A. L. Dulmage and N. S. Mendelsohn, 1958).
    """
    if not may:
        return []
    import networkx  # few calls ask for places

    graph = networkx.Graph((name, at) for name, places in may.items() for at in places)
    graph.add_nodes_from(may)
    matched = networkx.bipartite.hopcroft_karp_matching(graph, may)
    crowd = [name for name in may if name not in matched]
    for name in crowd:  # it grows: whoever has a place that one of them may have
        crowd += [matched[at] for at in may[name] if matched[at] not in crowd]
    return [name for name in may if name in crowd]


def _inside(spot: Spot, least: At) -> bool:
    """Whether no place of a spot lies on a side or on top of any box that has all places that are counted."""
    if spot.sides - {Direction.BELOW} or 1 in spot.low[1:]:
        return False
    return all(high < needed for high, needed in zip(spot.high, least, strict=True))
