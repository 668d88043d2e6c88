"""What laying out came to, in lines for people and as data."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from circuitcheck.checks.outcome import GOOD
from circuitcheck.report.lines import Line, Piece, Style, beside_or_below, line, safe, wrapped
from circuitcheck.report.terminal.looked_at_lines import elsewhere_words, looked_at_data, looked_at_lines
from circuitcheck.report.terminal.partial_layout import partial_data, partial_lines
from circuitcheck.report.terminal.repeater_lines import repeater_lines
from circuitcheck.report.terminal.two_drawings import two_drawings
from circuitcheck.report.wording import box_said

if TYPE_CHECKING:
    from circuitcheck.model.drawing import Drawing
    from circuitcheck.placing.asked_places import Asked
    from circuitcheck.placing.smallest_box import Found
    from circuitcheck.placing.task import Cost, Task
    from circuitcheck.plans.looking_after import LookedAt
    from circuitcheck.verify import FileReport

ROOM = "a larger --box, or more --layers, leaves more room"
LONGER = {"MOVES": "--moves N searches longer", "SECONDS": "--seconds N searches longer"}
"""What has a search go on that found nothing, by why it ended."""
NOTHING, NO_FEWER = "nothing smaller was found", "nothing of fewer things was found"
FEWEST = "as asked: first few things to place, blocks, dust and parts alike, and then the box"
IN_PIECES = "laid out in pieces, which is larger than a person would build it"


def drawn_lines(
    task: Task,
    found: Found,
    text: str,
    report: FileReport | None,
    looked: LookedAt | None,
    bounded: bool,
    width: int,
) -> Iterator[Line]:
    """What was found: its size, what it takes, the drawing, and what the file with it comes to.

    `bounded` says whether the call bounds the box.
    """
    what = f"  {task.of}" if task.of else ""
    yield line(Piece(safe(task.path), Style.STRONG), safe(what), f"  {counted(task.problem.parts, 'part')}")
    if found.drawing is None:
        why = _searched(found) if found.boxes else found.ended.value
        yield from beside_or_below(Piece("  no layout was found", Style.BAD), f"  {why}", width, "    ")
        if helps := _helps(found, bounded):
            yield from wrapped(helps, width, "  ", "    ")
        yield from repeater_lines(found, width)
        yield from partial_lines(found, width)
        return
    yield from _size_lines(task, found.drawing, width)
    if found.boxes or found.unjudged:
        yield from wrapped(_searched(found), width, "  ", "    ")
    if found.pieces:
        yield from wrapped(IN_PIECES, width, "  ", "    ")
    yield from repeater_lines(found, width)
    if looked is not None and looked.before is not None:
        yield from wrapped(safe(f"what changed: {elsewhere_words(looked)}"), width, "  ", "    ")
        yield line()
        yield from two_drawings(looked.before.drawing.cropped, looked.now.drawing, width)
    elif task.is_other(found.drawing):
        for each in text[_begins(text) :].splitlines():
            yield line(f"    {safe(each)}".rstrip())
    yield from _verified(report, found, width)
    if looked is not None:
        yield from looked_at_lines(looked, width)


def _size_lines(task: Task, drawing: Drawing, width: int) -> Iterator[Line]:
    """The size of what was found, what it takes, what was asked, what stays, and what there was before."""
    from circuitcheck.placing.task import cost_of

    cost = cost_of(drawing)
    yield from beside_or_below(Piece(f"  {box_said(*cost.size)}", Style.GOOD), f"  {_takes(cost)}", width, "    ")
    if task.problem.asked:
        yield from wrapped(f"as asked: {safe(_asked(task.problem.asked))}", width, "  ", "    ")
    if task.fewest_things:
        yield from wrapped(f"{FEWEST}; here {counted(len(drawing.things), 'thing')}", width, "  ", "    ")
    if task.problem.staying:
        stays = len(set(task.problem.names) & set(task.problem.staying.parts))
        said = f"as drawn: {counted(len(task.problem.staying.places), 'place')}, with {stays} of these parts"
        yield from wrapped(said, width, "  ", "    ")
    if task.drawn is not None:
        had = cost_of(task.drawn)
        nothing, takes = (NO_FEWER, "takes more") if task.fewest_things else (NOTHING, "is larger")
        saved = _saved(had, cost) if task.is_other(drawing) else nothing
        if task.is_larger(drawing):
            saved = f"{saved}; {nothing} that is as asked: what is drawn before is not, so this {takes}"
        yield from wrapped(f"before: {box_said(*had.size)}, {_takes(had)}; {saved}", width, "  ", "    ")


def _helps(found: Found, bounded: bool) -> str:
    """What helps where a search found nothing; empty where it was stopped, or nothing is known to."""
    if found.ended.name == "STOPPED":
        return ""
    return ", and ".join(filter(None, (LONGER.get(found.ended.name, ""), ROOM if bounded else "")))


def _saved(had: Cost, cost: Cost) -> str:
    """What another drawing saves."""
    fewer = {"place": had.places - cost.places, "block": had.blocks - cost.blocks, "dust": had.dust - cost.dust}
    words = {what: f"{abs(n)} dust" if what == "dust" else counted(abs(n), what) for what, n in fewer.items()}
    saved = [words[what] for what, n in fewer.items() if n > 0]
    more = [words[what] for what, n in fewer.items() if n < 0]
    said = [f"{', '.join(saved)} saved"] if saved else []
    said += [f"{', '.join(more)} more"] if more else []
    return "; ".join(said) or "as large"


def _verified(report: FileReport | None, found: Found, width: int) -> Iterator[Line]:
    """What the file with its drawing comes to."""
    if report is None:
        why = "as the time ran out" if found.unjudged else "as it was stopped"
        text = f"not verified, {why}: the drawing is the circuit, but its checks and claims were not judged"
        yield from wrapped(text, width, "  ", "    ", Style.DOUBT)
        return
    good = sum(outcome.verdict in GOOD for outcome in report.outcomes)
    yield line(f"  verified: {good} of {len(report.outcomes)} checks and claims hold")
    for outcome in report.outcomes:
        if outcome.verdict not in GOOD:
            yield from wrapped(f"{outcome.verdict.value}: {safe(outcome.title)}", width, "    ", "      ")


def counted(number: int, one: str, several: str = "") -> str:
    """A number of things in words."""
    return f"{number:,} {one if number == 1 else several or one + 's'}"


def _takes(cost: Cost) -> str:
    return f"{counted(cost.blocks, 'block')}, {cost.dust} dust, {counted(cost.parts, 'part')}"


def _begins(text: str) -> int:
    """Where the drawing begins that was put below a text, with its legend if it has one of its own."""
    drawing = text.rindex("\ndrawing")
    legend = text.rfind("\nlegend\n", 0, drawing)
    between = text[legend:drawing].split("\nend\n") if legend >= 0 else []
    return (legend if len(between) == 2 and not between[1].strip() else drawing) + 1


def _searched(found: Found) -> str:
    done = "placed and joined by dust" if found.drawing is not None else "to be placed and joined by dust"
    how = f"{counted(found.pieces, 'piece')} {done}; " if found.pieces else ""
    tried = f"{how}{counted(found.boxes, 'box', 'boxes')} tried, {counted(found.moves, 'move')}"
    down = f", {counted(found.turned_down, 'layout')} turned down" if found.turned_down else ""
    late = f", {counted(found.unjudged, 'layout')} not judged in time" if found.unjudged else ""
    return f"{tried}{down}{late}; {found.ended.value}"


def _asked(asked: Asked) -> str:
    """What stands where, and what stays free."""
    free = ", ".join(map(str, asked.free))
    at = ", ".join(f"'{name}' {spot}" for name, spot in asked.at.items())
    beside = ", ".join(side.word for side in asked.tiles)
    copies = f"copies stand side by side {beside}" if beside else ""
    return "; ".join(each for each in (at, f"{free} kept free" if free else "", copies) if each)


def _box(drawing: Drawing | None) -> dict[str, Any] | None:
    from circuitcheck.placing.task import cost_of

    if drawing is None:
        return None
    cost = cost_of(drawing)
    return {
        "layers": cost.size[0],
        "rows": cost.size[1],
        "columns": cost.size[2],
        "places": cost.places,
        "blocks": cost.blocks,
        "dust": cost.dust,
        "parts": cost.parts,
    }


def drawn_data(
    task: Task, found: Found, text: str, report: FileReport | None, looked: LookedAt | None
) -> dict[str, Any]:
    """The same as data."""
    return {
        "draw": {
            "of": task.of,
            "parts": task.problem.parts,
            "found": _box(found.drawing),
            "before": _box(task.drawn),
            "ended": found.ended.name.lower(),
            "moves": found.moves,
            "boxes": found.boxes,
            "turned_down": found.turned_down,
            "unjudged": found.unjudged,
            "pieces": found.pieces,
            "left": found.left,
            "too_long": found.too_long,
            "repeaters": [
                {"name": each.name, "from": list(each.sources), "to": list(each.readers)} for each in found.repeaters
            ],
            "kept_out": found.kept_out,
            "partial": partial_data(found),
            "looked_at": looked_at_data(looked),
            "text": text,
            "asked": {
                "at": {name: str(spot) for name, spot in task.problem.asked.at.items()},
                "free": list(map(str, task.problem.asked.free)),
                "tiles": [side.word for side in task.problem.asked.tiles],
                "fewest_things": task.fewest_things,
            },
            "stays": {
                "places": len(task.problem.staying.places),
                "parts": sorted(set(task.problem.names) & set(task.problem.staying.parts)),
            },
            "outcomes": []
            if report is None
            else [{"title": each.title, "verdict": each.verdict.value} for each in report.outcomes],
        }
    }
