"""How much time checks have to spare: by how much sooner what they expect by a time could be due, and hold."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from circuitcheck.curing.trying import fails
from circuitcheck.engine.program import Program
from circuitcheck.engine.start import TooManyStarts
from circuitcheck.model.claims import Check, Expectation, Study

MOST_CHECKS = 20
"""Of how many checks it is looked for."""


class Spare(NamedTuple):
    """What a check has to spare in two circuits, in gt."""

    check: str
    before: int | None
    """None where it does not hold."""
    after: int


def spare(before: Study, after: Study) -> Iterator[Spare]:
    """What each check that expects something by a time has to spare, where that is not the same."""
    programs = Program(before.circuit), Program(after.circuit)
    cured = {each.title: each for each in after.checks}
    for check in before.checks[:MOST_CHECKS]:
        other = cured.get(check.title)
        if other is not None and not check.fails_because and any(each.eventually for each in check.expectations):
            had, has = least_spare(programs[0], check), least_spare(programs[1], other)
            if has is not None and had != has:
                yield Spare(check.title, had, has)


def least_spare(program: Program, check: Check) -> int | None:
    """The least that anything it expects by a time has to spare, in every order; None if not seen in time."""
    eventual = [each for each in check.expectations if each.eventually]
    found = [_of(program, check, each) for each in eventual]
    return None if None in found else min((each for each in found if each is not None), default=None)


def _of(program: Program, check: Check, expected: Expectation) -> int | None:
    """By how much sooner it could be due: found by halving, as whatever comes by a time comes by any later one."""

    def comes(sooner: int) -> bool:
        alone = expected._replace(end=expected.end - sooner)
        try:
            return fails(program, check._replace(expectations=(alone,), throughout=()), ()) is False
        except TooManyStarts:
            return False

    if not comes(0):
        return None
    least, most = 0, expected.end - 1 - expected.start
    while least < most:
        middle = (least + most + 1) // 2
        least, most = (middle, most) if comes(middle) else (least, middle - 1)
    return least
