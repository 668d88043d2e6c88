"""A run as an account of moments: a row for each change, with its rule and its cause, quiet stretches folded."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from circuitcheck.engine.record import Change, Recording
from circuitcheck.explain.made_by import Making
from circuitcheck.model.duration import show
from circuitcheck.report.lines import Line, Piece, Style, line, safe, shortened, wrapped

QUIET = 20
"""Stretches without a change that are longer than this many gt are reported."""


LONGEST = 60
"""How many letters of a name are shown in a sentence."""


def account(recording: Recording, names: Sequence[str], width: int, first: int = 0) -> Iterator[Line]:
    """Every change of the named signals and of what makes them from a gt on; of all devices where none is named."""
    program, making = recording.program, Making(recording)
    wanted = {source for name in names for source, _ in program.probe(name)} or set(range(len(program.devices)))
    shown = [change for change in recording.changes if change.device in wanted and change.at >= first]
    longest = min(max((len(safe(program.names[change.device])) for change in shown), default=4), width // 3)
    widest = max(5, *(len(_what(recording, change)) for change in shown)) if shown else 5
    before = first
    for change in shown:
        if change.at - before > QUIET:
            yield line(Piece(f"    {'':>6}  … quiet for {show(change.at - before)}", Style.FAINT))
        at = show(change.at) if change.at != before or change is shown[0] else ""
        before = change.at
        name = shortened(program.names[change.device], longest)
        text = f"{name:<{longest}}  {_what(recording, change):<{widest}} {_why(recording, making, change)}"
        yield from wrapped(text, width, f"    {at:>6}  ", " " * (14 + longest))
    if not shown:
        yield line("    nothing changes")


def _what(recording: Recording, change: Change) -> str:
    if change.stroke is not None:
        return "starts"
    level = recording.shown(recording.program.names[change.device], change.level)
    return "on" if level == 15 else "off" if level == 0 else f"at {level}"


def _why(recording: Recording, making: Making, change: Change) -> str:
    program = recording.program
    reason = program.devices[change.device].reason(change.level)
    rule, words = change.stroke or change.reason or (reason.rule, reason.words)
    if change.by_hand:
        return f"{words} ({rule})"
    cause = making.of_change(change)
    since = change.at - (change.began if cause is None else cause.at)
    waited = f", {show(since)} after" if since else ", as"
    if cause is None:
        return f"{words} ({rule}){waited} the start"
    own = "it" if cause.device == change.device else f"'{shortened(program.names[cause.device], LONGEST)}'"
    did = "started" if cause.stroke is not None else f"went {_what(recording, cause)}"
    return f"{words} ({rule}){waited} {own} {did}"
