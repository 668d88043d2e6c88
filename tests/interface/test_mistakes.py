"""Each mistake of a caller's is one CircuitError that says what to do, and leaves the run as it was."""

from __future__ import annotations

import copy
import pickle
from collections.abc import Callable
from pathlib import Path

import pytest

import circuitcheck
from circuitcheck import CircuitError, Simulation, WrongCall, loads
from circuitcheck.engine import step

MILL = (
    "circuit mill\nlever rope\nbutton bell_push short\nanalogue depth\nrepeater winch from rope delay 2t\n"
    "lamp open from winch\n"
)
DEFINED = "define inverter (a) gives b\n  torch b from a starts on\nend\n"
USES = 'use "parts.circuit"\nlever rope\ninverter turned (a rope)\nlamp dark from turned.b\n'
OPEN_ORDER = "lever one\nlever two\nlatch gate set one reset two starts reset\n"


@pytest.fixture
def run() -> Simulation:
    """The mill, half a second after its start."""
    return loads(MILL).start().run(gt=10)


WRONG: dict[str, tuple[Callable[[Simulation], object], str]] = {
    "a lever is pressed": (lambda run: run.press("rope"), "throw('rope')"),
    "a lever is put to a level": (lambda run: run.set("rope", 15), "set('rope', True)"),
    "a button is put on": (lambda run: run.set("bell_push", True), "press('bell_push')"),
    "a level is put on": (lambda run: run.set("depth", True), "set('depth', LEVEL)"),
    "a level is too high": (lambda run: run.set("depth", 16), "0 to 15"),
    "a level is negative": (lambda run: run.set("depth", -1), "0 to 15"),
    "a level is a word": (lambda run: run.set("rope", "on"), "True"),  # type: ignore[arg-type]
    "a lamp is worked": (lambda run: run.set("open", True), "rope"),
    "one input is worked twice": (lambda run: run.set("rope", True).throw("rope"), "step()"),
    "nothing has that name": (lambda run: run.throw("rop"), "'rope'"),
    "no signal has that name": (lambda run: run.edges("opens"), "'open'"),
    "time without a unit": (lambda run: run.run(20), "gt=20"),  # type: ignore[arg-type]
    "time in digits": (lambda run: run.run("20"), "3gt"),
    "no time": (lambda run: run.run(), "gt=20"),
    "two times": (lambda run: run.run("10t", gt=20), "gt=20"),
    "time that is no whole gt": (lambda run: run.run("1.3t"), "gt=20"),
    "time backwards": (lambda run: run.run(gt=-1), "gt=20"),
    "time by halves": (lambda run: run.run(gt=0.5), "gt=20"),  # type: ignore[arg-type]
    "a number of an input": (lambda run: run.set(5, True), "str"),  # type: ignore[arg-type]
    "nothing is pressed": (lambda run: run.press(None), "str"),  # type: ignore[arg-type]
    "a list is thrown": (lambda run: run.throw(["rope"]), "str"),  # type: ignore[arg-type]
    "a word as a number of gt": (lambda run: run.run(gt="x"), "gt=20"),  # type: ignore[arg-type]
    "the level of a number": (lambda run: run.level(5), "str"),  # type: ignore[arg-type]
    "nothing is on": (lambda run: run.is_on(None), "str"),  # type: ignore[arg-type]
    "the levels of a list": (lambda run: run.levels([]), "str"),  # type: ignore[arg-type]
    "the edges of a number": (lambda run: run.edges(5), "str"),  # type: ignore[arg-type]
    "the pulses of bytes": (lambda run: run.pulses(b"open"), "str"),  # type: ignore[arg-type]
    "a table of a list": (lambda run: run.rows(["open"]), "str"),  # type: ignore[arg-type]
    "a number is expected": (lambda run: run.expect(5), "str"),  # type: ignore[arg-type]
    "nothing holds throughout": (lambda run: run.throughout(None), "str"),  # type: ignore[arg-type]
    "the old name of an action": (lambda run: run.work("rope", "on"), "set, throw and press"),  # type: ignore[attr-defined]
}


@pytest.mark.parametrize("wrong", WRONG)
def test_a_wrong_call_says_what_to_do_and_changes_nothing(wrong: str, run: Simulation) -> None:
    call, hint = WRONG[wrong]
    before = run.now, run.rows()
    with pytest.raises(CircuitError) as refused:
        call(run)
    assert hint in refused.value.hint
    assert refused.value.hint in str(refused.value)
    assert (run.now, run.rows()) == before
    run.step().expect("open off")


def test_a_run_has_no_attribute_that_it_lacks(run: Simulation) -> None:
    assert not hasattr(run, "work")
    assert not hasattr(run, "wokr")


def test_a_file_of_definitions_has_no_circuit_to_start() -> None:
    with pytest.raises(WrongCall, match="definitions") as refused:
        loads(DEFINED).start()
    assert refused.value.hint


def test_a_circuit_of_no_file_can_not_be_asked_in_words(run: Simulation) -> None:
    with pytest.raises(WrongCall) as refused:
        Simulation(loads(MILL).circuit).expect("open off")
    assert "load" in refused.value.hint


@pytest.mark.parametrize("change", [Path.unlink, lambda path: path.write_text(DEFINED.replace("on", "off"))])
def test_a_run_whose_circuit_is_gone_or_changed_on_disk_is_driven_on_but_not_asked_in_words(
    change: Callable[[Path], object], tmp_path: Path
) -> None:
    parts = tmp_path / "parts.circuit"
    parts.write_text(DEFINED)
    run = loads(USES, tmp_path).start().run("1s").expect("dark on")
    change(parts)
    assert run.set("rope", True).run("1s").is_on("dark") is False
    with pytest.raises(circuitcheck.RunGivenUp, match=r"parts\.circuit") as refused:
        run.expect("dark off")
    assert "again" in refused.value.hint


def test_a_run_outlives_the_variable_that_its_circuit_stood_in() -> None:
    circuit = loads(MILL)
    run = circuit.start().set("rope", True)
    del circuit
    run.run("10t").expect("open on")


def test_a_run_that_is_given_up_stays_where_it_was_and_says_how_to_go_on(monkeypatch: pytest.MonkeyPatch) -> None:
    """Rule C5 (common practice, no source): two levers off in one gt leave two states, where one is allowed here."""
    run = loads(OPEN_ORDER).start().set("one", True).set("two", True).run("1s")
    kept = run.copy()
    monkeypatch.setattr(step, "MOST_STATES", 1)
    run.set("one", False).set("two", False)
    with pytest.raises(circuitcheck.RunGivenUp) as first:
        run.run("1s")
    monkeypatch.undo()
    assert first.value.hint
    assert run.now < 40
    assert run.level("one") in (0, 15)
    for driven in (run.step, lambda: run.set("one", True)):
        with pytest.raises(circuitcheck.RunGivenUp) as second:
            driven()
        assert "copy" in second.value.hint
    assert kept.set("one", False).run("1s").level("gate") == 0


ERRORS = [
    WrongCall("what", "hint"),
    circuitcheck.UnknownName("what", "hint"),
    circuitcheck.NotAsExpected("what"),
    circuitcheck.OpenOrder("what", "hint"),
    circuitcheck.RunGivenUp("what", "hint"),
    circuitcheck.InvalidCircuit(circuitcheck.verify_text("lamp bell from rop").diagnostics),
]


@pytest.mark.parametrize("error", ERRORS, ids=lambda each: type(each).__name__)
def test_every_error_has_the_one_base_and_comes_whole_from_another_process(error: CircuitError) -> None:
    assert isinstance(error, CircuitError)
    again = pickle.loads(pickle.dumps(error))
    assert (type(again), str(again), again.hint) == (type(error), str(error), error.hint)
    assert str(copy.copy(error)) == str(error)


def test_all_errors_of_the_package_are_listed_here() -> None:
    public = {getattr(circuitcheck, name) for name in circuitcheck.__all__}
    errors = {each for each in public if isinstance(each, type) and issubclass(each, Exception)}
    assert errors - {CircuitError} == {type(each) for each in ERRORS}


OF_ANOTHER_TYPE: dict[str, tuple[Callable[[], object], str]] = {
    "a number as text": (lambda: circuitcheck.loads(5), "str"),  # type: ignore[arg-type]
    "bytes as text": (lambda: circuitcheck.loads(MILL.encode()), "str"),  # type: ignore[arg-type]
    "nothing as text": (lambda: circuitcheck.verify_text(None), "str"),  # type: ignore[arg-type]
    "a number as a path": (lambda: circuitcheck.load(5), "Path"),  # type: ignore[arg-type]
    "a list as a path": (lambda: circuitcheck.verify_file([]), "Path"),  # type: ignore[arg-type]
    "a number as a folder": (lambda: circuitcheck.loads(MILL, 5), "Path"),  # type: ignore[arg-type]
    "a word as states": (lambda: circuitcheck.verify_text(MILL, states="many"), "whole"),  # type: ignore[arg-type]
    "a word as states of all": (lambda: loads(MILL).expect_all(states="many"), "whole"),  # type: ignore[arg-type]
    "a text as lines": (lambda: loads(MILL).tried("until 1s"), "list"),  # type: ignore[arg-type]
    "no lines": (lambda: loads(MILL).tried([]), "list"),
    "numbers as lines": (lambda: loads(MILL).tried([1, 2]), "str"),  # type: ignore[list-item]
    "a text as a circuit": (lambda: Simulation(MILL), "start()"),  # type: ignore[arg-type]
    "a number as a builder's name": (lambda: circuitcheck.Builder(5), "str"),  # type: ignore[arg-type]
    "a number as a builder's title": (lambda: circuitcheck.Builder("mill", 5), "str"),  # type: ignore[arg-type]
    "a number as a builder's folder": (lambda: circuitcheck.Builder("mill", "", 5), "Path"),  # type: ignore[arg-type]
    "a list as a kind": (lambda: circuitcheck.Builder("mill").part([], "rope"), "str"),  # type: ignore[arg-type]
    "nothing as a part's name": (lambda: circuitcheck.Builder("mill").part("lever", None), "str"),  # type: ignore[arg-type]
    "a number as lines of the language": (lambda: circuitcheck.Builder("mill").add(5), "str"),  # type: ignore[arg-type]
    "a number as a check": (lambda: circuitcheck.Builder("mill").check(5), "str"),  # type: ignore[arg-type]
    "a list as a line of a check": (lambda: circuitcheck.Builder("mill").check("a", []), "str"),  # type: ignore[arg-type]
    "fewer states than none": (lambda: circuitcheck.verify_text(MILL, states=-1), "whole"),
}


@pytest.mark.parametrize("case", OF_ANOTHER_TYPE)
def test_what_is_of_another_type_is_one_wrong_call(case: str) -> None:
    call, hint = OF_ANOTHER_TYPE[case]
    with pytest.raises(WrongCall) as refused:
        call()
    assert hint in refused.value.hint
