"""The repeaters that were put into a circuit while it was laid out, or that might help where it was not."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from circuitcheck.report.lines import Line, safe, wrapped

if TYPE_CHECKING:
    from circuitcheck.placing.renewed_text import Renewed
    from circuitcheck.placing.smallest_box import Found

MOST_NAMED = 4
"""How many readers of a repeater, and how many ways, are named."""
MAY = "hint: with --add-repeaters ways of dust may have repeaters of 1t, if what holds still holds; too long it was"


def repeater_lines(found: Found, width: int) -> Iterator[Line]:
    """Each repeater that was put in, with the delay that it is; what may have one where nothing was found without."""
    for each in found.repeaters:
        sources = " and ".join(f"'{name}'" for name in each.sources)
        readers = _some([f"'{name}'" for name in each.readers])
        later = in_a_row(each, found.repeaters)
        said = f"the way from {sources} to {readers} has a repeater more, '{each.name}': 1t later"
        yield from wrapped(
            safe(f"{said}{f', {later}t with those before it' if later > 1 else ''}"), width, "  ", "    "
        )
    if found.kept_out:
        times = "once" if found.kept_out == 1 else f"{found.kept_out} times"
        yield from wrapped(f"{times} no repeater was put in, as something would not hold any more", width, "  ", "    ")
    if found.drawing is None and found.too_long and not (found.repeaters or found.kept_out):
        yield from wrapped(safe(f"{MAY} {_some(found.too_long)}"), width, "  ", "    ")


def in_a_row(repeater: Renewed, put_in: Sequence[Renewed]) -> int:
    """How many of those put in power passes one after the other, up to this one and with it, where they are most."""
    before = [each for each in put_in if each.name in repeater.sources or repeater.name in each.readers]
    return 1 + max((in_a_row(each, put_in) for each in before), default=0)


def _some(names: list[str]) -> str:
    """Some of several, and how many more there are."""
    more = len(names) - MOST_NAMED
    return ", ".join(names[:MOST_NAMED]) + (f" and {more} more" if more > 0 else "")
