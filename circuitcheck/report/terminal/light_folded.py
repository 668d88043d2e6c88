"""The light at places for people, folded: states by what the cells can do in them, and places where that is the same.

A place whose light depends on one part at most, and that is like no other, is shown block by block, as `light_budget`
does. Of all others the blocks are left to whoever asks for them.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence

from circuitcheck.chance.light.budget import Met, Other, Outcome, PlaceLight, Setup
from circuitcheck.chance.light.states import Rows
from circuitcheck.model.light import Cycle
from circuitcheck.report.lines import Line, Piece, Style, line, safe, wrapped
from circuitcheck.report.terminal.light_budget import (
    LIMITED,
    demand_lines,
    header,
    label_and_column,
    light_lines,
    turn_words,
)

FEW = 2
"""A place is shown block by block where its parts have no more states than this."""
MOST_ROWS, MOST_LEVELS, MOST_NAMED = 3, 6, 12
"""How many rows say when an outcome is; how many levels of light stand apart (else the range); how many names."""
ASK = "block by block, in each state and at each place: 'circuitcheck light --full', or --json"


def folded_lines(places: Sequence[PlaceLight], cycle: Cycle, width: int) -> Iterator[Line]:
    """Some places, those together whose cells can do the same in the same states."""
    used = Counter(part for found in places for part in found.place.parts)
    groups: dict[object, list[PlaceLight]] = {}
    for found in places:
        groups.setdefault(_key(found, used), []).append(found)
    folded = False
    for group in groups.values():
        short = len(group) > 1 or _states(group[0]) > FEW
        folded |= short
        own = any(used[part] == 1 for found in group for part in found.place.parts)
        yield from _group_lines(group, own, cycle, width) if short else light_lines(group[0], cycle, width)
    if folded:
        yield from wrapped(ASK, width, "  ", style=Style.FAINT)


def _states(found: PlaceLight) -> int:
    return len(found.setups) + found.left_out


def _key(found: PlaceLight, used: Counter[str]) -> object:
    """What is the same at places that are shown as one.

    A part that only one place depends on, such as the water above its cell, is that place's own: it has a number here.
    """
    own = [part for part in found.place.parts if used[part] == 1]
    rows = _rows(found)

    def when(said: Rows) -> object:
        return frozenset(
            frozenset((own.index(part) if used[part] == 1 else part, on) for part, on in row) for row in said
        )

    def met(each: Met) -> object:
        return rows.index(each.demand.row), each.demand.words, each.demand.need, each.held_back, each.so, each.times

    outcomes = frozenset((when(each.when), tuple(map(met, each.setup.met))) for each in found.outcomes)
    return outcomes, bool(found.left_out), found.dim_left_out


def _rows(found: PlaceLight) -> list[str]:
    return list(dict.fromkeys(met.demand.row for met in found.setups[0].met))


def _group_lines(group: Sequence[PlaceLight], own: bool, cycle: Cycle, width: int) -> Iterator[Line]:
    first, *more = group
    yield line(Piece(safe(first.place.name), Style.STRONG))
    if more:
        yield from _alike_lines(more, own, width)
    if not first.setups[0].met:
        yield line("  no cells that could change are at this place")
    for number, outcome in enumerate(first.outcomes, 1):
        mark = f"({number}) " if len(first.outcomes) > 1 else ""
        yield from _outcome_lines(outcome, list(_like(outcome, group)), mark, cycle, width)
    if first.dim_left_out:
        yield from wrapped(LIMITED, width, "  ", style=Style.DOUBT)
    left_out = _states(first) - sum(outcome.states for outcome in first.outcomes)
    if left_out:
        yield line(f"  … and {left_out} further states of its parts")
    yield from _other_lines(group, width)
    yield line()


def _alike_lines(more: Sequence[PlaceLight], own: bool, width: int) -> Iterator[Line]:
    named = [(each.place.name, ", ".join(f"'{row}'" for row in _rows(each))) for each in more]
    listed = [f"{place} ({rows})" if rows else place for place, rows in named]
    rest = f" and {len(listed) - MOST_NAMED} more" if len(listed) > MOST_NAMED else ""
    yield from wrapped(
        safe(f"and {', '.join(listed[:MOST_NAMED])}{rest}{', each with parts of its own' if own else ''}"),
        width,
        "  ",
        "    ",
    )


def _like(outcome: Outcome, group: Sequence[PlaceLight]) -> Iterator[Outcome]:
    """The same outcome at each place of a group."""
    of_it = [(each.held_back, each.so, each.times) for each in outcome.setup.met]
    for found in group:
        for each in found.outcomes:
            if [(met.held_back, met.so, met.times) for met in each.setup.met] == of_it:
                yield each


def _outcome_lines(
    outcome: Outcome, everywhere: Sequence[Outcome], mark: str, cycle: Cycle, width: int
) -> Iterator[Line]:
    when = _when(outcome.when, outcome.states)
    if when:
        yield from wrapped(f"{mark}while {when}", width, "  ", "    ", Style.STRONG)
    label, column = label_and_column(width)
    yield header(label, column)
    own = {tuple((level.when, level.setup.light) for level in each.levels) for each in everywhere}
    if len(own) > 1 or len(outcome.levels) > MOST_LEVELS:
        yield from _range_lines(everywhere, width)
    else:
        for level in outcome.levels:
            words = _when(level.when, level.states)
            said = f"light while {words}" if words else "light"
            if len(said) > label:
                yield from wrapped(said, width, "    ", "      ")
                said = ""
            yield line(f"    {said:<{label}}", "".join(f"{each:>{column}}" for each in level.setup.light))
    every = [level.setup.met for each in everywhere for level in each.levels]
    for nearest in map(_nearest, zip(*every, strict=True)):
        yield from demand_lines(nearest, cycle, width)


def _range_lines(everywhere: Sequence[Outcome], width: int) -> Iterator[Line]:
    """The least and the most light of an outcome, and what that depends on."""
    label, column = label_and_column(width)
    lights = zip(*(level.setup.light for each in everywhere for level in each.levels), strict=True)
    ranges = (f"{min(each)}–{max(each)}" if min(each) < max(each) else str(each[0]) for each in lights)
    yield line(f"    {'light':<{label}}", "".join(f"{each:>{column}}" for each in ranges))
    levels = everywhere[0].levels
    parts = dict.fromkeys(part for level in levels for row in level.when for part, _ in row)
    by = [f"'{safe(part)}'" for part in parts] + (["place"] if len(everywhere) > 1 else [])
    yield from wrapped(f"by {', '.join(by)}", width, "      ", style=Style.FAINT)


def _nearest(several: Sequence[Met]) -> Met:
    """Of one demand that several states or places decide alike: by how much it is met or missed at the nearest."""
    first = several[0]
    spares = list(zip(*(met.to_spare for met in several if met.to_spare is not None), strict=True))
    spare = tuple((min if so else max)(each) for each, so in zip(spares, first.so, strict=False))
    reach = [met.demand.reach for met in several if met.demand.reach is not None]
    widest = (min(least for least, _ in reach), max(most for _, most in reach)) if reach else None
    return first._replace(to_spare=spare or None, demand=first.demand._replace(reach=widest))


def _when(rows: Rows, states: int) -> str:
    """When an outcome is; nothing where it always is."""
    if any(not row for row in rows):
        return ""
    if len(rows) > MOST_ROWS:
        return f"{_row(rows[0])}, and in others of its states, {states} in all"
    return ", or ".join(map(_row, rows))


def _row(row: Iterable[tuple[str, bool]]) -> str:
    return " and ".join(f"'{safe(part)}' is {'on' if on else 'off'}" for part, on in row)


def _other_lines(group: Sequence[PlaceLight], width: int) -> Iterator[Line]:
    """What one block more or less turns, in which outcome; those that turn nothing are counted.

    States that give the same light may differ in what a change turns, so where not all are tried it is said.
    """
    first = group[0]
    tried = f", tried in {len(first.setups)} of {_states(first):,} states of its parts" if first.left_out else ""
    turning = {other.words: list(_turns(other, first)) for other in first.others if other.turns}
    if any({other.words for other in each.others if other.turns} != turning.keys() for each in group):
        differs = "what one block more or less turns differs between them: with --place"
        yield from wrapped(differs, width, "  ", style=Style.FAINT)
        return
    if turning:
        yield from wrapped(f"one block more or less{tried}", width, "  ")
    for words, turns in turning.items():
        yield from wrapped(f"{words}: {'; '.join(turns)}", width, "    ", "      ")
    quiet = len(first.others) - len(turning)
    if quiet and len(group) == 1:
        others = "change by one block turns" if quiet == 1 else "changes by one block turn"
        said = f"{quiet} other {others} nothing" if turning else f"{quiet} {others} nothing{tried}"
        yield from wrapped(said, width, "    ")


def _turns(other: Other, found: PlaceLight) -> Iterator[str]:
    """What one change turns, with the outcomes in which it does, in some of their states or in all."""
    at_all = [_outcome_of(setup, found) for setup in found.setups]
    said: dict[str, list[int]] = {}
    for at, met in other.turns:
        said.setdefault(turn_words(met, found.setups[at].met), []).append(at_all[at])
    for words, outcomes in said.items():
        counts, every = Counter(outcomes), Counter(at_all)
        where = (f"({each})" if counts[each] == every[each] else f"some of ({each})" for each in counts)
        yield words + (f" in {', '.join(where)}" if len(found.outcomes) > 1 else "")


def _outcome_of(setup: Setup, found: PlaceLight) -> int:
    lit = dict(setup.parts)
    holds = (any(all(lit[part] is on for part, on in row) for row in each.when) for each in found.outcomes)
    return list(holds).index(True) + 1
