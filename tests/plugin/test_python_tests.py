"""Tests written in Python: a fixture that loads, inputs that are worked, expectations in the words of the language."""

from __future__ import annotations

from pathlib import Path

import pytest

import circuitcheck

from .test_plugin import FAILING, GOOD, outcomes, write

SLUICE = Path(__file__).parents[2] / "circuits" / "sluice.circuit"


@pytest.fixture
def run() -> circuitcheck.Simulation:
    """The sluice after a ripple on the pond."""
    return circuitcheck.load(SLUICE).start().set("pond.1", True).run("10t")


def test_levels_latches_pulses_and_delays_are_expected_in_words(run: circuitcheck.Simulation) -> None:
    """The times are those of the sluice's own checks: rules D1, R2, L3, O2 (common practice, no source)."""
    run.expect("open on").expect("gate set and shut off").expect("opening is 0")
    run.throughout("every pulse of opening lasts 2t").throughout("from pond.1 rises to open rises takes 5t")
    run.throughout("gate.inverse inverts gate, settled within 1t")
    assert run.now == 20


def test_a_failed_expectation_says_what_happened_and_why(run: circuitcheck.Simulation) -> None:
    with pytest.raises(circuitcheck.NotAsExpected) as failed:
        run.expect("shut on")
    text = str(failed.value)
    assert text.startswith("fails at 10t: 'shut' was off at 10t\n")
    assert "at 10t expect shut on" in text
    assert "'shut' was off at 10t" in text
    assert "the lever is thrown (O1)" in text
    assert "pond.1" in text
    assert "command line" not in text


def test_a_claim_broken_in_the_run_is_reported_with_its_length(run: circuitcheck.Simulation) -> None:
    with pytest.raises(circuitcheck.NotAsExpected, match="lasted 2t, from 7gt to 11gt"):
        run.throughout("every pulse of opening lasts at least 3t")


def test_a_claim_that_nothing_calls_into_question_is_not_as_expected(run: circuitcheck.Simulation) -> None:
    with pytest.raises(circuitcheck.NotAsExpected, match=r"from race\.1 rises to shut rises takes 5t"):
        run.throughout("from race.1 rises to shut rises takes 5t")


def test_an_expectation_that_an_unknown_order_decides_is_a_race() -> None:
    """Rule C5 (common practice, no source): the order of two levers thrown in one gt is unknown."""
    text = "lever one\nlever other\nlatch gate set one reset other starts reset\n"
    run = circuitcheck.loads(text).start().set("one", True).set("other", True).run("1s")
    run.set("one", False).set("other", False).run("1s")
    with pytest.raises(circuitcheck.NotAsExpected, match="depends on an unknown order"):
        run.expect("gate set")


def test_words_that_are_no_condition_are_reported_as_mistakes(run: circuitcheck.Simulation) -> None:
    with pytest.raises(
        circuitcheck.InvalidCircuit, match=r"^at 10t expect opne on: nothing here is called 'opne' \(did"
    ):
        run.expect("opne on")
    with pytest.raises(circuitcheck.InvalidCircuit):
        run.expect('on"')


def test_what_is_worked_and_not_yet_run_has_not_happened() -> None:
    run = circuitcheck.load(SLUICE).start().run("1s").set("pond.1", True)
    run.expect("pond.1 off").run(gt=1).expect("pond.1 on")


def test_all_that_a_file_asks_is_expected_at_once() -> None:
    circuitcheck.load(SLUICE).expect_all()
    with pytest.raises(circuitcheck.NotAsExpected, match=r"FAILS {4}push"):
        circuitcheck.loads(FAILING).expect_all()


def test_the_fixture_loads_from_the_folder_of_the_test(pytester: pytest.Pytester) -> None:
    inner = pytester.mkdir("inner")
    (inner / "rope.circuit").write_text(GOOD, encoding="utf-8")
    (inner / "test_rope.py").write_text(
        "def test_good(load_circuit):\n    load_circuit('rope.circuit').start().run(gt=4).expect('calm on')\n"
        "def test_bad(load_circuit):\n    load_circuit('rope.circuit').start().run(gt=4).expect('calm off')\n",
        encoding="utf-8",
    )
    found, text = outcomes(pytester, "inner/test_rope.py")
    assert found == {"passed": 1, "failed": 1}
    assert "'calm' was on at 2t" in text
    assert "simulation.py" not in text


def test_files_are_used_out_of_the_folder_that_is_set(pytester: pytest.Pytester) -> None:
    write(pytester, pieces="define inverter (a) gives b\n  torch b from a starts on\nend\n")
    inner = pytester.mkdir("inner")
    uses = 'use "../pieces.circuit"\nlever rope\ninverter not_rope (a rope)\nlamp calm from not_rope.b\n'
    check = 'check "calm"\n  at 1s rope on\n  by 2s expect calm off\nend\n'
    (inner / "mill.circuit").write_text(uses + check, encoding="utf-8")
    assert outcomes(pytester, "inner")[0] == {"errors": 1}
    pytester.makeini("[pytest]\ncircuit_root = .\n")
    assert outcomes(pytester, "inner")[0] == {"passed": 1}


def test_an_input_is_worked_once_in_a_gt(run: circuitcheck.Simulation) -> None:
    """Rule C5 (common practice, no source): nothing says which of two hands on one lever comes first."""
    run.set("pond.2", True)
    with pytest.raises(ValueError, match="two actions in one gt"):
        run.set("pond.2", False)
    run.run(gt=1).set("pond.2", False).run(gt=1).expect("pond.2 off")


def test_what_there_is_can_be_looked_up(run: circuitcheck.Simulation) -> None:
    assert "load" in dir(circuitcheck)
    assert repr(run) == "<run of sluice at 10t>"
    assert repr(circuitcheck.load(SLUICE)) == f"<circuit of {SLUICE}>"
