"""What a page plays: the runs of a circuit moment by moment, with what is powered and what has moved where it is drawn.

A circuit in text alone has a drawing without anything in it. A page lays out what stands here, and computes nothing of
its own.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import groupby, islice, takewhile
from types import MappingProxyType
from typing import Any, NamedTuple

from circuitcheck.engine.program import Program
from circuitcheck.engine.record import Change, Recording, configuration_at
from circuitcheck.engine.refused import RunRefused
from circuitcheck.engine.start import TooManyStarts, starts
from circuitcheck.explain.predicting import Question, questions
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.drawing import At, Drawing
from circuitcheck.plans.at_a_moment import Feeds, Seen, Stand, Stands
from circuitcheck.plans.building import Built, build_up
from circuitcheck.plans.solids import Solid
from circuitcheck.plans.solids_at_a_moment import Standings, growing
from circuitcheck.runs_on_drawings import Missing, Plan
from circuitcheck.runs_shown import Ran, Shown, run_of

MOST_BUILT = 1_500
"""How a larger drawing is built, 'sheets' says."""
MOST_REBUILT = 20_000
"""Of a build in which more things are looked at again, only whole stages are simulated."""
MOST_PARTS = 2_000
"""Of more parts than this no levels go with a signal graph."""
MOST_MOMENTS = 600
"""How many moments of a run can be chosen at most."""
MOST_STARTS = 16
"""How many ways to start can be chosen at most."""


class Moment(NamedTuple):
    """All that changes in one gt."""

    at: int
    changes: list[Change]
    levels: list[int]
    """The numbers and levels of the devices that differ after it, in turn."""
    stand: int = 0
    """The number of the stand of the drawing after it."""


class Choice(NamedTuple):
    """What can be chosen of a drawing: the run of a check from one start, or a way to start."""

    ran: Shown | None
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
    stand: int = 0
    """The number of the stand of the drawing at the start."""
    questions: tuple[Question, ...] = ()
    """What may be asked before moments, in their order."""

    @property
    def recording(self) -> Recording | None:
        """Its run."""
        return None if self.ran is None else self.ran.recording


Feed = Sequence[tuple[int, int]]
"""What makes a level: devices by number, with what is lost on the way."""


NOTHING: Mapping[Any, Any] = MappingProxyType({})
"""Where a scene has nothing to tell."""


class Scene(NamedTuple):
    """A drawing with all that can be chosen of it."""

    name: str
    drawing: Drawing
    in_text: Sequence[Sequence[Missing]]
    """For each circuit in text whose checks were run on what is drawn of it: the checks that are not shown."""
    circuit: Circuit
    """The circuit that runs, for its signal graph."""
    too_large: bool = False
    """Whether it is too large to be shown; then nothing follows."""
    given_up: Sequence[Shown] = ()
    choices: Sequence[Choice] = ()
    """None where it can start in too many ways."""
    runs: bool = False
    """Whether what can be chosen are runs of checks, and not only ways to start."""
    feeds: Feeds = NOTHING
    """For each place that shows a level: the numbers of the devices that reach it, with what is lost."""
    powered: Mapping[At, int] = NOTHING
    """The level at each place at the first start."""
    drawn: Mapping[At, Seen] = NOTHING
    """What is drawn at the places at which something else is seen at some moment."""
    stands: Sequence[Stand] = ()
    """The ways in which pistons displace things in what can be chosen; none where nothing is ever displaced."""
    water: Mapping[At, int] = NOTHING
    """The numbers of the devices that are the water at places that flowing water can reach."""
    conditions: Mapping[At, tuple[int, bool]] = NOTHING
    """For each thing that comes and goes: what it depends on, by number, and whether that is on while it is there."""
    solids: Mapping[At, Solid] = NOTHING
    """The solid at each place as it is drawn, for the views in three dimensions."""
    standing: Sequence[Mapping[At, Solid]] = ()
    """The solids in each stand, with water wherever it can flow to; in a single one where nothing is ever displaced."""
    built: Built | None = None
    """How it is built, stage by stage; None of what is too large for that, or not drawn."""
    growing: Sequence[Mapping[At, Solid]] = ()
    """The solids that stand after each stage."""
    parts: Mapping[str, Feed] = NOTHING
    """For each part of that graph: the numbers of the devices that reach it, with what is lost; none if too many."""


def scene_of(plan: Plan) -> Scene:
    """All that a page shows of a drawing and its runs."""
    bare = Scene(plan.name, plan.drawing, plan.in_text, plan.circuit, plan.too_large)
    if plan.too_large:
        return bare
    levels = _Levels(plan)
    each_shown = [(ran, ran.recording) for ran in plan.runs]
    names = levels.program.names
    recorded = [(ran, each) for ran, each in each_shown if each is not None and each.program.names == names]
    begun = list(_runs(recorded) if recorded else _starts(levels.program))
    choices = list(map(levels.stood, begun))
    levels.number()
    standings = Standings(plan.drawing, plan.circuit.rules, levels.stands)
    small = 0 < len(plan.drawing.things) <= MOST_BUILT
    built = build_up(plan.circuit, plan.drawing, plan.circuit, MOST_REBUILT) if small else None
    stages = [checkpoint.stage.places for checkpoint in built.checkpoints] if built is not None else []
    return bare._replace(
        given_up=[ran for ran, each in each_shown if each is None],
        choices=list(map(levels.numbered_in, choices)),
        runs=bool(recorded),
        feeds=levels.feeds,
        powered=levels.powered(choices[0]) if choices else {},
        drawn=levels.stands.at_home,
        stands=levels.shown_stands,
        water=levels.water,
        conditions=levels.conditions,
        solids=standings.home,
        standing=[standings.in_stand(number) for number in range(len(levels.stands.found))],
        built=built,
        growing=list(growing(standings.home, stages)),
        parts=levels.parts,
    )


def _runs(runs: Iterable[tuple[Shown, Recording]]) -> Iterator[Choice]:
    """The runs from each start, as many moments of each as can be chosen; a counterexample has its own start."""
    for ran, recording in runs:
        ways = ran.trial.starts if isinstance(ran, Ran) else ()
        if len(ways) == 1 or not isinstance(ran, Ran):
            yield _chosen(ran, recording)
            continue
        for number, way in enumerate(ways[:MOST_STARTS], 1):
            circuit = ran.study.circuit.starting(dict(way.tried))
            again = run_of(ran.study._replace(circuit=circuit), ran.check)
            if again.trial.shown is not None:
                chosen = _chosen(again, again.trial.shown)
                yield chosen._replace(number=number, ways=len(ways), tried=way.tried)


def _chosen(ran: Shown, recording: Recording) -> Choice:
    grouped = ((at, list(changes)) for at, changes in groupby(recording.changes, key=lambda change: change.at))
    moments = [Moment(at, changes, []) for at, changes in islice(grouped, MOST_MOMENTS + 1)]
    shown, last = moments[:MOST_MOMENTS], max((moment.at for moment in moments[:MOST_MOMENTS]), default=0)
    asked = tuple(takewhile(lambda question: question.at <= last, questions(recording, ran.signals)))
    return Choice(ran, recording.start, shown, len(moments) > MOST_MOMENTS, questions=asked)


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

    def __init__(self, plan: Plan) -> None:
        wired = (ran.recording.program for ran in plan.runs if ran.recording is not None)
        known = next((program for program in wired if program.circuit is plan.circuit), None)
        self.program = known or Program(plan.circuit)
        self._drawing = plan.drawing
        self.stands = Stands(self.program, plan.drawing)
        graph = plan.circuit.graph
        self._parts = {name: self.program.probe(name) for name in graph} if len(graph) <= MOST_PARTS else {}
        self._numbered: dict[int, int] = {}

    def stood(self, choice: Choice) -> Choice:
        """A choice with how the drawing stands from moment to moment, cut where there are too many ways to stand."""
        recording = choice.recording
        if recording is None or not self._drawing.things:
            return choice._replace(stand=self._at_start(choice) or 0)
        first = recording.configurations[0][1] if recording.configurations else None
        start = self.stands.number(first) or 0
        moments: list[Moment] = []
        for moment in choice.moments:
            number = self.stands.number(configuration_at(recording, moment.at))
            if number is None:
                return choice._replace(moments=moments, cut=True, stand=start)
            moments.append(moment._replace(stand=number))
        return choice._replace(moments=moments, stand=start)

    def _at_start(self, choice: Choice) -> int | None:
        if not self._drawing.things:
            return 0
        try:
            return self.stands.at_start(choice.start)
        except RunRefused:
            return 0

    def number(self) -> None:
        """Numbers the devices whose levels are shown, once all that can be chosen has been looked at."""
        stands = self.stands
        shown = [feeds for stand in stands.found for feeds in stand.feeds.values() if feeds is not None]
        devices = {device for feeds in (*stands.home.values(), *shown) for device, _ in feeds}
        devices |= {*stands.water.values(), *(device for device, _ in stands.conditions.values())}
        devices |= {device for feeds in self._parts.values() for device, _ in feeds}
        self._numbered = {device: place for place, device in enumerate(sorted(devices))}

    def powered(self, choice: Choice) -> dict[At, int]:
        """The level at each place at the start of a choice."""
        feeds = {**self.stands.home, **self.stands.found[choice.stand].feeds}
        return {
            place: max([0, *(choice.start[device] - lost for device, lost in each)])
            for place, each in feeds.items()
            if each is not None
        }

    @property
    def feeds(self) -> Feeds:
        """What reaches each place, with everything at home."""
        return {place: self._feeds(each) for place, each in self.stands.home.items()}

    @property
    def parts(self) -> dict[str, Feed]:
        """What makes the level of each part of the signal graph, with everything at home."""
        return {name: self._feeds(feeds) for name, feeds in self._parts.items()}

    @property
    def shown_stands(self) -> list[Stand]:
        """The stands, with devices by their numbers here; none where nothing is displaced."""
        found = self.stands.found
        return [
            stand._replace(
                feeds={place: None if each is None else self._feeds(each) for place, each in stand.feeds.items()}
            )
            for stand in (found if len(found) > 1 else [])
        ]

    @property
    def water(self) -> dict[At, int]:
        """The water at each place that flowing water can reach."""
        return {place: self._numbered[device] for place, device in self.stands.water.items()}

    @property
    def conditions(self) -> dict[At, tuple[int, bool]]:
        """What each thing that comes and goes depends on."""
        return {place: (self._numbered[device], on) for place, (device, on) in self.stands.conditions.items()}

    def _feeds(self, feeds: Sequence[tuple[int, int]]) -> list[tuple[int, int]]:
        return [(self._numbered[device], lost) for device, lost in feeds]

    def numbered_in(self, choice: Choice) -> Choice:
        """A choice with the levels that are shown: those at the start, and for each moment those that differ after."""
        levels = list(choice.start)
        moments = []
        for moment in choice.moments:
            before = {change.device: levels[change.device] for change in moment.changes}
            for change in moment.changes:
                levels[change.device] = change.level
            differ = sorted(each for each, was in before.items() if each in self._numbered and levels[each] != was)
            told = [each for device in differ for each in (self._numbered[device], levels[device])]
            moments.append(moment._replace(levels=told))
        return choice._replace(start=[choice.start[device] for device in self._numbered], moments=moments)
