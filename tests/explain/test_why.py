"""Why a signal is what it is: chains of causes that run forward in time, and what kept a signal from changing."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from circuitcheck.checks.findings import NOTED
from circuitcheck.engine.program import Program, read
from circuitcheck.engine.record import Change, Recording, record
from circuitcheck.engine.start import starts
from circuitcheck.engine.step import Action
from circuitcheck.examine import opened, traced
from circuitcheck.explain.cause import Why, why

from .trying import SLUICE, drawn_lines, machine_of, run_of

Drawn = tuple[tuple[str, ...], tuple[str, ...], str]


def level_of(recording: Recording, name: str, at: int) -> int:
    """A signal's level at the end of a gt."""
    return read(recording.program.probe(name), recording.levels_at(at))


def well_formed(found: Why, recording: Recording) -> None:
    """Each step comes no later than the next, is a change that was recorded, and follows from the step before.

    What made a level may come after the call: a part looks when its wait is over (rule C4, K1, T1).
    """
    graph = recording.program.circuit.graph
    assert found.level == level_of(recording, found.name, found.at)
    seen = {(change.at, recording.program.names[change.device], change.level) for change in recording.changes}
    for step in found.steps:
        assert (step.at, step.part, step.level) in seen
        assert step.at <= found.at
        assert step.waited <= step.at
    for cause, effect in zip(found.steps, found.steps[1:], strict=False):
        assert cause.at <= effect.at
    power = {(source, reader) for source, reader in graph.edges}
    wires = {name for name in graph if graph.nodes[name]["kind"] in ("dust", "junction", "block", "lamp")}
    for cause, effect in zip(found.steps, found.steps[1:], strict=False):
        reached, ring = {cause.part}, [cause.part]
        while ring:
            ring = [b for a in ring for b in graph.successors(a) if b in wires and b not in reached]
            reached |= set(ring)
        assert cause.part == effect.part or any((near, effect.part) in power for near in reached)


def drawn_run(program: Program, levers: tuple[str, ...], throws: list[tuple[int, int]], until: int) -> Recording:
    """A run in which levers are thrown, one in a gt."""
    at, actions = 50, []
    for pause, which in throws:
        at += pause
        actions.append((at, Action(program.number[levers[which % len(levers)]], "throw")))
    return record(program, starts(program)[0].levels, actions, (), until)


@settings(max_examples=100, deadline=None)
@given(drawn_lines(), st.lists(st.tuples(st.integers(1, 15), st.integers(0, 3)), min_size=1, max_size=6))
def test_every_chain_runs_forward_along_the_wires_to_the_change_asked_about(
    drawn: Drawn, throws: list[tuple[int, int]]
) -> None:
    lines, levers, output = drawn
    program = machine_of(*lines)
    recording = drawn_run(program, levers, throws, 200)
    feeds = {source for source, _ in program.probe(output)}
    for change in [change for change in recording.changes if change.device in feeds and change.at > 50]:
        found = why(recording, output, change.at)
        well_formed(found, recording)
        last = last_turn(recording, output, change.at)
        if last is not None:
            assert (found.steps[-1].at, found.steps[-1].part) == (last.at, program.names[last.device])
            assert found.steps[-1].level == last.level


def last_turn(recording: Recording, name: str, at: int) -> Change | None:
    """The last change by which the level read at a part became another, found by reading it after every change."""
    feeds, levels = recording.program.probe(name), list(recording.start)
    shown, last = read(feeds, levels), None
    for change in [change for change in recording.changes if change.at <= at]:
        levels[change.device] = change.level
        if read(feeds, levels) != shown:
            shown, last = read(feeds, levels), change
    return last


@settings(max_examples=60, deadline=None)
@given(st.lists(st.sampled_from(("torch", "repeater")), min_size=1, max_size=6), st.booleans())
def test_a_chain_begun_by_a_hand_starts_with_that_action(kinds: list[str], there_and_back: bool) -> None:
    names = ["rope", *(f"part{place}" for place in range(len(kinds)))]
    lines = [f"{kind} {name} from {before}" for kind, name, before in zip(kinds, names[1:], names, strict=False)]
    program = machine_of("lever rope", *lines)
    throws = [(10, 0), (80, 0)] if there_and_back else [(10, 0)]
    recording = drawn_run(program, ("rope",), throws, 300)
    found = why(recording, names[-1], 300)
    well_formed(found, recording)
    assert [step.part for step in found.steps] == names
    assert found.steps[0].at == 50 + sum(pause for pause, _ in throws)
    assert found.steps[0].rule == "O1"
    assert found.steps[-1].at == max(change.at for change in recording.changes)


def test_the_sluice_is_open_because_of_the_ripple_part_by_part() -> None:
    recording = traced(opened(SLUICE)).recording
    found = why(recording, "open", 50)
    well_formed(found, recording)
    # By hand from the file: pond at 20t; detector 1t, repeater 2t, both torches 1t each, the lamp at once.
    assert [(step.part, step.at) for step in found.steps] == [
        ("pond.3", 40), ("rise.3", 42), ("opening", 46), ("gate.inverse", 48), ("gate", 50), ("open", 50),
    ]  # fmt: skip
    assert [step.rule for step in found.steps] == ["O1", "D1", "R2", "T1", "T1", "O2"]


HINDRANCES: dict[str, tuple[tuple[str, ...], tuple[str, ...], str, str, str]] = {
    # name: lines, what is done, signal asked about, part that hinders, rule; all common practice, no source.
    "T3": (
        ("lever rope", "torch slack from rope", "lamp calm from slack"),
        ("at 10gt rope on", "at 11gt rope off", "until 2s"),
        "calm", "slack", "T3",
    ),
    "T3 upstream": (
        ("lever rope", "detector ripple watches rope", "latch gate set ripple reset ripple starts reset",
         "lamp open from gate"),
        ("at 10gt rope on", "until 2s"),
        "open", "gate.inverse", "T3",
    ),
    "R5": (
        ("lever rope", "lever bolt", "repeater catch from bolt", "repeater winch from rope locked by catch",
         "lamp open from winch"),
        ("at 10gt bolt on", "at 1s rope on", "until 3s"),
        "open", "winch", "R5",
    ),
    "P2": (
        ("lever rope", "dust line from rope length 20", "repeater winch from line", "lamp open from winch"),
        ("at 10gt rope on", "until 2s"),
        "open", "line", "P2",
    ),
    "P4": (
        ("lever rope", "dust line from rope", "block stone from line", "dust beyond from stone",
         "lamp bell from beyond"),
        ("at 10gt rope on", "until 2s"),
        "bell", "beyond", "P4",
    ),
    "D1": (
        ("lever pond", "detector ripple watches pond pulse 1t rearm 10t", "lamp bell from ripple"),
        ("at 10gt pond on", "at 20gt pond off", "until 3s"),
        "bell", "ripple", "D1",
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", HINDRANCES.values(), ids=HINDRANCES)
def test_what_stood_in_the_way_is_found_with_its_rule(
    case: tuple[tuple[str, ...], tuple[str, ...], str, str, str], tmp_path: Path
) -> None:
    lines, check, name, part, rule = case
    recording = run_of(tmp_path, lines, check).recording
    found = why(recording, name, recording.until)
    well_formed(found, recording)
    assert (part, rule) in [(hindrance.part, hindrance.rule) for hindrance in found.hindrances]
    assert all(hindrance.at <= recording.until and hindrance.words for hindrance in found.hindrances)
    if rule in NOTED:
        assert all(hindrance.hint for hindrance in found.hindrances)


def test_a_signal_that_went_its_way_has_nothing_in_its_way(tmp_path: Path) -> None:
    lines = ("lever rope", "repeater winch from rope", "lamp open from winch")
    recording = run_of(tmp_path, lines, ("at 10gt rope on", "until 2s")).recording
    assert why(recording, "open", recording.until).hindrances == ()
    before = why(recording, "open", 5)
    assert (before.level, before.steps, before.hindrances) == (0, (), ())


def test_the_chain_of_what_was_lost_leads_to_the_part_that_lost_it(tmp_path: Path) -> None:
    lines, check, name, part, _ = HINDRANCES["T3"]
    recording = run_of(tmp_path, lines, check).recording
    found = why(recording, name, recording.until)
    assert [(step.part, step.at, step.level) for step in found.steps] == [("rope", 11, 0)]
    assert found.hindrances[-1].part == part


def test_a_part_that_still_waits_is_named_with_the_time_at_which_it_is_done(tmp_path: Path) -> None:
    """R2 (common practice, no source): called in gt 10, a repeater of 4t goes on in gt 18, and not in gt 14."""
    lines = ("lever rope", "repeater winch from rope delay 4t", "lamp open from winch")
    run = run_of(tmp_path, lines, ("at 10gt rope on", "at 14gt expect open"))
    found = why(run.recording, "open", 14)
    assert [(step.part, step.at) for step in found.steps] == [("rope", 10)]
    (waiting,) = found.hindrances
    assert (waiting.part, waiting.rule, waiting.at) == ("winch", "R2", 14)
    assert waiting.words == "called at 5t, and still waiting at 7t: it is on from 9t on"


def test_of_several_parts_that_wait_the_nearest_is_named(tmp_path: Path) -> None:
    lines = (
        "lever rope",
        "torch slack from rope starts on",
        "repeater winch from slack delay 4t",
        "lamp open from winch",
    )
    run = run_of(tmp_path, lines, ("at 10gt rope on", "at 13gt expect open off"))
    (waiting,) = why(run.recording, "open", 13).hindrances or (None,)
    assert waiting is not None
    assert waiting.part == "winch"


MADE: dict[str, tuple[tuple[str, ...], tuple[str, ...], str, list[tuple[str, int, int]]]] = {
    # name: lines, what is done, signal asked about, the chain as (part, gt, level); all common practice, no source.
    "K1: what it reads changes while it waits": (
        ("analogue dial", "comparator head from dial"),
        ("at 10gt dial is 1", "at 11gt dial is 14", "until 1s"),
        "head", [("dial", 11, 14), ("head", 12, 14)],
    ),
    "K1: a side that changes nothing": (
        ("analogue dial", "analogue weight", "comparator head from dial side weight"),
        ("at 10gt dial is 9", "at 11gt weight is 3", "until 1s"),
        "head", [("dial", 10, 9), ("head", 12, 9)],
    ),
    "K1: a side that is taken off": (
        ("analogue dial", "analogue weight starts 4", "comparator head from dial side weight subtract"),
        ("at 10gt dial is 9", "at 11gt weight is 1", "until 1s"),
        "head", [("weight", 11, 1), ("head", 12, 8)],
    ),
    "T1: another source than the one that called it": (
        ("lever one", "lever other", "torch slack from one, other starts on"),
        ("at 10gt one on", "at 11gt one off, other on", "until 1s"),
        "slack", [("other", 11, 15), ("slack", 12, 0)],
    ),
    "R3: a pulse that is over makes a repeater go on all the same": (
        ("lever rope", "repeater winch from rope delay 4t"),
        ("at 10gt rope on", "at 11gt rope off", "at 18gt expect winch"),
        "winch", [("rope", 10, 15), ("winch", 18, 15)],
    ),
    "P2: a line shows the strongest of its sources": (
        ("lever one", "lever other", "dust row from one, other"),
        ("at 10gt one on", "at 12gt other on", "at 14gt other off", "until 1s"),
        "row", [("one", 10, 15)],
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", MADE.values(), ids=MADE)
def test_a_chain_is_of_the_levels_that_made_the_level(
    case: tuple[tuple[str, ...], tuple[str, ...], str, list[tuple[str, int, int]]], tmp_path: Path
) -> None:
    lines, check, name, chain = case
    recording = run_of(tmp_path, lines, check).recording
    found = why(recording, name, max(18, chain[-1][1]) if name == "winch" else recording.until)
    assert [(step.part, step.at, step.level) for step in found.steps] == chain


@pytest.mark.parametrize("rule", ["P2", "P4"])
def test_of_dead_wiring_one_slip_is_reported_once(rule: str, tmp_path: Path) -> None:
    lines, check, name, part, _ = HINDRANCES[rule]
    recording = run_of(tmp_path, lines, check).recording
    found = why(recording, name, recording.until)
    assert [(hindrance.part, hindrance.rule) for hindrance in found.hindrances] == [(part, rule)]
