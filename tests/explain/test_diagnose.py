"""Mistakes built by hand: what a builder would see of each is simulated, and `diagnose` must find it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

import pytest

import circuitcheck
from circuitcheck import Simulation
from circuitcheck.engine.program import Program
from circuitcheck.examine import opened_with
from circuitcheck.explain.inversion import Relation, inversion
from circuitcheck.explain.mistakes import Diagnosis, diagnose
from circuitcheck.report.lines import plain
from circuitcheck.report.terminal.explained import diagnosis_lines

from .trying import SLUICE, text_of, work

LOCKS = text_of(
    "lever rope", "lever brake", "repeater slow from rope delay 3t", "repeater hold from brake delay 2t",
    "latch gate set slow reset hold starts reset", "dust sill from gate length 9", "lamp open from sill",
    "lamp shut from gate.inverse",
)  # fmt: skip
MILL = text_of(
    "lever pond", "lever race", "dust channel from pond length 8", "torch dry from channel", "torch low from race",
    "torch turns from dry, low", "repeater winch from turns delay 2t", "block stone from winch",
    "dust line from stone length 5", "lamp mill from line", "lamp idle from dry",
)  # fmt: skip
MEANT = {"sluice": SLUICE.read_text(encoding="utf-8").partition("\ncheck ")[0] + "\n", "gate": LOCKS, "mill": MILL}
SEEN: Mapping[str, tuple[str, ...]] = {
    "sluice": ("open", "shut", "gate", "gate.inverse", "opening", "pond_row", "keep_open"),
    "gate": ("open", "shut", "sill", "gate", "slow"),
    "mill": ("mill", "idle", "dry", "turns", "line", "channel"),
}
DONE: Mapping[str, tuple[tuple[int, str], ...]] = {
    "sluice": ((40, "pond.1 on"),),
    "gate": ((40, "rope on"), (60, "rope off")),
    "mill": ((40, "pond on"), (60, "race on")),
}
LOOKED = (41, 43, 45, 47, 49, 51, 55, 61, 66, 70, 120)

# circuit, text in it, the text of the wrong build, and the words that the mistake must be told in
BUILT: dict[str, tuple[str, str, str, tuple[str, ...]]] = {
    "sluice, repeater at 1t": (
        "sluice", "from pond_row  delay wait", "from pond_row  delay 1t", ("opening", "1t instead of 2t"),
    ),
    "sluice, repeater at 4t": (
        "sluice", "from pond_row  delay wait", "from pond_row  delay 4t", ("opening", "4t instead of 2t"),
    ),
    "sluice, lamp on the wrong side": (
        "sluice", "shut   from gate.inverse", "shut   from gate", ("'shut'", "wrong side"),
    ),
    "sluice, sill too long": ("sluice", "length 6", "length 21", ("'sill'", "too long")),
    "sluice, detector missing": ("sluice", "joins rise.*", "joins rise.2, rise.3", ("detector 'rise.1'", "missing")),
    "gate, repeater at 1t": ("gate", "from rope delay 3t", "from rope delay 1t", ("'slow'", "1t instead of 3t")),
    "gate, side swapped": ("gate", "dust sill from gate ", "dust sill from gate.inverse ", ("'sill'", "wrong side")),
    "gate, sill too long": ("gate", "length 9", "length 24", ("'sill'", "too long")),
    "gate, repeater turned round": ("gate", "set slow reset", "set slow_gone reset", ("repeater 'slow'", "turned")),
    "mill, torch missing": ("mill", "from dry, low", "from dry_gone, low", ("torch 'dry'", "missing")),
    "mill, repeater at 1t": ("mill", "delay 2t", "delay 1t", ("'winch'", "1t instead of 2t")),
    "mill, channel too long": ("mill", "length 8", "length 23", ("'channel'", "too long")),
    "mill, weak block": ("mill", "block stone from winch", "dust under from winch\nblock stone from under",
                         ("'stone'", "weakly")),
}  # fmt: skip


def wrong(circuit: str, old: str, new: str) -> str:
    """The text of the build with its mistake."""
    text = MEANT[circuit]
    assert text.count(old) == 1, old
    made = text.replace(old, new)
    # A part that is not there gives nothing to anybody, like a lever that nobody ever throws.
    if "slow_gone" in new:
        made += "lever slow_gone\n"
    if "dry_gone" in new:
        made = made.replace("lamp idle from dry", "lamp idle from dry_gone") + "lever dry_gone\n"
    return made


def scene(circuit: str, text: str) -> list[str]:
    """What is done, and what is seen of a build at several times, as lines of a check."""
    run = Simulation(circuitcheck.loads(text).circuit)
    lines, done = [], list(DONE[circuit])
    for at in sorted({*LOOKED, *(when for when, _ in done)}):
        for when, action in done:
            if when == at:
                run.run(gt=at - 1 - run.now)
                name, verb = action.split()
                work(run, name, verb)
                lines.append(f"at {at}gt {action}")
        run.run(gt=at - run.now)
        if at in LOOKED:
            lines += [f"at {at}gt expect {name} {'on' if run.is_on(name) else 'off'}" for name in SEEN[circuit]]
    return lines


def diagnosed(folder: Path, circuit: str, lines: Sequence[str]) -> Diagnosis:
    """What fits these lines, beside the circuit as it was meant."""
    path = folder / "meant.circuit"
    path.write_text(MEANT[circuit], encoding="utf-8")
    seen = opened_with(path, lines)
    assert not seen.diagnostics, seen.diagnostics
    assert seen.study is not None
    return diagnose(seen.study.circuit, seen.study.checks[0])


@pytest.mark.parametrize("case", BUILT.values(), ids=BUILT)
def test_the_mistake_that_was_made_is_among_those_that_fit(
    case: tuple[str, str, str, tuple[str, ...]], tmp_path: Path
) -> None:
    circuit, old, new, words = case
    lines = scene(circuit, wrong(circuit, old, new))
    found = diagnosed(tmp_path, circuit, lines)
    told = [mistake.words for mistake in found.fitting]
    assert any(all(word in each for word in words) for each in told), told
    assert not found.sound
    assert found.complete


@pytest.mark.parametrize("circuit", MEANT)
def test_a_sound_build_looks_sound(circuit: str, tmp_path: Path) -> None:
    found = diagnosed(tmp_path, circuit, scene(circuit, MEANT[circuit]))
    assert found.sound


@pytest.mark.parametrize("circuit", MEANT)
def test_what_fits_is_reported_likeliest_first_and_each_once(circuit: str, tmp_path: Path) -> None:
    done = [f"at {at}gt {action}" for at, action in DONE[circuit]]
    found = diagnosed(tmp_path, circuit, [*done, "until 120gt"])
    weights = [mistake.weight for mistake in found.fitting]
    assert weights == sorted(weights, reverse=True)
    assert len({mistake.words for mistake in found.fitting}) == len(found.fitting) == found.tried


@pytest.mark.parametrize(("circuit", "last"), [("sluice", "open off"), ("gate", "open off"), ("mill", "mill off")])
def test_the_question_splits_what_fits_as_the_simulation_answers_it(circuit: str, last: str, tmp_path: Path) -> None:
    done = [f"at {at}gt {action}" for at, action in DONE[circuit]]
    found = diagnosed(tmp_path, circuit, [*done, f"at 120gt expect {last}"])
    asked = found.question
    assert asked is not None
    assert asked.if_on
    assert asked.if_off
    assert asked.at == 120
    by_words = {mistake.words: mistake for mistake in found.fitting}
    assert set(asked.if_on) | set(asked.if_off) == set(list(by_words)[:12])
    assert not set(asked.if_on) & set(asked.if_off)
    for words in (*asked.if_on, *asked.if_off):
        run = Simulation(by_words[words].circuit)
        for at, action in DONE[circuit]:
            name, verb = action.split()
            run.run(gt=at - 1 - run.now)
            work(run, name, verb)
        run.run(gt=120 - run.now)
        is_there = by_words[words].left_out != asked.signal
        assert (is_there and run.is_on(asked.signal)) is (words in asked.if_on)
    assert asked.may_be_missing is any(mistake.left_out == asked.signal for mistake in found.fitting[:12])


def test_nobody_is_asked_to_see_a_part_on_that_is_missing(tmp_path: Path) -> None:
    """R2: with the first missing both stay off; with the second missing the first is on, and no second is there."""
    path = tmp_path / "row.circuit"
    path.write_text("lever rope\nrepeater one from rope\nrepeater two from one\nlamp bell from two\n")
    seen = opened_with(path, ["at 1t rope on", "at 100t expect bell off"]).study
    assert seen is not None
    text = plain(diagnosis_lines(diagnose(seen.circuit, seen.checks[0]), (), 100))
    assert "Look next at 'one' at 100t: if it is on, 2; if it is off, or not there, 1." in " ".join(text.split())


def test_something_no_single_mistake_explains_fits_nothing(tmp_path: Path) -> None:
    # Neither the rope nor anything behind it can be at fault at a moment before anybody has pulled, but all at once.
    lines = ["at 10gt expect open", "at 10gt expect shut", "at 10gt expect sill off", "until 20gt"]
    found = diagnosed(tmp_path, "gate", lines)
    assert found.fitting == ()
    assert not found.sound
    assert found.question is None


def test_the_circuits_meant_are_what_they_are_called() -> None:
    mill = Program(circuitcheck.loads(MILL).circuit)
    assert inversion(mill, "mill", "pond").relation is Relation.SAME_AT_TIMES
    assert inversion(mill, "idle", "pond").relation is Relation.INVERTED
