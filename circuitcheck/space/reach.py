"""What reaches dust along its run: which parts, and how many levels are lost on the way (rules P2, P4, W2, W8)."""

from __future__ import annotations

from collections.abc import Mapping

from circuitcheck.model.drawing import At
from circuitcheck.model.rules import CARRIES
from circuitcheck.space.drivers import DriverLookup, Sources
from circuitcheck.space.dust import Dusts
from circuitcheck.space.room import Answers, Room


class Reach:
    """Answers for one drawing; what has been computed is kept."""

    def __init__(self, room: Room, dusts: Dusts, giving: DriverLookup) -> None:
        self._drawing = room.drawing
        self._dusts = dusts
        self._giving = giving
        self._known: Answers[At, dict[str, int]] = room.answers()
        self._lit: Answers[At, list[str]] = room.answers()

    def dust(self, place: At) -> dict[str, int]:
        """The parts whose power reaches dust at a place, by name, with the levels lost on the way."""
        known = self._known.get(place)
        if known is None:
            # Of a run that nothing lights nobody needs to know how far it reaches.
            lit = self._giving.lights_run_of(place)
            reached = self._dusts.reached_from(place).items() if lit else ()
            found = strongest(*(dict.fromkeys(self.lit_by(dust), lost) for dust, lost in reached))
            known = self._known.keep(dict(sorted(found.items())), place)
        return known

    def into(self, sources: Sources) -> dict[str, int]:
        """The parts whose power comes in from some sources, with the levels lost on the way."""
        several = [{self._drawing.name(part): 0 for part in sources.parts}, *map(self.dust, sources.dust)]
        for block in sources.blocks:
            several.append(self.into(self._giving.into_block(block)))
        return strongest(*several)

    def lit_by(self, dust: At) -> list[str]:
        """The parts that light dust at a place, apart from other dust."""
        known = self._lit.get(dust)
        if known is None:
            lit = self._giving.into_dust(dust)
            strong = (part for block in lit.blocks for part in self._giving.strongly(block))
            known = self._lit.keep([self._drawing.name(part) for part in (*lit.parts, *strong)], dust)
        return known


def strongest(*several: Mapping[str, int]) -> dict[str, int]:
    """Of several ways of power to one place, for each part the one on which the least is lost."""
    best: dict[str, int] = {}
    for feeds in several:
        for name, lost in feeds.items():
            if lost < best.get(name, CARRIES):
                best[name] = lost
    return best
