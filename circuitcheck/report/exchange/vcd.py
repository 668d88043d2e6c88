"""A run as a value change dump (IEEE 1364-2005, clause 18), for any waveform viewer."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

from circuitcheck.engine.record import Recording
from circuitcheck.model.parts.base import Conducts

MILLISECONDS_PER_GAME_TICK = 50
PRINTABLE = range(33, 127)
"""The letters that identifiers of signals are made of."""


def vcd(recording: Recording, names: Sequence[str]) -> str:
    """The signals of a run. Those with levels are four bits wide, all others one; names keep their dots."""
    return "\n".join(_lines(recording, list(dict.fromkeys(names)))) + "\n"


def has_levels(recording: Recording, name: str) -> bool:
    """Whether a signal has levels between off and full."""
    program = recording.program
    if program.is_water(name):
        return True
    part = program.circuit.by_name[name]
    return part.graded or part.conducts in (Conducts.LINE, Conducts.RUN)


def _lines(recording: Recording, names: Sequence[str]) -> Iterator[str]:
    program = recording.program
    codes = {name: _code(number) for number, name in enumerate(names)}
    wide = {name: has_levels(recording, name) for name in names}
    yield "$comment circuitcheck: one game tick is 50 ms $end"
    yield "$timescale 1 ms $end"
    yield f"$scope module {program.circuit.name} $end"
    for name in names:
        yield f"$var wire {4 if wide[name] else 1} {codes[name]} {name} $end"
    yield "$upscope $end"
    yield "$enddefinitions $end"
    yield "#0"
    yield "$dumpvars"
    yield from (_value(recording.level_at_start(name), codes[name], wide[name]) for name in names)
    yield "$end"
    edges = ((at, number, level) for number, name in enumerate(names) for at, level in recording.edges_of(name))
    for at, changed in groupby(sorted(edges), key=lambda edge: edge[0]):
        yield f"#{at * MILLISECONDS_PER_GAME_TICK}"
        for _, number, level in changed:
            yield _value(level, codes[names[number]], wide[names[number]])
    yield f"#{recording.until * MILLISECONDS_PER_GAME_TICK}"


def _value(level: int, code: str, wide: bool) -> str:
    return f"b{level:04b} {code}" if wide else f"{int(level > 0)}{code}"


def _code(number: int) -> str:
    """The identifier of the n-th signal: a number in base 94, in printable letters."""
    letters = ""
    while True:
        number, digit = divmod(number, len(PRINTABLE))
        letters += chr(PRINTABLE[digit])
        if number == 0:
            return letters
        number -= 1
