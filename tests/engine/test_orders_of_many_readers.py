"""How much is asked of parts to find that the order of two lines with hundreds of readers can't matter (rule C5)."""

from __future__ import annotations

import pytest

import circuitcheck
from circuitcheck.engine.program import Program
from circuitcheck.model.parts.repeater import RepeaterDevice

BITS = 300


def test_two_lines_that_hold_hundreds_of_repeaters_are_asked_once_for_each(monkeypatch: pytest.MonkeyPatch) -> None:
    """Pair by pair it would be 90,000. Common practice, no source (R5): a repeater is locked from its side."""
    lines = ["lever rope", "repeater hold from rope", "repeater keep from rope"]
    for bit in range(BITS):
        lines += [
            f"repeater in{bit} from out{bit} delay 2t locked by hold starts off",
            f"repeater out{bit} from in{bit} locked by keep starts off",
        ]
    program = Program(circuitcheck.loads("\n".join(lines)).circuit)
    asked: list[bool | None] = []
    waits = RepeaterDevice.waits_on_change

    def told(self: RepeaterDevice, rising: bool | None) -> frozenset[int]:
        asked.append(rising)
        return waits(self, rising)

    monkeypatch.setattr(RepeaterDevice, "waits_on_change", told)
    program.orders.matter(program.number["hold"], True, program.number["keep"], True)
    assert 0 < len(asked) < 20 * BITS
