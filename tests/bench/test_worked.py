"""A run worked by hand is a run of the engine: forwards, back, along branches, and where an order is open.

That going back and forwards again leads to the same states, and that a branch goes as if nothing else had been done, is
what going back means; levels are held against `Simulation`, which knows nothing of benches (rules C2, C5b, L4).
"""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from circuitcheck import loads
from circuitcheck.bench import worked as worked_by_hand
from circuitcheck.bench.calls import answered
from circuitcheck.bench.workbench import Workbench
from circuitcheck.bench.worked import Stopped

LINE = """lever rope
lever brake
repeater winch from rope delay 2t locked by catch
repeater catch from brake
lamp open from winch
"""
BOTH = "lever pond\nlatch gate set pond reset pond starts reset\nlamp open from gate\n"
CLOCK = """torch turn from third starts on
repeater first from turn
repeater third from first delay 3t
lamp open from turn
"""


def session(folder: Path, text: str) -> Workbench:
    """A bench on a circuit."""
    path = folder / "mill.circuit"
    path.write_text(text, encoding="utf-8")
    return Workbench(str(path))


def test_a_run_worked_by_hand_goes_as_the_engine_goes(tmp_path: Path) -> None:
    bench = session(tmp_path, LINE)
    run = loads(LINE).start()
    for game_tick, act in enumerate(["rope on", "", "", "brake on", "rope off", *[""] * 20]):
        if act:
            name, verb = act.split()
            answered(bench, {"do": "act", "name": name, "verb": verb})
            run.set(name, verb == "on")
        answered(bench, {"do": "step", "number": 1})
        run.step()
        assert bench.worked.now == game_tick + 1
        assert {name: run.level(name) for name in bench.seen.signals} == bench.seen.levels(bench.worked.state)


@settings(max_examples=25, deadline=None)
@given(
    acts=st.dictionaries(st.integers(1, 40), st.sampled_from(["rope", "brake"]), max_size=8), back=st.integers(0, 40)
)
def test_going_back_and_on_again_leads_to_the_same_states(
    tmp_path_factory: pytest.TempPathFactory, acts: dict[int, str], back: int
) -> None:
    bench = session(tmp_path_factory.mktemp("bench"), LINE)
    states = [bench.worked.state]
    for game_tick in range(1, 41):
        if game_tick in acts:
            bench.worked.act(acts[game_tick], "throw")
        bench.pass_time(1)
        states.append(bench.worked.state)
    bench.worked.back_to(back)
    assert bench.worked.state == states[back]
    for game_tick in range(back + 1, 41):
        bench.pass_time(1)
        assert bench.worked.state == states[game_tick]


def test_states_are_let_go_where_they_come_to_too_much_and_are_found_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(worked_by_hand, "MOST_KEPT_BYTES", 5_000)
    bench = session(tmp_path, CLOCK)
    states = [bench.worked.state]
    for _ in range(300):
        bench.pass_time(1)
        states.append(bench.worked.state)
    assert len(bench.worked._kept) < 30
    for game_tick in (0, 7, 150, 299):
        bench.worked.back_to(game_tick)
        assert bench.worked.state == states[game_tick]


def test_what_is_done_earlier_begins_a_branch_and_the_other_can_be_had_again(tmp_path: Path) -> None:
    bench = session(tmp_path, LINE)
    bench.worked.act("rope", "on")
    bench.pass_time(20)
    there = bench.worked.state
    bench.worked.back_to(10)
    assert bench.worked.branches == []
    bench.worked.act("rope", "off")
    bench.pass_time(20)
    assert bench.seen.levels(bench.worked.state)["open"] == 0
    assert len(bench.worked.branches) == 1
    bench.worked.branch(0)
    assert (bench.worked.now, bench.worked.state) == (20, there)
    bench.worked.branch(0)
    assert bench.seen.levels(bench.worked.state)["open"] == 0


def test_where_an_order_is_open_both_outcomes_can_be_chosen(tmp_path: Path) -> None:
    """Common practice, no source; rules C5b and L4: one lever lets go of both sides of a latch."""
    bench = session(tmp_path, BOTH)
    bench.worked.act("pond", "on")
    bench.pass_time(20)
    bench.worked.act("pond", "off")
    assert not bench.pass_time(10)
    assert bench.open is not None
    stands = bench.worked.now
    ends = set()
    for number in range(len(bench.open.outcomes)):
        bench.worked.back_to(stands)
        if bench.worked.end > stands:
            bench.worked.leave_ahead()
        assert not bench.pass_time(1)
        answered(bench, {"do": "choose", "number": number})
        bench.pass_time(20)
        recording = bench.worked.recording()
        assert recording.levels_at(bench.worked.now) == bytes(bench.worked.state.levels)
        ends.add(bench.seen.levels(bench.worked.state)["gate"])
    assert (
        ends == {0, 15} == loads(BOTH).start().set("pond", True).run(gt=20).set("pond", False).run(gt=30).levels("gate")
    )


@pytest.mark.parametrize(
    ("name", "verb", "level"), [("rop", "on", 0), ("open", "on", 0), ("rope", "press", 0), ("rope", "is", 16)]
)
def test_what_can_not_be_worked_is_refused_and_changes_nothing(
    tmp_path: Path, name: str, verb: str, level: int
) -> None:
    bench = session(tmp_path, LINE)
    with pytest.raises(Stopped):
        bench.worked.act(name, verb, level)
    assert bench.worked.queued == []
