"""The sheets of a drawing on a page, as powered at a moment that is chosen from those at which something changes.

The picture of each layer is that of the start; what changes from moment to moment goes with the page as data, and the
page's script puts it in: for each place the parts whose level reaches it and what is lost on the way, for each moment
the parts that change.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import islice
from typing import Any, NamedTuple
from xml.etree.ElementTree import Element

from circuitcheck.engine.record import Recording
from circuitcheck.model.drawing import At, Drawing
from circuitcheck.model.duration import show
from circuitcheck.report.exchange.svg import MARGIN
from circuitcheck.report.lines import Style, plain
from circuitcheck.report.page.build_views import build_views
from circuitcheck.report.page.first_sections import WIDE, Covers
from circuitcheck.report.page.looks import at_start, script_data
from circuitcheck.report.page.markup import add, behind, data, name_of, picture
from circuitcheck.report.sheet import RULER, SIDE, Look, called, described, layer_picture, used
from circuitcheck.report.terminal.account import account
from circuitcheck.report.wording import left_open, sentence, standing
from circuitcheck.scenes import MOST_STARTS, MOST_THINGS, Choice, Moment, Scene

MOST_NAMED = 4
"""How many changes the list of moments names of each."""
MOST_ROWS = 8
"""How many moments are seen at once in the list."""
START = "the start"
BUTTONS = (("First", "first"), ("Back", "earlier"), ("Play", "play"), ("On", "later"), ("Last", "last"))
SPEEDS = (("every 3 s", 3_000), ("every 2 s", 2_000), ("every second", 1_000), ("2 a second", 500), ("3 a second", 340))
"""How long a moment is shown while they play, in ms. Three changes a second are the most: faster ones can harm (S1)."""
USUAL_SPEED = 1_000
CAUTION = (
    "Caution: while moments play, large parts of the layers change, up to three times a second. For whoever flashing "
    "can harm, step by hand. Nothing plays by itself."
)
MOVING = (
    "What pistons move stands where it is at the moment; in brackets, it is on its way there. A bar across an arm is "
    "the head of a piston that is out. “≈” is water that flows, with its level: 8 is a source, or water that falls."
)
"""What the signs of things that are not always as drawn mean."""


# Words for what can be chosen


class _Listed(NamedTuple):
    """A choice in words: what it is called, the rows that tell each of its moments, and what is to be said of it."""

    choice: Choice
    title: str
    rows: list[list[str]]
    notes: list[str]


def _listed(choice: Choice) -> _Listed:
    recording = choice.recording
    several = choice.ran is None or choice.ways > 1
    start = f"{choice.number} of {choice.ways}: {_several(standing(choice.tried))}" if several else ""
    notes = []
    if choice.ways > MOST_STARTS:
        notes.append(f"Only the first {MOST_STARTS} of {choice.ways} starts can be chosen.")
    if choice.ran is None or recording is None:
        return _Listed(choice, start, [], notes)
    notes += map(sentence, left_open(choice.ran.trial, recording))
    if choice.cut:
        notes.append(f"Only the first {len(choice.moments)} moments can be chosen.")
    title = f"{choice.ran.title} – {start}" if several else choice.ran.title
    return _Listed(choice, title, list(_told(choice, recording)), notes)


def _told(choice: Choice, recording: Recording) -> Iterator[list[str]]:
    """The rows of the account that tell each moment, without its time, which stands in the list of moments."""
    told = (row for row in account(recording, (), WIDE) if row[0].style is not Style.FAINT)
    for moment in choice.moments:
        rows = islice(told, len(moment.changes))  # one for each change, in the same order
        yield [_row(plain([row]).strip().removeprefix(show(moment.at))) for row in rows]


def _row(told: str) -> str:
    """A row of the account without its columns: `gate on: its block is unpowered, …`."""
    words = told.split()
    what = 3 if words[1] == "at" else 2
    return f"{' '.join(words[:what])}: {' '.join(words[what:])}"


# The page


def sheets(parent: Element, found: Sequence[Scene], covers: Covers) -> None:
    """Every layer of each drawing, from the bottom up, with what chooses the moment."""
    words = (
        "Layer 1 is the lowest. Rows run from north to south, columns from west to east; the letters are those of the "
        "file's legend. A triangle points the way a thing gives, a thick stroke is the side it is held on. The number "
        "in a place and the height of its bar are the level of power there, 15 also for a lamp that is lit, a piston "
        "that is out and a cell that is grown; no number is level 0. A dashed frame: it changed at this moment."
    )
    add(parent, "p", words)
    if any(scene.stands or scene.water for scene in found):
        add(parent, "p", MOVING)
    for number, scene in enumerate(found):
        section = add(parent, "section", attributes={"class": "scene", "data-scene": str(number)})
        if len(found) > 1:
            name_of(add(section, "h3"), scene.name)
        if scene.too_large:
            many = f"{len(scene.drawing.things):,} things are too many for a page; {MOST_THINGS:,} at most."
            add(section, "p", f"It is too large to be drawn here: {many}", {"class": "note"})
        else:
            _scene(section, scene, number, covers)


def _scene(parent: Element, scene: Scene, number: int, covers: Covers) -> None:
    for why in _scene_notes(scene):
        add(parent, "p", f"{why}.", {"class": "note"})
    choices = list(map(_listed, scene.choices))
    if not choices:
        add(parent, "p", "It can start in too many ways to be shown as powered.", {"class": "note"})
    stage = add(parent, "div", attributes={"class": "stage"})
    if scene.runs or len(choices) > 1:
        box = add(stage, "div", attributes={"class": "controls", "hidden": ""})
        _controls(box, "Check" if scene.runs else "Start", choices, number, covers)
        data(stage, _script_data(scene), number)
    plane = add(stage, "div", attributes={"class": "sheets"})
    build_views(plane, scene, number)
    powered, looks = scene.powered, at_start(scene)
    when = f" at {START}" if scene.runs or len(choices) < 2 else f" at {START} of “{choices[0].title}”"
    for layer in range(1, scene.drawing.size[0] + 1):
        figure = add(plane, "figure", attributes={"class": "sheet"})
        caption = add(figure, "figcaption", f"Layer {layer}")
        if any(place[0] == layer for place in (*powered, *looks)):
            behind(add(caption, "span", when, {"class": "when"}), "")
            holder = covers.over(figure, f"Levels of layer {layer}")
            holder.set("class", "answer levels")
            _sheet(holder, scene, layer, powered, looks)
        else:
            _sheet(figure, scene, layer, None, {})
        _letters(figure, scene.drawing, layer)


def _scene_notes(scene: Scene) -> Iterator[str]:
    """What is to be said of the runs, and why some checks are not among them."""
    for missing in scene.in_text:
        yield "The checks are run here on what is drawn: its parts may be called otherwise than in the text"
        for each in missing:
            named = ", ".join(f"'{name}'" for name in each.names[:4]) + (", …" if len(each.names) > 4 else "")
            yield f"'{each.title}' is not shown: nothing that is drawn is called {named} and fits it"
    for ran in scene.given_up:
        yield f"'{ran.title}' can't be shown: {ran.trial.outcome.detail}"


def _script_data(scene: Scene) -> Mapping[str, Any]:
    """For the page's script: what reaches each place, and the levels of each choice from moment to moment."""
    return {
        "places": {",".join(map(str, place)): feeds for place, feeds in scene.feeds.items()},
        "runs": [
            {
                "start": list(choice.start),
                "moments": [moment.levels for moment in choice.moments],
                **({"stands": [choice.stand, *(moment.stand for moment in choice.moments)]} if scene.stands else {}),
            }
            for choice in scene.choices
        ],
        **script_data(scene),
    }


def _controls(box: Element, label: str, choices: Sequence[_Listed], number: int, covers: Covers) -> None:
    """What chooses a check or a start, and a moment of it; hidden where no script runs: it would do nothing."""
    _choice(box, f"scene-{number}-run", label, [each.title for each in choices])
    for place, shown in enumerate(choices):
        holder = add(box, "div", attributes={"class": "moments"})
        select = _choice(holder, f"scene-{number}-moments-{place}", "Moment", [])
        select.set("size", str(min(len(shown.choice.moments) + 1, MOST_ROWS)))
        for option, asked in ((START, START), *map(_label, shown.choice.moments, shown.rows)):
            add(select, "option", option, {"data-told": option, "data-asked": asked})
        for note in shown.notes:
            add(holder, "p", note, {"class": "note"})
    _playback(box, f"scene-{number}-speed")
    add(box, "p", attributes={"class": "status", "role": "status"})
    if any(shown.choice.moments for shown in choices):
        _account(covers.over(box, "What happens at this moment"), choices)


def _playback(box: Element, name: str) -> None:
    """One row that steps through the moments, or plays them."""
    row = add(box, "div", attributes={"class": "steps", "role": "group", "aria-label": "Moments, one by one"})
    for words, kind in BUTTONS:
        add(row, "button", words, {"type": "button", "class": kind})
    add(row, "label", "Speed", {"for": name})
    speeds = add(row, "select", attributes={"id": name, "class": "speed", "autocomplete": "off"})
    for words, wait in SPEEDS:
        usual = {"selected": ""} if wait == USUAL_SPEED else {}
        add(speeds, "option", words, {"value": str(wait), **usual})
    add(box, "p", CAUTION, {"class": "note screen-only"})


def _choice(parent: Element, name: str, label: str, options: Sequence[str]) -> Element:
    add(parent, "label", label, {"for": name})
    select = add(parent, "select", attributes={"id": name, "autocomplete": "off"})
    for option in options:
        add(select, "option", option)
    return select


def _label(moment: Moment, rows: Sequence[str]) -> tuple[str, str]:
    """What the list says of a moment, and what it says while the answers are covered: only the actions."""
    told = [row.partition(":")[0] for row in rows]
    hands = [words for change, words in zip(moment.changes, told, strict=True) if change.by_hand]
    at = show(moment.at)
    return f"{at}: {_several(told)}", f"{at}: {_several(hands)}" if hands else at


def _several(words: Sequence[str]) -> str:
    more = len(words) - MOST_NAMED
    return ", ".join(words[:MOST_NAMED]) + (f" and {more} more" if more > 0 else "")


def _account(parent: Element, choices: Sequence[_Listed]) -> None:
    """The account of each moment; the page's script shows the one that is chosen."""
    for run, shown in enumerate(choices):
        for place, told in enumerate(shown.rows, 1):
            named = {"class": "told", "data-run": str(run), "data-moment": str(place), "hidden": ""}
            rows = add(parent, "ul", attributes=named)
            for row in told:
                name_of(add(rows, "li"), row)


def _sheet(
    parent: Element, scene: Scene, layer: int, levels: Mapping[At, int] | None, looks: Mapping[At, Look]
) -> None:
    drawn = layer_picture(scene.drawing, layer, levels, f"layer {layer} of {scene.name}", looks)
    lighten(drawn, scene.drawing.size)
    picture(parent, drawn, f"Layer {layer}")


def _letters(parent: Element, drawing: Drawing, layer: int) -> None:
    letters = add(parent, "ul", attributes={"class": "letters"})
    for thing in used(drawing, layer):
        row = add(letters, "li")
        behind(add(row, "b", thing.letter), f" {described(thing)}{called(drawing, layer, thing)}")


def lighten(drawn: Element, size: At) -> None:
    """Takes out what the page's style, or one grid, says once for all places: a sheet has thousands of them."""
    _, rows, columns = size
    corner = MARGIN + RULER
    lines = [f"M{corner} {corner + SIDE * row}h{SIDE * columns}" for row in range(rows + 1)]
    lines += [f"M{corner + SIDE * column} {corner}v{SIDE * rows}" for column in range(columns + 1)]
    behind_all = next(place for place, each in enumerate(drawn) if each.tag == "rect") + 1
    drawn.insert(behind_all, Element("path", {"d": "".join(lines), "class": "grid"}))
    for group in drawn.findall("g"):
        if group.find("title") is None:
            drawn.remove(group)
            continue
        for element in group:
            kind = element.get("class", "")
            if kind in ("letter", "level"):
                for name in ("text-anchor", "font-size", "font-family", "fill"):
                    element.attrib.pop(name, None)
            elif kind == "bar":
                element.attrib.pop("fill", None)
