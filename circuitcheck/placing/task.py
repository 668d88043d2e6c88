"""The door of laying out: from a file's text to a task, and from what was found to a file with a drawing."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import NamedTuple

from circuitcheck.checks.drawing.built import places
from circuitcheck.diagnostics import did_you_mean
from circuitcheck.language.load import Loaded, load_text
from circuitcheck.model.claims import Study
from circuitcheck.model.drawing import At, Drawing, Thing
from circuitcheck.placing.asked_places import Asked, Spot
from circuitcheck.placing.bounds import refuse_too_large
from circuitcheck.placing.box import marked
from circuitcheck.placing.fewest_things import rank_of
from circuitcheck.placing.problem import NOWHERE_DRAWN, CantPlace, Problem, problem_of, refuse_too_many
from circuitcheck.placing.staying import staying_in
from circuitcheck.placing.written import CantKeep, NoLetters, keeping, with_drawing, without_drawing
from circuitcheck.plans.changes import changes
from circuitcheck.prove.meter import USUAL_STATES
from circuitcheck.verify import FileReport, report_on


@dataclass(frozen=True)
class Task:
    """A circuit of a file that is to be laid out."""

    loaded: Loaded
    folder: str
    root: str
    text: str
    of: str
    """The definition that is to be drawn; empty for the file's own circuit."""
    study: Study
    problem: Problem
    drawn: Drawing | None = None
    """What stands already, if a drawing is to be made smaller."""
    where: Mapping[str, At] = field(default_factory=dict)
    """Where each part stands in it."""
    fewest_things: bool = False
    """Whether what counts is first how many things are placed, and then the box."""

    @property
    def path(self) -> str:
        """Where the file stands."""
        return self.loaded.path

    def is_other(self, drawing: Drawing) -> bool:
        """Whether a drawing is another than the one that stands already, air around it apart."""
        return self.drawn is None or any(True for _ in changes(self.drawn.cropped, drawing.cropped))

    def is_larger(self, drawing: Drawing) -> bool:
        """Whether a drawing takes more than the one that stands already: it is as asked, and that is not.

        What it takes are places; where few things are asked for, things first.
        """
        if self.drawn is None:
            return False
        if self.fewest_things:
            return rank_of(drawing) > rank_of(self.drawn)
        return cost_of(drawing).places > cost_of(self.drawn).places

    def kept(self) -> str:
        """The file with its drawing in a definition of its own as well. Raises CantPlace where it can't be kept."""
        try:
            return keeping(self.text, self.path, self.of)
        except CantKeep as why:
            raise CantPlace(*why.args) from None

    def with_drawing(self, drawing: Drawing, keep: bool = False) -> str:
        """The file with a drawing, and `keep` with the one before in a definition of its own. Raises CantPlace."""
        text = self.kept() if keep else self.text
        if self.drawn is not None:
            drawing = self._spelled(drawing, self.drawn)
            text = without_drawing(text, self.path, self.of, keep_legend=bool(self.problem.staying))
        try:
            return with_drawing(text, self.path, drawing, self.of)
        except NoLetters:
            raise CantPlace("there are more sorts of things in it than letters", "draw it in pieces") from None

    def _spelled(self, drawing: Drawing, drawn: Drawing) -> Drawing:
        """A drawing whose settings are said as they are said in the one that stands: usual ones too, or not."""
        things = dict(drawing.things)
        for at, thing in drawing.things.items():
            was = drawn.things.get(self.where.get(drawing.name(at), NOWHERE_DRAWN))
            if was is not None and _settings(was) == _settings(thing):
                things[at] = replace(thing, numbers=was.numbers)
        return replace(drawing, things=things)

    def read(self, text: str) -> Loaded:
        """The file with its drawing, read as the file was."""
        return load_text(text, self.path, self.folder, self.root)

    def report(
        self,
        text: str,
        states: int = USUAL_STATES,
        begins: Callable[[str], None] = lambda title: None,
        seconds: float | None = None,
    ) -> FileReport:
        """What the file with its drawing comes to: its checks and claims, and that the drawing is the circuit.

        `begins` hears of each check and claim before it is judged; claims are proved for so many `seconds` at most.
        """
        return report_on(self.read(text), begins, states, seconds)


def _settings(thing: Thing) -> tuple[str, Mapping[str, int]]:
    """The settings of a thing that are numbers, those that are not said among them."""
    usual = {} if thing.kind is None else thing.kind.usual
    return thing.word, {**usual, **dict(thing.numbers)}


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
    return Cost(drawing.extent, len(things) - parts - dust, dust, parts)


def task_of(
    text: str, path: str, folder: str, root: str = "", of: str = "", asked: Asked | None = None
) -> Task | Loaded:
    """The circuit of a text that is to be laid out; the file as read where it has mistakes. Raises CantPlace."""
    loaded = load_text(text, path, folder, root)
    if not loaded.valid:
        return loaded
    study = _study(loaded, of)
    if study.drawn is not None or study.circuit.drawing is not None:
        raise CantPlace("it is drawn already", "'circuitcheck compact' makes a drawing smaller")
    return Task(loaded, folder, root, text, of, study, problem_of(study.circuit, asked=asked))


def drawn_task_of(
    text: str, path: str, folder: str, root: str = "", of: str = "", asked: Asked | None = None
) -> Task | Loaded:
    """The drawing of a text that is to be made smaller; the file as read where it has mistakes. Raises CantPlace."""
    loaded = load_text(text, path, folder, root)
    if not loaded.valid:
        return loaded
    study = _study(loaded, of)
    drawn = study.drawn or study.circuit
    drawing = drawn.drawing
    if drawing is None:
        raise CantPlace("it is not drawn", "'circuitcheck draw' lays out a circuit in text")
    named = (
        [name for at, name in drawing.names.items() if not drawing.things[at].is_part] if study.drawn is None else []
    )
    dust = {name: at for at, name in drawing.names.items() if not drawing.things[at].is_part}
    where = {**dust, **places(study.circuit, study.drawn)}
    stuck = [drawn.where[part.name] for part in drawn.parts if part.stuck and part.name in drawn.where]
    staying = staying_in(drawing, drawn.rules, where, _asked_to_stay(drawing, where, asked), stuck)
    problem = problem_of(study.circuit, named, asked, staying)
    where |= staying.marks
    lacking = [name for name in problem.names if name not in where]
    if lacking:
        raise CantPlace(f"the drawing is not the circuit: '{lacking[0]}' is not in it", "'verify' says what differs")
    if staying.marks:
        refuse_too_many(problem)
        refuse_too_large(drawing.size)
        problem = marked(problem, drawing, where)
    return Task(loaded, folder, root, text, of, study, problem, drawing, where)


def _asked_to_stay(drawing: Drawing, where: Mapping[str, At], asked: Asked | None) -> Iterator[At]:
    """The places that are asked to stay as they are drawn. Raises CantPlace for what is not there."""
    for each in () if asked is None else asked.stays:
        if isinstance(each, Spot):
            inside = list(each.places(drawing.size))
            if not inside:
                raise CantPlace(f"{each} is outside of the drawing", "name places in it")
            yield from inside
        elif each in where:
            yield where[each]
        else:
            raise CantPlace(f"nothing called '{each}' is drawn", did_you_mean(each, where) or "name a part, or places")


def _study(loaded: Loaded, of: str) -> Study:
    """The file's own circuit, or that of a definition, with its usual amounts: with these it is drawn."""
    named = [each.label.partition(", ")[0] for each in loaded.studies]
    if of in named:
        return loaded.studies[named.index(of)]
    if of:
        hint = did_you_mean(of, named) or "name a definition that stands alone"
        raise CantPlace(f"nothing called '{of}' is defined", hint)
    raise CantPlace("it has no circuit of its own", "name a definition with --define")
