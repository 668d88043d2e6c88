"""Days lived through, held against days drawn plainly; and that a run is the same however it is lived through.

Two samples are compared by tests of scipy, with fixed seeds: they must not differ at a level of 1 in 1,000 (p > 0.001).
The rules are common practice, no source: X1 to X3 for the draws, G1 for the weather, C2 for the order within a gt.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from functools import cache
from itertools import pairwise

import pytest
from scipy.stats import chi2_contingency, ks_2samp

from circuitcheck.chance.days.calendar import CASES, Calendar
from circuitcheck.chance.days.replay import replay
from circuitcheck.chance.days.together import Plan, live_through, lived
from circuitcheck.chance.days.walk import TWICE, Lived, Watching
from circuitcheck.chance.first_edge.response import respond
from circuitcheck.engine.record import edges_at
from circuitcheck.model.claims import Atom, Test
from circuitcheck.model.light import Cycle

from .calling import TURF
from .plain import PlainRun, circuit_of, has_edge, plain_days, so_already

RISES, FALLS, CHANGES = Test.RISES, Test.FALLS, Test.CHANGES
LEAST_P = 0.001
RUNS, DAYS = 100, 2

BED = """setting draw_chance 1/40
cycle 360gt  day 120gt, dusk 60gt, night 120gt, dawn 60gt
place bed gets sky through leaf, water when flap off
place bank gets sky through glass
sensor turf cells 3 at bed fades grows from rim, turf.*
sensor rim at bank
detector stir.* watches turf.*
junction row joins stir.*
repeater slow from row delay 2t
lever rope
latch gate set slow reset rope starts reset
repeater kept from slow delay 4t
junction pull joins slow, kept
piston flap from pull
"""
FROST = """rules older
cycle 400gt  day 150gt, dusk 70gt, night 130gt, dawn 50gt
place pane gets sky through 2 glass, leaf
sensor frost cells 3 at pane becomes off "freezes" chance 1/60 below 6 becomes on "thaws" chance 1/40 above 8
detector crack.* watches frost.* pulse 3t
junction row joins crack.*
repeater slow from row delay 3t
lamp sign from slow
"""
MEADOW = """rules newest
setting draw_chance 1/4
cycle 240gt  day 70gt, dusk 50gt, night 70gt, dawn 50gt
place meadow gets sky through glass
sensor turf cells 3 at meadow grows from turf.* becomes off "grazed" chance 1/30
detector stir.* watches turf.*
junction row joins stir.*
"""
MACHINES = {
    "bed": (BED, (Atom("row", RISES), Atom("flap", FALLS), Atom("turf.2", FALLS)), ("dusk", "dusk", "night")),
    "frost": (FROST, (Atom("row", RISES), Atom("sign", CHANGES), Atom("frost.1", RISES)), ("dusk", "night", "dawn")),
    "meadow": (MEADOW, (Atom("row", RISES), Atom("turf.3", FALLS)), ("dawn", "day")),
}


def plan_of(name: str, runs: int = RUNS, on_end: int = DAYS, case: str = "fair", seed: int = 7) -> Plan:
    """A plan for one of the machines."""
    text, edges, phases = MACHINES[name]
    return Plan(circuit_of(text), Watching(edges, phases), runs, on_end, case, seed)


@cache
def plainly(name: str, case: str) -> list[PlainRun]:
    """As many runs as the plan of one of the machines has, each drawn plainly."""
    plan = plan_of(name, case=case)
    edges, faded = plan.watching.edges, plan.case == "faded"
    return [
        plain_days(plan.circuit, plan.on_end, f"plain {number}", edges, plan.case, faded) for number in range(plan.runs)
    ]


def alike(one: Sequence[int], other: Sequence[int]) -> None:
    """Two samples of one law: of times by their distribution functions."""
    if one and other:
        assert ks_2samp(one, other).pvalue > LEAST_P


def as_often(one: Sequence[int], other: Sequence[int]) -> None:
    """Two samples of one law: of counts by how often each is met; rare ones are taken together."""
    met, met_too = Counter(one), Counter(other)
    common = [each for each in sorted({*met, *met_too}) if met[each] + met_too[each] >= 10]
    table = [[each[count] for count in common] for each in (met, met_too)]
    rest = [sum(each.values()) - sum(row) for each, row in zip((met, met_too), table, strict=True)]
    if sum(rest):
        table = [[*row, count] for row, count in zip(table, rest, strict=True)]
    if len(table[0]) > 1:
        assert chi2_contingency(table).pvalue > LEAST_P
    assert abs(sum(one) - sum(other)) <= 0.2 * (sum(one) + sum(other)) + 20


CASES_TRIED = [("bed", case) for case in CASES] + [("frost", case) for case in ("fair", "stormy", "slept")]
CASES_TRIED += [("meadow", case) for case in ("fair", "wet", "away")]


@pytest.mark.parametrize(("name", "case"), CASES_TRIED)
def test_days_lived_through_are_as_days_drawn_plainly(name: str, case: str) -> None:
    plan = plan_of(name, case=case)
    walked = list(lived((plan, 0, plan.runs)))
    plain = plainly(name, case)
    begins = [plan.calendar.begins(day) for day in range(DAYS + 1)]
    for number in range(len(plan.watching.edges)):
        # A walk ends with what is asked of it, plain days with their evening: both are looked at for the days alone.
        whole = ([run.edges[number] for run in runs] for runs in (walked, plain))
        mine, others = ([[at for at in each if at < begins[-1]] for each in runs] for runs in whole)
        as_often([len(each) for each in mine], [len(each) for each in others])
        alike([at for each in mine for at in each[:1]], [at for each in others for at in each[:1]])
        for begin, end in pairwise(begins):
            on_the_day = ([[at for at in each if begin <= at < end] for each in runs] for runs in (mine, others))
            counts, counts_too = ([min(len(each), 4) for each in runs] for runs in on_the_day)
            as_often(counts, counts_too)
        # The last edge of a run says how the later days came out.
        alike([at for each in mine for at in each[-1:]], [at for each in others for at in each[-1:]])


@pytest.mark.parametrize(("name", "case"), [("bed", "fair"), ("frost", "wet"), ("meadow", "fair"), ("bed", "faded")])
def test_what_days_come_to_is_as_counted_from_days_drawn_plainly(name: str, case: str) -> None:
    plan = plan_of(name, case=case)
    plain = plainly(name, case)
    together = live_through(plan)
    for number, (edge, phase) in enumerate(zip(plan.watching.edges, plan.watching.phases, strict=True)):
        for tally, window in zip(together.tallies[number], plan.calendar.windows(phase), strict=True):
            already = sum(so_already(edge, run.levels[number][window.begin - 1]) for run in plain)
            asked = [run for run in plain if not so_already(edge, run.levels[number][window.begin - 1])]
            found = [[at for at in run.edges[number] if window.begin <= at < window.end][:1] for run in asked]
            waits = [at - window.begin + 1 for each in found for at in each]
            alike(tally.waits, waits)
            counts = [[len(tally.waits), tally.missed, tally.already], [len(waits), len(asked) - len(waits), already]]
            assert sum(counts[0]) == sum(counts[1]) == plan.runs
            met = [column for column in zip(*counts, strict=True) if sum(column)]
            assert len(met) == 1 or chi2_contingency(met).pvalue > LEAST_P


@pytest.mark.parametrize("name", MACHINES)
def test_the_first_day_of_many_runs_is_as_the_exact_response_says(name: str) -> None:
    plan = plan_of(name, runs=500, on_end=1)
    together = live_through(plan)
    for number, (edge, phase) in enumerate(zip(plan.watching.edges, plan.watching.phases, strict=True)):
        exact, tally = respond(plan.circuit, phase, edge), together.tallies[number][0]
        assert exact.exact
        assert tally.already / plan.runs == pytest.approx(exact.already, abs=0.09)
        for share in (0.1, 0.25, 0.5, 0.75, 0.9):
            time = exact.distribution.quantile(share)
            if time is not None and tally.asked >= 300:
                within = sum(wait <= time for wait in tally.waits) / tally.asked
                # Four standard deviations of a share of at least 300 are 0.12 at most.
                assert within == pytest.approx(exact.distribution.within(time), abs=0.12)


# The same however it is lived through


@pytest.mark.parametrize(("name", "case"), [("bed", "fair"), ("frost", "slept"), ("meadow", "away"), ("bed", "faded")])
def test_the_number_of_workers_makes_no_difference(name: str, case: str) -> None:
    plan = plan_of(name, runs=31, case=case)
    alone = live_through(plan)
    with ProcessPoolExecutor(3) as executor:
        for workers in (1, 2, 3, 40):
            assert live_through(plan, executor, workers) == alone


@pytest.mark.parametrize("name", MACHINES)
def test_however_runs_are_split_each_is_the_same(name: str) -> None:
    plan = plan_of(name, runs=40)
    whole = list(lived((plan, 0, 40)))
    assert [run.run for run in whole] == list(range(40))
    for shares in ([(0, 13), (13, 27)], [(0, 1), (1, 1), (2, 38)], [(25, 15), (0, 25)]):
        parts = [run for first, count in shares for run in lived((plan, first, count))]
        assert sorted(parts, key=lambda run: run.run) == whole
    assert list(lived((plan, 17, 1))) == [whole[17]]
    assert len({run.edges for run in whole}) > 20


def test_another_seed_gives_other_days_and_the_same_seed_the_same() -> None:
    one, again, other = (list(lived((plan_of("bed", seed=seed), 0, 20))) for seed in (1, 1, 2))
    assert one == again
    assert one != other


@pytest.mark.parametrize("name", MACHINES)
def test_a_further_day_leaves_those_before_it_as_they_were(name: str) -> None:
    fewer, more = (list(lived((plan_of(name, on_end=days), 0, 20))) for days in (1, 3))
    end = Calendar(circuit_of(MACHINES[name][0]).cycle, 1).begins(1)
    for short, long in zip(fewer, more, strict=True):
        for edges, others in zip(short.edges, long.edges, strict=True):
            assert [at for at in edges if at < end] == [at for at in others if at < end]


# Runs again


def edges_again(plan: Plan, run: int, day: int) -> tuple[list[list[int]], list[list[int]], Lived]:
    """The edges of a run's recording, and those that the walk reported, up to the end of a day."""
    again = replay(plan, run, day)
    recording = again.recording
    until = plan.calendar.begins(day + 1)
    recorded, walked = [], []
    for number, edge in enumerate(plan.watching.edges):
        # gt 0 of the recording comes before the first day, what has faded by then is the start of it.
        levels = [recording.program.probe(edge.name)]
        found, before = [], 0
        changes = edges_at(recording, levels[0])
        start = max((source_level(recording.start, source, loss) for source, loss in levels[0]), default=0)
        before = start
        for at, level in changes:
            if at >= 1 and has_edge(edge, before, level):
                found.append(at)
            before = level
        recorded.append(found)
        walked.append([at + 1 for at in again.lived.edges[number] if at < until])
    return recorded, walked, again.lived


def source_level(levels: bytes, source: int, loss: int) -> int:
    return max(levels[source] - loss, 0)


@pytest.mark.parametrize(("name", "case"), [*CASES_TRIED, ("meadow", "stormy"), ("frost", "faded")])
def test_a_run_again_has_the_edges_that_it_had(name: str, case: str) -> None:
    plan = plan_of(name, runs=6, case=case)
    told = 0
    for run in range(plan.runs):
        for day in range(DAYS):
            recorded, walked, again = edges_again(plan, run, day)
            assert recorded == walked, (run, day)
            assert again == next(lived((plan, run, 1)))
            told += sum(map(len, walked))
    assert told > 0


def test_days_that_are_reported_as_odd_are_odd_when_run_again() -> None:
    plan = plan_of("bed", runs=60)
    odd = [each for each in live_through(plan).odd if "missed" in each.what]
    assert odd
    for each in odd[:10]:
        number = next(place for place, edge in enumerate(plan.watching.edges) if f"'{edge.name}'" in each.what)
        window = list(plan.calendar.windows(plan.watching.phases[number]))[each.day]
        recorded, _, _ = edges_again(plan, each.run, min(each.day + 1, DAYS - 1))
        assert not [at for at in recorded[number] if window.begin + 1 <= at < window.end + 1]


def test_what_changes_in_a_run_again_are_the_cells_that_change_in_its_recording() -> None:
    plan = plan_of("meadow", runs=6)
    for run in range(plan.runs):
        again = replay(plan, run, 1)
        names = again.recording.program.names
        cells = [(each.at, names[each.device]) for each in again.recording.changes if names[each.device][:4] == "turf"]
        assert sorted(cells) == sorted(again.changes)
        assert (again.begin, again.end) == (241, 481)


# Days on which nobody is near


@pytest.mark.parametrize("name", MACHINES)
def test_nothing_changes_on_days_when_nobody_is_near(name: str) -> None:
    plan = plan_of(name, runs=25, on_end=4, case="away")
    whole = plan.circuit.cycle.whole
    near = 0
    for run in range(plan.runs):
        days = [(at - 1) // whole for at, _ in replay(plan, run, 3).changes]
        assert not [day for day in days if day % 2]
        near += len(days)
    assert near


# Calendars

CYCLES = [Cycle(120, 60, 120, 60), Cycle(37, 11, 23, 19), Cycle(100, 0, 100, 0), Cycle(10, 3, 10, 3)]


@pytest.mark.parametrize("cycle", CYCLES)
@pytest.mark.parametrize("case", CASES)
def test_the_phases_of_a_calendar_follow_each_other_without_gaps(cycle: Cycle, case: str) -> None:
    calendar = Calendar(cycle, 3, case)
    assert calendar.phases[0].begin == 0
    assert all(one.end == other.begin for one, other in pairwise(calendar.phases))
    lost = cycle.night + cycle.dawn if case == "slept" else 0
    assert [calendar.begins(day) for day in range(5)] == [day * (cycle.whole - lost) for day in range(5)]
    assert calendar.phases[-1].end == 4 * (cycle.whole - lost)
    assert [calendar.day_at(calendar.begins(day)) for day in range(4)] == [0, 1, 2, 3]
    takes = {"wet": 3, "stormy": 5}.get(case, 0)
    for phase in calendar.phases:
        away = case == "away" and phase.day % 2 == 1
        highest, lowest = {"day": (15, 15), "dusk": (14, 5), "night": (4, 4), "dawn": (14, 5)}[phase.name]
        assert phase.sky is None if away else max(lowest - takes, 0) <= (phase.sky or 0) <= max(highest - takes, 0)


@pytest.mark.parametrize("cycle", CYCLES)
@pytest.mark.parametrize("case", [case for case in CASES if case != "slept"])
def test_windows_and_wrong_windows_add_up(cycle: Cycle, case: str) -> None:
    calendar = Calendar(cycle, 3, case)
    for phase, lasts, wrong in (
        ("dusk", cycle.dusk + cycle.night, cycle.day),
        ("night", cycle.night, cycle.day),
        ("dawn", cycle.dawn + cycle.day, cycle.night),
        ("day", cycle.day, cycle.night),
    ):
        windows, false = list(calendar.windows(phase)), list(calendar.wrong(phase))
        assert [window.end - window.begin for window in windows] == [lasts] * 3
        assert [window.end - window.begin for window in false] == [wrong] * 3
        # What is a false alarm comes before what is due, and the two never overlap.
        assert all(one.end <= other.begin for one, other in zip(false, windows, strict=True))
    # All that is due at dusk and all that is due at dawn are, together, everything but the first day.
    due = sorted([*calendar.windows("dusk"), *calendar.windows("dawn")], key=lambda window: window.begin)
    assert due[0].begin == cycle.day
    assert all(one.end == other.begin for one, other in pairwise(due))
    assert due[-1].end == 3 * cycle.whole + cycle.day


# Corners


@pytest.mark.parametrize("change", ["fades", "becomes off chance 1/1"])
def test_what_is_sure_to_happen_happens_in_the_first_gt(change: str) -> None:
    text = (
        "setting draw_chance 1/1\ncycle 40gt day 10gt, dusk 10gt, night 10gt, dawn 10gt\n"
        f"place cellar gets sky through solid\nsensor turf at cellar {change}\ndetector row watches turf\n"
    )
    plan = Plan(circuit_of(text), Watching((Atom("turf", FALLS),), ("dusk",)), 5, 1)
    assert [run.edges for run in lived((plan, 0, 5))] == [((0,),)] * 5


@pytest.mark.parametrize("case", ["fair", "slept"])
def test_what_is_so_already_at_a_phase_without_length_is_not_missed(case: str) -> None:
    # There is no dawn, or it is slept through: what is due at dawn is then due from the beginning of the day on.
    text = "cycle 160gt day 80gt, dusk 0gt, night 80gt, dawn 0gt\nsensor turf becomes off chance 1/20\n"
    watching = Watching((Atom("turf", FALLS), Atom("turf", FALLS)), ("dawn", "day"))
    plan = Plan(circuit_of(text + "detector row watches turf\n"), watching, 200, 2, case)
    dawn, day = live_through(plan).tallies
    assert day[0].already > 100
    assert [(each.waits, each.missed, each.already) for each in dawn] == [
        (each.waits, each.missed, each.already) for each in day
    ]


@pytest.mark.parametrize("phase", ["dusk", "night", "dawn", "day"])
def test_every_false_alarm_is_counted_on_some_day(phase: str) -> None:
    text = "sensor turf becomes off chance 1/30 becomes on chance 1/30\ndetector row watches turf\n"
    text += "cycle 160gt day 40gt, dusk 40gt, night 40gt, dawn 40gt\n"
    plan = Plan(circuit_of(text), Watching((Atom("row", RISES),), (phase,)), 50, 2)
    begin = {"dusk": 0, "night": 0, "dawn": 80, "day": 80}[phase]
    runs = list(lived((plan, 0, plan.runs)))
    # On both days: by day what is due at dusk or by night, by night what is due at dawn or by day.
    counted = [
        sum(160 * day + begin <= at < 160 * day + begin + 40 for run in runs for at in run.edges[0]) for day in (0, 1)
    ]
    assert [tally.false_alarms for tally in live_through(plan).tallies[0]] == counted


def test_a_latch_that_is_told_what_it_holds_already_makes_no_day_odd() -> None:
    latch = "repeater longer from row delay 2t\nlever bolt\nlatch gate set longer reset bolt starts reset\n"
    circuit = circuit_of("rules older\n" + TURF + latch)
    plan = Plan(circuit, Watching((Atom("gate", Test.RISES),), ("night",)), 20, 1)
    told_twice = sum(any(event.kind == TWICE for event in run.events) for run in lived((plan, 0, plan.runs)))
    found = live_through(plan)
    assert len(found.idle) == told_twice > 0
    assert not any(TWICE in each.what for each in found.odd)
