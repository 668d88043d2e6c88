"""Flashing that a machine makes by itself (rule S1): found in every state in which nobody has touched it for a second.

Published source of what is harmful: WCAG 2.2, success criterion 2.3.1. When parts change is found by hand (T2, R2,
O2: common practice, no source); the search is held against a plain one that walks the engine's own steps.
"""

from __future__ import annotations

import random

import pytest

from circuitcheck import FileReport, verify_text
from circuitcheck.checks.finding import FlashingSearch
from circuitcheck.engine.program import Program
from circuitcheck.engine.simulator import Simulator
from circuitcheck.engine.start import starts
from circuitcheck.engine.state import State
from circuitcheck.engine.step import run_game_tick, step
from circuitcheck.model.claims import Study
from circuitcheck.model.parts.lamp import Lamp
from circuitcheck.prove.flashing_by_itself import flashing
from circuitcheck.prove.meter import Limits

from .plain import TooManyStates, quiet
from .plain import _choices as choices
from .random_circuits import study_of

# A torch (2 gt) and a repeater of 4 gt in a ring: each is on for 6 gt and off for 6. A lamp on it is lit for 10 and
# dark for 2 (O2), 1.7 times a second; the two in turn change four times in 12 gt, so eight times in 19 gt.
WHEEL = "torch wheel from cam{stop}\nrepeater cam from wheel delay 2t\nlamp one from wheel\nlamp two from cam\n"
CLAIM = 'always "it rests" possible rest\n'
FREE = WHEEL.format(stop="")
STOPPED = "lever stop starts on\n" + WHEEL.format(stop=", stop")


def searched(text: str, states: int = 50_000) -> FlashingSearch:
    return flashing(study_of(text), Limits(states))


def found(report: FileReport) -> list[tuple[str, int, bool]]:
    assert report.diagnostics == ()
    return [(each.part, each.flashes, each.by_itself) for each in report.findings if each.rule == "S1"]


def test_a_file_of_claims_only_gets_a_report_of_what_flashes_by_itself() -> None:
    report = verify_text(FREE + CLAIM)
    assert found(report) == [("one", 4, True)]
    (only,) = [each for each in report.findings if each.rule == "S1"]
    assert "photosensitive epilepsy" in only.message
    assert only.flashing is not None
    assert sorted(only.flashing.lamps) == ["one", "two"]


def test_the_trace_leads_to_flashing_that_begins_only_after_a_touch() -> None:
    search = searched(STOPPED)
    assert search.finding is not None
    second = search.finding.flashing
    assert second is not None
    assert [(act.at, act.name, act.verb) for act in second.trace] == [(0, "stop", "throw")]
    assert second.begins >= max(act.at for act in second.trace) + 20
    assert second.recording is not None
    lit = {second.recording.program.number[name]: name for name in ("one", "two")}
    changes = [each for each in second.recording.changes if each.device in lit]
    assert sum(second.begins <= each.at <= second.ends for each in changes) == 8
    assert second.ends - second.begins < 20


def test_a_lever_that_is_thrown_by_hand_is_no_finding() -> None:
    search = searched("lever rope.1 to rope.2\nlamp bell.* from rope.*\n" + CLAIM)
    assert (search.finding, search.complete) == (None, True)
    assert search.states > 0


def test_a_machine_that_is_never_set_going_is_no_finding() -> None:
    assert searched(STOPPED + "assume at most 0 changes within 1s\n" + CLAIM).finding is None


def test_one_lamp_of_the_two_is_no_finding() -> None:
    search = searched(FREE.replace("lamp two from cam\n", "") + CLAIM)
    assert (search.finding, search.complete) == (None, True)


def test_the_least_change_was_tried() -> None:
    # With a ring of 14 gt, eight changes take 7 + 14 + … at least 20 gt: one more tick at the repeater is enough.
    cure = searched(FREE).finding
    assert cure is not None
    assert cure.flashing is not None
    assert cure.flashing.cure is not None
    assert "'cam' at 3t instead of 2t" in cure.flashing.cure.words
    assert searched(FREE.replace("delay 2t", "delay 3t") + CLAIM).finding is None


def test_where_the_budget_ends_it_says_how_much_was_explored() -> None:
    text = "lever rope.1 to rope.4\nlatch gate.* set rope.* reset ebb.* starts reset\nlamp open.* from gate.*\n"
    search = searched("lever ebb.1 to ebb.4\n" + text + CLAIM, states=500)
    assert (search.complete, search.finding) == (False, None)
    assert search.limit
    report = verify_text("lever ebb.1 to ebb.4\n" + text + CLAIM, states=500)
    (result,) = report.results
    assert result.flashing is not None
    assert (result.flashing.complete, bool(result.flashing.limit)) == (False, True)


def test_what_flashes_from_the_start_on_is_found_with_the_least_budget() -> None:
    search = searched(FREE, states=1)
    assert (search.complete, search.finding is not None) == (False, True)


def test_what_the_author_says_of_it_counts() -> None:
    silenced = verify_text(FREE + CLAIM + 'silence S1 because "the mill is empty"\n')
    assert [each.silenced for each in silenced.findings if each.rule == "S1"] == ["the mill is empty"]
    assert int(verify_text(FREE + 'always "lit" one or one off\nforbid S1\n').exit) == 1


# Against a plain search


def most_turns(study: Study, most: int) -> int:
    """The most changes in turn of a second that nobody touches, nor the second before: state by state, way by way."""
    program = Program(quiet(study.circuit))
    lamps = [device.index for device in program.devices if isinstance(device.part, Lamp)]
    seen: dict[tuple[State, tuple[tuple[str, int], ...]], None] = {}
    for start in starts(program):
        for told in Simulator(program, 0, start.levels).tell_everyone():
            for actions, history in choices(program, told.levels, told.device_state, (), study.assumptions):
                for simulator in run_game_tick([told.copy()], actions):
                    seen[simulator.snapshot(), history] = None
    queue = list(seen)
    for state, history in queue:
        for actions, later in choices(program, state.levels, state.device_state, history, study.assumptions):
            for outcome in step(program, state, actions):
                if (outcome.state, later) not in seen:
                    seen[outcome.state, later] = None
                    queue.append((outcome.state, later))
                    if len(seen) > most:
                        raise TooManyStates
    front = {state for state, _ in seen}
    for _ in range(20):
        front = {outcome.state for state in front for outcome in step(program, state)}
    return max(_longest(program, lamps, state) for state in front)


def _longest(program: Program, lamps: list[int], state: State) -> int:
    """Of all that may follow a state in 20 gt, the most changes to light and to dark in turn."""
    ways: dict[tuple[State, str], int] = {(state, ""): 0}
    for _ in range(20):
        following: dict[tuple[State, str], int] = {}
        for (before, last), turns in ways.items():
            for outcome in step(program, before):
                after = outcome.state
                up = any(after.levels[lamp] and not before.levels[lamp] for lamp in lamps)
                down = any(before.levels[lamp] and not after.levels[lamp] for lamp in lamps)
                both = ["ud", "du"] if up and down else []
                for word in ["", *both, *(["u"] if up else []), *(["d"] if down else [])]:
                    if not word or word[0] != last:
                        key = (after, word[-1] if word else last)
                        following[key] = max(following.get(key, 0), turns + len(word))
        ways = following
    return max(ways.values())


def mill(seed: int) -> str:
    """One or two rings, perhaps with a lever that holds them still, and lamps on some of what turns.

    No ring turns so quickly that a torch burns out (T4), which the plain search leaves out.
    """
    chance = random.Random(seed)
    lines, turning = [], []
    if chance.random() < 0.6:
        lines.append(f"lever stop starts {chance.choice(('on', 'off'))}")
    for ring in range(chance.choice((1, 1, 2))):
        stop = ", stop" if lines and "stop" in lines[0] and chance.random() < 0.8 else ""
        lines.append(f"torch wheel_{ring} from cam_{ring}{stop} starts {chance.choice(('on', 'off'))}")
        lines.append(f"repeater cam_{ring} from wheel_{ring} delay {chance.randint(2, 4)}t starts off")
        turning += [f"wheel_{ring}", f"cam_{ring}"]
    if chance.random() < 0.5:
        lines.append(f"detector tick watches {chance.choice(turning)}")
        turning.append("tick")
    if chance.random() < 0.5:
        lines.append(f"torch other from {chance.choice(turning)}")
        turning.append("other")
    lamps = chance.sample(turning, chance.randint(1, len(turning)))
    lines += [f"lamp seen.{place} from {name}" for place, name in enumerate(lamps, 1)]
    return "\n".join(lines) + "\n" + CLAIM


@pytest.mark.parametrize("seed", range(30))
def test_the_search_finds_the_worst_second_that_a_plain_one_finds(seed: int) -> None:
    study = study_of(mill(seed))
    turns = most_turns(study, 20_000)
    search = searched(mill(seed))
    assert search.complete
    flashes = 0 if search.finding is None else search.finding.flashes
    assert flashes == (turns // 2 if turns >= 8 else 0)


def test_the_mills_of_that_test_flash_and_do_not() -> None:
    harmful = [searched(mill(seed)).finding is not None for seed in range(30)]
    assert 5 <= sum(harmful) <= 25
