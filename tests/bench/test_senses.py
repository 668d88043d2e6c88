"""Light and hearing on the bench: the light in a layer at a moment, what a detector hears, and who hears a thing.

Rules G1 and G2 (a lamp gives 15, and each step takes one), common practice, no source; rule W10 for what is heard.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from circuitcheck.bench.calls import answered
from circuitcheck.bench.workbench import Known
from circuitcheck.bench.worked import Stopped

from .test_worked import LINE, session

HALL = """language 1
circuit mill_hall
legend
  .  air
  S  block
  a  lever     named pond
  O  lamp      named candle
  m  detector  facing east  delay 1t  named ear
  u  lamp      named bell
end
drawing
  layer 1
    SSSSSSSS
    SSSSSSSS
    SSSSSSSS
  end
  layer 2
    SSSSSSSS
    aOmuS..S
    SSSSSSSS
  end
  layer 3
    SSSSSSSS
    SSSSSSSS
    SSSSSSSS
  end
end
"""
OPEN_HALL = HALL.replace("aOmuS..S", "aO....SS")
HEARD = "lever pond\nlamp candle from pond\ndetector ear watches candle\nlamp bell from ear\n"


def test_the_light_in_a_layer_is_that_of_the_moment(tmp_path: Path) -> None:
    bench = session(tmp_path, OPEN_HALL.replace("  u  lamp      named bell\n", ""))
    dark = bench.light(2)
    assert dark["of lamps alone"][1][1:7] == [None, 0, 0, 0, 0, None]
    answered(bench, {"do": "act", "name": "pond", "verb": "on"})
    answered(bench, {"do": "step", "number": 4})
    lit = bench.light(2)
    assert (lit["of lamps alone"][1][1:7], lit["lit"]) == ([None, 14, 13, 12, 11, None], ["candle"])
    assert lit["number"] != dark["number"]
    with pytest.raises(Stopped):
        bench.light(4)


def test_that_the_light_is_otherwise_is_told_once_it_was_looked_at(tmp_path: Path) -> None:
    bench = session(tmp_path, HALL)
    assert bench.since(Known())[0]["light"] == 0
    seen = bench.light(2)["number"]
    answered(bench, {"do": "step", "number": 3})
    assert bench.since(Known())[0]["light"] == seen
    answered(bench, {"do": "act", "name": "pond", "verb": "on"})
    answered(bench, {"do": "step", "number": 2})
    assert bench.since(Known())[0]["light"] != seen


def test_what_a_detector_hears_is_told_with_its_place_and_who_hears_a_thing(tmp_path: Path) -> None:
    bench = session(tmp_path, HALL)
    ear = answered(bench, {"do": "hears", "name": "ear"})
    assert (ear["listens"], [each[2] for each in ear["hears"]], ear["heard by"]) == (True, ["2,2,2"], [])
    candle = answered(bench, {"do": "hears", "name": "candle"})
    assert (candle["listens"], candle["hears"], candle["heard by"]) == (False, [], ["ear"])


def test_in_text_it_is_told_as_well(tmp_path: Path) -> None:
    bench = session(tmp_path, HEARD)
    ear = answered(bench, {"do": "hears", "name": "ear"})
    assert (ear["listens"], [each[1] for each in ear["hears"]]) == (True, ["candle"])
    assert answered(bench, {"do": "hears", "name": "candle"})["heard by"] == ["ear"]
    with pytest.raises(Stopped):
        bench.hears("candel")
    with pytest.raises(Stopped):
        bench.light(1)


def test_asking_stops_no_time_and_working_an_input_does_not_either(tmp_path: Path) -> None:
    bench = session(tmp_path, LINE)
    answered(bench, {"do": "speed", "number": 20})
    for asked in (
        {"do": "hears", "name": "open"},
        {"do": "why", "name": "open"},
        {"do": "act", "name": "rope", "verb": "on"},
    ):
        answered(bench, asked)
        assert bench.speed == 20
    answered(bench, {"do": "step", "number": 1})
    assert bench.speed == 0


def test_what_another_page_has_changed_meanwhile_is_not_chosen_by_its_number(tmp_path: Path) -> None:
    bench = session(tmp_path, LINE)
    for _ in range(2):
        answered(bench, {"do": "act", "name": "rope", "verb": "on"})
        answered(bench, {"do": "step", "number": 3})
        answered(bench, {"do": "restart", "number": 0})
    told, known = bench.since(Known())
    answered(bench, {"do": "step", "number": 1})
    assert bench.differs(known)
    with pytest.raises(Stopped, match="again"):
        answered(bench, {"do": "branch", "number": 0, "turn": told["turn"]})
    assert bench.worked.now == 1
    answered(bench, {"do": "branch", "number": 0, "turn": bench.turn})
    assert bench.worked.now == 3
