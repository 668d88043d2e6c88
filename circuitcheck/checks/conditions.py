"""Conditions as plain functions of the levels at the ends of a gt and of the gt before."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from circuitcheck.engine.program import PortDrivers, Program, read
from circuitcheck.model.claims import AllOf, Atom, Condition, Not, Test

Levels = Sequence[int]
Holds = Callable[[Levels, Levels], bool]
"""Given the levels at the end of this gt and of the gt before, whether a condition holds."""


def compiled(condition: Condition, program: Program) -> Holds:
    """The condition as a function of levels."""
    if isinstance(condition, Atom):
        return _atom(condition, program)
    if isinstance(condition, Not):
        inner = compiled(condition.part, program)
        return lambda now, before: not inner(now, before)
    parts = [compiled(part, program) for part in condition.parts]
    if isinstance(condition, AllOf):
        return lambda now, before: all(part(now, before) for part in parts)
    return lambda now, before: any(part(now, before) for part in parts)


def _atom(atom: Atom, program: Program) -> Holds:
    if atom.name in program.circuit.latches and atom.test in (Test.SET, Test.RESET, Test.FORBIDDEN):
        return _latch(atom, program)
    if atom.test is Test.UNKNOWN:
        return lambda _now, _before: True  # asked of all tracks together, by the run
    feeds = program.probe(atom.name)
    if len(feeds) == 1 and feeds[0][1] == 0:
        return _direct(atom, feeds[0][0])
    level = atom.level
    tests: dict[Test, Holds] = {
        Test.ON: lambda now, _: read(feeds, now) > 0,
        Test.OFF: lambda now, _: read(feeds, now) == 0,
        Test.LEVEL: lambda now, _: read(feeds, now) == level,
        Test.AT_LEAST: lambda now, _: read(feeds, now) >= level,
        Test.AT_MOST: lambda now, _: read(feeds, now) <= level,
        Test.RISES: lambda now, before: read(feeds, now) > 0 == read(feeds, before),
        Test.FALLS: lambda now, before: read(feeds, now) == 0 < read(feeds, before),
        Test.CHANGES: lambda now, before: read(feeds, now) != read(feeds, before),
    }
    return tests[atom.test]


def _direct(atom: Atom, device: int) -> Holds:
    """The common case, a device's own level, without the reading of feeds."""
    level = atom.level
    tests: dict[Test, Holds] = {
        Test.ON: lambda now, _: now[device] > 0,
        Test.OFF: lambda now, _: now[device] == 0,
        Test.LEVEL: lambda now, _: now[device] == level,
        Test.AT_LEAST: lambda now, _: now[device] >= level,
        Test.AT_MOST: lambda now, _: now[device] <= level,
        Test.RISES: lambda now, before: now[device] > 0 == before[device],
        Test.FALLS: lambda now, before: now[device] == 0 < before[device],
        Test.CHANGES: lambda now, before: now[device] != before[device],
    }
    return tests[atom.test]


def deciding(condition: Condition, program: Program, now: Levels, before: Levels) -> Iterator[Atom]:
    """The questions that make a condition hold or not: of one that asks for all, if it does not hold, those failing."""
    if isinstance(condition, Atom):
        yield condition
    elif isinstance(condition, Not):
        yield from deciding(condition.part, program, now, before)
    else:
        holds = compiled(condition, program)(now, before)
        all_decide = holds is isinstance(condition, AllOf)
        for part in condition.parts:
            if all_decide or compiled(part, program)(now, before) is holds:
                yield from deciding(part, program, now, before)


def latch_inputs(name: str, program: Program) -> tuple[PortDrivers, PortDrivers]:
    """What feeds the set and the reset input of a latch."""
    latch = program.circuit.latches[name]
    return program.probe_sources(latch.set_by), program.probe_sources(latch.reset_by)


def _latch(atom: Atom, program: Program) -> Holds:
    """A latch is set or reset when its sides say so, and forbidden while both its inputs are on (rule L1)."""
    if atom.test is Test.FORBIDDEN:
        set_feeds, reset_feeds = latch_inputs(atom.name, program)
        return lambda now, _: read(set_feeds, now) > 0 and read(reset_feeds, now) > 0
    side, inverse = program.number[atom.name], program.number[program.circuit.latches[atom.name].inverse]
    if atom.test is Test.SET:
        return lambda now, _: now[side] > 0 == now[inverse]
    return lambda now, _: now[side] == 0 < now[inverse]


def latch_state(name: str, levels: Levels, program: Program) -> str:
    """The state of a latch in a word: set, reset, forbidden, or changing from one to the other."""
    for test, word in ((Test.FORBIDDEN, "forbidden"), (Test.SET, "set"), (Test.RESET, "reset")):
        if _latch(Atom(name, test), program)(levels, levels):
            return word
    return "changing"
