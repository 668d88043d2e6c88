"""What is explained of a machine whose pistons change its wiring: nothing is said of one wiring as if it were all."""

import circuitcheck
from circuitcheck.engine.program import Program
from circuitcheck.explain.cause import why
from circuitcheck.explain.circuit_reading import read_circuit
from circuitcheck.explain.function import Function, TooLarge, function
from circuitcheck.explain.inversion import Relation, inversion, turns

GATE = """language 1
circuit gate "A block in a line is taken aside by a piston."
legend
  .  air
  S  block
  -  dust
  *  torch   named ember
  B  block
  P  piston  facing south  sticky  named flap
  i  lever   named gear
  O  lamp    named bell
end
drawing
  layer 1
    SSSSSS, 4 times
  end
  layer 2
    ..S...
    ......
    ..*S..
    ......
  end
  layer 3
    ..i...
    ..P...
    ..B{line}O.
    ...S..
  end
end
"""


def program(line: str) -> Program:
    return Program(circuitcheck.loads(GATE.format(line=line)).circuit)


def test_a_lamp_behind_a_block_that_a_piston_takes_away_has_no_table() -> None:
    """The bell is lit at home and dark while the block is away (common practice, M9): one table can't say both."""
    gate = program("-")
    assert isinstance(function(gate, "bell"), TooLarge)
    assert any("'flap'" in each for each in read_circuit(gate).left_out)


def test_a_piston_that_no_wiring_depends_on_leaves_tables_as_they_are() -> None:
    """Without the dust the lamp stands apart from the block that moves, dark for ever."""
    gate = program(".")
    table = function(gate, "bell")
    assert isinstance(table, Function)
    assert not table.on
    assert not table.open


CHECK = """
check "the bell rings on"
  at 10gt gear on
  at 40gt expect bell on
end
"""


def test_a_cause_names_the_stroke_and_the_place_that_a_block_left() -> None:
    """The lever in gt 10, the start in 11, the lamp dark in 15 (common practice, M2, M3, M9, O2)."""
    (outcome,) = circuitcheck.verify_text(GATE.format(line="-") + CHECK).outcomes
    assert outcome.failure is not None
    steps = why(outcome.failure.recording, "bell", 40).steps
    assert [(step.at, step.part, step.rule) for step in steps] == [
        (10, "gear", "O1"),
        (11, "flap", "M9"),
        (15, "bell", "O2"),
    ]
    assert "layer 3, row 3, column 3" in steps[1].words


def test_an_output_that_a_stroke_cuts_off_is_not_said_to_be_the_same_or_inverted() -> None:
    """Of the paths of one wiring nothing follows, and nothing but a torch behind it is offered to turn it round."""
    gate = program("-")
    assert inversion(gate, "bell", "gear").relation is Relation.UNKNOWN
    assert len(turns(gate, "bell")) == 1


def test_where_two_pistons_move_what_they_do_together_is_not_known_beforehand() -> None:
    """Each alone changes nothing here; one that moves things may bring another something to move."""
    two = GATE.format(line=".").replace("    ...S..\n  end\nend", "    Q..S..\n  end\nend")
    two = two.replace("  i  lever ", "  Q  piston  facing north  named other\n  i  lever ")
    assert isinstance(function(Program(circuitcheck.loads(two).circuit), "bell"), TooLarge)


def test_levels_are_reported_for_each_gt_from_the_first_to_the_last() -> None:
    """The lamp is dark from gt 15 on (O2)."""
    (outcome,) = circuitcheck.verify_text(GATE.format(line="-") + CHECK).outcomes
    assert outcome.failure is not None
    assert [level > 0 for level in outcome.failure.recording.levels_of("bell", 13, 16)] == [True, True, False, False]


def test_dust_is_tried_at_no_length_of_none() -> None:
    circuit = circuitcheck.loads("lever rope\ndust line from rope length 3\nlamp bell from line\n").circuit
    assert min(circuit.by_name["line"].adjustments()[0].values) == 1
