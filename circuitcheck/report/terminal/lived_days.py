"""Days lived through, for people and for machines: sampled figures beside exact ones, day by day, and what was odd."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from circuitcheck.chance.days.calendar import CASES
from circuitcheck.chance.days.replay import Replay
from circuitcheck.chance.days.shares import Interval, of_mean, of_quantile, of_share
from circuitcheck.chance.days.together import Odd, Plan, Tally, Together
from circuitcheck.chance.first_edge.figures import QUANTILES, Distribution
from circuitcheck.chance.first_edge.response import Response
from circuitcheck.chance.light.seeding import reseeding
from circuitcheck.judging.responses import percent
from circuitcheck.judging.responses import share as told
from circuitcheck.model.duration import show
from circuitcheck.report.lines import Line, Piece, Style, line, safe, wrapped
from circuitcheck.report.terminal.account import account
from circuitcheck.report.terminal.broken_assumptions import assumed_data, assumed_lines
from circuitcheck.report.terminal.picture import picture
from circuitcheck.report.terminal.response_figures import named, seconds

MOST_ODD = 8
"""How many kinds of odd days are shown."""
LABEL = 9


def heading(plan: Plan) -> str:
    """What is lived through, in words."""
    total = plan.runs * plan.on_end
    on_end = (
        f"{plan.runs:,} runs of {plan.on_end:,} consecutive days" if plan.on_end > 1 else "each with a fresh machine"
    )
    return f"{total:,} days: {on_end}, seed {plan.seed}; {CASES[plan.case]}"


def days_lines(found: Together, exact: Sequence[Response | None], width: int) -> Iterator[Line]:
    """Everything about some days."""
    plan = found.plan
    yield from wrapped(heading(plan), width, "", "  ", Style.STRONG)
    if found.open_orders:
        words = f"an order was open (C5) {found.open_orders:,} times, and the first was followed"
        yield from wrapped(words, width, "  ", style=Style.DOUBT)
    yield line()
    for tallies, edge, phase, worked_out in zip(
        found.tallies, plan.watching.edges, plan.watching.phases, exact, strict=True
    ):
        yield line(Piece(named(phase, edge), Style.STRONG))
        yield from _first_day(tallies[0], worked_out)
        if plan.on_end > 1:
            yield from _day_by_day(tallies)
        yield line()
    if plan.case == "faded":
        yield line(Piece("what re-seeds the cells", Style.STRONG))
        for sentence in reseeding(plan.circuit):
            yield from wrapped(safe(sentence), width, "  ", "    ")
        yield line()
    yield from _whole(found, width)
    yield from assumed_lines(found.broken, plan.runs * plan.on_end, width)


def _first_day(tally: Tally, exact: Response | None) -> Iterator[Line]:
    """The first day's figures with their intervals, beside the exact ones."""
    yield line(Piece(f"  {'the first':<{LABEL}} {'exact':>11} {'sampled':>10}   in 95 of 100 cases", Style.FAINT))
    distribution = exact.distribution if exact is not None and exact.exact else None
    for name, share, value in _exact_times(distribution):
        interval = of_quantile(tally.waits, tally.asked, share) if share else of_mean(tally.waits)
        yield line(f"  {name:<{LABEL}} {value:>11} {seconds(interval.value):>10}   {_from_to(interval)}")
    missed = of_share(tally.missed, tally.asked)
    value = "–"
    if exact is not None and distribution is not None:
        value = told(distribution.missed, exact.left_out).replace("less than ", "<")
    yield line(f"  {'missed':<{LABEL}} {value:>11} {_percent(missed.value):>10}   {_shares_from_to(missed)}")


def _exact_times(distribution: Distribution | None) -> Iterator[tuple[str, float, str]]:
    """The name of each figure, its share (0 for the mean), and the exact value as text."""
    for share in (QUANTILES[0], 0.0, *QUANTILES[1:]):
        name = "mean" if not share else "median" if share == 0.5 else f"{share * 100:g}%"
        if distribution is None:
            yield name, share, "–"
        else:
            yield name, share, seconds(distribution.quantile(share) if share else distribution.mean)


def _from_to(interval: Interval) -> str:
    if interval.value is None:
        return ""
    low = "…" if interval.low is None else seconds(interval.low)
    return f"{low} to {'beyond' if interval.high is None else seconds(interval.high)}"


def _shares_from_to(interval: Interval) -> str:
    if interval.low is None or interval.high is None:
        return ""
    return f"{percent(interval.low)} to {percent(interval.high)}"


def _percent(share: float | None) -> str:
    return "–" if share is None else percent(share)


def _day_by_day(tallies: Sequence[Tally]) -> Iterator[Line]:
    """What becomes of it as days go by; of many days the first, some between, and the last."""
    yield line()
    header = f"  {'day':>5} {'median':>10} {'99%':>10} {'missed':>7} {'so already':>11} {'false alarms':>13}"
    yield line(Piece(header, Style.FAINT))
    places = sorted({round(number * (len(tallies) - 1) / 9) for number in range(10)})
    for tally in (tallies[place] for place in places):
        median, most = (of_quantile(tally.waits, tally.asked, share).value for share in (0.5, 0.99))
        counts = f"{tally.missed:>7,} {tally.already:>11,} {tally.false_alarms:>13,}"
        yield line(f"  {tally.day + 1:>5} {seconds(median):>10} {seconds(most):>10} {counts}")


def _whole(found: Together, width: int) -> Iterator[Line]:
    """What only the whole shows, and which days to look at."""
    total = found.plan.runs * found.plan.on_end
    yield line(Piece("what only the whole shows", Style.STRONG))
    if not found.odd:
        yield line("  nothing odd: no day was missed, no alarm false, no latch asked for both at once")
    kinds = _kinds(found.odd)
    for what, days in list(kinds.items())[:MOST_ODD]:
        first = days[0]
        told = "1 day" if len(days) == 1 else f"{len(days):,} days"
        words = f"{safe(what)}: on {told} of {total:,}, for example --replay {first.run}:{first.day + 1}"
        yield from wrapped(words, width, "  ", "    ")
    if len(kinds) > MOST_ODD:
        yield line(f"  … and {len(kinds) - MOST_ODD} further kinds of odd days")
    for what, days in list(_kinds(found.idle).items())[:MOST_ODD]:
        words = f"{safe(what)}: on {len(days):,} of {total:,} days, and nothing came of it"
        yield from wrapped(words, width, "  ", "    ", Style.FAINT)
    yield line()


def _kinds(days: Iterable[Odd]) -> dict[str, list[Odd]]:
    """Days by what was odd on them."""
    kinds: dict[str, list[Odd]] = {}
    for each in days:
        kinds.setdefault(each.what, []).append(each)
    return kinds


def replay_lines(
    found: Replay, plan: Plan, run: int, day: int, names: Sequence[str], as_account: bool, width: int
) -> Iterator[Line]:
    """One day of one run again: what was drawn, and its picture or account."""
    words = f"run {run}, day {day + 1}, seed {plan.seed}; {CASES[plan.case]}"
    yield from wrapped(words, width, "", "  ", Style.STRONG)
    begins = ", ".join(f"{name} from {show(at)}" for name, at in found.phases)
    yield from wrapped(f"in times of the run: {begins}, to {show(found.end)}", width, "  ", style=Style.FAINT)
    count = sum(at >= found.begin for at, _ in found.changes)
    yield line(f"  changes of cells drawn in it: {count}")
    yield line()
    if as_account:
        yield from account(found.recording, (), width, found.begin)
    else:
        yield from picture(found.recording, names, found.begin, found.end - 1, width)
    yield line()


def telling_names(found: Replay, plan: Plan) -> list[str]:
    """What is worth showing of a day: cells that changed, latches, and the signals that were waited for."""
    circuit = plan.circuit
    cells = dict.fromkeys(name for at, name in found.changes if at >= found.begin)
    return list(dict.fromkeys([*list(cells)[:8], *circuit.latches, *(edge.name for edge in plan.watching.edges)]))


def days_data(found: Together, exact: Sequence[Response | None]) -> dict[str, Any]:
    """The same as plain data; times in gt, days counted from 1."""
    plan = found.plan
    return {
        "days": plan.runs * plan.on_end,
        "runs": plan.runs,
        "days_on_end": plan.on_end,
        "case": plan.case,
        "seed": plan.seed,
        "open_orders": found.open_orders,
        "reseeding": list(reseeding(plan.circuit)) if plan.case == "faded" else [],
        "assumptions": assumed_data(found.broken, plan.runs * plan.on_end),
        "odd": [{"run": odd.run, "day": odd.day + 1, "what": odd.what} for odd in found.odd],
        "idle": [{"what": what, "days": len(days)} for what, days in _kinds(found.idle).items()],
        "responses": [
            {
                "phase": phase,
                "signal": edge.name,
                "edge": edge.test.value,
                "exact": _exact_data(worked_out),
                "days": [_tally_data(tally) for tally in tallies],
            }
            for tallies, edge, phase, worked_out in zip(
                found.tallies, plan.watching.edges, plan.watching.phases, exact, strict=True
            )
        ],
    }


def _exact_data(exact: Response | None) -> dict[str, Any] | None:
    if exact is None or not exact.exact:
        return None
    distribution = exact.distribution
    times = [{"share": share, "time": distribution.quantile(share)} for share in QUANTILES]
    return {"quantiles": times, "mean": distribution.mean, "missed": distribution.missed}


def _tally_data(tally: Tally) -> dict[str, Any]:
    return {
        "day": tally.day + 1,
        "asked": tally.asked,
        "already": tally.already,
        "false_alarms": tally.false_alarms,
        "missed": of_share(tally.missed, tally.asked)._asdict(),
        "mean": of_mean(tally.waits)._asdict(),
        "quantiles": [
            {"share": share, **of_quantile(tally.waits, tally.asked, share)._asdict()} for share in QUANTILES
        ],
    }
