"""A stuck piston whose own block carries the power of the place above it: its wiring, step by step.

Common practice, no source; rules M12, W9 and W10. When things act is not seen here, only what cuts and gives back the
power, and what the piston hears of it.
"""

from __future__ import annotations

import pytest

from circuitcheck.model.drawing import Drawing
from circuitcheck.model.rules import NEWER
from circuitcheck.space.configuration import AT_HOME, Configuration
from circuitcheck.space.strokes import Strokes
from circuitcheck.space.wirings import Wirings

from .building import drawing_of, landed, started, started_home, wiring_of

PISTON, TORCH, REPEATER = "piston_2_3_2", "torch_1_3_3", "repeater_2_2_3"


FLOOR = "SSSS/SSSS/SSWS/SSSS"
"""The torch in it stands under the block before the piston."""
BY_DUST = drawing_of(FLOOR, ".S-./.G-./.>S./....", ".-../.-S./..../....")
"""Dust beside the block climbs north, and then comes south to the place above the piston.

It lies on a clear block there, since a solid one would power the piston itself; and a block cuts the shorter step.
"""
BY_REPEATER = drawing_of(FLOOR, ".SS./.Gn./.>S./....", ".--./.-../..../....")
"""A repeater behind the block powers another one, and that the dust."""


Seen = dict[str, Configuration]


def led_through(strokes: Strokes) -> Seen:
    """The configurations of one clean stroke, and of one that is called home early."""
    going = started(strokes).after
    out = landed(strokes, going).after
    coming = started_home(strokes, out).after
    dropped = started_home(strokes, going).after
    return {
        "home": AT_HOME,
        "going out": going,
        "out": out,
        "going home": coming,
        "home again": landed(strokes, coming, out=False).after,
        "let go": landed(strokes, dropped, out=False).after,
    }


def test_with_dust_only_going_out_takes_its_power_at_once_and_coming_home_gives_it_back() -> None:
    """M12, first line: the first dust beside the block's home lies two steps from the piston, and so it is heard."""
    strokes, reader = Strokes(BY_DUST, NEWER), Wirings(BY_DUST, NEWER)
    seen = {words: wiring_of(reader, now).of(PISTON) for words, now in led_through(strokes).items()}
    above = {words: dict(dict(inputs.ports)["above"]) for words, inputs in seen.items()}
    armed = {TORCH: 3}
    assert above == {
        "home": armed,
        "going out": {},
        "out": {},
        "going home": {},
        "home again": armed,
        "let go": {},
    }
    assert all(dict(inputs.ports)["power"] == () for inputs in seen.values())
    assert ((TORCH, 0),) in seen["home"].hears


def test_with_a_repeater_the_block_cuts_the_repeater_and_not_the_place_above() -> None:
    """M12, the lines with a delay: what the block does reaches the place above only once the repeater acts."""
    strokes, reader = Strokes(BY_REPEATER, NEWER), Wirings(BY_REPEATER, NEWER)
    fed = {}
    for words, now in led_through(strokes).items():
        wiring = wiring_of(reader, now)
        assert dict(wiring.of(PISTON).ports)["above"] == ((REPEATER, 2),), words
        fed[words] = dict(wiring.of(REPEATER).ports)["back"]
    on = ((TORCH, 0),)
    assert fed == {"home": on, "going out": (), "out": (), "going home": (), "home again": on, "let go": ()}


@pytest.mark.parametrize("drawing", [BY_DUST, BY_REPEATER], ids=["dust", "repeater"])
def test_its_own_stroke_reads_nothing_twice(drawing: Drawing) -> None:
    """M9: on the way, out, and let go; all else is known by then."""
    strokes, reader = Strokes(drawing, NEWER), Wirings(drawing, NEWER)
    for _ in range(3):
        for now in led_through(strokes).values():
            wiring_of(reader, now)
    assert reader.readings == 1 + 3
