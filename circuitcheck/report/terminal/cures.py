"""Cures for people and for machines: each change as an edit of the file's own lines, and what it costs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from circuitcheck.curing.besides import Besides
from circuitcheck.curing.edits import Change, edited
from circuitcheck.curing.search import GRAVE, Cured, Found
from circuitcheck.curing.source_text import Source
from circuitcheck.curing.spare import Spare
from circuitcheck.explain.compare import Comparison
from circuitcheck.model.duration import show
from circuitcheck.report.lines import Line, Piece, Style, line, safe, wrapped
from circuitcheck.verify import Exit, FileReport

MOST_TOLD = 2
"""Of how many outputs it is said what they settle at."""


def cure_lines(source: Source, found: Found, width: int) -> Iterator[Line]:
    """What fails, the cures that were found, and what was tried."""
    yield line(Piece(safe(source.path), Style.STRONG))
    for title in found.failing:
        yield from wrapped(f"fails: {safe(title)}", width, "  ", "    ", Style.BAD)
    yield line()
    for number, cure in enumerate(found.cures, 1):
        yield from _cure(source, number, cure, width)
    yield from wrapped(_summary(found), width, "", style=Style.STRONG)
    for title, number in found.instead[:MOST_TOLD]:
        those = f"with {number} of the {_many(found.hopeful, 'single change')} with which all that fails now would hold"
        doubt = "; look whether they contradict each other" if number == found.hopeful else ""
        yield from wrapped(f"{those}, this fails instead: {safe(title)}{doubt}", width, "  ", "    ", Style.DOUBT)


def nothing_to_cure(report: FileReport, width: int) -> Iterator[Line]:
    """What is said of a file in which nothing fails."""
    if report.exit is Exit.HOLDS:
        text = f"nothing fails in {safe(report.path)}: {_all_hold(len(report.outcomes))}"
    else:
        text = f"nothing fails in {safe(report.path)}, but not all of it is decided: verify says what is open"
    yield from wrapped(text, width, "", style=Style.STRONG)


def cured_words(path: str, cure: Cured) -> str:
    """What is said of a file that was written."""
    return f"written to {path}: {cure.change.words}"


def _cure(source: Source, number: int, cure: Cured, width: int) -> Iterator[Line]:
    first, *rest = wrapped(safe(cure.change.words), width - 6, "", " " * 6)
    yield line(f"  {number:>2}  ", *(Piece(piece.text, Style.GOOD) for piece in first))
    yield from rest
    yield from wrapped(cost_words(cure.change), width, "      ", style=Style.FAINT)
    for rule, part in cure.findings:
        text = f"it brings {GRAVE[rule]} ({rule}) at '{safe(part)}', which the file has not as it stands"
        yield from wrapped(text, width, "      ", style=Style.DOUBT)
    for text, style in _besides(cure):
        yield from wrapped(text, width, "      ", " " * 8, style)
    for place, before, after in edits_of(source, cure.change):
        yield line(Piece(f"      {safe(source.path)}:{place[0]}:{place[1]}", Style.FAINT))
        yield line(Piece(f"        - {safe(before.strip())}"))
        for text in after:
            yield line(Piece(f"        + {safe(text.strip())}"))
    yield line()


def _besides(cure: Cured) -> Iterator[tuple[str, Style]]:
    """What it changes beside what was to be cured, and what of it no check would notice."""
    found = cure.besides
    if found is None:
        return
    if found.comparison is None:
        yield "what it changes besides was not followed: it takes more work than is done for it", Style.DOUBT
    else:
        yield f"besides: {'; '.join(_changes(found.comparison))}", Style.PLAIN
    for each in found.spare[:MOST_TOLD]:
        yield _spare_words(each), Style.PLAIN
    for words in found.unnoticed:
        yield f"no check and no claim would notice if then {safe(words)}", Style.DOUBT


def _spare_words(found: Spare) -> str:
    had = f", where it had {show(found.before)}" if found.before is not None else ""
    return f"'{safe(found.check)}' has {show(found.after)} to spare{had}"


def _changes(comparison: Comparison) -> Iterator[str]:
    if comparison.mismatch:
        yield safe(comparison.mismatch)
        return
    for each in comparison.functions[:MOST_TOLD]:
        row = ", ".join(f"{safe(name)} {'on' if on else 'off'}" for name, on in each.row) or "no inputs"
        yield f"'{safe(each.output)}' settles at {each.second}, not {each.first}, with {row}"
    if not comparison.functions:
        yield "what outputs settle at is as before"
    reaction = comparison.reaction
    if reaction is not None:
        done = ", ".join(f"{safe(name)} {verb} at {show(at)}" for at, name, verb in reaction.actions[-2:])
        yield f"'{safe(reaction.output)}' first reacts otherwise at {show(reaction.at)}{', after ' * bool(done)}{done}"
    elif comparison.unfollowed < comparison.series:
        yield f"in {comparison.series - comparison.unfollowed} series of actions it reacts as before"
    if comparison.costs is not None:
        first, second = comparison.costs
        if first.slowest != second.slowest:
            slowest = [show(each.slowest) if each.slowest is not None else "none" for each in (first, second)]
            yield f"its slowest path {slowest[0]} → {slowest[1]}"


def cost_words(change: Change) -> str:
    """What a change costs: parts, places, ticks."""
    cost = change.cost
    parts = change.more_parts
    said = [
        "no part more" if not cost.parts else f"{_many(abs(parts), 'part')} {'more' if parts > 0 else 'fewer'}",
        *([f"{_many(cost.places, 'connection')} moved"] if cost.places else []),
        *([f"{_many(cost.steps, 'step')} of a setting"] if cost.steps and not cost.parts else []),
        *([f"{show(abs(change.later))} {'later' if change.later > 0 else 'earlier'}"] if change.later else []),
    ]
    return ", ".join(said)


def edits_of(source: Source, change: Change) -> list[tuple[tuple[int, int], str, Sequence[str]]]:
    """Each line that changes: its place, as it was, and what stands there then."""
    found: list[tuple[tuple[int, int], str, Sequence[str]]] = []
    for number in sorted({each.line for each in change.edits}):
        own = [each for each in change.edits if each.line == number]
        text = source.lines[number - 1]
        after = edited([text], [each._replace(line=1) for each in own])
        column = min(each.start for each in own)
        found.append(((number, column), text, after))
    return found


def _summary(found: Found) -> str:
    tried = f"{found.tried:,} of {found.singles:,} single changes tried"
    if found.pairs:
        tried += f", {found.pairs_tried:,} of {found.pairs:,} pairs"
    if found.ended:
        tried += f"; {found.ended}"
    if found.undecided:
        tried += f"; {_many(found.undecided, 'change')} left open, with which nothing fails but not all was decided"
    if not found.cures:
        most = "up to two changes" if found.pairs_tried or not found.ended else "one change"
        words = f"no cure of {most}" if not found.ended else "no cure was found"
        return f"{words} ({tried})"
    several = len(found.cures) > 1
    those = f"{len(found.cures)} cures: with each" if several else "1 cure: with it"
    return f"{those} {_all_hold(found.asked)} ({tried})"


def _all_hold(number: int) -> str:
    return f"all {number} checks and claims hold" if number != 1 else "the one check or claim holds"


def _many(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}"


def cure_data(source: Source, found: Found) -> dict[str, Any]:
    """What a search came to, for machines; times in gt."""
    return {
        "failing": list(found.failing),
        "asked": found.asked,
        "cures": [_cure_data(source, each) for each in found.cures],
        "tried": {"singles": found.tried, "of": found.singles, "pairs": found.pairs_tried, "of_pairs": found.pairs},
        "undecided": found.undecided,
        "ended": found.ended,
        "instead": [{"title": title, "changes": number} for title, number in found.instead],
    }


def _cure_data(source: Source, cure: Cured) -> dict[str, Any]:
    change = cure.change
    return {
        "words": change.words,
        "changes": max(1, len(change.singles)),
        "cost": {"parts": change.cost.parts, "places": change.cost.places, "steps": change.cost.steps},
        "more_parts": change.more_parts,
        "later": change.later,
        "findings": [{"rule": rule, "part": part} for rule, part in cure.findings],
        "edits": [
            {"file": source.path, "line": place[0], "column": place[1], "before": before, "after": list(after)}
            for place, before, after in edits_of(source, change)
        ],
        "besides": None if cure.besides is None else _besides_data(cure.besides),
        "text": cure.text,
    }


def _besides_data(found: Besides) -> dict[str, Any]:
    comparison = found.comparison
    return {
        "followed": comparison is not None,
        "settles_otherwise": [] if comparison is None else [each.output for each in comparison.functions],
        "reacts_otherwise": None
        if comparison is None or comparison.reaction is None
        else {"output": comparison.reaction.output, "at": comparison.reaction.at},
        "slowest": None
        if comparison is None or comparison.costs is None
        else [each.slowest for each in comparison.costs],
        "spare": [{"check": each.check, "before": each.before, "after": each.after} for each in found.spare],
        "faults": found.faults,
        "unnoticed": list(found.unnoticed),
    }
