"""How long drawings take: read from text, lit, and made a signal graph; and how that grows with the places.

A drawing is tiled with one small machine a floor of blocks, levers, repeaters, torches, lamps, soil cells and water, so
that a drawing of twice the places holds twice the machines. `--short` runs the smaller sizes only.
"""

from __future__ import annotations

import resource
import sys
import time
from collections.abc import Callable
from typing import TypeVar

from circuitcheck.engine.program import Program
from circuitcheck.language.load import load_text
from circuitcheck.model.drawing import Drawing
from circuitcheck.model.rules import NEWER
from circuitcheck.space.circuit import read
from circuitcheck.space.light import Lighting, shining
from circuitcheck.space.room import Room

LEGEND = """language 1
circuit field
legend
  .  air
  S  block
  -  dust
  a  lever
  >  repeater facing east delay 2t
  /  torch on west
  O  lamp
  m  sensor fades grows
  w  water
  l  leaf
  P  piston facing east
end
"""
FLOOR = ("SSSSSSSS", "SSSSSSSS", "SmmSSSSS", "SSSSSSSS")
WIRING = ("a->-S/-O", "....-...", ".wwS-S..", "a>--S/--")
AIR = ("........", "........", ".ll.....", "........")
TILE = (FLOOR, WIRING, AIR, AIR)
WALLS = ("SSSSSSSS",) * 4
BASIN = ("SSSSSSSS", "aPSw...S", "aPS....S", "SSSSSSSS")
"""Two pistons whose blocks hold back one source of water: it comes to ten places."""
DRY_BASIN = ("SSSSSSSS", "aPS....S", "aPS....S", "SSSSSSSS")
Made = TypeVar("Made")


def field(layers: int, rows: int, columns: int) -> str:
    """A file that draws a field of so many places, each number a multiple of what one machine takes."""
    lines = [LEGEND, "drawing"]
    for layer in range(layers):
        lines.append(f"  layer {layer + 1}")
        lines += ["    " + TILE[layer % 4][row % 4] * (columns // 8) for row in range(rows)]
        lines.append("  end")
    return "\n".join([*lines, "end", ""])


def moving_field() -> str:
    """A field of 64 × 64 × 16 with 200 pistons, half of them beside water, which comes to 500 places."""
    basins = [BASIN] * 50 + [DRY_BASIN] * 50 + [WALLS] * 28
    lines = [LEGEND, "drawing"]
    for layer in range(16):
        lines.append(f"  layer {layer + 1}")
        if layer == 13:
            lines += [
                "    " + "".join(basin[row] for basin in basins[8 * across : 8 * across + 8])
                for across in range(16)
                for row in range(4)
            ]
        else:
            tile = WALLS if layer == 12 else AIR if layer > 13 else TILE[layer % 4]
            lines += ["    " + tile[row % 4].replace("w", ".").replace("m", "S") * 8 for row in range(64)]
        lines.append("  end")
    return "\n".join([*lines, "end", ""])


def measure_moving() -> None:
    """Prints what it takes to read a field in which things move: the wiring at home, and one stroke of each piston."""
    text = moving_field()
    loaded, whole = timed(lambda: load_text(text))
    assert loaded.valid, loaded.diagnostics[:3]
    program, wired = timed(lambda: Program(loaded.studies[0].circuit))
    motion = program.motion
    assert motion is not None

    def strokes() -> int:
        found = [now for each in motion.strokes.one_at_a_time() for now in (each.under_way, each.landed)]
        return len([motion.standing(each) for each in found])

    read_again, each = timed(strokes)
    print(
        f"200 pistons, {len(motion.flow.water.places)} places of water: read from text {whole:.2f} s, wired up "
        f"{wired:.2f} s, {read_again} configurations {each:.2f} s, together {whole + wired + each:.2f} s"
    )


def timed(work: Callable[[], Made]) -> tuple[Made, float]:
    """What some work comes to, and the seconds of one core that it took."""
    begun = time.process_time()
    made = work()
    return made, time.process_time() - begun


def measure(layers: int, rows: int, columns: int) -> float:
    """Prints what one size takes. Returns the seconds a place."""
    text = field(layers, rows, columns)
    loaded, whole = timed(lambda: load_text(text))
    assert loaded.valid, loaded.diagnostics[:3]
    circuit = loaded.studies[0].circuit
    drawing = circuit.drawing
    assert drawing is not None
    _, wiring = timed(lambda: read(drawing, NEWER))
    _, light = timed(lambda: every_level(drawing))
    graph, seconds = timed(lambda: circuit.graph)
    places = layers * rows * columns
    total = whole + light + seconds
    print(
        f"{columns:>3} × {rows} × {layers}: {places:>7,} places, {len(graph):>6,} parts; read from text {whole:.2f} s "
        f"(of which wiring and the light on cells {wiring:.2f} s), every level of light {light:.2f} s, "
        f"graph {seconds:.2f} s, together {total:.2f} s"
    )
    return total / places


def every_level(drawing: Drawing) -> int:
    """The light of the sun and of all lamps at every place; how many are lit."""
    room = Room(drawing, NEWER)
    lighting = Lighting(room, lambda name: True)
    return len(lighting.from_sky().levels) + len(lighting.from_places(dict(shining(room))).levels)


def main() -> None:
    sizes = [(4, 16, 16), (4, 32, 32), (8, 32, 32)]
    if "--short" not in sys.argv:
        sizes += [(16, 64, 64), (16, 128, 64)]
        measure_moving()
    each = {size: measure(*size) for size in sizes}
    small, large = each[sizes[1]], each[sizes[-1]]
    print(f"time a place, {sizes[-1]} beside {sizes[1]}: {large / small:.2f} times")
    print(f"memory at most: {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB")


if __name__ == "__main__":
    main()
