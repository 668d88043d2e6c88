"""Responses for people and for machines: the figures, the curve, and how they move with cells and rules."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from circuitcheck.chance.first_edge.figures import QUANTILES, Distribution
from circuitcheck.chance.first_edge.other_builds import Variant
from circuitcheck.chance.first_edge.response import Response
from circuitcheck.chance.first_edge.what_decides import Turn
from circuitcheck.judging.responses import off, percent, share, so_already
from circuitcheck.model.claims import Atom
from circuitcheck.model.duration import in_seconds
from circuitcheck.model.light import DUE_UNTIL, OPPOSITE
from circuitcheck.report.curve import curve_lines
from circuitcheck.report.lines import Line, Piece, Style, line, safe, shortened, wrapped

LABEL = 36
POINTS = 200


def named(phase: str, edge: Atom) -> str:
    """What is asked, in words."""
    verb = {"rises": "on", "falls": "off", "changes": "changed"}[edge.test.value]
    return f"from {phase} to '{safe(edge.name)}' {verb}"


def seconds(time: float | None) -> str:
    """A time in seconds; `never` where there is none."""
    return "never" if time is None else in_seconds(time)


def response_lines(found: Response, over: Sequence[int], width: int) -> Iterator[Line]:
    """The figures and the curve of one response."""
    yield line(Piece(named(found.phase, found.edge), Style.STRONG))
    yield from _kind(found, width)
    if found.already == 1.0:
        yield from wrapped(f"{safe(so_already(found.edge))} when {found.phase} begins", width, "  ")
        yield line()
        return
    if found.already:
        yield from _rows([(f"already so when {found.phase} begins", _already(found))], width)
    if found.never:
        yield line("  ", Piece("never", Style.BAD))
        for why in found.never:
            yield from wrapped(safe(why), width, "    ", "      ")
        yield line()
        return
    distribution = found.distribution
    yield from _rows(_told(found, over), width)
    yield line()
    yield from curve_lines(distribution, width)
    yield line()


def _told(found: Response, over: Sequence[int]) -> Iterator[tuple[str, str]]:
    """The figures, each with its name."""
    distribution = found.distribution
    for name, time in _quantiles(distribution):
        yield name, seconds(time)
    for time in over:
        yield f"more than {in_seconds(time)}", share(1.0 - distribution.within(time), found.left_out)
    yield f"missed by the end of the {found.until}", share(distribution.missed, found.left_out)
    yield f"false alarms in the {OPPOSITE[found.phase]} before", _count(found.false_alarms)


def _kind(found: Response, width: int) -> Iterator[Line]:
    if found.rough:
        words = f"an approximation, from {_counted(found.days, 'day')} lived through, as {found.rough}; {off(found)}"
        yield from wrapped(words, width, "  ", style=Style.DOUBT)
    else:
        slack = f", to within {percent(found.left_out)}" if found.left_out else ""
        first = "day that follows a night" if found.phase == "day" else found.phase
        fresh = f"the first {first} of a fresh machine ({_counted(found.states, 'state')})"
        words = f"exact: every draw of every gt{slack}; {fresh}"
        yield from wrapped(words, width, "  ", style=Style.FAINT)
    if found.burning:
        torches = " and ".join(f"'{safe(name)}'" for name in found.burning)
        yield from wrapped(f"as long as {torches} does not burn out (T4)", width, "  ", style=Style.DOUBT)
    if found.open:
        words = f"in {percent(found.open)} of all cases an order is open (C5): by as much other builds may differ"
        yield from wrapped(words, width, "  ", style=Style.DOUBT)


def _already(found: Response) -> str:
    if not found.rough:
        return share(found.already, found.already_off)
    return f"{percent(found.already)}, give or take {percent(found.already_off)}"


def _quantiles(distribution: Distribution) -> list[tuple[str, float | None]]:
    named: list[tuple[str, float | None]] = [("median", distribution.quantile(0.5)), ("mean", distribution.mean)]
    return named + [(f"{quantile * 100:g}%", distribution.quantile(quantile)) for quantile in QUANTILES[1:]]


def _counted(number: int, what: str) -> str:
    return f"{number:,} {what}{'' if number == 1 else 's'}"


def _rows(figures: Iterable[tuple[str, str]], width: int) -> Iterator[Line]:
    label = min(LABEL, width - 12)
    for name, value in figures:
        yield line(f"  {name:<{label}} ", Piece(value, Style.STRONG))


def _count(number: float) -> str:
    return "none" if number == 0 else f"{number:.2g}" if number >= 1e-6 else "less than 0.000001"


def cells_lines(sensor: str, variants: Iterable[Variant], cells: int, width: int) -> Iterator[Line]:
    """A table of the response with other numbers of cells; how much quicker, beside one cell."""
    known = list(variants)
    if len(known) < 2:
        words = (
            f"'{safe(sensor)}' has as many cells as the rows that its line names: other numbers can't be tried alone"
        )
        yield from wrapped(words, width, "  ", style=Style.FAINT)
        yield line()
        return
    yield line(Piece(f"  with other numbers of cells in '{safe(sensor)}'", Style.STRONG))
    yield line(Piece(f"    {'cells':>6} {_header()} {'as quick as 1':>14}", Style.FAINT))
    first: int | None = None
    for each in known:
        median = _median_from_earliest(each)
        if each.cells == 1:
            first = median
        quick = f"{first / median:.2f} times" if first and median else "–"
        mark = "*" if each.cells == cells else " "
        yield line(f"    {each.cells:>5}{mark} {_figures(each.found)} {quick:>14}{_rough(each)}")
    note = "* as in the file; how quick it is counts from when it can come at all"
    yield from wrapped(note, width, "    ", style=Style.FAINT)
    yield line()


def _rough(each: Variant) -> str:
    return " (approximation)" if each.found is not None and each.found.rough else ""


def _median_from_earliest(each: Variant) -> int | None:
    """The median, counted from the first gt in which it can come: that is what more cells make shorter."""
    if each.found is None:
        return None
    median, earliest = each.found.distribution.quantile(0.5), each.found.distribution.earliest
    return None if median is None or earliest is None else median - earliest + 1


def rules_lines(variants: Iterable[Variant], own: str) -> Iterator[Line]:
    """A table of the response under each set of rules."""
    yield line(Piece("  under each set of rules", Style.STRONG))
    yield line(Piece(f"    {'rules':<8} {_header()}", Style.FAINT))
    for each in variants:
        mark = "*" if each.rules == own else " "
        yield line(f"    {each.rules + mark:<8} {_figures(each.found)}{_rough(each)}")
    yield line()


def decides_lines(found: Response, turns: Iterable[Turn]) -> Iterator[Line]:
    """A table of the response with one thing otherwise at a time, and by how much that moves the median."""
    known = list(turns)
    wide = max(len(_turned(each)) for each in known)
    yield line(Piece("  what decides it, one thing otherwise at a time", Style.STRONG))
    yield line(Piece(f"    {'otherwise':<{wide}} {_header()} {'median by':>11}", Style.FAINT))
    yield line(f"    {'as in the file':<{wide}} {_figures(found)}")
    for each in known:
        by = _moved(found, each)
        told = "–" if by is None else f"{'+' if by > 0 else '−' if by < 0 else ''}{in_seconds(abs(by))}"
        rough = " (approximation)" if each.found is not None and each.found.rough else ""
        yield line(f"    {safe(_turned(each)):<{wide}} {_figures(each.found)} {told:>11}{rough}")
    yield line()


def _turned(turn: Turn) -> str:
    return f"{turn.what}: {turn.value}"


def _moved(found: Response, turn: Turn) -> int | None:
    """By how many gt the median is later than in the file; None where either has none."""
    if turn.found is None or 1.0 in (found.already, turn.found.already):
        return None
    here, there = (each.distribution.quantile(0.5) for each in (found, turn.found))
    return None if here is None or there is None else there - here


def _header() -> str:
    return f"{'median':>10} {'99%':>10} {'missed':>14}"


def _figures(found: Response | None) -> str:
    if found is None:
        return f"{'–':>10} {'–':>10} {'–':>14}"
    distribution = found.distribution
    if found.already == 1.0:
        return f"{'so already':>10} {'–':>10} {'–':>14}"
    times = (seconds(distribution.quantile(0.5)), seconds(distribution.quantile(0.99)))
    missed = share(distribution.missed, found.left_out)
    return f"{times[0]:>10} {times[1]:>10} {shortened(missed.replace('less than ', '<'), 14):>14}"


def response_data(found: Response, over: Sequence[int]) -> dict[str, Any]:
    """One response as plain data; times in gt."""
    distribution = found.distribution
    every = max(distribution.until // POINTS, 1)
    return {
        "phase": found.phase,
        "signal": found.edge.name,
        "edge": found.edge.test.value,
        "exact": found.exact,
        "approximation_because": found.rough,
        "left_out": found.left_out,
        "open": found.open,
        "could_burn_out": list(found.burning),
        "states": found.states,
        "sampled_days": found.days,
        "already": found.already,
        "already_off": found.already_off,
        "days_in_question": found.in_question,
        "never_because": list(found.never),
        "due_until_end_of": DUE_UNTIL[found.phase],
        "missed": distribution.missed,
        "false_alarms": found.false_alarms,
        "mean": distribution.mean,
        "quantiles": [{"share": each, "time": distribution.quantile(each)} for each in QUANTILES],
        "more_than": [{"time": time, "chance": 1.0 - distribution.within(time)} for time in over],
        "curve": [[at, distribution.within(at)] for at in range(0, distribution.until + 1, every)],
    }


def variant_data(each: Variant) -> dict[str, Any]:
    """A row of a table as plain data; times in gt."""
    return {**({"cells": each.cells} if each.cells else {"rules": each.rules}), **_short_data(each.found)}


def turn_data(found: Response, turn: Turn) -> dict[str, Any]:
    """A row of the table of what decides a response as plain data; times in gt."""
    exact = None if turn.found is None else turn.found.exact
    return {
        "what": turn.what,
        "value": turn.value,
        **_short_data(turn.found),
        "median_by": _moved(found, turn),
        "exact": exact,
    }


def _short_data(found: Response | None) -> dict[str, Any]:
    return {
        "median": found.distribution.quantile(0.5) if found is not None else None,
        "within_99": found.distribution.quantile(0.99) if found is not None else None,
        "missed": found.distribution.missed if found is not None else None,
        "already": found.already if found is not None else None,
    }
