"""What is wrong still with a layout, in words: for whoever is shown the best one where none was found."""

from __future__ import annotations

from collections.abc import Iterator

from circuitcheck.placing.box import Box
from circuitcheck.placing.fast_reading import read
from circuitcheck.placing.grid import COST, HAVE, LOST, PLACE, STRAIGHT, WANT

SORTS = {
    LOST: "{} times other levels are lost on the way",
    STRAIGHT: "{} times a repeater or comparator points straight where it must not",
}


def left_in(box: Box) -> Iterator[str]:
    """What is wrong with a layout: parts without a place, inputs that lack a source or have one too many, and more."""
    m, problem = box.memory, box.problem
    read(m)
    names = problem.names
    yield from (f"'{name}' has no place" for part, name in enumerate(names) if m[PLACE + part] < 0)
    shown = iter(problem.shown)
    for number, port in enumerate(problem.ports):
        anywhere = port.part < 0
        reader = next(shown) if anywhere else names[port.part]
        if not anywhere and m[PLACE + port.part] < 0:
            continue
        want, have = int(m[WANT + number]), int(m[HAVE + number])
        lacking, unwanted = _named(names, want & ~have), _named(names, have & ~want)
        if lacking:
            yield f"'{reader}' is still to be fed by {lacking}"
        if unwanted:
            yield f"'{reader}' is fed by {unwanted}, and must not be"
    for sort, words in SORTS.items():
        if m[COST + sort]:
            yield words.format(int(m[COST + sort]))


def _named(names: tuple[str, ...], parts: int) -> str:
    return ", ".join(f"'{name}'" for part, name in enumerate(names) if parts >> part & 1)
