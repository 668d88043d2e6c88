"""The kinds of part, one small file each, and the table of them."""

from __future__ import annotations

from circuitcheck.model.parts import (
    analogue,
    block,
    button,
    comparator,
    detector,
    dust,
    lamp,
    latch,
    lever,
    piston,
    plate,
    repeater,
    sensor,
    torch,
)
from circuitcheck.model.parts.kinds import Kind
from circuitcheck.model.parts.questions import table_of

KINDS: dict[str, Kind] = table_of(
    (
        lever.KIND,
        button.KIND,
        plate.KIND,
        analogue.KIND,
        dust.LINE,
        dust.JUNCTION,
        block.KIND,
        torch.KIND,
        repeater.KIND,
        comparator.KIND,
        latch.KIND,
        sensor.KIND,
        detector.KIND,
        lamp.KIND,
        piston.KIND,
    )
)
