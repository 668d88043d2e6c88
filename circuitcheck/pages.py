"""What a page shows of a file besides its verdicts, computed: runs, light, responses, drawings as powered.

A page lays out what stands here, and computes nothing of its own.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import groupby, islice
from typing import NamedTuple

from circuitcheck.chance.first_edge.response import NoSensor, Response, respond
from circuitcheck.chance.light.budget import PlaceLight, budgets
from circuitcheck.chance.machine.joint import TooLarge
from circuitcheck.checks.drawing.built import started
from circuitcheck.checks.judge import try_out
from circuitcheck.checks.outcome import Finding, full_title
from circuitcheck.checks.sensing import still
from circuitcheck.checks.trial import Trial
from circuitcheck.diagnostics import NOWHERE
from circuitcheck.engine.program import Program
from circuitcheck.engine.record import Change, Recording
from circuitcheck.engine.start import OpenStart, TooManyStarts, starts
from circuitcheck.explain.noteworthy import signals_of
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.claims import LATCH_TESTS, Atom, Check, Study, Timely, atoms, conditions
from circuitcheck.model.drawing import At, Drawing
from circuitcheck.space.showing import Reaching, reaching

MOST_RUNS = 60
"""How many runs are drawn on a page at most."""
MOST_THINGS = 12_000
"""Of a larger drawing no sheets are put into a page."""
MOST_MOMENTS = 600
"""How many moments of a run can be chosen at most."""
MOST_STARTS = 16
"""How many ways to start can be chosen at most."""


class Ran(NamedTuple):
    """A check of a study, and what came of running it."""

    study: Study
    check: Check
    trial: Trial

    @property
    def title(self) -> str:
        """What tells the check from all others of its file."""
        return full_title(self.study.label, self.check.title)

    @property
    def signals(self) -> list[str]:
        """The signals to draw of its run, those most important first; none where it was given up."""
        return [] if self.trial.shown is None else signals_of(self.trial, self.trial.shown)


class Lit(NamedTuple):
    """The light at the places of a circuit."""

    circuit: Circuit
    places: list[PlaceLight]
    still: list[Finding]
    """Cells that can never change where they are."""


class Answer(NamedTuple):
    """A response that the file claims, and what it comes to."""

    phase: str
    edge: Atom
    found: Response | None
    open_start: str = ""
    """Where none is found: which starts are not said."""
    too_large: str = ""
    """Where none is found: what is too large."""


class Moment(NamedTuple):
    """All that changes in one gt."""

    at: int
    changes: list[Change]
    levels: list[int]
    """The numbers and levels of the devices that differ after it, in turn."""


class Choice(NamedTuple):
    """What can be chosen of a drawing: the run of a check from one start, or a way to start."""

    ran: Ran | None
    """None for a way to start without a run."""
    start: Sequence[int]
    """The level of each device that is shown, at the start."""
    moments: list[Moment]
    cut: bool = False
    """Whether the run has more moments than can be chosen."""
    number: int = 1
    """Which of the ways to start it is."""
    ways: int = 1
    """In how many ways it can start."""
    tried: tuple[tuple[str, int], ...] = ()
    """How parts start in this way, where there are several."""

    @property
    def recording(self) -> Recording | None:
        """Its run."""
        return None if self.ran is None else self.ran.trial.shown


class Missing(NamedTuple):
    """A check that is not shown, since what it names is not drawn, or drawn as something that does not fit it."""

    title: str
    names: list[str]


class Scene(NamedTuple):
    """A drawing with all that can be chosen of it."""

    name: str
    drawing: Drawing
    in_text: list[list[Missing]]
    """For each circuit in text whose checks were run on what is drawn of it: the checks that are not shown."""
    given_up: list[Ran]
    choices: list[Choice]
    """None where it can start in too many ways."""
    runs: bool
    """Whether what can be chosen are runs of checks, and not only ways to start."""
    feeds: Mapping[At, list[list[int]]]
    """For each place that shows a level: the numbers of the devices that reach it, with what is lost."""
    powered: Mapping[At, int]
    """The level at each place at the first start."""

    @property
    def too_large(self) -> bool:
        """Whether it is too large to be shown."""
        return len(self.drawing.things) > MOST_THINGS


class Contents(NamedTuple):
    """What a page shows of a file besides its verdicts."""

    runs: list[Ran]
    checks: int
    """How many checks there are, of which not all may be shown."""
    circuits: list[Circuit]
    """The file's own under its usual values, or, if it has none, each of its definitions once."""
    light: list[Lit]
    responses: list[Answer]
    scenes: list[Scene]


def contents(studies: Sequence[Study]) -> Contents:
    """All that a page shows of a file's studies."""
    asked = ((study, check) for study in studies for check in study.checks)
    runs = [_run_of(study, check) for study, check in islice(asked, MOST_RUNS)]
    own = [study.circuit for study in studies if not study.label]
    circuits = own[:1] or list({study.circuit.name: study.circuit for study in reversed(studies)}.values())[::-1]
    return Contents(
        runs,
        sum(len(study.checks) for study in studies),
        circuits,
        [Lit(each, list(budgets(each)), list(still(each))) for each in circuits if each.places],
        [_answer(*claimed) for claimed in _claimed(studies)],
        list(map(_scene, _plans(studies, runs))),
    )


def _run_of(study: Study, check: Check) -> Ran:
    return Ran(study, check, try_out(Study(study.circuit, (check,), ())))


# Responses


def _claimed(studies: Sequence[Study]) -> list[tuple[Circuit, str, Atom]]:
    """Each response that a file claims, once."""
    found: dict[tuple[str, str, Atom], tuple[Circuit, str, Atom]] = {}
    for study in studies:
        for claim in study.claims:
            if isinstance(claim.body, Timely):
                edge = claim.body.edge._replace(span=NOWHERE)
                found.setdefault((study.label, claim.body.phase, edge), (study.circuit, claim.body.phase, edge))
    return list(found.values())


def _answer(circuit: Circuit, phase: str, edge: Atom) -> Answer:
    try:
        return Answer(phase, edge, respond(circuit, phase, edge))
    except OpenStart as many:
        return Answer(phase, edge, None, open_start=str(many))
    except TooLarge as large:
        return Answer(phase, edge, None, too_large=str(large))
    except NoSensor:
        return Answer(phase, edge, None)


# Drawings


class _Plan(NamedTuple):
    """A drawing with the runs to show on it."""

    name: str
    drawing: Drawing
    circuit: Circuit
    runs: list[Ran]
    in_text: list[list[Missing]]


def _plans(studies: Sequence[Study], runs: Sequence[Ran]) -> list[_Plan]:
    """Each drawing of a file, once."""
    found: dict[int, _Plan] = {}
    for study in studies:
        circuit = study.circuit if study.circuit.drawing is not None else study.drawn
        if circuit is None or circuit.drawing is None:
            continue
        key, mine = id(circuit.drawing), [ran for ran in runs if ran.study is study]
        plan = found.setdefault(key, _Plan(study.label or study.circuit.name, circuit.drawing, circuit, [], []))
        if circuit is study.circuit:
            plan.runs.extend(mine)
        else:
            drawn = started(study.circuit, circuit)
            found[key] = plan._replace(circuit=drawn)
            if mine:
                plan.in_text.append(list(_on_the_drawing(plan, drawn, mine)))
    return list(found.values())


def _on_the_drawing(plan: _Plan, drawn: Circuit, runs: Iterable[Ran]) -> Iterator[Missing]:
    """Runs the checks of a circuit in text on what is drawn of it, but for those that name what is not drawn."""
    for ran in runs:
        missing = _missing(ran.check, drawn)
        if missing:
            yield Missing(ran.title, missing)
        else:
            plan.runs.append(_run_of(ran.study._replace(circuit=drawn), ran.check))


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


def _scene(plan: _Plan) -> Scene:
    if len(plan.drawing.things) > MOST_THINGS:
        return Scene(plan.name, plan.drawing, plan.in_text, [], [], False, {}, {})
    levels = _Levels(plan)
    each_shown = [(ran, ran.trial.shown) for ran in plan.runs]
    names = levels.program.names
    recorded = [(ran, each) for ran, each in each_shown if each is not None and each.program.names == names]
    begun = list(_runs(recorded) if recorded else _starts(levels.program))
    powered = levels.powered(begun[0].start) if begun else {}
    return Scene(
        plan.name,
        plan.drawing,
        plan.in_text,
        [ran for ran, each in each_shown if each is None],
        list(map(levels.numbered_in, begun)),
        bool(recorded),
        levels.feeds(),
        powered,
    )


def _runs(runs: Iterable[tuple[Ran, Recording]]) -> Iterator[Choice]:
    """The runs of checks from each start, as many moments of each as can be chosen."""
    for ran, recording in runs:
        ways = ran.trial.starts
        if len(ways) == 1:
            yield _chosen(ran, recording)
            continue
        for number, way in enumerate(ways[:MOST_STARTS], 1):
            circuit = ran.study.circuit.starting(dict(way.tried))
            again = _run_of(ran.study._replace(circuit=circuit), ran.check)
            if again.trial.shown is not None:
                chosen = _chosen(again, again.trial.shown)
                yield chosen._replace(number=number, ways=len(ways), tried=way.tried)


def _chosen(ran: Ran, recording: Recording) -> Choice:
    grouped = ((at, list(changes)) for at, changes in groupby(recording.changes, key=lambda change: change.at))
    moments = [Moment(at, changes, []) for at, changes in islice(grouped, MOST_MOMENTS + 1)]
    return Choice(ran, recording.start, moments[:MOST_MOMENTS], len(moments) > MOST_MOMENTS)


def _starts(program: Program) -> Iterator[Choice]:
    """The ways in which a circuit can start; none where there are too many to find them."""
    try:
        ways = starts(program)
    except TooManyStarts:
        return
    for number, way in enumerate(ways[:MOST_STARTS], 1):
        yield Choice(None, way.levels, [], number=number, ways=len(ways), tried=way.tried)


class _Levels:
    """Which levels a drawing shows where: places by the parts that reach them, parts by a number of their own."""

    def __init__(self, plan: _Plan) -> None:
        self.program = Program(plan.circuit)
        whole: Reaching = reaching(plan.drawing, plan.circuit.rules)
        number = self.program.number
        self._feeds: dict[At, list[tuple[int, int]]] = {}
        """For each place that shows a level: the devices whose level reaches it, with what is lost."""
        for place, parts in whole.items():
            feeds = [(number[name], lost) for name, lost in parts.items() if name in number]
            if feeds or plan.drawing.things[place].is_dust:
                self._feeds[place] = feeds
        devices = sorted({device for feeds in self._feeds.values() for device, _ in feeds})
        self._numbered = {device: place for place, device in enumerate(devices)}

    def powered(self, levels: Sequence[int]) -> dict[At, int]:
        """The level at each place."""
        return {
            place: max([0, *(levels[device] - lost for device, lost in feeds)]) for place, feeds in self._feeds.items()
        }

    def feeds(self) -> dict[At, list[list[int]]]:
        """What reaches each place."""
        return {
            place: [[self._numbered[device], lost] for device, lost in feeds] for place, feeds in self._feeds.items()
        }

    def numbered_in(self, choice: Choice) -> Choice:
        """A choice with the levels that are shown: those at the start, and for each moment those that differ after."""
        levels = list(choice.start)
        moments = []
        for moment in choice.moments:
            before = levels[:]
            for change in moment.changes:
                levels[change.device] = change.level
            differ = [device for device in self._numbered if levels[device] != before[device]]
            told = [each for device in differ for each in (self._numbered[device], levels[device])]
            moments.append(moment._replace(levels=told))
        return choice._replace(start=[choice.start[device] for device in self._numbered], moments=moments)
