"""The report as one page that holds all it needs: for teaching, for a wall, and for whoever has no terminal at hand.

Sections stand in a fixed order, first what most readers came for: what holds, the machine at work, why. The file's own
data come last, and a section that has nothing to show is left out. The page loads nothing, and runs no script but its
own: its policy says so to whatever shows it.
"""

from __future__ import annotations

from typing import NamedTuple
from xml.etree.ElementTree import Element

from circuitcheck.about import PROGRAM, VERSION
from circuitcheck.language.load import Loaded
from circuitcheck.pages import Contents
from circuitcheck.report.lines import plain
from circuitcheck.report.page.first_sections import Covers, the_file, verdicts
from circuitcheck.report.page.markup import add, head, name_of, scripts, written
from circuitcheck.report.page.pictures import graphs, light, responses
from circuitcheck.report.page.stage import stages
from circuitcheck.report.terminal.verdict_lines import summary
from circuitcheck.verify import FileReport

COVER = "Cover the answers"
FILE, VERDICTS, TIMING, GRAPH, LIGHT, RESPONSES, SHEETS, TEACHING = (
    ("file", "The file"),
    ("verdicts", "Verdicts"),
    ("timing", "Runs over time"),
    ("graph", "The signal graph"),
    ("light", "Light"),
    ("responses", "Responses"),
    ("sheets", "The machine at work"),
    ("teaching", "For teaching"),
)
"""The sections, each with what links call it."""


class Told(NamedTuple):
    """What a page tells of: a file, and what came of it."""

    loaded: Loaded
    report: FileReport
    states: int
    """How many states were looked at for each claim, at most."""
    contents: Contents


def page(told: Told, covered: bool = False) -> str:
    """The page as text; `covered` says whether it begins with its answers covered."""
    title = _title(told)
    script = scripts()
    root = Element("html", {"lang": "en", "dir": "ltr", "data-covered": "yes" if covered else "no"})
    head(root, f"{title} – {PROGRAM}", script)
    body = add(root, "body")
    top = add(body, "header")
    name_of(add(top, "h1"), title)
    add(top, "p", plain([summary([told.report])]), {"class": "totals"})
    contents = add(add(top, "nav", attributes={"aria-label": "Contents"}), "ol")
    main = add(body, "main")
    covers = _fill(_Sections(contents, main), told)
    if covers.count:
        _switch(top)
    add(body, "footer", f"Written by {PROGRAM} {VERSION}. This page loads nothing from anywhere.")
    add(body, "script").text = script
    return written(root)


def _title(told: Told) -> str:
    return told.report.title or next((name for name in _names(told.loaded)), told.report.path)


def _names(loaded: Loaded) -> list[str]:
    """What the file's circuit is called, or else its definitions."""
    own = [study.circuit.name for study in loaded.studies if not study.label]
    return own[:1] or list(dict.fromkeys(study.circuit.name for study in loaded.studies))


class _Sections:
    """Sections in their order, and the contents that lead to them."""

    def __init__(self, contents: Element, main: Element) -> None:
        self._contents = contents
        self._main = main
        self.last = main
        """The section that was added last."""

    def add(self, section: tuple[str, str]) -> Element:
        """A section with its heading."""
        name, words = section
        add(add(self._contents, "li"), "a", words, {"href": f"#{name}"})
        made = add(self._main, "section", attributes={"id": name, "aria-labelledby": f"{name}-heading"})
        add(made, "h2", words, {"id": f"{name}-heading"})
        self.last = made
        return made


def _fill(sections: _Sections, told: Told) -> Covers:
    shown, covers = told.contents, Covers()
    if told.report.outcomes or told.report.findings:
        verdicts(sections.add(VERDICTS), told.report, covers)
    numbered = list(enumerate(shown.scenes))
    drawn = [(number, scene) for number, scene in numbered if scene.drawing.things]
    in_text = [(number, scene) for number, scene in numbered if not scene.drawing.things]
    if drawn:
        boxes = {each.label or each.circuit: each.box for each in told.report.results if each.box is not None}
        stages(sections.add(SHEETS), drawn, covers, boxes)
    if in_text:
        stages(sections.add(TIMING), in_text, covers, {})
    if shown.checks > shown.runs and numbered:
        left = f"{shown.checks - shown.runs:,} more checks are not shown here: 'circuitcheck trace --check' draws any."
        add(sections.last, "p", left, {"class": "note"})
    staged = {id(scene.circuit) for _, scene in numbered if not scene.too_large}
    still = [circuit for circuit in shown.circuits if id(circuit) not in staged and len(circuit.graph)]
    if still:
        graphs(sections.add(GRAPH), still)
    if shown.light:
        light(sections.add(LIGHT), shown.light)
    if shown.responses:
        responses(sections.add(RESPONSES), shown.responses, covers)
    if covers.count:
        _teaching(sections.add(TEACHING))
    the_file(sections.add(FILE), told.report, ", ".join(_names(told.loaded)), told.states)
    return covers


def _switch(parent: Element) -> None:
    """The switch that covers all answers; it stays hidden where no script runs."""
    row = add(parent, "p", attributes={"class": "switch", "hidden": ""})
    add(row, "button", COVER, {"type": "button", "class": "cover", "aria-pressed": "false"})


def _teaching(parent: Element) -> None:
    words = (
        f"“{COVER}” covers why checks and claims do not hold, what was found, the runs over time, responses, and the "
        "levels in the sheets: say first what you expect, then reveal it, each answer by its own button or all of them "
        "by the same switch. What is covered when the page is printed stays covered on paper."
    )
    add(parent, "p", words)
    _switch(parent)
