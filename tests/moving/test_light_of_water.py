"""Light and cells follow water that strokes let on and cut: what is above a cell is what is there at the moment.

Common practice, from memory, no source: Z6, Z7 and Z9 of water, G2 of light, X2 and X4 of cells. The law is scipy's.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from scipy import stats

from circuitcheck.chance.first_edge.response import Response, respond
from circuitcheck.chance.light.budget import PlaceLight, budgets
from circuitcheck.cli import main
from circuitcheck.language.load import load_text
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.claims import Atom, Test
from circuitcheck.verify import FileReport, verify_text

from .building import shaft

OLDER = 80 / 32768
BED = """language 1
circuit bed
rules {rules}
cycle 600s day 300s, dusk 0s, night 300s, dawn 0s

legend
  .  air
  S  block
  ~  water
  c  sensor  fades  named turf
  p  piston  facing below  starts {paddle}  named paddle
  i  lever   starts {paddle}  named rope
end

drawing
  layer 1
    SSSSSSS
    SSScSSS
    SSSSSSS
  end
  layer 2
    SSSSSSS
    S~...SS
    SSSSSSS
  end
  layer 3
    .......
    ..pS...
    .......
  end
  layer 4
    .......
    ...i...
    .......
  end
end
"""


def bed(paddle: str, rules: str = "older") -> Circuit:
    loaded = load_text(BED.format(paddle=paddle, rules=rules))
    assert loaded.diagnostics == ()
    return loaded.studies[0].circuit


def by_night(paddle: str) -> Response:
    return respond(bed(paddle), "night", Atom("turf", Test.FALLS))


def test_turf_below_water_that_has_flowed_there_fades_by_night_as_below_water_that_is_drawn() -> None:
    found = by_night("off")
    assert found.exact
    for time in (1, 100, 1_000):
        assert found.distribution.within(time) == pytest.approx(stats.geom.cdf(time, OLDER), abs=1e-9)


def test_turf_does_not_fade_where_a_paddle_has_cut_the_water() -> None:
    found = by_night("on")
    assert not found.distribution.comes
    assert found.never


PIT = (
    shaft("SSScSSS")
    + """
  layer 3
    SSSSSSS
    S~..SSS
    SSSSSSS
  end
  layer 4
    .......
    ..pS...
    .......
  end
  layer 5
    .......
    ...i...
    .......
  end
end
"""
)
"""A pit with turf at its bottom, into which water falls unless the paddle cuts it."""
NEWEST = 3 / 4096


def pit(paddle: str, fades: str) -> Circuit:
    text = BED.replace("\nlegend", f"\nsetting flow_fades {fades}\nlegend").partition("drawing")[0] + "drawing" + PIT
    loaded = load_text(text.format(paddle=paddle, rules="newest"))
    assert loaded.diagnostics == ()
    return loaded.studies[0].circuit


@pytest.mark.parametrize("fades", ["full", "any"])
def test_water_that_falls_onto_turf_lets_it_fade_by_day_unless_a_paddle_cuts_it(fades: str) -> None:
    """Z1, Z9, X2, newest: falling water is of level 8, and the light does not matter."""
    found = respond(pit("off", fades), "day", Atom("turf", Test.FALLS))
    assert found.exact
    for time in (1, 100, 1_000):
        assert found.distribution.within(time) == pytest.approx(stats.geom.cdf(time, NEWEST), abs=1e-9)
    assert respond(pit("on", fades), "day", Atom("turf", Test.FALLS)).never


def test_shallow_water_lets_turf_fade_only_where_any_water_does() -> None:
    """Z9: above the turf the water is of level 6, which is enough under `flow_fades any`."""
    assert respond(bed("off", "newest"), "day", Atom("turf", Test.FALLS)).never
    loaded = load_text(BED.format(paddle="off", rules="newest\nsetting flow_fades any"))
    found = respond(loaded.studies[0].circuit, "day", Atom("turf", Test.FALLS))
    assert found.distribution.within(100) == pytest.approx(stats.geom.cdf(100, NEWEST), abs=1e-9)


def test_the_light_is_reported_for_water_that_is_full_and_water_that_is_not() -> None:
    """Water that is not there is not full either; both hold light back, and only full water lets turf fade."""
    setups = [dict(setup.parts) for setup in place_of(bed("off", "newest")).setups]
    above = [(each["water_2_2_4"], each["water_2_2_4.full"]) for each in setups]
    assert set(above) == {(False, False), (True, False), (True, True)}
    fades = [
        next(met for met in setup.met if met.demand.rule == "X2") for setup in place_of(bed("off", "newest")).setups
    ]
    assert [met.so[0] for met in fades] == [full for _, full in above]


ROOFED = """
  layer 1
    SSSSSSS
    SSScSSS
    SSSSSSS
  end
  layer 2
    SSSSSSS
    SS{before}.SSS
    SSSSSSS
  end
  layer 3
    .......
    ...pS..
    .......
  end
  layer 4
    .......
    ....i..
    .......
  end
end
"""
"""Turf at the bottom of a hole, which the head of a paddle comes down to."""


def roofed(paddle: str, before: str = "S") -> Circuit:
    text = BED.partition("drawing")[0] + "drawing" + ROOFED
    loaded = load_text(text.format(paddle=paddle, rules="older", before=before))
    assert loaded.diagnostics == ()
    return loaded.studies[0].circuit


def test_a_head_that_comes_right_above_turf_holds_light_back_as_a_solid_block_does() -> None:
    """M4, X2: in the dark below it the turf fades; below the piston that is home, with air between, it does not."""
    found = respond(roofed("on"), "night", Atom("turf", Test.FALLS))
    assert found.exact
    for time in (1, 100, 1_000):
        assert found.distribution.within(time) == pytest.approx(stats.geom.cdf(time, OLDER), abs=1e-9)
    assert respond(roofed("off"), "night", Atom("turf", Test.FALLS)).never


def test_the_light_is_reported_for_a_head_that_is_there_and_one_that_is_not() -> None:
    """The piston itself shuts the hole from above, so that nothing but what is left of the sky comes in."""
    found = {dict(setup.parts)["paddle"]: setup.met[0].held_back for setup in place_of(roofed("off")).setups}
    assert found == {False: False, True: True}


def test_where_a_head_takes_water_away_it_is_there_in_place_of_the_water() -> None:
    """M4, Z7: a paddle cuts water above the turf with its head; either holds light back, and both never stand there."""
    (place,) = budgets(roofed("off", before="~"))
    (path, *_) = place.place.paths
    above = path.layers[-1]
    assert (above.thing, above.when) == ("water", ("water_2_2_4", True))
    assert above.others == (("solid", ("paddle", True)),)
    assert not respond(roofed("on", before="~"), "day", Atom("turf", Test.FALLS)).never


ROW = """
  layer 1
    SSSSSSSS
    SSSSScSS
    SSSSSSSS
  end
  layer 2
    SSSSSSSS
    aPBB..SS
    SSSSSSSS
  end
  layer 3
    SSSSSSSS
    SSSS.SSS
    SSSSSSSS
  end
end
"""
"""A row of two before a piston; light comes down at its end, and from there to the side above the turf."""


def text_of_row(sticky: str = "") -> str:
    legend = BED.partition("drawing")[0].replace(
        "  i ", f"  P  piston  facing east {sticky} named ram\n  B  block\n  i "
    )
    legend = legend.replace("  p  piston  facing below  starts {paddle}  named paddle\n", "")
    legend = legend.replace("  i  lever   starts {paddle}  named rope", "  a  lever   on below  named rope")
    return legend.format(rules="older") + "drawing" + ROW


def rowed(sticky: str = "") -> FileReport:
    return verify_text(text_of_row(sticky))


def test_a_row_that_a_plain_piston_pushes_shuts_the_light_out_at_its_end() -> None:
    """M1, M4, G3: the end of the row comes to the place below the hole through which the light comes."""
    (study,) = load_text(text_of_row()).studies
    found = {dict(each.parts).get("ram.block"): each.light[0] for each in place_of(study.circuit).setups}
    assert found == {False: 14, True: 0}


def test_a_row_that_a_sticky_piston_pulls_apart_is_reported_where_cells_stand() -> None:
    """V5: after the first stroke one of the two comes back, and the other one does not."""
    assert [each.part for each in rowed("sticky").findings if each.rule == "V5"] == ["ram"]
    assert [each.part for each in rowed().findings if each.rule == "V5"] == []


def place_of(circuit: Circuit) -> PlaceLight:
    (found,) = budgets(circuit)
    return found


def test_the_light_is_reported_for_water_that_is_there_and_water_that_is_not() -> None:
    """Older: by day 15 through air; water takes 3. The sky comes down one place aside, past the next water."""
    found = {setup.parts: setup.light[0] for setup in place_of(bed("off")).setups}
    names = ("water_2_2_5", "water_2_2_4")
    assert {tuple(name for name, _ in parts) for parts in found} == {names}
    light = {tuple(on for _, on in parts): level for parts, level in found.items()}
    assert light == {(False, False): 14, (True, False): 11, (False, True): 12, (True, True): 9}


def test_growth_is_reported_with_how_many_cells_are_in_reach(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """X3: a source reaches one to the side. So the first of the two beside the rim has two sources, the other one."""
    text = """language 1
circuit bank
legend
  .  air
  S  block
  a  sensor  named rim
  b  sensor  grows  starts off  named turf
end
drawing
  layer 1
    abb
  end
  layer 2
    ...
  end
end
"""
    path = tmp_path / "bank.circuit"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(SystemExit):
        main(["light", str(path), "--json"])
    places = json.loads(capsys.readouterr().out)["places"]
    reach = {(met["sensor"], met["change"]): met["reach"] for place in places for met in place["setups"][0]["changes"]}
    assert reach["rim", "grow over others"] == [1, 1]
    assert reach["turf", "grow over others"] == [1, 1]
    assert reach["turf", "be grown over"] == [1, 2]
