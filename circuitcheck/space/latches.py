"""Which torches of a drawing are the two sides of a latch: their names say so, and each holds the other (rule L1)."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from circuitcheck.model.making import Options, made
from circuitcheck.model.parts.base import Part


def latches(parts: Iterable[Part]) -> Iterator[Part]:
    """A latch for each two torches that its author calls NAME and NAME.inverse, if each holds the other."""
    by_name = {part.name: part for part in parts}
    for side in by_name.values():
        inverse = by_name.get(f"{side.name}.inverse")
        if inverse is not None and _two_sides(side, inverse) and why_no_latch(by_name, side.name) is None:
            set_by = tuple(each for each in _feeding(by_name, inverse) if each != side.name)
            reset_by = tuple(each for each in _feeding(by_name, side) if each != inverse.name)
            options = Options(sources={"set": set_by, "reset": reset_by}, start=side.start)
            yield next(part for part in made("latch", side.name, options, side.span) if part.latch is not None)


def why_no_latch(by_name: Mapping[str, Part], name: str) -> tuple[str, str] | None:
    """That two torches called as the sides of a latch do not hold each other, and how to fix it; None of any others.

    Of two that do hold each other it is None too.
    """
    side, inverse = by_name.get(name), by_name.get(f"{name}.inverse")
    if side is None or inverse is None or not _two_sides(side, inverse):
        return None
    missing = [
        f"'{one.name}' does not reach the block of '{other.name}'"
        for one, other in ((side, inverse), (inverse, side))
        if one.name not in _feeding(by_name, other)
    ]
    if not missing:
        return None
    hint = "lead the dust of each torch into the block of the other, or give them other names"
    return f"'{name}' and '{inverse.name}' are not a latch: {' and '.join(missing)}", hint


def _two_sides(side: Part, inverse: Part) -> bool:
    """Whether two parts could be a latch: each goes off when the other comes on."""
    return side.inverter and inverse.inverter


def _feeding(by_name: Mapping[str, Part], torch: Part) -> list[str]:
    """The parts with a behaviour that power a torch's block."""
    return list(_devices(by_name, torch.powers))


def _devices(by_name: Mapping[str, Part], feeds: Iterable[str]) -> dict[str, None]:
    found: dict[str, None] = {}
    for name in feeds:
        part = by_name[name]
        found |= _devices(by_name, part.powers) if not part.behaves else {name: None}
    return found
