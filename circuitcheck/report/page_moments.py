"""The sheets of a drawing on a page, as powered at a moment that is chosen from those at which something changes.

The picture of each layer is that of the start; what changes from moment to moment goes with the page as data, and the
page's script puts it in: for each place the parts whose level reaches it and what is lost on the way, for each moment
the parts that change.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import groupby, islice
from typing import NamedTuple
from xml.etree.ElementTree import Element

from circuitcheck.checks.built import started
from circuitcheck.engine.program import Program
from circuitcheck.engine.record import Change, Recording
from circuitcheck.engine.start import Start, TooManyStarts, starts
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.claims import LATCH_TESTS, Atom, Check, Study, atoms, conditions
from circuitcheck.model.drawing import At, Drawing
from circuitcheck.model.duration import show
from circuitcheck.report.account import account
from circuitcheck.report.lines import Style, plain
from circuitcheck.report.page_markup import add, behind, data, name_of, picture
from circuitcheck.report.page_pictures import Ran, run_of
from circuitcheck.report.page_verdicts import WIDE, Covers
from circuitcheck.report.sheet import RULER, SIDE, called, described, layer_picture, used
from circuitcheck.report.svg import MARGIN
from circuitcheck.report.words import left_open, sentence, standing
from circuitcheck.space.showing import Reaching, reaching

MOST_THINGS = 12_000
"""Of a larger drawing no sheets are put into a page."""
MOST_MOMENTS = 600
"""How many moments of a run can be chosen at most."""
MOST_STARTS = 16
"""How many ways to start can be chosen at most."""
MOST_NAMED = 4
"""How many changes the list of moments names of each."""
MOST_ROWS = 8
"""How many moments are seen at once in the list."""
START = "the start"


class Scene(NamedTuple):
    """A drawing with the runs to show on it."""

    name: str
    drawing: Drawing
    circuit: Circuit
    runs: list[Ran]
    notes: list[str]
    """What is to be said of the runs, and why some checks are not among them."""


def scenes(studies: Sequence[Study], runs: Sequence[Ran]) -> list[Scene]:
    """Each drawing of a file, once."""
    found: dict[int, Scene] = {}
    for study in studies:
        circuit = study.circuit if study.circuit.drawing is not None else study.drawn
        if circuit is None or circuit.drawing is None:
            continue
        name = study.label or study.circuit.name
        scene = found.setdefault(id(circuit.drawing), Scene(name, circuit.drawing, circuit, [], []))
        if circuit is study.circuit:
            scene.runs.extend(ran for ran in runs if ran.study is study)
        else:
            drawn = started(study.circuit, circuit)
            found[id(circuit.drawing)] = scene._replace(circuit=drawn)
            _on_the_drawing(scene, drawn, study, runs)
    return list(found.values())


def _on_the_drawing(scene: Scene, drawn: Circuit, study: Study, runs: Sequence[Ran]) -> None:
    """Runs the checks of a circuit in text on what is drawn of it, where all that they name is drawn."""
    mine = [ran for ran in runs if ran.study is study]
    if mine:
        words = "The checks are run here on what is drawn: its parts may be called otherwise than in the text"
        scene.notes.append(words)
    for ran in mine:
        missing = _missing(ran.check, drawn)
        if missing:
            named = ", ".join(f"'{name}'" for name in missing[:4]) + (", …" if len(missing) > 4 else "")
            scene.notes.append(f"'{ran.title}' is not shown: nothing that is drawn is called {named} and fits it")
        else:
            scene.runs.append(run_of(study._replace(circuit=drawn), ran.check))


def _missing(check: Check, drawn: Circuit) -> list[str]:
    """What a check works or asks about that is not drawn, or drawn as something of which that can't be asked."""
    asked = [each.condition for each in check.expectations]
    asked += [condition for claim in check.throughout for condition in conditions(claim.body)]
    questions = (atom for condition in asked for atom in atoms(condition))
    verbs = {name: part.verbs for name, part in drawn.by_name.items()}
    worked = (act.name for act in check.acts if act.verb not in verbs.get(act.name, ()))
    return list(dict.fromkeys([*worked, *(each.name for each in questions if not _can_be_asked(each, drawn))]))


def _can_be_asked(atom: Atom, drawn: Circuit) -> bool:
    return atom.name in (drawn.latches if atom.test in LATCH_TESTS else drawn.by_name)


# Levels


class _Levels:
    """Which levels a scene shows where: places by the parts that reach them, parts by a number of their own."""

    def __init__(self, scene: Scene) -> None:
        self.program = Program(scene.circuit)
        whole: Reaching = reaching(scene.drawing, scene.circuit.rules)
        number = self.program.number
        self.feeds: dict[At, list[tuple[int, int]]] = {}
        """For each place that shows a level: the devices whose level reaches it, with what is lost."""
        for place, parts in whole.items():
            feeds = [(number[name], lost) for name, lost in parts.items() if name in number]
            if feeds or scene.drawing.things[place].word == "dust":
                self.feeds[place] = feeds
        devices = sorted({device for feeds in self.feeds.values() for device, _ in feeds})
        self.numbered = {device: place for place, device in enumerate(devices)}

    def shown(self, levels: Sequence[int]) -> dict[At, int]:
        """The level at each place."""
        return {
            place: max([0, *(levels[device] - lost for device, lost in feeds)]) for place, feeds in self.feeds.items()
        }

    def places(self) -> Mapping[str, list[list[int]]]:
        """For the page's script: what reaches each place."""
        return {
            ",".join(map(str, place)): [[self.numbered[device], lost] for device, lost in feeds]
            for place, feeds in self.feeds.items()
        }

    def run(self, shown: _Shown) -> Mapping[str, list[int] | list[list[int]]]:
        """For the page's script: the levels at the start, and for each moment the parts that differ after it."""
        levels = list(shown.start)
        steps = []
        for moment in shown.moments:
            before = levels[:]
            for change in moment.changes:
                levels[change.device] = change.level
            differ = [device for device in self.numbered if levels[device] != before[device]]
            steps.append([each for device in differ for each in (self.numbered[device], levels[device])])
        return {"start": [shown.start[device] for device in self.numbered], "moments": steps}


class _Moment(NamedTuple):
    """All that changes in one gt, with the rows of the account that tell it."""

    at: int
    changes: list[Change]
    rows: list[str]


class _Shown(NamedTuple):
    """What can be chosen: the run of a check, or a way to start."""

    title: str
    start: bytes
    moments: list[_Moment]
    notes: list[str]


def _runs(runs: Iterable[tuple[Ran, Recording]]) -> Iterator[_Shown]:
    """The runs of checks from each start, as many moments of each as can be chosen."""
    for ran, recording in runs:
        if len(ran.trial.starts) == 1:
            yield _run(ran.title, ran, recording, ())
            continue
        for title, way, note in _titled(ran.trial.starts):
            circuit = ran.study.circuit.starting(dict(way.tried))
            again = run_of(ran.study._replace(circuit=circuit), ran.check)
            if again.trial.shown is not None:
                yield _run(f"{ran.title} – {title}", again, again.trial.shown, note)


def _run(title: str, ran: Ran, recording: Recording, notes: Sequence[str]) -> _Shown:
    moments = list(islice(_moments(recording), MOST_MOMENTS + 1))
    told = [*notes, *map(sentence, left_open(ran.trial, recording))]
    if len(moments) > MOST_MOMENTS:
        told.append(f"Only the first {MOST_MOMENTS} moments can be chosen.")
    return _Shown(title, recording.start, moments[:MOST_MOMENTS], told)


def _starts(program: Program) -> Iterator[_Shown]:
    """The ways in which a circuit can start; none where there are too many to find them."""
    try:
        ways = starts(program)
    except TooManyStarts:
        return
    for title, way, note in _titled(ways):
        yield _Shown(title, way.levels, [], note)


def _titled(ways: Sequence[Start]) -> Iterator[tuple[str, Start, list[str]]]:
    """Ways to start with what to call them, as many as can be chosen, and that there are more."""
    notes = [f"Only the first {MOST_STARTS} of {len(ways)} starts can be chosen."] if len(ways) > MOST_STARTS else []
    for number, way in enumerate(ways[:MOST_STARTS], 1):
        yield f"{number} of {len(ways)}: {_several(standing(way.tried))}", way, notes


def _moments(recording: Recording) -> Iterator[_Moment]:
    if not recording.changes:
        return
    told = (row for row in account(recording, (), WIDE) if row[0].style is not Style.FAINT)
    # One row for each change, in the same order; the time before it stands in the list of moments.
    for at, group in groupby(zip(recording.changes, told, strict=True), key=lambda each: each[0].at):
        both = list(group)
        rows = [_row(plain([row]).strip().removeprefix(show(at))) for _, row in both]
        yield _Moment(at, [change for change, _ in both], rows)


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
    for number, scene in enumerate(found):
        section = add(parent, "section", attributes={"class": "scene", "data-scene": str(number)})
        if len(found) > 1:
            name_of(add(section, "h3"), scene.name)
        if len(scene.drawing.things) > MOST_THINGS:
            many = f"{len(scene.drawing.things):,} things are too many for a page; {MOST_THINGS:,} at most."
            add(section, "p", f"It is too large to be drawn here: {many}", {"class": "note"})
        else:
            _scene(section, scene, number, covers)


def _scene(parent: Element, scene: Scene, number: int, covers: Covers) -> None:
    levels = _Levels(scene)
    shown = [(ran, ran.trial.shown) for ran in scene.runs]
    recorded = [(ran, each) for ran, each in shown if each is not None and each.program.names == levels.program.names]
    given_up = [f"'{ran.title}' can't be shown: {ran.trial.outcome.detail}" for ran, each in shown if each is None]
    for why in [*scene.notes, *given_up]:
        add(parent, "p", f"{why}.", {"class": "note"})
    choices = list(_runs(recorded) if recorded else _starts(levels.program))
    if not choices:
        add(parent, "p", "It can start in too many ways to be shown as powered.", {"class": "note"})
    stage = add(parent, "div", attributes={"class": "stage"})
    if recorded or len(choices) > 1:
        box = add(stage, "div", attributes={"class": "controls", "hidden": ""})
        _controls(box, "Check" if recorded else "Start", choices, number, covers)
        data(stage, {"places": levels.places(), "runs": [levels.run(each) for each in choices]}, number)
    plane = add(stage, "div", attributes={"class": "sheets"})
    powered = levels.shown(choices[0].start) if choices else {}
    when = f" at {START}" if recorded or len(choices) < 2 else f" at {START} of “{choices[0].title}”"
    for layer in range(1, scene.drawing.size[0] + 1):
        figure = add(plane, "figure", attributes={"class": "sheet"})
        caption = add(figure, "figcaption", f"Layer {layer}")
        if any(place[0] == layer for place in powered):
            behind(add(caption, "span", when, {"class": "when"}), "")
            holder = covers.over(figure, f"Levels of layer {layer}")
            holder.set("class", "answer levels")
            _sheet(holder, scene, layer, powered)
        else:
            _sheet(figure, scene, layer, None)
        _letters(figure, scene.drawing, layer)


def _controls(box: Element, label: str, choices: Sequence[_Shown], number: int, covers: Covers) -> None:
    """What chooses a check or a start, and a moment of it; hidden where no script runs: it would do nothing."""
    _choice(box, f"scene-{number}-run", label, [each.title for each in choices])
    for place, shown in enumerate(choices):
        holder = add(box, "div", attributes={"class": "moments"})
        select = _choice(holder, f"scene-{number}-moments-{place}", "Moment", [])
        select.set("size", str(min(len(shown.moments) + 1, MOST_ROWS)))
        for option, asked in ((START, START), *map(_label, shown.moments)):
            add(select, "option", option, {"data-told": option, "data-asked": asked})
        for note in shown.notes:
            add(holder, "p", note, {"class": "note"})
    row = add(box, "p", attributes={"class": "steps"})
    behind(add(row, "button", "Earlier", {"type": "button", "class": "earlier"}), " ")
    add(row, "button", "Later", {"type": "button", "class": "later"})
    add(box, "p", attributes={"class": "status", "role": "status"})
    if any(shown.moments for shown in choices):
        _account(covers.over(box, "What happens at this moment"), choices)


def _choice(parent: Element, name: str, label: str, options: Sequence[str]) -> Element:
    add(parent, "label", label, {"for": name})
    select = add(parent, "select", attributes={"id": name, "autocomplete": "off"})
    for option in options:
        add(select, "option", option)
    return select


def _label(moment: _Moment) -> tuple[str, str]:
    """What the list says of a moment, and what it says while the answers are covered: only what hands do."""
    told = [row.partition(":")[0] for row in moment.rows]
    hands = [words for change, words in zip(moment.changes, told, strict=True) if change.by_hand]
    at = show(moment.at)
    return f"{at}: {_several(told)}", f"{at}: {_several(hands)}" if hands else at


def _several(words: Sequence[str]) -> str:
    more = len(words) - MOST_NAMED
    return ", ".join(words[:MOST_NAMED]) + (f" and {more} more" if more > 0 else "")


def _account(parent: Element, choices: Sequence[_Shown]) -> None:
    """The account of each moment; the page's script shows the one that is chosen."""
    for run, shown in enumerate(choices):
        for place, moment in enumerate(shown.moments, 1):
            named = {"class": "told", "data-run": str(run), "data-moment": str(place), "hidden": ""}
            rows = add(parent, "ul", attributes=named)
            for row in moment.rows:
                name_of(add(rows, "li"), row)


def _sheet(parent: Element, scene: Scene, layer: int, levels: Mapping[At, int] | None) -> None:
    drawn = layer_picture(scene.drawing, layer, levels, f"layer {layer} of {scene.name}")
    _lighten(drawn, scene.drawing.size)
    picture(parent, drawn, f"Layer {layer}")


def _letters(parent: Element, drawing: Drawing, layer: int) -> None:
    letters = add(parent, "ul", attributes={"class": "letters"})
    for thing in used(drawing, layer):
        row = add(letters, "li")
        behind(add(row, "b", thing.letter), f" {described(thing)}{called(drawing, layer, thing)}")


def _lighten(drawn: Element, size: At) -> None:
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
