"""A stage of a page: a run that is played, with all pictures of it moved together by one row of controls.

The pictures are those of the start. What changes from moment to moment goes with the page as data, and the page's
script puts it in: for each place and each part of the graph what reaches it and what is lost on the way, for each
moment the devices that change.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any
from xml.etree.ElementTree import Element

from circuitcheck.checks.drawing.drawn_box import DrawnBox
from circuitcheck.plans.building import Built
from circuitcheck.report.exchange.folded_graph import folded_names
from circuitcheck.report.lines import plain, safe
from circuitcheck.report.page.build_views import build_views
from circuitcheck.report.page.first_sections import WIDE, Covers
from circuitcheck.report.page.layers import layers
from circuitcheck.report.page.live_graph import live_graph
from circuitcheck.report.page.looks import script_data
from circuitcheck.report.page.markup import add, behind, data, name_of
from circuitcheck.report.page.moments import START, Listed, choosing, listed
from circuitcheck.report.page.predicted import predicting
from circuitcheck.report.page.timings import line_of, run_figure
from circuitcheck.report.terminal.plans import early_lines
from circuitcheck.report.wording import drawn_in, sentence
from circuitcheck.runs_on_drawings import MOST_THINGS
from circuitcheck.runs_shown import Ran
from circuitcheck.scenes import Scene

BUTTONS = (("First", "first"), ("Back", "earlier"), ("Play", "play"), ("On", "later"), ("Last", "last"))
SPEEDS = (("every 3 s", 3_000), ("every 2 s", 2_000), ("every second", 1_000), ("2 a second", 500), ("3 a second", 340))
"""How long a moment is shown while they play, in ms. Three changes a second are the most: faster ones can harm (S1)."""
USUAL_SPEED = 1_000
CAUTION = (
    "Caution: while moments play, large parts of the pictures change, up to three times a second. For whoever flashing "
    "can harm, step by hand. Nothing plays by itself."
)
MOVING = (
    "What pistons move stands where it is at the moment; in brackets, it is on its way there. A bar across an arm is "
    "the head of a piston that is out. “≈” is water that flows, with its level: 8 is a source, or water that falls."
)
"""What the signs of things that are not always as drawn mean."""
ASKING = (
    "“Ask me before each event” covers the time to come, asks what will happen to a signal, and notes your answers "
    "beside what happened; they stay in this window only."
)
BUILDING = (
    "“Building it” goes through the layers as they are built: each with its author's words, what to bring, in which "
    "order, and what must be lit then, which is marked with 15."
)
LAYERS = (
    "Layer 1 is the lowest. Rows run from north to south, columns from west to east; the letters are those of the "
    "file's legend. A triangle points the way a thing gives, a thick stroke is the side it is held on."
)
LEVELS = (
    "The number in a place and the height of its bar are the level of power there, 15 also for a lamp that is lit, a "
    "piston that is out and a cell that is grown; no number is level 0. A dashed frame: it changed at this moment."
)
TIMES = (
    "Over time, a line that is up is on, one that is down is off; a level in between stands beside its step. Times "
    "count from the start of the run. Two slanting strokes: a quiet stretch is folded there."
)
TOGETHER = (
    "One row of controls moves all pictures of a run together, from one gt in which something changes to the next; the "
    "slider goes through every gt."
)


def stages(parent: Element, found: Sequence[tuple[int, Scene]], covers: Covers, boxes: Mapping[str, DrawnBox]) -> None:
    """Stages with what their pictures mean; each scene with its number on the page, and the box of what is drawn."""
    drawn = any(scene.drawing.things for _, scene in found)
    runs = any(scene.runs for _, scene in found)
    steps = any(scene.built is not None for _, scene in found)
    said = [
        TOGETHER if runs else "",
        LAYERS if drawn else "",
        LEVELS,
        TIMES if runs else "",
        ASKING if runs else "",
        BUILDING if steps else "",
    ]
    for words in filter(None, said):
        add(parent, "p", words)
    if any(scene.stands or scene.water for _, scene in found):
        add(parent, "p", MOVING)
    for number, scene in found:
        section = add(parent, "section", attributes={"class": "scene", "data-scene": str(number)})
        if len(found) > 1:
            name_of(add(section, "h3"), scene.name)
        if scene.name in boxes:
            add(section, "p", sentence(drawn_in(boxes[scene.name])))
        if scene.too_large:
            many = f"{len(scene.drawing.things):,} things are too many for a page; {MOST_THINGS:,} at most."
            add(section, "p", f"It is too large to be drawn here: {many}", {"class": "note"})
        else:
            _stage(section, scene, number, covers)


def _stage(parent: Element, scene: Scene, number: int, covers: Covers) -> None:
    for why in _notes(scene):
        add(parent, "p", f"{why}.", {"class": "note"})
    choices = list(map(listed, scene.choices))
    if not choices:
        add(parent, "p", "It can start in too many ways to be shown as powered.", {"class": "note"})
    stage = add(parent, "div", attributes={"class": "stage"})
    steps = scene.built is not None and len(scene.built.checkpoints) > 1
    if choices and (scene.runs or len(choices) > 1 or steps):
        _bar(add(stage, "div", attributes={"class": "bar", "hidden": ""}))
        box = add(stage, "div", attributes={"class": "controls", "hidden": ""})
        if steps:
            _ways(box, number)
        if any(shown.choice.questions for shown in choices):
            predicting(box)
        choosing(box, "Run" if scene.runs else "Start", choices, number, covers)
        if scene.built is not None and steps:
            _building(box, scene.built)
        add(box, "p", CAUTION, {"class": "note screen-only"})
        data(stage, _known(scene, choices), number)
    plane = add(stage, "div", attributes={"class": "sheets"})
    for place, shown in enumerate(choices if scene.runs else ()):
        run_figure(plane, shown, place, covers)
    when = f" at {START}" if scene.runs or len(choices) < 2 else f" at {START} of “{choices[0].title}”"
    if scene.drawing.things:
        build_views(plane, scene, number, when, covers)
    layers(plane, scene, when, covers)
    live_graph(plane, scene, when, covers)


def _ways(box: Element, number: int) -> None:
    """What the row of controls goes through: a run, or the steps of building."""
    field = add(box, "fieldset", attributes={"class": "ways"})
    behind(add(field, "legend", "Go through"), " ")
    for words, value in (("a run", "run"), ("building it", "build")):
        chosen = {"checked": ""} if value == "run" else {}
        attributes = {"type": "radio", "name": f"through-{number}", "value": value, "autocomplete": "off", **chosen}
        behind(add(add(field, "label"), "input", attributes=attributes), f" {words}")


def _building(box: Element, built: Built) -> None:
    """What is to be said of building as a whole; the layers say the rest, step by step."""
    rows = add(box, "ul", attributes={"class": "building note", "hidden": ""})
    for each in early_lines(built, WIDE):
        name_of(add(rows, "li"), sentence(plain([each]).strip()))


def _notes(scene: Scene) -> Iterator[str]:
    """What is to be said of the runs, and why some checks are not among them."""
    for missing in scene.in_text:
        yield "The checks are run here on what is drawn: its parts may be called otherwise than in the text"
        for each in missing:
            named = ", ".join(f"'{name}'" for name in each.names[:4]) + (", …" if len(each.names) > 4 else "")
            yield f"'{each.title}' is not shown: nothing that is drawn is called {named} and fits it"
    for ran in scene.given_up:
        detail = ran.trial.outcome.detail if isinstance(ran, Ran) else ran.outcome.detail
        yield f"'{ran.title}' can't be shown: {detail}"


def _known(scene: Scene, choices: Sequence[Listed]) -> Mapping[str, Any]:
    """For the page's script: what reaches each place and part, and the levels of each run from moment to moment."""
    return {
        "places": {",".join(map(str, place)): feeds for place, feeds in scene.feeds.items()},
        **_built(scene),
        "parts": [[scene.parts[name] for name in names] for names in _rows(scene)],
        "runs": [
            {
                "start": list(shown.choice.start),
                "moments": [moment.levels for moment in shown.choice.moments],
                "at": [0, *(moment.at for moment in shown.choice.moments)],
                "questions": [[each.at, safe(each.name), each.before, each.after] for each in shown.choice.questions],
                **line_of(shown.choice),
                **(
                    {"stands": [shown.choice.stand, *(moment.stand for moment in shown.choice.moments)]}
                    if scene.stands
                    else {}
                ),
            }
            for shown in choices
        ],
        **script_data(scene),
    }


def _built(scene: Scene) -> Mapping[str, Any]:
    """For the page's script: where the states of building begin, and what must be lit after each step."""
    if scene.built is None:
        return {}
    where = {scene.drawing.name(at): ",".join(map(str, at)) for at in scene.drawing.things}
    lit = [[where[name] for name in each.lit] for each in scene.built.checkpoints]
    return {"building": len(scene.standing), "lit": lit}


def _rows(scene: Scene) -> Iterable[Sequence[str]]:
    """What stands once in the graph: the parts that it stands for."""
    return folded_names(scene.circuit.graph).values() if scene.parts else ()


def _bar(row: Element) -> None:
    """One row that steps through the moments or plays them; hidden where no script runs: it would do nothing."""
    row.set("role", "group")
    row.set("aria-label", "Moments, one by one")
    for words, kind in BUTTONS:
        add(row, "button", words, {"type": "button", "class": kind})
    slider = {
        "type": "range",
        "class": "time",
        "min": "0",
        "max": "0",
        "step": "1",
        "value": "0",
        "autocomplete": "off",
    }
    add(row, "input", attributes={**slider, "aria-label": "Every gt"})
    add(row, "span", attributes={"class": "now", "aria-hidden": "true"})
    speeds = add(row, "select", attributes={"class": "speed", "aria-label": "Speed", "autocomplete": "off"})
    for words, wait in SPEEDS:
        usual = {"selected": ""} if wait == USUAL_SPEED else {}
        add(speeds, "option", words, {"value": str(wait), **usual})
