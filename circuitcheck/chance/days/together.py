"""Many runs of consecutive days, spread over processes, and what they come to together."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor
from typing import NamedTuple

from circuitcheck.chance.days.assumed import Broken, Daily, daily, together
from circuitcheck.chance.days.calendar import Calendar, Window
from circuitcheck.chance.days.walk import TWICE, Lived, Walker, Watching, between, first_within
from circuitcheck.chance.machine.alike import NotAlike
from circuitcheck.chance.machine.chain import MOST_WALKED, Chain
from circuitcheck.chance.machine.moving_chain import chain_of as chain_under
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.claims import Assumption, Holding, Test
from circuitcheck.model.light import OPPOSITE


class Plan(NamedTuple):
    """What is to be lived through."""

    circuit: Circuit
    watching: Watching
    runs: int
    on_end: int
    """How many days a run has."""
    case: str = "fair"
    seed: int = 1
    assumptions: tuple[Assumption, ...] = ()
    """What the proofs of the file take the world to do."""

    @property
    def calendar(self) -> Calendar:
        """Its days."""
        return Calendar(self.circuit.cycle, self.on_end, self.case)


class Odd(NamedTuple):
    """A day worth looking at: its run, its number in it from 0, and what was odd."""

    run: int
    day: int
    what: str


class Tally(NamedTuple):
    """What one edge came to on one day of all runs."""

    day: int
    waits: tuple[int, ...]
    """How long it took, in gt, in order; those days left out on which it was so already or never came."""
    missed: int
    already: int
    false_alarms: int

    @property
    def asked(self) -> int:
        """On how many days it was in question."""
        return len(self.waits) + self.missed


class Together(NamedTuple):
    """What all runs came to."""

    plan: Plan
    tallies: tuple[tuple[Tally, ...], ...]
    """For each edge, its days in turn."""
    odd: tuple[Odd, ...]
    """Every day on which something was odd, once for each thing."""
    idle: tuple[Odd, ...]
    """Every day on which a latch got what it held already, once for each latch: nothing comes of that."""
    open_orders: int
    """In how many gt of all runs an order was open (rule C5), and the first was followed."""
    broken: tuple[Broken, ...] = ()
    """How often each of the plan's assumptions was broken."""


Share = tuple[Plan, int, int]
"""A plan, the first run of it to be lived through, and how many."""
MISSED, ALREADY = -1, -2
"""What stands in place of a wait on a day on which it did not come, or was so already."""


class Told(NamedTuple):
    """What some runs came to, day by day: as little as is needed of each, since there may be a million."""

    waits: list[list[list[int]]]
    """For each edge and day, how long it took in each run."""
    alarms: list[list[int]]
    """For each edge and day, how many were false in all runs."""
    odd: list[Odd]
    idle: list[Odd]
    broken: list[Daily]
    open_orders: int


def lived(share: Share, exchanges: bool = True) -> Iterator[Lived]:
    """Lives through some runs of a plan, one by one. Raises ManyStarts, TooManyStarts, TooLarge and NotAlike."""
    plan, first, count = share
    window = plan.circuit.rules.burn_out_window
    walker = Walker(chain_of(plan, exchanges), plan.calendar, plan.watching, window, plan.assumptions)
    for number in range(first, first + count):
        yield walker.run(number, plan.seed, plan.case == "faded")


def told_of(share: Share, done: Callable[[int], None] = lambda runs: None) -> Told:
    """What some runs of a plan come to. Stands alone, so that it can be sent to another process.

    `done` is called with how many runs have been lived through.
    """
    try:
        return _told_of(share, done, exchanges=True)
    except NotAlike:
        return _told_of(share, done, exchanges=False)


def _told_of(share: Share, done: Callable[[int], None], exchanges: bool) -> Told:
    plan = share[0]
    calendar, edges = plan.calendar, range(len(plan.watching.edges))
    windows = [list(calendar.windows(phase)) for phase in plan.watching.phases]
    wrong = [list(calendar.wrong(phase)) for phase in plan.watching.phases]
    told = Told([[[] for _ in each] for each in windows], [[0] * len(each) for each in windows], [], [], [], 0)
    for number, run in enumerate(lived(share, exchanges), 1):
        done(number)
        for edge in edges:
            for place, window in enumerate(windows[edge]):
                told.waits[edge][place].append(_wait(run, edge, window))
            for place, window in enumerate(wrong[edge]):
                alarms = between(run.edges[edge], window.begin, window.end)
                told.alarms[edge][place] += alarms
        told.odd.extend(dict.fromkeys(_odd(plan, calendar, run, windows, wrong)))
        told.idle.extend(dict.fromkeys(_of_events(calendar, run, idle=True)))
        told.broken.extend(daily(run.run, run.breaks, calendar))
        told = told._replace(open_orders=told.open_orders + run.open_orders)
    return told


def chain_of(plan: Plan, exchanges: bool = True) -> Chain:
    """The chain of a plan's circuit, with all that is looked at. Raises ManyStarts and TooManyStarts."""
    chain = chain_under(plan.circuit, [edge.name for edge in plan.watching.edges], MOST_WALKED, exchanges=exchanges)
    if any(isinstance(each, Holding) for each in plan.assumptions):
        chain.keep_turns()
    return chain


def live_through(
    plan: Plan,
    executor: Executor | None = None,
    workers: int = 1,
    done: Callable[[int, int], None] = lambda runs, of: None,
) -> Together:
    """Lives through a plan. What comes out does not depend on the number of workers. Raises TooLarge and ManyStarts.

    `done` is called with how many of how many runs have been lived through.
    """
    chain_of(plan).start()  # what can't be started is reported here, and not by each process
    shares = list(_shares(plan, workers if executor is not None else 1))
    parts: list[Told] = []
    if executor is None:
        parts += [told_of(share, lambda runs: done(runs, plan.runs)) for share in shares]
    else:
        for (_, first, count), part in zip(shares, executor.map(told_of, shares), strict=True):
            parts.append(part)
            done(first + count, plan.runs)
    tallies = tuple(tuple(_tallies(plan, parts, edge)) for edge in range(len(plan.watching.edges)))
    odd = tuple(sorted(each for part in parts for each in part.odd))
    idle = tuple(sorted(each for part in parts for each in part.idle))
    broken = together(plan.assumptions, (part.broken for part in parts))
    return Together(plan, tallies, odd, idle, sum(part.open_orders for part in parts), broken)


def _shares(plan: Plan, workers: int) -> Iterator[Share]:
    for number in range(workers):
        first, following = plan.runs * number // workers, plan.runs * (number + 1) // workers
        if first < following:
            yield plan, first, following - first


def _wait(run: Lived, edge: int, window: Window) -> int:
    if window.day in run.already[edge]:
        return ALREADY
    wait = first_within(run.edges[edge], window.begin, window.end)
    return MISSED if wait is None else wait


def _tallies(plan: Plan, parts: Sequence[Told], edge: int) -> Iterator[Tally]:
    for place, window in enumerate(plan.calendar.windows(plan.watching.phases[edge])):
        waits = [wait for part in parts for wait in part.waits[edge][place]]
        came = tuple(sorted(wait for wait in waits if wait >= 0))
        alarms = sum(part.alarms[edge][place] for part in parts)
        yield Tally(window.day, came, waits.count(MISSED), waits.count(ALREADY), alarms)


def _odd(
    plan: Plan, calendar: Calendar, run: Lived, windows: Sequence[Sequence[Window]], wrong: Sequence[Sequence[Window]]
) -> Iterator[Odd]:
    for number, (edge, phase) in enumerate(zip(plan.watching.edges, plan.watching.phases, strict=True)):
        for window in windows[number]:
            wait = _wait(run, number, window)
            if wait == ALREADY:
                state = "off" if edge.test is Test.FALLS else "on"
                yield Odd(run.run, window.day, f"'{edge.name}' was {state} already when {phase} began")
            elif wait == MISSED:
                yield Odd(run.run, window.day, f"'{edge.name}' was missed from {phase} on")
        for window in wrong[number]:
            if between(run.edges[number], window.begin, window.end):
                day = calendar.day_at(window.begin)
                yield Odd(run.run, day, f"'{edge.name}' came by {OPPOSITE[phase]}, a false alarm")
    yield from _of_events(calendar, run, idle=False)


def _of_events(calendar: Calendar, run: Lived, idle: bool) -> Iterator[Odd]:
    """What happened to latches and torches in a run: that of which nothing comes, or all else."""
    for event in run.events:
        if (event.kind == TWICE) is idle:
            yield Odd(run.run, calendar.day_at(event.time), f"'{event.part}': {event.kind}")
