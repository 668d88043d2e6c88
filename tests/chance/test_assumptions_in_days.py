"""What the proofs assume of the world, beside days in which the world does as chance has it.

Counted again here from replays, in which every cell goes by its own name; what is assumed follows the language
reference, "What is assumed of the world". Common practice, no source, for the chances: rule X3.
"""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from math import sqrt
from pathlib import Path

import pytest
from report.schemas import faults
from scipy.stats import binomtest

from circuitcheck.chance.days.replay import ENGINE_LATER, replay
from circuitcheck.chance.days.together import Plan, live_through
from circuitcheck.chance.days.walk import Watching
from circuitcheck.commands import tell_response
from circuitcheck.language.load import load_text
from circuitcheck.model.claims import Atom, Holding, Study, Test

from .calling import CYCLE, TURF, Caller

BED = (
    CYCLE + "place bed gets sky through leaf, water\n"
    "sensor reed cells 3 at bed becomes off chance 1/256 becomes on chance 1/256\n"
    "detector stir.* watches reed.*\njunction row joins stir.*\nlamp bell from row\n"
)
PACE, STILL, ONE_STILL, KEPT = (
    "assume at most 1 changes within 10t",
    "assume reed.* stable for 5s",
    "assume reed.2 stable for 5s",
    "assume at most 999 changes within 2gt",
)
CLAIM = 'always "calm" when row rises then bell within 1t unless row off\n'
BROKEN = f"{BED}{PACE}\n{STILL}\n{ONE_STILL}\n{KEPT}\n{CLAIM}"
SHORT = BROKEN.replace(CYCLE, "cycle 24s day 12s, dusk 0s, night 12s, dawn 0s\n")
"""The same with short days, of which a command lives through many."""


def study(text: str = BROKEN) -> Study:
    return load_text(text).studies[0]


def plan(runs: int, on_end: int) -> Plan:
    asked = study()
    watching = Watching((Atom("bell", Test.RISES),), ("night",))
    return Plan(asked.circuit, watching, runs, on_end, assumptions=asked.assumptions)


def recounted(lived: Plan) -> Iterator[tuple[str, int, int, int]]:
    """Each break as (assumption, run, day, gt of the day), from the changes of every cell by its name."""
    end = lived.calendar.begins(lived.on_end)
    for run in range(lived.runs):
        changes = [(at - ENGINE_LATER, name) for at, name in replay(lived, run, lived.on_end).changes]
        changes = [(at, name) for at, name in changes if at < end]
        for each in lived.assumptions:
            for now in sorted({at for at, _ in changes}):
                if isinstance(each, Holding):
                    mine = {name: [at for at, other in changes if other == name] for name in each.names}
                    broken = any(
                        now in times and any(0 < now - at < each.at_least for at in times) for times in mine.values()
                    )
                else:
                    within = [at for at, _ in changes if now - each.within < at <= now]
                    broken = len(within) > each.most
                if broken:
                    day = lived.calendar.day_at(now)
                    yield each.words, run, day, now - lived.calendar.begins(day)


@pytest.mark.parametrize(("runs", "on_end"), [(12, 1), (3, 4)])
def test_breaks_are_those_that_the_changes_of_every_cell_by_its_name_make(runs: int, on_end: int) -> None:
    lived = plan(runs, on_end)
    again = list(recounted(lived))
    for found in live_through(lived).broken:
        mine = [(run, day, at) for words, run, day, at in again if words == found.words]
        assert found.times == len(mine)
        assert found.days == len({(run, day) for run, day, _ in mine})
        assert found.first == min(mine, default=None)


def test_a_pace_and_stillness_that_chance_does_not_keep_are_found_broken_and_one_it_keeps_is_not() -> None:
    found = {each.words: each for each in live_through(plan(12, 1)).broken}
    assert list(found) == [PACE, STILL, ONE_STILL, KEPT]
    assert 0 < found[ONE_STILL].times < found[STILL].times
    assert found[PACE].times > 0
    assert (found[KEPT].times, found[KEPT].days, found[KEPT].first) == (0, 0, None)


def test_each_of_some_like_cells_changes_as_a_coin_would_have_it() -> None:
    """The gaps between changes of one cell are geometric: a gap of less than 5 s has the chance 1 − (255/256)^99."""
    lived = plan(40, 1)
    names = [name for run in range(lived.runs) for at, name in replay(lived, run, 1).changes]
    found = {each.words: each for each in live_through(lived).broken}
    changes = lived.runs * 2400 / 256
    for name in ("reed.1", "reed.2", "reed.3"):
        assert abs(names.count(name) - changes) < 5 * sqrt(changes)
    short = 1 - (255 / 256) ** 99
    assert abs(found[ONE_STILL].times - changes * short) < 5 * sqrt(changes * short)


def test_breaks_do_not_depend_on_the_number_of_workers() -> None:
    lived = plan(6, 2)
    with ThreadPoolExecutor(2) as executor:
        assert live_through(lived, executor, 2).broken == live_through(lived).broken


@pytest.fixture(name="call")
def _call(capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Caller:
    monkeypatch.chdir(tmp_path)
    Path("reed.circuit").write_text(BROKEN, encoding="utf-8")
    Path("short.circuit").write_text(SHORT, encoding="utf-8")
    Path("turf.circuit").write_text(TURF, encoding="utf-8")
    return Caller(capsys)


@pytest.mark.parametrize(
    "words", [("days", "--days", "20", "--on-end", "1"), ("response", "--brief")], ids=["days", "response"]
)
def test_days_and_response_say_how_often_assumptions_were_broken_and_when_first(
    call: Caller, words: tuple[str, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(tell_response, "DAYS_OF_ASSUMPTIONS", 20)  # 300 usually: what is said is the same
    command, *options = words
    options.append("--quiet")
    data = call.data(command, "short.circuit", "night", "bell", *options)
    assert faults(command, data) == []
    told = {each["assumption"]: each for each in data["assumptions"]}
    assert list(told) == [PACE, STILL, ONE_STILL, KEPT]
    assert 0 < told[PACE]["broken_days"] <= told[PACE]["days"]
    assert told[PACE]["broken_times"] >= told[PACE]["broken_days"]
    assert told[PACE]["first"]["day"] == 1
    assert told[KEPT]["first"] is None
    said = call.good(command, "short.circuit", "night", "bell", *options)
    assert PACE in said
    assert KEPT in said


def test_the_share_of_days_on_which_an_assumption_was_broken_has_the_interval_of_wilson(call: Caller) -> None:
    """Held against scipy's score interval (E. B. Wilson, 1927)."""
    told = call.data("days", "reed.circuit", "night", "bell", "--days", "40", "--on-end", "1")["assumptions"]
    assert {each["broken_days"] == 0 for each in told} == {True, False}
    for each in told:
        expected = binomtest(each["broken_days"], each["days"]).proportion_ci(0.95, method="wilson")
        share = each["share_of_days"]
        assert share["value"] == each["broken_days"] / each["days"]
        assert (share["low"], share["high"]) == pytest.approx((expected.low, expected.high), abs=1e-9)


@pytest.mark.parametrize("command", ["days", "response"])
def test_where_nothing_is_assumed_nothing_is_said_of_it(call: Caller, command: str) -> None:
    options = ("--days", "10") if command == "days" else ()
    assert call.data(command, "turf.circuit", "night", "bell", *options)["assumptions"] == []
    assert "assume" not in call.good(command, "turf.circuit", "night", "bell", *options)
