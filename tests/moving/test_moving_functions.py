"""What outputs compute in machines whose pistons move what they are wired through: over all rests, and in each wiring.

Which rests there are is held against the plain stepper, which is written apart from the rules alone.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from random import Random
from types import SimpleNamespace
from typing import Any, cast

import pytest

import circuitcheck
from circuitcheck.engine.program import Program
from circuitcheck.explain.circuit_reading import outputs_of, read_circuit
from circuitcheck.explain.compare import compare
from circuitcheck.explain.function import Function, TooLarge
from circuitcheck.explain.inversion import Relation
from circuitcheck.explain.moving_function import MovingFunction, moving_function
from circuitcheck.explain.rests import every_rest
from circuitcheck.report.lines import plain
from circuitcheck.report.terminal.explained import reading_lines

from .engine_runs import Runs, Unread
from .plain.boxes import cases
from .plain.runs import Follower, Open, Shot
from .plain.things import Action, Settings
from .test_explaining import GATE

CIRCUITS = Path(__file__).parents[2] / "circuits"
BOTH = (
    GATE.format(line="-")
    .replace("*  torch   named", "*  torch   on west  named")
    .replace("  O  lamp ", "  j  lever   on east  named rope\n  O  lamp ")
    .replace("    ..*S..", "    jS*S..")
)
"""A second lever puts out the torch below the block."""


def of(text: str, output: str = "bell") -> MovingFunction:
    program = Program(circuitcheck.loads(text).circuit)
    found = moving_function(program, output, outputs_of(program.circuit))
    assert isinstance(found, MovingFunction)
    return found


def of_file(name: str, output: str) -> MovingFunction:
    program = Program(circuitcheck.load(CIRCUITS / f"{name}.circuit").circuit)
    found = moving_function(program, output, outputs_of(program.circuit))
    assert isinstance(found, MovingFunction)
    return found


def test_a_lamp_behind_a_block_that_a_lever_takes_away_is_the_inverse_of_the_lever() -> None:
    """Lit at home and dark while the block is away, whatever its wiring says by itself (common practice, M9)."""
    found = of(GATE.format(line="-"))
    assert found.whole == Function(("gear",), frozenset({0}))
    assert found.relations == (("gear", Relation.INVERTED),)
    home, out = found.configurations
    assert (home.out, home.moved, home.formula) == ((), (), "always on")
    assert home.settings == {0}
    assert (out.out, out.formula) == (("flap",), "always off")
    assert out.settings == {1}
    assert out.moved == (("flap.block", (3, 4, 3)),)


def test_a_switch_names_the_piston_and_the_place_that_its_block_leaves() -> None:
    """Thrown, the start 1 gt later, the lamp dark 4 gt after that (common practice, M2, M9, O2)."""
    found = of(GATE.format(line="-"))
    on = next(each for each in found.switches if each.verb == "on")
    assert (on.before, on.after, on.pistons, on.was_on, on.is_on) == (1, 2, ("flap",), True, False)
    assert [(step.at, step.part, step.rule) for step in on.steps] == [
        (0, "gear", "O1"),
        (1, "flap", "M9"),
        (5, "bell", "O2"),
    ]
    assert "layer 3, row 3, column 3" in on.steps[1].words


def test_where_a_wiring_has_a_path_its_inversion_is_explained_by_it() -> None:
    """A torch puts out what comes through the block at home; while the block is away nothing comes (P4, T1, M9)."""
    found = of(BOTH)
    assert found.formula == "not gear and not rope"
    home = next(each for each in found.configurations if not each.out)
    assert home.formula == "not rope"
    assert {each.input: each.relation for each in home.inversions} == {"gear": Relation.NONE, "rope": Relation.INVERTED}
    (path,) = next(each for each in home.inversions if each.input == "rope").paths.paths
    assert path.inverted
    away = next(each for each in found.configurations if each.out)
    assert away.formula == "always off"
    assert all(not each.paths.paths for each in away.inversions)


def test_faster_changes_that_leave_it_otherwise_are_found() -> None:
    """A pulse of 1 gt is so short that the piston lets go of its block (common practice, M6)."""
    (found,) = of(GATE.format(line="-")).hurried
    assert (found.by.first.verb, found.by.second.verb, found.by.later) == ("on", "off", 1)
    assert (found.setting, found.is_on, found.out) == (0, False, ())


def test_a_block_that_is_let_go_makes_a_configuration_of_its_own() -> None:
    """Each pulse of a detector lets go of the block or fetches it (common practice, M6)."""
    found = of_file("hopper", "door")
    assert found.formula == "chain"
    assert [(each.out, each.moved) for each in found.configurations] == [((), ()), ((), (("bolt.block", (2, 3, 5)),))]


def test_an_output_that_rests_otherwise_after_other_changes_is_remembered() -> None:
    found = of_file("turfwatch", "daylight")
    assert isinstance(found.whole, Function)
    assert found.whole.open == {0}
    assert found.inverse == ("darkness", "dark")
    goes_off, goes_on = (next(each for each in found.switches if each.is_on is on) for on in (False, True))
    assert goes_off.inputs == tuple(f"dusk_turf.{cell}" for cell in range(1, 7))
    assert goes_on.inputs == tuple(f"dawn_turf.{cell}" for cell in range(1, 7))
    assert [step.part for step in goes_on.steps][:2] == ["dawn_turf.1", "dawn_stir.1"]


def test_what_gives_pulses_is_said_to_be_off_at_rest() -> None:
    found = of_file("ripple", "bell")
    assert (found.formula, found.gives_pulses, found.configurations[0].out) == ("always off", True, ())
    assert [(each.verb, each.changes, each.is_on) for each in found.switches] == [("on", 2, False), ("off", 2, False)]


def test_water_that_strokes_cut_is_followed_to_its_rest() -> None:
    found = of_file("paddles", "bell.2")
    assert found.configurations[1].out == ("paddle.1", "paddle.2", "paddle.3")
    assert found.gives_pulses


def test_a_stroke_that_is_a_mistake_ends_a_change_and_leaves_its_row_open() -> None:
    """It breaks dust behind its block (common practice, M8)."""
    breaking = GATE.format(line="-").replace("    ..B-O.\n    ...S..", "    ..B-O.\n    ..-S..")
    breaking = breaking.replace("    ..*S..\n    ......", "    ..*S..\n    ..S...")
    found = of(breaking)
    assert found.restless == {1}
    (switch,) = (each for each in found.switches if each.after is None)
    assert "'flap'" in switch.why
    assert "M8" in switch.why


def test_a_circuit_read_tells_the_functions_over_all_rests() -> None:
    reading = read_circuit(Program(circuitcheck.load(CIRCUITS / "turfwatch.circuit").circuit))
    assert [each.moving is not None for each in reading.outputs] == [True] * 4
    assert not [each for each in reading.left_out if "function" in each]


def test_past_its_bound_of_rests_no_table_is_given(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("circuitcheck.explain.rests.MOST_RESTS", 1)
    found = of(BOTH)
    assert isinstance(found.whole, TooLarge)
    assert found.ended
    assert "1 rests" in found.ended


def rests_of_plain(case: Any, walk: Random) -> Iterator[Shot]:
    """The rests that some slow changes lead to, one after the other; none after it does not come to one."""
    levels = {thing.name: thing.level for thing in case.box.things.values() if thing.kind in ("lever", "soil")}
    plain, gt = Follower(case.box, Settings()), 0
    names = sorted(levels)
    for _ in range(4 if names else 0):
        name = walk.choice(names)
        levels[name] = 0 if levels[name] else (1 if name.startswith("sensor") else 15)
        change = Action(gt + 2, name, levels[name], drawn=name.startswith("sensor"))
        shots: list[set[Shot]] = []
        for _ in range(70):
            shots.append(plain.step([change] if change.gt == gt else []))
            gt += 1
        if plain.refused or len(shots[-1]) != 1 or any(each != shots[-1] for each in shots[-30:]):
            return
        yield from shots[-1]


def without_cells(shot: Shot) -> Shot:
    """Rests that differ by the level of a cell alone are one, as these are only felt."""
    return replace(shot, levels=tuple(each for each in shot.levels if not each[0].startswith("sensor")))


def test_every_rest_that_the_plain_stepper_comes_to_is_found() -> None:
    walk, compared, moved = Random(11), 0, 0
    for case in cases(311, 12, Settings(), water=0):
        try:
            runs = Runs(case.box)
            program = runs._program
            found = every_rest(program, program.names, 2_000_000)
            shown = (SimpleNamespace(levels=each.levels, configuration=each.configuration) for each in found.rests)
            mine = {without_cells(runs.shot(cast(Any, each))) for each in shown}
            expected = list(rests_of_plain(case, walk))
        except (Unread, Open):
            continue
        for shot in expected:
            assert found.ended or without_cells(shot) in mine
            compared += 1
        moved += any(each.configuration.phases or each.configuration.places for each in found.rests)
    assert compared > 15
    assert moved > 3


def test_python_has_the_table_over_all_rests_with_the_pistons_that_are_out() -> None:
    gate = circuitcheck.loads(GATE.format(line="-"))
    assert gate.table("bell") == [({"gear": False}, True, ()), ({"gear": True}, False, ("flap",))]
    with pytest.raises(circuitcheck.UnknownName):
        gate.table("bel")


def test_machines_that_move_are_compared_by_what_they_are_over_all_rests() -> None:
    """A plain piston leaves its block behind (M1), so that the bell stays dark once the gear was on."""
    sticky = circuitcheck.loads(GATE.format(line="-")).circuit
    plain = circuitcheck.loads(GATE.format(line="-").replace("  sticky", "")).circuit
    same = compare(sticky, sticky)
    assert (same.functions, same.unfilled) == ((), ())
    (difference,) = compare(sticky, plain).functions
    assert (difference.output, difference.row) == ("bell", (("gear", False),))
    assert (difference.first, difference.second) == ("on", "remembered")


def test_where_blocks_are_is_told_to_be_remembered_though_nothing_is_fed_back() -> None:
    """The hopper's door stays as it is at the second of two throws so close that the knock misses it (D1, M6)."""
    hopper, paddles = (circuitcheck.load(CIRCUITS / f"{name}.circuit").circuit for name in ("hopper", "paddles"))
    found = read_circuit(Program(hopper))
    assert (found.loops, found.locked, found.kept_by_blocks) == ((), (), ("door",))
    assert read_circuit(Program(paddles)).kept_by_blocks == ()
    told = plain(reading_lines(found, hopper, 100))
    assert "nothing in it remembers" not in told
    assert "\n\n\n" not in told
