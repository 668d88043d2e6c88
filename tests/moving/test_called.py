"""What a thing that strokes move is called in reports: what can be asked for is, by that name (common practice, M1)."""

from __future__ import annotations

from circuitcheck.language.load import load_text
from circuitcheck.space.called import called

ROW = """legend
  .  air
  S  block
  B  block
  b  block   named bar
  O  lamp    named bell
  P  piston  facing east  named arm
  i  lever   named rope
end
drawing
  layer 1
    SSSSSSS
  end
  layer 2
    iPBBbO.
  end
end
"""


def test_a_thing_is_called_as_it_can_be_asked_for_and_one_without_a_name_by_its_place() -> None:
    loaded = load_text(ROW)
    assert not loaded.diagnostics
    circuit = loaded.studies[0].circuit
    found = [called(circuit, (2, 1, column)) for column in (3, 4, 5, 6)]
    assert found == ["arm.block", "the block drawn at layer 2, row 1, column 4", "bar", "bell"]
    assert [circuit.signal(name) is not None for name in found] == [True, False, True, True]
