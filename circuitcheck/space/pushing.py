"""What becomes of a thing that a piston pushes (rule M1), as far as a run follows it."""

from __future__ import annotations

from circuitcheck.model.block_type import Pushed
from circuitcheck.model.drawing import Thing
from circuitcheck.space.occupied import is_movable


def is_moved(thing: Thing) -> bool:
    """Whether a thing is read as moved; what works the way it faces is not, as it would work from elsewhere."""
    return is_movable(thing) and thing.facing is None


def stays(thing: Thing) -> bool:
    """Whether a thing is read neither as moved nor as broken."""
    return thing.block_type.pushed is Pushed.MOVES and not is_moved(thing)


def gives_way(thing: Thing) -> bool:
    """Whether a thing makes room for what is moved there."""
    return thing.block_type.pushed is Pushed.GIVES_WAY
