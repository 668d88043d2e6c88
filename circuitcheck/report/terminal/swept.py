"""Sweeps for people: how far each setting can be changed, and which faults nothing notices."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import Any

from circuitcheck.model.duration import show
from circuitcheck.report import writing
from circuitcheck.report.lines import Line, Piece, Style, beside_or_below, line, safe, wrapped
from circuitcheck.sweeps.faults import Noticed
from circuitcheck.sweeps.tolerance import Tolerance
from circuitcheck.sweeps.variants import Verdicts

WORDS = {True: ("holds", Style.GOOD), False: ("fails", Style.BAD), None: ("open", Style.DOUBT)}


def tolerance_lines(found: Sequence[Tolerance], width: int) -> Iterator[Line]:
    """Every setting with its values, the chosen one in brackets, the margins, and why values fail."""
    if not found:
        yield line("  nothing in this circuit can be set otherwise: no repeater, line, detector, button or assumption")
    for each in found:
        setting = each.setting
        name = f"{safe(setting.name)}, {setting.what}" if setting.what != "time" else safe(setting.name)
        yield from beside_or_below(Piece(f"  {name}", Style.STRONG), f"   {_margin(each)}", width, "      ")
        row = "   ".join(f"{values} {WORDS[holds][0]}" for values, holds in _stretches(each))
        yield from wrapped(row, width, "      ")
        for verdict, values in _reasons(each):
            yield from wrapped(f"{values}: {_because(verdict)}", width, "        ", " " * 14)
    yield line()


def _stretches(each: Tolerance) -> Iterator[tuple[str, bool | None]]:
    """Neighbouring values that come to the same, with the chosen value in brackets."""
    setting = each.setting
    pairs = list(zip(setting.values, each.verdicts, strict=True))
    for holds, group in groupby(pairs, key=lambda pair: pair[1].holds):
        values = [value for value, _ in group]
        chosen = [value for value in values if value == setting.chosen]
        ends = [setting.shown(values[0]), setting.shown(values[-1])]
        shown = ends[0] if len(values) == 1 else f"{ends[0]} to {ends[1]}"
        if chosen:
            mark = f"[{setting.shown(setting.chosen)}]"
            shown = mark if len(values) == 1 else f"{shown}, chosen {mark},"
        yield shown, holds


def _margin(each: Tolerance) -> str:
    """How far the chosen value is from the nearest that does not hold, on each side."""
    setting = each.setting
    holds = {value: verdict.holds for value, verdict in zip(setting.values, each.verdicts, strict=True)}
    if not holds[setting.chosen]:
        return f"{setting.shown(setting.chosen)} as it stands {WORDS[holds[setting.chosen]][0]}"
    below = [value for value in setting.values if value < setting.chosen]
    above = [value for value in setting.values if value > setting.chosen]
    return f"margin: {_side(each, holds, below[::-1])} below, {_side(each, holds, above)} above"


def _side(each: Tolerance, holds: dict[int, bool | None], values: Sequence[int]) -> str:
    setting = each.setting
    last = setting.chosen
    for value in values:
        if not holds[value]:
            break
        last = value
    else:
        return "all" if values else "nothing"
    return setting.shown(abs(last - setting.chosen)) if last != setting.chosen else "none"


def _reasons(each: Tolerance) -> Iterator[tuple[Verdicts, str]]:
    """Each different reason for failing, with the values that it is the reason for."""
    setting = each.setting
    pairs = [(value, verdict) for value, verdict in zip(setting.values, each.verdicts, strict=True)]
    for verdict, group in groupby(pairs, key=lambda pair: pair[1]._replace(at=0)):
        if verdict.holds is not True:
            members = list(group)
            values = [setting.shown(value) for value, _ in members]
            yield members[0][1], values[0] if len(values) == 1 else f"{values[0]} to {values[-1]}"


def _because(verdict: Verdicts) -> str:
    if not verdict.title:
        return safe(verdict.reason)
    when = f" at {show(verdict.at)}" if verdict.holds is False else ""
    reason = f": {safe(verdict.reason)}" if verdict.reason else ""
    return f"“{safe(verdict.title)}” {WORDS[verdict.holds][0]}{when}{reason}"


def fault_lines(found: Sequence[Noticed], width: int) -> Iterator[Line]:
    """The share of faults that are noticed, and each that is not with what would show it."""
    detected = [each for each in found if each.detected]
    missed = [each for each in found if each.missed]
    undecided = [each for each in found if each.undecided]
    for each in missed:
        yield from _labelled("missed", Style.BAD, each.fault.words, width)
        yield from wrapped(_shown_by(each), width, "           ")
    for each in undecided:
        yield from _labelled("open", Style.DOUBT, each.fault.words, width)
        yield from wrapped(f"{_because(each.verdicts)}; {_shown_by(each)}", width, "           ")
    for each in found:
        if each.alike:
            yield from _labelled("no fault", Style.FAINT, f"{each.fault.words}: it changes nothing", width)
    total = len(detected) + len(missed)
    share = f"{100 * len(detected) / total:.0f} %" if total else "nothing can detect it"
    yield from wrapped(
        f"{len(detected)} of {total} single faults are detected ({share})", width, "", style=Style.STRONG
    )
    if undecided:
        yield from wrapped(f"{len(undecided)} further faults: nothing fails, but not all was decided", width, "")
    untried = [each for each in found if not each.verdicts.tried]
    if untried:
        text = f"{len(untried)} further faults: {safe(untried[0].verdicts.reason)}"
        yield from wrapped(text, width, "", style=Style.DOUBT)


def _labelled(label: str, style: Style, text: str, width: int) -> Iterator[Line]:
    first, *rest = wrapped(safe(text), width - 11, "", " " * 11)
    yield line("  ", Piece(f"{label:<9}", style), *first)
    yield from rest


def _shown_by(each: Noticed) -> str:
    if each.shown_by is None:
        return "no trace that was tried shows it from outside"
    return f"would show it: {safe(writing.trace(each.shown_by))}; by {show(each.at)} an output or lamp differs"


def tolerance_data(found: Sequence[Tolerance]) -> list[dict[str, Any]]:
    """Every setting with what each value came to; times in gt."""
    return [
        {
            "name": each.setting.name,
            "what": each.setting.what,
            "timed": each.setting.timed,
            "chosen": each.setting.chosen,
            "values": [
                {"value": value, **_verdict(verdict)}
                for value, verdict in zip(each.setting.values, each.verdicts, strict=True)
            ],
        }
        for each in found
    ]


def fault_data(found: Sequence[Noticed]) -> list[dict[str, Any]]:
    """Every fault with what it came to; times in gt."""
    return [
        {
            "fault": each.fault.words,
            "noticed": each.verdicts.holds is False,
            "no_fault": each.alike,
            "tried": each.verdicts.tried,
            **_verdict(each.verdicts),
            "shown_by": None
            if each.shown_by is None
            else [{"at": act.at, "part": act.name, "verb": act.verb, "level": act.level} for act in each.shown_by],
            "shown_at": each.at,
        }
        for each in found
    ]


def _verdict(verdict: Verdicts) -> dict[str, Any]:
    return {"holds": verdict.holds, "title": verdict.title, "at": verdict.at, "reason": verdict.reason}
