"""A machine of the size that is built: four plain pistons at once, seven stuck sticky pistons a side (M2, M13, Z6).

Common practice, no source. One line calls the four pistons that cut the water over two rows of cells; a stuck sticky
piston beside each cell brings its block onto a torch. What is counted is how many states a run carries side by side.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

from circuitcheck.engine.program import Program
from circuitcheck.engine.simulator import Simulator
from circuitcheck.engine.start import the_start
from circuitcheck.engine.step import Action, merge, run_game_tick
from circuitcheck.language.load import load_text

WARDS = """language 1
circuit wards "Four gates cut the water over two rows of turf, with seven warders a side."
rules newest
legend
  .  air
  S  block
  g  glass
  B  block
  W  water
  -  dust
  =  dust      named bar
  +  dust      named rail
  *  torch     on west  named ember
  i  lever     named gear
  a  lever     starts on  named arm
  P  piston    facing below          named gate
  v  piston    facing south  sticky  named warder
  ^  piston    facing north  sticky  named keeper
  c  sensor    fades                 named turf
  k  sensor    fades                 named sod
end
drawing
  layer 1
    SSSSSSSSSSSSSSS
    SSSSSSSSSSSSSSS
    SSSSSSSSSSSSSSS
    SSSSSSSSSSSSSSS
    S*S*S*S*S*S*S*S
    SSSSSSSSSSSSSSS
    SSSSSSSSSSSSSSS
    S*S*S*S*S*S*S*S
    SSSSSSSSSSSSSSS
    SSSSSSSSSSSSSSS
    SSSSSSSSSSSSSSS
    SSSSSSSSSSSSSSS
  end
  layer 2
    SSSSSSSSSSSSSSS
    ScScScScScScScS
    SvSvSvSvSvSvSvS
    .B.B.B.B.B.B.B.
    ...............
    ===============
    +++++++++++++++
    ...............
    .B.B.B.B.B.B.B.
    S^S^S^S^S^S^S^S
    SkSkSkSkSkSkSkS
    SSSSSSSSSSSSSSS
  end
  layer 3
    SSSSSSSSSSSSSSS
    .......W.......
    ggggggggggggggg
    SSSSSSSSSSSSSSS
    ...............
    ...............
    ...............
    ...............
    SSSSSSSSSSSSSSS
    ggggggggggggggg
    .......W.......
    SSSSSSSSSSSSSSS
  end
  layer 4
    ......SSS......
    ......PSP......
    ...............
    a--------------
    ...............
    ...............
    ...............
    ...............
    a--------------
    ...............
    ......PSP......
    ......SSS......
  end
  layer 5
    ......---......
    .......S.......
    .......S.......
    .......S.......
    .......S.......
    .......SS......
    .......S.......
    .......S.......
    .......S.......
    .......S.......
    .......S.......
    ......---......
  end
  layer 6
    ...............
    .......-.......
    .......-.......
    .......-.......
    .......-.......
    .......-i......
    .......-.......
    .......-.......
    .......-.......
    .......-.......
    .......-.......
    ...............
  end
end
"""


@cache
def machine() -> Program:
    loaded = load_text(WARDS)
    assert not loaded.diagnostics
    return Program(loaded.studies[0].circuit)


def states(hands: Sequence[tuple[int, str, str]], until: int) -> tuple[list[Simulator], int]:
    """The states at the end of a run, and how many there are at most at the end of a gt."""
    program = machine()
    found, most = Simulator(program, 0, the_start(program).levels).tell_everyone(), 0
    for gt in range(1, until + 1):
        for simulator in found:
            simulator.now = gt
        actions = [Action(program.number[name], verb) for at, name, verb in hands if at == gt]
        found = merge(run_game_tick(found, actions))
        most = max(most, len(found))
    return found, most


def on(simulator: Simulator, *names: str) -> set[str]:
    """Those of some pistons that are out."""
    return {name for name in names if simulator.levels[machine().number[name]]}


def test_four_pistons_that_one_line_calls_cut_the_water_in_one_state() -> None:
    gates = ("gate.1", "gate.2", "gate.3", "gate.4")
    (after,), most = states([(2, "gear", "on")], 45)
    assert most == 1
    assert on(after, *gates) == set(gates)
    flow = machine().motion
    assert flow is not None
    wet = {at for device, at in flow.flow.place_of.items() if after.levels[device]}
    assert wet == {(3, 2, 8), (3, 11, 8)}  # only the springs: all that flowed is dry 41 gt after the heads came


def test_seven_cells_that_change_in_one_gt_start_their_pistons_in_one_state() -> None:
    """Their blocks only leave; as they land, all light one line, and that is followed in every order."""
    names = [f"warder.{number}" for number in range(1, 8)]
    (started,), most = states([(2, f"turf.{number}", "off") for number in range(1, 8)], 3)
    assert most == 1
    assert all(started.device_state[machine().number[name]] for name in names)


def test_two_whose_blocks_land_on_one_line_end_alike_in_either_order() -> None:
    (after,), _ = states([(2, "turf.1", "off"), (2, "turf.6", "off")], 6)
    assert on(after, *(f"warder.{number}" for number in range(1, 8))) == {"warder.1", "warder.6"}
