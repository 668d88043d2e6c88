"""The wiring of a drawing while things are moved. Common practice, no source; rules M4, M5, M9, W9 and W10.

What each port reads at home is held against the circuit that the engine runs; in every other configuration against
the same drawing read afresh as it stands then.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import replace
from itertools import islice
from pathlib import Path
from typing import cast

import pytest

from circuitcheck.engine.program import Program
from circuitcheck.language.load import load_file
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.drawing import Drawing
from circuitcheck.model.parts.stuck_piston import StuckPiston
from circuitcheck.model.rules import NEWER, RuleSet
from circuitcheck.space import wirings
from circuitcheck.space.configuration import AT_HOME, Configuration, Phase
from circuitcheck.space.kept_wirings import wirings_of
from circuitcheck.space.light import Lighting
from circuitcheck.space.room import Room
from circuitcheck.space.strokes import Strokes
from circuitcheck.space.wirings import Inputs, TooMany, Wiring, Wirings

from .building import at, drawing_of, landed, next_of, out, started, started_home, wiring_of

CIRCUITS = Path(__file__).parents[2] / "circuits"


def fed(reader: Wirings, now: Configuration, device: str, port: str = "power") -> dict[str, int]:
    """What feeds a port of a device, with the levels lost."""
    return dict(dict(wiring_of(reader, now).of(device).ports)[port])


# At home


def drawn_circuits() -> Iterator[Circuit]:
    for path in sorted(CIRCUITS.glob("*.circuit")):
        for study in load_file(path).studies:
            if study.drawn is not None:
                yield study.drawn


@pytest.mark.parametrize("circuit", [*drawn_circuits()], ids=lambda circuit: circuit.name)
def test_at_home_each_port_reads_what_it_reads_in_the_circuit_that_is_run(circuit: Circuit) -> None:
    assert circuit.drawing is not None
    program = Program(circuit, still=True)
    reader = Wirings(circuit.drawing, circuit.rules)
    checked = 0
    for number, port in enumerate(program.ports):
        device = program.devices[program.port_device[number]].part
        if port.name in ("piston", "heard") or isinstance(device, StuckPiston):
            continue
        ports = dict(reader.home.of(device.name).ports)
        expected = {program.names[source]: lost for source, lost in program.feeds[number]}
        watched = port.name == "watched"
        assert watched or dict(ports[port.name]) == expected, (device.name, port.name)
        checked += 1
    assert checked
    assert {name for name, inputs in reader.home.home.items() if inputs.straight} == set(program.straight)


def test_the_empty_configuration_is_the_wiring_at_home() -> None:
    reader = Wirings(drawing_of("b-O", "..."), NEWER)
    assert wiring_of(reader, AT_HOME) is reader.home
    assert not reader.home.changed
    assert reader.readings == 1


# Lines that are cut and joined (M9)


def test_a_block_at_home_in_a_line_carries_it_and_cuts_it_when_it_leaves() -> None:
    """M9, worked table: a repeater into it, and one out of it; off from the start on, on at the landing."""
    drawing = drawing_of("SSSSSS/SSSSSS/SSSSSS", "....../b-rSrO/...A..", "....../....../......")
    strokes, reader = Strokes(drawing, NEWER), Wirings(drawing, NEWER)
    behind, piston = "repeater_2_2_5", at(4, 3, 2)
    assert strokes.pistons == (piston,)
    assert fed(reader, AT_HOME, behind, "back") == {"repeater_2_2_3": 0}
    leaving = started(strokes)
    assert fed(reader, leaving.after, behind, "back") == {}
    gone = landed(strokes, leaving.after).after
    assert fed(reader, gone, behind, "back") == {}
    coming = started_home(strokes, gone).after
    assert fed(reader, coming, behind, "back") == {}
    assert wiring_of(reader, landed(strokes, coming, out=False).after) is reader.home


def test_a_block_closes_a_line_when_it_has_landed_and_opens_it_when_it_leaves() -> None:
    """M9, worked table: it closes at the landing and opens at the start."""
    drawing = drawing_of("SSSSSS/SSSSSS/SSSSSS/SSSSSS", "....../b-r.rO/...S../...A..", "....../....../....../......")
    strokes, reader = Strokes(drawing, NEWER), Wirings(drawing, NEWER)
    behind = "repeater_2_2_5"
    assert fed(reader, AT_HOME, behind, "back") == {}
    coming = started(strokes).after
    assert fed(reader, coming, behind, "back") == {}
    there = landed(strokes, coming).after
    assert fed(reader, there, behind, "back") == {"repeater_2_2_3": 0}
    assert fed(reader, started_home(strokes, there).after, behind, "back") == {}


def test_a_block_above_the_lower_dust_of_a_step_cuts_it_until_the_stroke_starts() -> None:
    """M9, W2, worked table: the step is joined at the start and cut at the landing home."""
    drawing = drawing_of("SSSS/SSSS/SSSS", "b-S./..../....", ".S-O/.A../....")
    strokes, reader = Strokes(drawing, NEWER), Wirings(drawing, NEWER)
    assert strokes.pistons == (at(2, 2, 3),)
    assert fed(reader, AT_HOME, "lamp_3_1_4") == {}
    taken = started(strokes).after
    assert fed(reader, taken, "lamp_3_1_4") == {"lever_2_1_1": 1}
    there = landed(strokes, taken).after
    assert fed(reader, there, "lamp_3_1_4") == {"lever_2_1_1": 1}
    coming = started_home(strokes, there).after
    assert fed(reader, coming, "lamp_3_1_4") == {"lever_2_1_1": 1}
    assert fed(reader, landed(strokes, coming, out=False).after, "lamp_3_1_4") == {}


def test_a_head_cuts_no_step_and_carries_nothing() -> None:
    """M4: the same step, with the head of a piston in place of the block."""
    drawing = drawing_of("SSSS/SSSS/SSSS", "b-S./..../....", "..-O/.A../....")
    strokes, reader = Strokes(drawing, NEWER), Wirings(drawing, NEWER)
    raised = out(strokes)
    assert raised.phase(at(2, 2, 3)) is Phase.OUT
    assert fed(reader, AT_HOME, "lamp_3_1_4") == fed(reader, raised, "lamp_3_1_4") == {"lever_2_1_1": 1}


def test_a_row_that_moves_has_no_block_standing_where_one_leaves_and_another_comes() -> None:
    """M9: the line through the place is off from the start to the landing."""
    drawing = drawing_of("/".join(["SSSSSS"] * 5), "....../b-rSrO/...S../...^../......")
    strokes, reader = Strokes(drawing, NEWER), Wirings(drawing, NEWER)
    behind = "repeater_2_2_5"
    assert fed(reader, AT_HOME, behind, "back") == {"repeater_2_2_3": 0}
    moving = started(strokes).after
    assert fed(reader, moving, behind, "back") == {}
    assert fed(reader, landed(strokes, moving).after, behind, "back") == {"repeater_2_2_3": 0}


# Pistons (W9, M4, M9)


def test_a_powered_block_on_the_head_of_a_piston_that_faces_up_holds_it_out() -> None:
    """M9: what would be given to a part in the place above counts, whatever stands there."""
    drawing = drawing_of("SSSS", "uSS.", "SSS.", ".-b.", "....")
    strokes, reader = Strokes(drawing, NEWER), Wirings(drawing, NEWER)
    piston = "piston_2_1_1"
    there = out(strokes)
    assert there.places == ((at(1, layer=3), at(1, layer=4)),)
    # The dust in layer 4 points west into the block that now stands on the head, two above the piston.
    assert fed(reader, there, piston, "above") == {"lever_4_1_3": 1} | fed(reader, AT_HOME, piston, "above")
    assert fed(reader, there, piston) == {}


def test_a_moved_piston_reads_its_power_where_it_is_and_none_in_motion() -> None:
    """M7, M9."""
    drawing = drawing_of("SSSSS/SSSSS", ")^.-b/.....")
    strokes, reader = Strokes(drawing, NEWER), Wirings(drawing, NEWER)
    carried = started(strokes, piston=at(1, layer=2)).after
    assert wiring_of(reader, carried).of("piston_2_1_2") == Inputs(None)
    there = landed(strokes, carried, piston=at(1, layer=2)).after
    assert fed(reader, AT_HOME, "piston_2_1_2") == {}
    assert fed(reader, there, "piston_2_1_2") == {"lever_2_1_5": 0}
    assert wiring_of(reader, there).of("piston_2_1_2").place == at(3, layer=2)


def test_a_moved_lamp_is_lit_where_it_is_and_by_nothing_on_its_way() -> None:
    """M11: it keeps its name."""
    drawing = drawing_of("SSSSS/SSSSS", ">O.b./.....")
    strokes, reader = Strokes(drawing, NEWER), Wirings(drawing, NEWER)
    assert fed(reader, AT_HOME, "lamp_2_1_2") == {}
    moving = started(strokes).after
    assert wiring_of(reader, moving).of("lamp_2_1_2").ports == ()
    assert fed(reader, landed(strokes, moving).after, "lamp_2_1_2") == {"lever_2_1_4": 0}


def test_a_moved_detector_watches_what_is_behind_it_where_it_is() -> None:
    """M10."""
    drawing = drawing_of("SSSS/SSSS/SSSS/SSSS", "..v./.bD./.b../....")
    strokes, reader = Strokes(drawing, NEWER), Wirings(drawing, NEWER)
    name = "detector_2_2_3"
    assert fed(reader, AT_HOME, name, "watched") == {"lever_2_2_2": 0}
    moving = started(strokes).after
    assert wiring_of(reader, moving).of(name) == Inputs(None)
    assert fed(reader, landed(strokes, moving).after, name, "watched") == {"lever_2_3_2": 0}


def test_two_repeaters_with_nothing_between_point_straight_unless_they_face_each_other() -> None:
    """C3."""
    for layers, straight in (("-rr..", True), ("-rq..", False), ("-rSr.", False), ("-rk..", True), ("-rn..", True)):
        reader = Wirings(drawing_of("SSSSS", layers), NEWER)
        assert reader.home.of("repeater_2_1_2").straight is straight, layers


# Who is updated (M4, M5, W10)


def test_a_piston_whose_head_has_landed_hears_the_updates_of_its_head_s_place() -> None:
    """M4: a head on its way passes nothing on."""
    drawing = drawing_of("SSSS/SSSS", ").b./....")
    strokes, reader = Strokes(drawing, NEWER), Wirings(drawing, NEWER)
    piston, lever = "piston_2_1_1", "lever_2_1_3"
    going = started(strokes).after
    there = landed(strokes, going).after
    heard = [wiring_of(reader, now).of(piston).hears for now in (AT_HOME, going, there)]
    assert heard == [(), (), (((lever, 0),),)]
    # The place above the lever has the lever beside it; that of the head has neither, but for the head.
    assert [reader.told(now, [at(2, layer=3)]) for now in (AT_HOME, going, there)] == [((),), ((),), ((piston,),)]


def test_a_lever_and_the_dust_beside_it_are_heard_each_by_itself() -> None:
    """W10: both have one driver; were they one, dust that another driver joins would look like a change of level."""
    drawing = drawing_of("SSSS/SSSS", ").../b-..")
    hears = Wirings(drawing, NEWER).home.of("piston_2_1_1").hears
    assert hears == ((("lever_2_2_1", 0),), (("lever_2_2_1", 0),))


def test_a_piston_does_not_hear_the_head_of_another_one_that_lies_before_it() -> None:
    """M4: the other one's head has come down to the place that this one faces."""
    drawing = drawing_of("SSSS/SSSS/SSSS", ".v../)..b/....")
    strokes, reader = Strokes(drawing, NEWER), Wirings(drawing, NEWER)
    there = out(strokes, at(2, layer=2))
    assert wiring_of(reader, there).of("piston_2_2_1").hears == ()
    assert reader.told(there, [at(2, 2, 3)]) == (("piston_2_1_2",),)


def test_a_piston_that_goes_home_is_deaf() -> None:
    """M4."""
    drawing = drawing_of(">...")
    strokes, reader = Strokes(drawing, NEWER), Wirings(drawing, NEWER)
    there = out(strokes)
    assert reader.told(there, [at(1, row=2)]) == (("piston_1_1_1",),)
    assert reader.told(started_home(strokes, there).after, [at(1, row=2)]) == ((),)


def test_each_place_of_a_stroke_is_updated_in_turn() -> None:
    """M5: two pistons that a stroke tells at different places of it."""
    drawing = drawing_of("...^./>S.../.v...")
    strokes, reader = Strokes(drawing, NEWER), Wirings(drawing, NEWER)
    step = started(strokes, piston=at(1, row=2))
    assert step.tells == (at(2, row=2), at(1, row=2))
    assert reader.told(step.after, step.tells) == (("piston_1_2_1", "piston_1_3_2"), ())
    land = landed(strokes, step.after, piston=at(1, row=2))
    assert land.tells == (at(3, row=2), at(2, row=2))


def test_detectors_that_watch_a_place_of_a_stroke_are_found() -> None:
    """M10: one watches the free place that the block goes to, another one looks away."""
    drawing = drawing_of("..N./>S../..N.")
    strokes, reader = Strokes(drawing, NEWER), Wirings(drawing, NEWER)
    step = started(strokes)
    assert reader.watching(step.after, step.felt) == ("detector_1_1_3",)
    assert reader.watching(step.after, [at(4, row=2)]) == ()


# Light, and cells


def test_as_it_stands_a_drawing_has_heads_and_nothing_where_things_are_in_motion() -> None:
    """M4, M11."""
    drawing = drawing_of(">C..")
    strokes, reader = Strokes(drawing, NEWER), Wirings(drawing, NEWER)
    moving = started(strokes).after
    assert [thing.word for thing in reader.standing(moving).things.values()] == ["piston"]
    there = reader.standing(landed(strokes, moving).after)
    assert {place: thing.word for place, thing in there.things.items()} == {
        at(1): "piston",
        at(2): "head",
        at(3): "sensor",
    }
    assert there.name(at(3)) == "sensor_1_1_2"
    assert there.things[at(2)].block_type.light == "solid"


def test_who_grows_over_whom_goes_by_where_the_cells_are() -> None:
    """X3, M11: the moved cell comes within reach of a source."""
    drawing = drawing_of("C.>C.C")
    bare = replace(drawing.things[at(4)], flags=frozenset({"grows"}))
    drawing = replace(drawing, things={**drawing.things, at(4): bare})
    strokes, reader = Strokes(drawing, NEWER), Wirings(drawing, NEWER)
    cell = "sensor_1_1_4"
    assert reader.grows(AT_HOME)[cell] == ()
    moving = started(strokes).after
    assert cell not in reader.grows(moving)
    assert reader.grows(landed(strokes, moving).after)[cell] == ("sensor_1_1_6",)


# How much is read


def lone_pistons(number: int, apart: int = 16) -> Drawing:
    """Pistons far from each other, each with a block in a line to a lamp of its own."""
    floor, level = "S" * 6 + "." * (apart - 6), "b-rSrO" + "." * (apart - 6)
    blank = "." * apart
    layer = [level, "...A.." + "." * (apart - 6), *[blank] * 6]
    ground = [floor, floor, *[blank] * 6]
    return drawing_of("/".join([blank, *ground * number]), "/".join([blank, *layer * number]))


@pytest.mark.parametrize(("short", "readings"), [(False, 21), (True, 31)], ids=["never called early", "called early"])
def test_ten_lone_pistons_take_twenty_readings_beside_that_of_home(short: bool, readings: int) -> None:
    """M9: each on its way, and each out; what is reached of all at once is put together from those.

    Where pistons are called home early as well, each block is let go too: out, without a head before it (M6).
    """
    drawing = lone_pistons(10)
    strokes, reader = Strokes(drawing, NEWER), Wirings(drawing, NEWER)
    assert len(strokes.pistons) == 10
    chosen = random.Random(7)
    now, seen = AT_HOME, set()
    for _ in range(2_000):
        now = next_of(strokes, now, chosen, short) or now
        seen.add(wiring_of(reader, now))
    assert len(seen) > 300
    assert reader.readings == readings


def test_pistons_that_share_a_line_are_read_together() -> None:
    """M9: two blocks in one line; with both away it is cut twice."""
    drawing = drawing_of("SSSSSSSSS/SSSSSSSSS", "brSrrSrO./..A..A...")
    strokes, reader = Strokes(drawing, NEWER), Wirings(drawing, NEWER)
    both = started(strokes, started(strokes, piston=strokes.pistons[0]).after, strokes.pistons[1]).after
    assert {name for name in wiring_of(reader, both).changed if name.startswith("repeater")} == {
        "repeater_2_1_4",
        "repeater_2_1_7",
    }


def test_more_wirings_than_are_read_are_reported_with_something_that_is_not_at_home(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(wirings, "MOST_WIRINGS", 2)
    drawing = drawing_of(">S..")
    strokes, reader = Strokes(drawing, NEWER), Wirings(drawing, NEWER)
    moving = started(strokes).after
    assert isinstance(reader.wiring(moving), Wiring)
    assert reader.wiring(landed(strokes, moving).after) == TooMany(at(1))
    assert isinstance(reader.wiring(moving), Wiring)


def test_light_falls_through_a_place_in_motion_and_not_through_a_block_or_a_head() -> None:
    """M4, G3: full sun straight down on the places to which the head and the block come, three layers up."""
    drawing = drawing_of("....", "....", ">S..")
    strokes, reader = Strokes(drawing, NEWER), Wirings(drawing, NEWER)
    moving = started(strokes).after
    seen = []
    for now in (AT_HOME, moving, landed(strokes, moving).after):
        levels = Lighting(Room(reader.standing(now), NEWER), lambda part: True).from_sky().levels
        seen.append([levels.get(at(column, layer=3), 0) for column in (2, 3)])
    assert seen == [[0, 15], [15, 15], [0, 0]]


class Watching:
    """A set of rules that keeps which settings were asked for."""

    def __init__(self, rules: RuleSet) -> None:
        self._rules = rules
        self.asked: set[str] = set()

    def __getattr__(self, setting: str) -> object:
        self.asked.add(setting)
        return getattr(self._rules, setting)


@pytest.mark.parametrize("name", ["hopper", "turfwatch"])
def test_a_wiring_depends_on_no_setting_but_the_one_by_which_it_is_kept(name: str) -> None:
    circuit = load_file(CIRCUITS / f"{name}.circuit").studies[0].circuit
    assert circuit.drawing is not None
    rules = Watching(circuit.rules)
    reader = Wirings(circuit.drawing, cast(RuleSet, rules))
    strokes = Strokes(circuit.drawing, circuit.rules)
    for stroke in islice(strokes.one_at_a_time(), 8):
        for now in (stroke.under_way, stroke.landed):
            wiring_of(reader, now)
            reader.told(now, circuit.drawing.things)
            reader.watching(now, circuit.drawing.things)
            reader.grows(now)
    assert rules.asked == {"power_above_piston"}


def test_wirings_are_read_once_for_all_rules_that_make_no_difference_to_them() -> None:
    drawing = drawing_of("SSSSSS/SSSSSS/SSSSSS", "....../b-rSrO/...A..", "....../....../......")
    kept = wirings_of(drawing, NEWER, frozenset(), frozenset())
    assert wirings_of(drawing, replace(NEWER, motion_holds_water=False), frozenset(), frozenset()) is kept
    other = replace(NEWER, power_above_piston=False)
    assert wirings_of(drawing, other, frozenset(), frozenset()) is not kept
    assert wirings_of(replace(drawing), NEWER, frozenset(), frozenset()) is not kept
