"""Runs a check over every open order and every open start, carrying the set of states they lead to.

A *track* is one simulator with the states of all watches beside it. All tracks stand at one gt; they split where an
order is open and are merged wherever start, circuit and watches agree, so that k open orders cost what differs,
never 2^k runs.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass, field
from functools import partial

from circuitcheck.checks.conditions import Holds, compiled, latch_state
from circuitcheck.checks.watches import Broken, ExpectationWatch, State, Watch, longest_debt, watch
from circuitcheck.engine import work
from circuitcheck.engine.orders import TooManyOrders
from circuitcheck.engine.program import Program
from circuitcheck.engine.record import Recording, record
from circuitcheck.engine.refused import RunRefused
from circuitcheck.engine.simulator import Simulator
from circuitcheck.engine.start import Start
from circuitcheck.engine.state import Order
from circuitcheck.engine.step import MOST_STATES, Action, TooManyStates, choices, run_game_tick
from circuitcheck.engine.work import OutOfWork
from circuitcheck.model.claims import Atom, Check, Claim, Condition, Expectation, Test, atoms, conditions
from circuitcheck.model.duration import show
from circuitcheck.model.rules import TORCH_DELAY
from circuitcheck.model.unsure import collected

Watched = tuple[Claim | Expectation, Watch]


class Notebook:
    """What devices noted of themselves in any of the runs, by part and rule, with the first gt it happened in."""

    def __init__(self) -> None:
        self.first: dict[tuple[int, str], int] = {}
        self._widthless: set[tuple[int, int]] = set()

    def __call__(self, game_tick: int, device: int, rule: str) -> None:
        if rule == "V3":
            self._widthless.add((device, game_tick))
        elif rule == "T3" and (device, game_tick - TORCH_DELAY) in self._widthless:
            return  # what the torch swallows here is a pulse of no width, which is noted already
        self.first.setdefault((device, rule), game_tick)

    def by_part(self, program: Program) -> frozenset[tuple[str, str]]:
        """What was noted, by the part's name and the rule."""
        return frozenset((program.names[device], rule) for device, rule in self.first)

    def without(self, program: Program, gone: frozenset[tuple[str, str]]) -> Notebook:
        """The notebook without what some parts noted."""
        kept = Notebook()
        kept.first = {key: at for key, at in self.first.items() if (program.names[key[0]], key[1]) not in gone}
        return kept


@dataclass(slots=True)
class Track:
    """One of the simulators a run is in, with what the watches know by then."""

    simulator: Simulator
    start: Start
    before: bytes
    watches: list[State]

    def key(self) -> Hashable:
        return (self.start.tried, self.simulator.snapshot(), self.before, tuple(self.watches))

    def orders(self) -> tuple[Order, ...]:
        return choices(self.simulator.log)


LONGEST_OWED = 10_000
"""In gt: long enough for every machine that anybody waits for, and not a day."""


MOST_WORK = 2_000_000
"""How much one run may do, in steps of at most about a microsecond of one core."""
STEPS = 16
"""How many steps it takes to look at one simulator of a small circuit."""


MOST_WORK_TOGETHER = 10 * MOST_WORK
"""How much the runs of all checks of a file may do together; later ones are then given up early."""
LEAST_WORK = MOST_WORK // 1_000
"""How much each run may do however much the others did."""


@dataclass(slots=True)
class RunBudget:
    """What is left to do for the runs of a file's checks."""

    left: int = MOST_WORK_TOGETHER

    @property
    def most(self) -> int:
        """How much the next run may do."""
        return max(LEAST_WORK, min(MOST_WORK, self.left))


class GivenUp(Exception):
    """A run had to be given up; the text says why."""


@dataclass(slots=True)
class Run:
    """What a check's run came to: the tracks at its end, and where unknown latches were asked for."""

    check: Check
    program: Program
    actions: tuple[tuple[int, Action], ...]
    watched: tuple[Watched, ...]
    tracks: list[Track]
    until: int
    notebook: Notebook
    limit: str = ""
    """Why the run was given up, if it was."""
    game_ticks: int = 0
    """How many gt were looked at."""
    followed: int = 0
    """The gt that is, or was last, looked at."""
    work: int = 0
    refused: RunRefused | None = None
    """The mistake of the drawing that it ended at, if it did."""
    relied: frozenset[str] = frozenset()
    """The rules that are not certain and that it came to, by their keys in `model.unsure`."""
    known_latches: dict[int, int] = field(default_factory=dict)
    """For expectations of an unknown latch that was known: their number among the watched, and the gt."""

    @property
    def seen_until(self) -> int:
        """The gt that it was followed to: its end, if it was not given up."""
        return min(self.until, self.tracks[0].simulator.now) if self.limit and self.tracks else self.until

    @property
    def affordable(self) -> int:
        """How many of its ways may be written down for the work of one run."""
        return max(1, MOST_WORK // (STEPS * (self.game_ticks + 1)))

    def to_its_end(self) -> Run:
        """The run, if it was not given up. Raises GivenUp."""
        if self.limit:
            raise GivenUp(self.limit)
        return self


def run_check(
    program: Program,
    starts: Sequence[Start],
    check: Check,
    claims: Iterable[Claim],
    notebook: Notebook,
    orders: Sequence[Order] = (),
    until_broken: bool = False,
    most: int = MOST_WORK,
) -> Run:
    """Runs a check with the claims of its study watched beside it. `orders` are choices to make before exploring.

    It is given up past `most` steps of work.

    `until_broken` is for who only asks whether something breaks, and when first: the run ends where nothing is left
    that could break, and what is owed at its end is waited for no longer than LONGEST_OWED.
    """
    asked: list[Claim | Expectation] = [*check.expectations, *check.throughout, *claims]
    compiles = partial(compiled, program=program)
    watched = tuple(
        (each, ExpectationWatch(each, compiles) if isinstance(each, Expectation) else watch(each.body, compiles))
        for each in asked
    )
    debt = max((longest_debt(each) for each in asked if isinstance(each, Claim)), default=0)
    debt = min(debt, LONGEST_OWED) if until_broken else debt
    actions = tuple((act.at, Action(program.number[act.name], act.verb, act.level)) for act in check.acts)
    run = Run(check, program, actions, watched, [], check.until + debt, notebook)
    with collected() as relied:
        _followed(run, _Runner(run, orders, until_broken, most), starts)
    run.relied = frozenset(relied)
    return run


def _followed(run: Run, runner: _Runner, starts: Sequence[Start]) -> None:
    """Follows a run to its end, or to where it has to be given up."""
    program = run.program
    try:
        runner.go(starts)
    except OutOfWork as out:
        run.limit = str(out)
    except RunRefused as refused:
        run.limit, run.refused = f"{refused}, in {show(run.followed)}", refused
    except TooManyStates:
        run.limit = f"the open orders lead to more than {MOST_STATES:,} different states"
    except TooManyOrders as many:
        names = ", ".join(program.names[device] for device in many.devices[:3])
        run.limit = f"{len(many.devices)} parts tie in too many orders ({names}, …)"


def replay(run: Run, track: Track, until: int) -> Recording:
    """The way to a track, run again with everything written down; after the run's end nobody does anything any more."""
    script = [order.devices for order in track.orders()]
    return record(run.program, track.start.levels, run.actions, script, until)


def _conditions(asked: Claim | Expectation) -> Iterable[Condition]:
    return (asked.condition,) if isinstance(asked, Expectation) else conditions(asked.body)


def _all_broken(tracks: Iterable[Track]) -> bool:
    return all(isinstance(state, Broken) for track in tracks for state in track.watches)


class _Runner:
    """Carries the tracks of one run from event to event."""

    def __init__(self, run: Run, orders: Sequence[Order], until_broken: bool, most: int) -> None:
        self._run = run
        self._most = most
        self._acting = 0
        """How many devices acted in the gt that is looked at."""
        terms = sum(1 for each, _ in run.watched for condition in _conditions(each) for _ in atoms(condition))
        self._looking = STEPS + len(run.watched) // 2 + terms // 8
        """What it takes to look at one simulator, in steps."""
        self._orders = orders
        self._until_broken = until_broken
        self._by_time: dict[int, list[Action]] = defaultdict(list)
        for at, action in run.actions:
            self._by_time[at].append(action)
        self._forbidden = self._latch_inputs(run.program)
        self._unknown = [
            (number, each.start, each.condition.name)
            for number, (each, _) in enumerate(run.watched)
            if isinstance(each, Expectation)
            and isinstance(each.condition, Atom)
            and each.condition.test is Test.UNKNOWN
        ]

    @staticmethod
    def _latch_inputs(program: Program) -> list[tuple[int, Holds]]:
        return [
            (program.number[name], compiled(Atom(name, Test.FORBIDDEN), program)) for name in program.circuit.latches
        ]

    def go(self, starts: Sequence[Start]) -> None:
        tracks = [track for start in starts for track in self._begin(start)]
        times = self._known_times()
        at = 0
        while True:
            self._run.followed = at
            with work.bounded(MOST_WORK):
                self._run.tracks = tracks = self._tick(tracks, at)
            self._count(tracks)
            if self._run.work > self._most:
                self._run.limit = f"its run takes more than {self._most:,} steps of work; it was followed to {show(at)}"
                break
            following = self._next(tracks, at, times)
            quiet = following - at - 1
            if quiet:
                for track in tracks:
                    self._watch(track, at + 1, quiet)
                tracks = self._merged(tracks)
            if following > self._run.until or (self._until_broken and _all_broken(tracks)):
                break
            at = following
        self._run.tracks = tracks

    def _count(self, tracks: list[Track]) -> None:
        """Counts what it took to come to the end of a gt: copies of all levels, and more of them to compare tracks."""
        levels = len(self._run.program.devices) // (64 if len(tracks) < 2 else 16)
        self._run.game_ticks += 1
        self._run.work += len(tracks) * (self._looking + levels) + self._acting

    def _known_times(self) -> list[int]:
        """The gt that are looked at whatever happens: those of actions, and those at which a latch is to be unknown."""
        return sorted({*self._by_time, *(at for _, at, _ in self._unknown)})

    def _begin(self, start: Start) -> Iterable[Track]:
        simulator = Simulator(self._run.program, 0, start.levels, self._run.notebook)
        simulator.script = [order.devices for order in self._orders]
        for later in simulator.tell_everyone():
            yield Track(later, start, start.levels, [each.start() for _, each in self._run.watched])

    def _next(self, tracks: list[Track], at: int, times: list[int]) -> int:
        due = [due for track in tracks if (due := track.simulator.next_due()) is not None]
        place = bisect_right(times, at)
        return min([*due, *times[place : place + 1], self._run.until + 1])

    def _tick(self, tracks: list[Track], at: int) -> list[Track]:
        """Runs one gt on every track, and has the watches look at its end."""
        actions = self._by_time.get(at, [])
        after: list[Track] = []
        self._acting = sum(track.simulator.due(at) for track in tracks)
        begun = work.done() + len(tracks) * (len(self._run.program.devices) + work.OVERHEAD)
        for track in tracks:
            track.simulator.now = at
            for simulator in run_game_tick([track.simulator], actions):
                after.append(Track(simulator, track.start, track.before, track.watches[:]))
        self._run.work += max(0, work.done() - begun)  # what open orders took besides
        for track in after:
            self._watch(track, at, 1)
            for latch, meets in self._forbidden:
                if meets(track.simulator.levels, track.before):
                    self._run.notebook(at, latch, "L2")
            track.before = bytes(track.simulator.levels)
        after = self._merged(after)
        self._ask_unknown(after, at)
        return after

    def _watch(self, track: Track, at: int, count: int) -> None:
        now = track.simulator.levels
        for number, (_, each) in enumerate(self._run.watched):
            state = track.watches[number]
            if not isinstance(state, Broken):
                track.watches[number] = each.step(state, at, count, now, track.before)

    def _merged(self, tracks: list[Track]) -> list[Track]:
        if len(tracks) < 2:
            return tracks
        kept: dict[Hashable, Track] = {}
        for track in tracks:
            kept.setdefault(track.key(), track)
        if len(kept) > MOST_STATES:
            raise TooManyStates
        return list(kept.values())

    def _ask_unknown(self, tracks: list[Track], at: int) -> None:
        for number, when, latch in self._unknown:
            if when == at:
                states = {latch_state(latch, track.simulator.levels, self._run.program) for track in tracks}
                if len(states) == 1:
                    self._run.known_latches[number] = at
