"""The door of laying out: from a file's text to a task, and from what was found to a file with a drawing."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from circuitcheck.diagnostics import did_you_mean
from circuitcheck.language.load import Loaded, load_text
from circuitcheck.model.claims import Study
from circuitcheck.model.drawing import At, Drawing
from circuitcheck.placing.problem import CantPlace, Problem, problem_of
from circuitcheck.placing.written import NoLetters, with_drawing
from circuitcheck.verify import FileReport, report_on


@dataclass(frozen=True)
class Task:
    """A circuit of a file that is to be laid out."""

    path: str
    folder: str
    root: str
    text: str
    of: str
    """The definition that is to be drawn; empty for the file's own circuit."""
    study: Study
    problem: Problem

    def with_drawing(self, drawing: Drawing) -> str:
        """The file with a drawing. Raises CantPlace where letters run out."""
        try:
            return with_drawing(self.text, self.path, drawing, self.of)
        except NoLetters:
            raise CantPlace("there are more sorts of things in it than letters", "draw it in pieces") from None

    def report(self, text: str, states: int) -> FileReport:
        """What the file with its drawing comes to: its checks and claims, and that the drawing is the circuit."""
        return report_on(load_text(text, self.path, self.folder, self.root), states=states)


class Cost(NamedTuple):
    """What a drawing takes to build."""

    size: At
    blocks: int
    dust: int
    parts: int

    @property
    def places(self) -> int:
        """How many places its box has."""
        return self.size[0] * self.size[1] * self.size[2]


def cost_of(drawing: Drawing) -> Cost:
    """How large a drawing is, and what stands in it."""
    things = drawing.things.values()
    parts, dust = sum(each.is_part for each in things), sum(each.is_dust for each in things)
    return Cost(drawing.size, len(things) - parts - dust, dust, parts)


def task_of(text: str, path: str, folder: str, root: str = "", of: str = "") -> Task | Loaded:
    """The circuit of a text that is to be laid out; the file as read where it has mistakes. Raises CantPlace."""
    loaded = load_text(text, path, folder, root)
    if not loaded.valid:
        return loaded
    study = next((each for each in loaded.studies if each.label == of), None)
    if study is None:
        if of:
            hint = did_you_mean(of, [each.label for each in loaded.studies]) or "name a definition that stands alone"
            raise CantPlace(f"nothing called '{of}' is defined", hint)
        raise CantPlace("it has no circuit of its own", "name a definition with --define")
    if study.drawn is not None or study.circuit.drawing is not None:
        raise CantPlace("it is drawn already", "give a file without that drawing")
    return Task(path, folder, root, text, of, study, problem_of(study.circuit))
