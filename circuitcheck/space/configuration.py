"""Where everything that can move is at one moment: the configuration of a drawing (rules M1, M4).

A thing is known by its *home*, the place at which it is drawn, wherever it is by now; so is a piston. A configuration
holds only what is not as it is drawn: it is small, frozen and hashable, and the empty one is the drawing itself.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import IntEnum
from typing import NamedTuple

from circuitcheck.model.drawing import At


class Phase(IntEnum):
    """What a piston is doing."""

    HOME = 0
    GOING_OUT = 1
    OUT = 2
    GOING_HOME = 3


class Stroke(NamedTuple):
    """One stroke of a piston, out or home. What it moves may land later than the piston itself (rule M6)."""

    piston: At
    out: bool


class Around(NamedTuple):
    """What else comes and goes in a drawing: places whose drawn water or leaf is not there, and places that are wet."""

    absent: frozenset[At] = frozenset()
    wet: frozenset[At] = frozenset()


AS_DRAWN = Around()


@dataclass(frozen=True, slots=True)
class Configuration:
    """Pistons that are not home, things that are not at home, and things in motion; each sorted, by their homes."""

    phases: tuple[tuple[At, Phase], ...] = ()
    places: tuple[tuple[At, At], ...] = ()
    """Where each thing is that is not at home; of one in motion, the place that it moves to."""
    moving: tuple[tuple[At, Stroke], ...] = ()
    """The stroke to which each thing in motion belongs."""

    def phase(self, piston: At) -> Phase:
        """What a piston is doing."""
        return next((phase for home, phase in self.phases if home == piston), Phase.HOME)

    def place(self, thing: At) -> At:
        """Where a thing is, or where it moves to."""
        return next((place for home, place in self.places if home == thing), thing)

    def stroke_of(self, thing: At) -> Stroke | None:
        """The stroke that moves a thing just now; None if it stands."""
        return next((stroke for home, stroke in self.moving if home == thing), None)

    @property
    def under_way(self) -> tuple[Stroke, ...]:
        """Every stroke that has something left to land: a head or piston under way, or a thing in motion."""
        found = {stroke for _, stroke in self.moving}
        found |= {Stroke(home, phase is Phase.GOING_OUT) for home, phase in self.phases if phase is not Phase.OUT}
        return tuple(sorted(found))

    def lands_out(self, piston: At) -> bool:
        """Whether a piston's stroke out has something left to land: the head, or what it moves (rule M6)."""
        return Stroke(piston, True) in self.under_way

    def but(
        self,
        phases: Mapping[At, Phase] | None = None,
        places: Mapping[At, At] | None = None,
        moving: Mapping[At, Stroke | None] | None = None,
    ) -> Configuration:
        """The configuration with some of it otherwise."""
        phase = {**dict(self.phases), **(phases or {})}
        place = {**dict(self.places), **(places or {})}
        stroke = {**dict(self.moving), **(moving or {})}
        return Configuration(
            tuple(sorted((home, each) for home, each in phase.items() if each is not Phase.HOME)),
            tuple(sorted((home, each) for home, each in place.items() if each != home)),
            tuple(sorted((home, each) for home, each in stroke.items() if each is not None)),
        )


AT_HOME = Configuration()
"""Everything as it is drawn."""
