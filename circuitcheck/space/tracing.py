"""The way that power takes in space from one part to another, place by place: for saying where a drawing differs."""

from __future__ import annotations

from circuitcheck.model.block_type import Reads
from circuitcheck.model.drawing import At, Drawing
from circuitcheck.model.rules import RuleSet
from circuitcheck.space.drivers import DriverLookup, Sources
from circuitcheck.space.dust import Dusts
from circuitcheck.space.room import Room


def way(drawing: Drawing, rules: RuleSet, source: At, reader: At) -> list[At]:
    """The places of a shortest way of power from one place to another, both included; empty if none comes."""
    room = Room(drawing, rules)
    dusts = Dusts(room)
    giving = DriverLookup(room, dusts)
    came_from: dict[At, At | None] = {reader: None}
    queue = [reader]
    for place in queue:
        if place == source:
            found = [place]
            while (before := came_from[found[-1]]) is not None:
                found.append(before)
            return found
        for feeder in _feeders(room, dusts, giving, place, place == reader):
            if feeder not in came_from:
                came_from[feeder] = place
                queue.append(feeder)
    return []


def _feeders(room: Room, dusts: Dusts, giving: DriverLookup, place: At, first: bool) -> list[At]:
    """What gives power to a place directly; a part passes on nothing, so that only the last is looked behind."""
    thing = room.at(place)
    if thing is None:
        return []
    if thing.is_dust:
        lit = giving.into_dust(place)
        return [*(join.other for join in dusts.joins(place) if join.runs_here), *lit.parts, *lit.blocks]
    if thing.block_type.solid:
        powered = giving.into_block(place)
        as_block = first and any(each.how is Reads.AS_BLOCK for each in thing.block_type.reads)
        return list(_flat(powered | giving.into_lamp(place) if as_block else powered))
    if not first:
        return []
    return [each for read in thing.block_type.reads for each in _flat(giving.read(place, thing, read.how))]


def _flat(sources: Sources) -> tuple[At, ...]:
    return (*sources.parts, *sources.dust, *sources.blocks)
