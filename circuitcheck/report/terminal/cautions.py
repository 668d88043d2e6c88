"""What can harm people (rule S1), for people: told in full in every form of report, also where a file silences it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from circuitcheck.checks.finding import Finding, FlashingSearch
from circuitcheck.report import writing
from circuitcheck.report.lines import Line, Piece, Style, line, safe, wrapped
from circuitcheck.report.terminal.picture import picture
from circuitcheck.report.wording import place_in

INDENT = " " * 11
SHOWN_BEFORE = 4
MOST_ROWS = 12
"""How many signals are drawn."""


def cautions(findings: Iterable[Finding]) -> list[Finding]:
    """Those of some findings that nothing may hide."""
    return [finding for finding in findings if finding.cautions]


def caution_lines(findings: Sequence[Finding], path: str, width: int) -> Iterator[Line]:
    """Each caution with its place, how to fix it, the author's reason if silenced, and what led there."""
    for each in findings:
        label, style = ("FORBID", Style.BAD) if each.forbidden else ("caution", Style.BAD)
        where = f"  {each.where}" if each.where else ""
        yield line("  ", Piece(f"{label:<9}", style), safe(f"{place_in(each.span, path)}  {each.rule}{where}"))
        yield from wrapped(safe(each.message), width, INDENT)
        if each.silenced:
            yield from wrapped(f"silenced in the file because: {safe(each.silenced)}", width, INDENT)
        if each.hint:
            yield from wrapped(f"hint: {safe(each.hint)}", width, INDENT, INDENT + " " * 6)
        yield from _leading_up(each, width)


def _leading_up(each: Finding, width: int) -> Iterator[Line]:
    """What is done before a machine flashes by itself, and its second in a picture."""
    flashing = each.flashing
    if flashing is None or not flashing.by_itself:
        return
    yield from wrapped(f"before that: {safe(writing.trace(flashing.trace))}", width, INDENT)
    recording = flashing.recording
    if recording is not None:
        yield line()
        inputs = dict.fromkeys(act.name for act in flashing.trace)
        first = max(min(flashing.begins - SHOWN_BEFORE, recording.until), 0)
        yield from picture(recording, [*inputs, *flashing.lamps][:MOST_ROWS], first, recording.until, width)
        yield line()


def caution_sentence(each: Finding) -> str:
    """A caution in one line, made safe."""
    silenced = f" (silenced in the file because: {each.silenced})" if each.silenced else ""
    return safe(f"{each.span}: {each.rule} {each.message}{silenced}")


def search_sentence(search: FlashingSearch) -> str:
    """How far it was looked for flashing that a machine makes by itself, in one line, made safe."""
    quiet = f"{search.quiet:,} of them with no input changed for a second"
    if search.complete:
        return f"all {search.states:,} states were explored, {quiet}"
    touches = f"with inputs changed in at most {search.touches} gt" if search.states else "none could be finished"
    return safe(f"explored {search.states:,} states, {quiet}, {touches}; not further, because {search.limit}")


def search_lines(search: FlashingSearch, path: str, width: int) -> Iterator[Line]:
    """What came of looking for flashing that a machine makes by itself, whether there is any or not."""
    if search.finding is not None:
        yield from caution_lines([search.finding], path, width)
        yield from wrapped(search_sentence(search), width, INDENT)
        return
    if search.complete and not search.states:
        return  # it has no lamps
    label, what = ("no", "it") if search.complete else ("open", "whether it")
    text = f"{what} flashes more than three times a second by itself (S1): {search_sentence(search)}"
    rows = wrapped(text, width - 11, "", INDENT)
    yield line("  ", Piece(f"{label:<9}", Style.PLAIN if search.complete else Style.DOUBT), *rows[0])
    yield from rows[1:]
