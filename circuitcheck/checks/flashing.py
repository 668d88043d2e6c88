"""How often what is seen flashes (rule S1): the changes of all lamps together, as pairs of opposing changes.

A flash is a pair of opposing changes (WCAG 2.2, definition of a general flash). What is counted is the longest sequence
of changes to light and to dark in turn, whatever lamps they are of, that fits into a second: half of it are flashes.
Leaving lamps out never makes that sequence longer, so the whole is never counted lower than one lamp of it.
"""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Iterable, Sequence
from typing import NamedTuple

from circuitcheck.checks.finding import Cure, Finding, Flashing
from circuitcheck.engine.program import Program
from circuitcheck.engine.record import Recording
from circuitcheck.model.claims import Act
from circuitcheck.model.duration import GAME_TICKS_PER_SECOND, show

HARMFUL_FLASHES = 3
"""More flashes than this in any one second can harm (rule S1, WCAG 2.2, 2.3.1)."""
HARMFUL_TURNS = 2 * (HARMFUL_FLASHES + 1)
"""So many changes in turn within a second are one flash too many."""
LIT, DARK, BOTH = 1, 2, 3
"""What lamps do in one gt: some light up, some go dark, or both."""
EITHER = 0
"""Which change came last, where it may be taken to be either."""
MOST_NAMED = 4
"""How many lamps are named in a message."""
HARM = "such flashing can harm people with photosensitive epilepsy"


def turn(last: int, change: int) -> tuple[int, int]:
    """How many changes in turn a gt adds, at most, to those before it, and which of the two is the last of them then.

    Where some lamps light up and others go dark in one gt, both count, in the order that goes on from the last.
    """
    if change == BOTH:
        return 2, last
    if change in (0, last):
        return 0, last
    return 1, change


class Change(NamedTuple):
    """What is seen to change at the end of a gt: the lamps, by device, and whether they light up or go dark."""

    at: int
    kind: int
    lamps: tuple[int, ...]


class Flashes(NamedTuple):
    """The second with the most flashes."""

    number: int
    begins: int
    """The gt of the first change that is counted."""
    ends: int
    lamps: tuple[int, ...]
    """Those that change in it, those that change most first."""
    quickest: int
    """How many gt the quickest four flashes take, from their first change to their last; 0 if there are no four."""


NO_FLASHES = Flashes(0, 0, 0, (), 0)


def lamps_of(program: Program) -> frozenset[int]:
    """The devices that give light to see."""
    return frozenset(device.index for device in program.devices if device.part.indicates)


def changes_seen(recording: Recording, since: int = 0) -> list[Change]:
    """What lamps are seen to do in a run, from a gt on: how they stand at the ends of gt."""
    lamps = lamps_of(recording.program)
    found: list[Change] = []
    of_lamps = (change for change in recording.changes if change.device in lamps and change.at >= since)
    for at, group in itertools.groupby(of_lamps, key=lambda change: change.at):
        before: dict[int, bool] = {}
        after: dict[int, bool] = {}
        for change in group:
            before.setdefault(change.device, change.before > 0)
            after[change.device] = change.level > 0
        changed = tuple(lamp for lamp, lit in after.items() if lit != before[lamp])
        if changed:
            kinds = {LIT if after[lamp] else DARK for lamp in changed}
            found.append(Change(at, sum(kinds), changed))
    return found


def most_flashes(changes: Sequence[Change]) -> Flashes:
    """The second with the most flashes; of several, the first."""
    best = NO_FLASHES
    quickest = 0
    for place, first in enumerate(changes):
        turns, last, ends, counted = 0, EITHER, first.at, 0
        for change in itertools.islice(changes, place, None):
            if change.at - first.at >= GAME_TICKS_PER_SECOND:
                break
            more, last = turn(last, change.kind)
            if turns < HARMFUL_TURNS <= turns + more and (not quickest or change.at - first.at < quickest):
                quickest = change.at - first.at
            turns += more
            if turns // 2 > counted:
                counted, ends = turns // 2, change.at
        if counted > best.number:
            best = Flashes(counted, first.at, ends, _lamps(changes, place, ends), 0)
    return best._replace(quickest=quickest)


def _lamps(changes: Sequence[Change], place: int, ends: int) -> tuple[int, ...]:
    counts: Counter[int] = Counter()
    for change in itertools.takewhile(lambda each: each.at <= ends, itertools.islice(changes, place, None)):
        counts.update(change.lamps)
    return tuple(sorted(counts, key=lambda lamp: (-counts[lamp], lamp)))


def caution(
    program: Program,
    flashes: Flashes,
    when: str,
    way: Sequence[Act] | None = None,
    cure: Cure | None = None,
    recording: Recording | None = None,
) -> Finding:
    """The finding about harmful flashing. `way` is what is done before a machine flashes by itself."""
    names = tuple(program.names[lamp] for lamp in flashes.lamps)
    second = Flashing(
        flashes.number,
        flashes.begins,
        flashes.ends,
        names,
        flashes.quickest,
        way is not None,
        tuple(way or ()),
        cure,
        recording,
    )
    together = "; all lamps count together" if len(names) > 1 else ""
    who = f"the lamp '{names[0]}' flashes" if len(names) == 1 else f"the lamps {_named(names)} together flash"
    message = f"{who} {flashes.number} times within a second, {when}: {HARM}{together}"
    part = program.devices[flashes.lamps[0]].part
    return Finding("S1", part.name, part.span, message, _mend(flashes, cure), flashing=second)


def _named(names: Sequence[str]) -> str:
    shown = [f"'{name}'" for name in names[:MOST_NAMED]]
    more = [f"{len(names) - MOST_NAMED} more"] if len(names) > MOST_NAMED else []
    return f"{', '.join([*shown, *more][:-1])} and {[*shown, *more][-1]}"


def _mend(flashes: Flashes, cure: Cure | None) -> str:
    least = GAME_TICKS_PER_SECOND - flashes.quickest
    slower = (
        f"slow it down: {HARMFUL_FLASHES + 1} flashes take {show(flashes.quickest)} now, and must take "
        f"{show(GAME_TICKS_PER_SECOND)} or more, at least {show(least)} longer"
    )
    return slower if cure is None else f"{slower}; tried, and the least that does it: {cure.words}"


def gravest(cautions: Iterable[Finding]) -> list[Finding]:
    """Of cautions about one lamp, those that no graver one says already.

    What a machine does by itself is graver than what actions cause, if it flashes as often.
    """
    kept: list[Finding] = []
    for each in sorted(cautions, key=lambda each: (each.flashes, each.by_itself), reverse=True):
        if not any(other.part == each.part and other.by_itself >= each.by_itself for other in kept):
            kept.append(each)
    return kept
