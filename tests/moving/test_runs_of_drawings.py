"""Drawings in which things move, as people run them. Common practice, no source; rules M3, M8 and M9."""

from __future__ import annotations

import circuitcheck
from circuitcheck.engine.program import Program
from circuitcheck.engine.simulator import Simulator
from circuitcheck.engine.start import the_start
from circuitcheck.engine.step import Action, step
from circuitcheck.space.configuration import AT_HOME

GATE = """language 1
legend
  .  air
  S  block
  B  block     named stone
  i  lever     named rope
  I  lever     starts on
  P  piston    facing east  sticky  named flap
  v  repeater  facing south  starts on  named feed
  -  dust      named line
  O  lamp      named bell
  T  torch
end
drawing
  layer 1
    SSSSS
    SSSSS
    SSSSS
    SSSSS
    SSSSS
  end
  layer 2
    ..I..
    ..v..
    iPB{}.
    ..-..
    ..O..
  end
end
output ringing from bell
"""
"""The flap's block stands at home in a line that feeds the bell's lamp."""
RUN = """
check "the gate"
  at 10gt  rope on
  at 40gt  rope off
  from 11gt to 42gt  expect line off
  at 14gt  expect bell
  from 15gt to 42gt  expect bell off
  at 43gt  expect bell and line is 15
  at 60gt  expect bell
end
"""


def verdicts(text: str) -> list[str]:
    report = circuitcheck.verify_text(text)
    assert report.diagnostics == ()
    return [each.verdict.value for each in report.outcomes]


def test_a_line_is_cut_at_the_start_of_a_stroke_and_joined_at_its_landing() -> None:
    assert verdicts(GATE.format(".") + RUN) == ["holds"]


def test_a_claim_about_what_moves_is_proved_and_broken() -> None:
    assert verdicts(GATE.format(".") + 'never "the line is lit while the flap is out" line and flap\n') == ["proved"]
    assert verdicts(GATE.format(".") + 'always "the bell is lit" bell\n') == ["fails"]


def test_a_run_that_comes_to_a_mistake_of_the_drawing_is_open() -> None:
    """M8: the block comes to where a torch stands."""
    report = circuitcheck.verify_text(GATE.format("T") + RUN)
    (outcome,) = report.outcomes
    assert outcome.verdict.value == "undecided"
    assert "M8" in outcome.detail
    assert "layer 2, row 3, column 4" in outcome.detail
    assert "M8" in {each.rule for each in report.findings}


def test_equal_situations_are_equal_states_and_one_step_goes_on_from_each() -> None:
    program = Program(circuitcheck.loads(GATE.format(".")).circuit)
    (simulator,) = Simulator(program, 0, the_start(program).levels).tell_everyone()
    state = first = simulator.snapshot()
    assert state.configuration == AT_HOME
    away = set()
    for gt in range(1, 60):
        actions = [Action(program.number["rope"], "throw")] if gt in (10, 40) else []
        ((state, _),) = step(program, state, actions)
        away.add(state.configuration)
    assert len(away) == 4, "home, going out, out and going home"
    assert state == first
    assert hash(state) == hash(first)


def test_a_fault_put_into_a_drawing_stays_in_while_things_move() -> None:
    """A repeater that nothing feeds any more goes off, whatever the drawing says."""
    circuit = circuitcheck.loads(GATE.format(".")).circuit
    feed = circuit.by_name["feed"]
    cut = feed
    for source in feed.powers:
        cut = cut.rewired(source, None)
    run = circuitcheck.Simulation(circuit.with_part(feed, cut))
    run.set("rope", True).run(gt=20).set("rope", False).run(gt=40)
    assert run.level("bell") == 0


def test_with_everything_still_a_program_is_the_circuit_at_home() -> None:
    circuit = circuitcheck.loads(GATE.format(".")).circuit
    assert Program(circuit).moving
    assert not Program(circuit, still=True).moving
