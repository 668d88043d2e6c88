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
from circuitcheck.model.parts.base import Kind

KINDS: dict[str, Kind] = {
    kind.word: kind
    for kind in (
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
}
