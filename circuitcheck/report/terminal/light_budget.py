"""The light at places for people: block by block, against what cells take, and what one block more or less would do."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby
from typing import Any

from circuitcheck.chance.light.budget import COLUMNS, Block, Demand, Met, Other, Outcome, PlaceLight, Setup
from circuitcheck.chance.light.states import Rows
from circuitcheck.model.duration import in_seconds
from circuitcheck.model.light import FULL_SUN, PHASES, Cycle
from circuitcheck.model.parts.cells import Need
from circuitcheck.report.lines import Line, Piece, Style, line, safe, shortened, wrapped

COLUMN, LABEL = 7, 34
NARROW = 60
MOST_ALIKE = 2
"""How many blocks of a kind in a row get a line each."""
LIMITED = "lamps too dim to decide anything here are left out: together, too many parts give light"
LEGEND = "+2: it can, with 2 levels to spare; −3: 3 levels short; ×: not with that block above; wet and stormy by day"
WHEN = {"day": "by day", "wet": "in rain", "stormy": "in a storm", "night": "at night"}


def light_lines(found: PlaceLight, cycle: Cycle, width: int) -> Iterator[Line]:
    """Everything about one place."""
    yield line(Piece(safe(found.place.name), Style.STRONG))
    if not found.setups[0].met:
        yield line("  no cells that could change are at this place")
    for setup in found.setups:
        yield from _setup_lines(setup, cycle, width)
    if found.dim_left_out:
        yield from wrapped(LIMITED, width, "  ", style=Style.DOUBT)
    if found.left_out:
        yield line(f"  … and {found.left_out} further states of its parts")
    if found.others and found.setups[0].met:
        yield line("  one block more or less")
        for other in found.others:
            yield from wrapped(_other(other, found), width, "    ", "      ")
    yield line()


def _together(blocks: Iterable[Block]) -> Iterator[tuple[str, Sequence[int]]]:
    """Blocks, with more than two of a kind that follow one another told as one, by the light behind the last."""
    for thing, several in groupby(blocks, lambda block: block.thing):
        alike = list(several)
        if len(alike) > MOST_ALIKE:
            yield f"{len(alike)} {thing}", alike[-1].levels
        else:
            yield from ((thing, block.levels) for block in alike)


def _setup_lines(setup: Setup, cycle: Cycle, width: int) -> Iterator[Line]:
    if setup.parts:
        yield from wrapped(f"while {_state(setup)}", width, "  ", "    ", Style.STRONG)
    label, column = label_and_column(width)
    yield header(label, column)
    # A lamp that is off lights nothing on any of its ways.
    lit = [ray.blocks if any(ray.blocks[0].levels) else ray.blocks[:1] for ray in setup.rays]
    for blocks in dict.fromkeys(lit):
        for thing, levels in _together(blocks):
            yield line(f"    {shortened(thing, label):<{label}}", _numbers(levels, column))
    if len(setup.rays) > 1:
        yield line(f"    {shortened('the brightest', label):<{label}}", _numbers(setup.light, column))
    for phase, levels in setup.changing.items():
        if levels:
            steps = ", ".join(str(level) for level in levels)
            step = in_seconds(cycle.length(phase) / len(levels))
            yield from wrapped(f"in {phase} {steps}: {step} each", width, "    ", "      ", Style.FAINT)
    for met in setup.met:
        yield from demand_lines(met, cycle, width)


def label_and_column(width: int) -> tuple[int, int]:
    """How wide the label of a row of levels is, and each of its levels."""
    column = COLUMN if width >= NARROW else COLUMN - 1
    return max(min(LABEL, width - 5 - column * len(COLUMNS)), 10), column


def header(label: int, column: int) -> Line:
    """The line over rows of levels."""
    return line(Piece("    " + " " * label + "".join(f"{name:>{column}}" for name, _ in COLUMNS), Style.FAINT))


def demand_lines(met: Met, cycle: Cycle, width: int) -> Iterator[Line]:
    """Whether cells can do something, by how many levels, and when in a day."""
    label, column = label_and_column(width)
    cells = [Piece(f"{_cell(met, place):>{column}}", _style(met, place)) for place in range(len(COLUMNS))]
    name = f"'{safe(met.demand.row)}' can {safe(met.demand.words)}"
    if len(name) > label:
        yield from wrapped(name, width, "    ")
        name = ""
    yield line(f"    {name:<{label}}", *cells)
    yield from wrapped(f"{_need(met.demand)}; {_times(met, cycle)}", width, "      ", style=Style.FAINT)


def _state(setup: Setup) -> str:
    return " and ".join(f"'{safe(part)}' is {'on' if on else 'off'}" for part, on in setup.parts)


def _numbers(levels: Sequence[int], column: int) -> Piece:
    return Piece("".join(f"{level:>{column}}" for level in levels))


def _cell(met: Met, place: int) -> str:
    if not met.held_back:
        return "×"
    if met.to_spare is None:
        return "can"
    spare = met.to_spare[place]
    return f"+{spare}" if spare >= 0 else f"−{-spare}"


def _style(met: Met, place: int) -> Style:
    return Style.GOOD if met.so[place] else Style.FAINT


def _need(demand: Demand) -> str:
    return f"takes {needed(demand.need)} ({demand.rule}){_in_reach(demand)}"


def _in_reach(demand: Demand) -> str:
    """How far growth reaches: how many cells are in reach of each."""
    if demand.reach is None:
        return ""
    least, most = demand.reach
    cells = "1 cell" if most == 1 else f"{most} cells"
    return f", with {cells if least == most else f'{least} to {cells}'} in reach of each"


def needed(need: Need) -> str:
    """What a change takes, in words."""
    if need.least == 0 and need.most == FULL_SUN:
        light = "any light"
    elif need.least == 0:
        light = f"light {need.most} or less"
    else:
        light = f"light {need.least} or more" if need.most == FULL_SUN else f"light {need.least} to {need.most}"
    above = {None: "", True: " below what holds light back", False: " with nothing above that holds light back"}
    return light + above[need.held_back]


def _times(met: Met, cycle: Cycle) -> str:
    if not met.times:
        return "in fair weather never"
    if met.times == ((0, cycle.whole),):
        return "in fair weather always"
    # What goes on over the end of the day is one time, not two.
    times = list(met.times)
    if len(times) > 1 and times[0][0] == 0 and times[-1][1] == cycle.whole:
        times = [*times[1:-1], (times[-1][0], times[0][1])]
    said = (f"from {moment(cycle, begin)} to {moment(cycle, end)}" for begin, end in times)
    return f"in fair weather {' and '.join(said)}"


def moment(cycle: Cycle, time: int) -> str:
    """A time of day in words."""
    time %= cycle.whole
    phase = next(name for name in reversed(PHASES) if cycle.begins(name) <= time and cycle.length(name))
    later = time - cycle.begins(phase)
    return f"{in_seconds(later)} into {phase}" if later else f"the beginning of {phase}"


def _other(other: Other, found: PlaceLight) -> str:
    several = len(found.setups) > 1
    lights = [
        "/".join(str(level) for level in light) + (f" ({_short(setup)})" if several else "")
        for light, setup in zip(other.light, found.setups, strict=True)
    ]
    turns = [_turn(met, found.setups[at] if several else None, found.setups[at].met) for at, met in other.turns]
    return f"{other.words}: light {', '.join(lights)}; {'; '.join(turns) or 'nothing comes out otherwise'}"


def _short(setup: Setup) -> str:
    return ", ".join(f"{safe(part)} {'on' if on else 'off'}" for part, on in setup.parts)


def _turn(met: Met, setup: Setup | None, before: Sequence[Met]) -> str:
    return turn_words(met, before, f" ({_short(setup)})" if setup is not None else "")


def turn_words(met: Met, before: Sequence[Met], when: str = "") -> str:
    """What cells can do, or no longer do, that was otherwise before."""
    was = next(each for each in before if each.demand == met.demand)
    names = [WHEN[name] for name, _ in COLUMNS]
    gained = [name for name, now, then in zip(names, met.so, was.so, strict=True) if now and not then]
    lost = [name for name, now, then in zip(names, met.so, was.so, strict=True) if then and not now]
    row, words = safe(met.demand.row), safe(met.demand.words)
    said = [f"'{row}' can {words} {_list(gained)}{when}"] if gained else []
    said += [f"'{row}' can no longer {words} {_list(lost)}{when}"] if lost else []
    return ", ".join(said)


def _list(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def light_data(found: PlaceLight) -> dict[str, Any]:
    """The same as plain data; times in gt of the cycle."""
    return {
        "place": found.place.name,
        "skies": [name for name, _ in COLUMNS],
        "setups": [_setup_data(setup) for setup in found.setups],
        "outcomes": [_outcome_data(outcome, found.setups) for outcome in found.outcomes],
        "others": [
            {
                "change": other.words,
                "light": [list(light) for light in other.light],
                "otherwise": [
                    {"setup": at, "sensor": met.demand.row, "change": met.demand.words, "can": list(met.so)}
                    for at, met in other.turns
                ],
            }
            for other in found.others
        ],
    }


def _outcome_data(outcome: Outcome, setups: Sequence[Setup]) -> dict[str, Any]:
    return {
        "when": _rows_data(outcome.when),
        "states": outcome.states,
        "levels": [
            {"when": _rows_data(level.when), "states": level.states, "setup": setups.index(level.setup)}
            for level in outcome.levels
        ],
    }


def _rows_data(rows: Rows) -> list[list[dict[str, Any]]]:
    return [[{"part": part, "on": on} for part, on in row] for row in rows]


def _setup_data(setup: Setup) -> dict[str, Any]:
    return {
        "parts": [{"part": part, "on": on} for part, on in setup.parts],
        "ways": [
            {"way": ray.words, "blocks": [{"thing": each.thing, "light": list(each.levels)} for each in ray.blocks]}
            for ray in setup.rays
        ],
        "light": list(setup.light),
        **{phase: list(levels) for phase, levels in setup.changing.items()},
        "changes": [
            {
                "sensor": met.demand.row,
                "change": met.demand.words,
                "rule": met.demand.rule,
                "reach": None if met.demand.reach is None else list(met.demand.reach),
                "takes": needed(met.demand.need),
                "can": list(met.so),
                "to_spare": None if met.to_spare is None else list(met.to_spare),
                "times": [list(times) for times in met.times],
            }
            for met in setup.met
        ],
    }
