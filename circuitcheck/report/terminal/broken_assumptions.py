"""What became of the assumptions of the proofs in days simulated, for people and for machines."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from circuitcheck.chance.days.assumed import Broken
from circuitcheck.chance.days.shares import of_share
from circuitcheck.judging.responses import percent
from circuitcheck.model.duration import in_seconds
from circuitcheck.report.lines import Line, Piece, Style, line, safe, wrapped


def assumed_lines(found: Sequence[Broken] | None, days: int, width: int) -> Iterator[Line]:
    """How often each assumption was broken, and when first; nothing where nothing is assumed.

    None is of days that were too large to be lived through.
    """
    if found is None:
        text = "whether days break the assumptions of the proofs is unknown: the circuit is too large to simulate them"
        yield from wrapped(text, width, "", "  ", Style.DOUBT)
        yield line()
    if not found:
        return
    yield line(Piece("assumptions of the proofs", Style.STRONG))
    for each in found:
        if each.first is None:
            most = percent(of_share(0, days).high or 0.0)
            words = f"{safe(each.words)}: kept on all {days:,} days; broken on at most {most} of days"
            yield from wrapped(f"{words}, in 95 of 100 cases", width, "  ", "    ")
            continue
        run, day, at = each.first
        on = "1 day" if each.days == 1 else f"{each.days:,} days"
        times = "once" if each.times == 1 else f"{each.times:,} times"
        words = (
            f"{safe(each.words)}: broken {times}, on {on} of {days:,} ({_share(each, days)}); first in run {run} "
            f"on day {day + 1}, {in_seconds(at)} after it begins. Proofs under this assumption do not cover such days."
        )
        yield from wrapped(words, width, "  ", "    ", Style.DOUBT)
    yield line()


def _share(found: Broken, days: int) -> str:
    """On how many days it was broken, with the interval that counts each day as one of its own."""
    _, low, high = of_share(found.days, days)
    return f"{percent(found.days / days)}; in 95 of 100 cases {percent(low or 0.0)} to {percent(high or 0.0)}"


def assumed_data(found: Sequence[Broken] | None, days: int) -> list[dict[str, Any]] | None:
    """The same as plain data; times in gt, days counted from 1."""
    if found is None:
        return None
    return [
        {
            "assumption": each.words,
            "days": days,
            "broken_times": each.times,
            "broken_days": each.days,
            "share_of_days": of_share(each.days, days)._asdict(),
            "first": None
            if each.first is None
            else {"run": each.first[0], "day": each.first[1] + 1, "at": each.first[2]},
        }
        for each in found
    ]
