"""What the tests of drawings share: small builds in one set of letters, and what feeds what in the circuit they are.

A build is its layers from the bottom up, the rows of a layer with a `/` between them. Where one row is enough, it is
shown from the side: lines from the top down, each a layer.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from circuitcheck.checks.drawing.wiring_graph import wiring
from circuitcheck.engine.program import Program
from circuitcheck.language.load import load_text
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.drawing import At
from circuitcheck.model.parts.block import Block
from circuitcheck.model.parts.dust import Run
from circuitcheck.model.parts.sensor import SensorCell

LETTERS = """legend
  .  air
  S  block
  K  block       named stone
  G  glass
  ^  half        at top
  _  half        at bottom
  -  dust
  o  dust        dot
  x  dust        named wire
  a  lever       named rope
  b  lever       named pond
  c  lever       named race
  w  lever       on west       named rope
  e  lever       on east       named rope
  n  lever       on north      named rope
  s  lever       on south      named rope
  v  lever       on above      named rope
  u  lever       on above      named race
  1  lever       on north      named race
  2  lever       on east       named race
  3  lever       on south      named race
  4  lever       on west       named race
  B  button      short         named knock
  k  button      on west       short  named knock
  y  button      on above      long   named knock
  T  torch       named flame
  W  torch       on west       named flame
  E  torch       on east       named flame
  N  torch       on north      named flame
  Z  torch       on south      named flame
  >  repeater    facing east   named winch
  <  repeater    facing west   named winch
  A  repeater    facing north  named winch
  V  repeater    facing south  named winch
  »  repeater    facing east   named pulley
  «  repeater    facing west   named pulley
  ↑  repeater    facing north  named pulley
  ↓  repeater    facing south  named pulley
  }  comparator  facing east   named scale
  {  comparator  facing west   named scale
  M  comparator  facing north  named scale
  Y  comparator  facing south  named scale
  O  lamp        named bell
  Q  lamp        named lantern
  ]  piston      facing east   named paddle
  [  piston      facing west   named paddle
  !  piston      facing north  named paddle
  ?  piston      facing south  named paddle
  +  piston      facing above  named paddle
  =  piston      facing below  named paddle
  P  piston      facing above  named wedge
  D  detector    facing east   named ripple
  d  detector    facing west   named ripple
  h  detector    facing north  named ripple
  ⇑  detector    facing above  named ripple
  ⇓  detector    facing below  named ripple
  C  sensor      named turf
  m  sensor      fades       named turf
  ~  water
  %  leaf
  ≈  water       when pond
  ¤  leaf        when pond off
  *  light
end
"""

Drivers = dict[tuple[str, str], int]
"""For each input of a part and each part that feeds it, the levels lost on the way where they can be felt."""


class Case(NamedTuple):
    """A small build, and what feeds some of its parts. `rule` is the id of the rule that it shows."""

    rule: str
    says: str
    layers: tuple[str, ...]
    fed: dict[str, str]
    """For each part: its inputs as `port source`, with the levels lost behind where they are felt."""
    head: str = ""


def side(*view: str) -> tuple[str, ...]:
    """A build of one row, shown from the south: from the top layer down."""
    return view[::-1]


def on_floor(plan: str) -> tuple[str, str]:
    """A layer on a floor of solid blocks."""
    return ("".join(each if each == "/" else "S" for each in plan), plan)


def built(things: Mapping[At, str]) -> tuple[str, ...]:
    """The layers that hold these letters, and air all around them."""
    sides = [(min(place[axis] for place in things), max(place[axis] for place in things)) for axis in range(3)]
    (low, high), (north, south), (west, east) = sides
    return tuple(
        "/".join(
            "".join(things.get((layer, row, column), ".") for column in range(west, east + 1))
            for row in range(north, south + 1)
        )
        for layer in range(low, high + 1)
    )


def layer_lines(layers: tuple[str, ...]) -> list[str]:
    """The lines of a file that draw some layers."""
    found = []
    for number, layer in enumerate(layers, 1):
        found += [f"  layer {number}", *(f"    {row}" for row in layer.split("/")), "  end"]
    return found


def legend_of(layers: tuple[str, ...]) -> list[str]:
    """The lines of a file that say what the letters of some layers are."""
    used = {*"".join(layers)}
    first, *letters, last = LETTERS.splitlines()
    return [first, *(line for line in letters if line[2] in used), last]


def drawn(layers: tuple[str, ...], head: str = "", rest: str = "", names: tuple[str, ...] = ()) -> str:
    """A file with a drawing of these layers; `names` are its lines `named …`, the other lines stand around it."""
    drawing = ["drawing", *layer_lines(layers), *names, "end"]
    lines = ["language 1", *head.splitlines(), *legend_of(layers), *drawing, rest]
    return "\n".join(lines)


def circuit_of(text: str) -> Circuit:
    """The circuit of a file that has no mistakes."""
    loaded = load_text(text)
    assert loaded.diagnostics == (), loaded.diagnostics
    return loaded.studies[0].circuit


def codes_of(text: str) -> list[str]:
    """The codes of a file's mistakes."""
    return [each.code for each in load_text(text).diagnostics]


def feeds_of(circuit: Circuit, name: str) -> Drivers:
    """What feeds a part, but for what a piston hears; for dust and blocks what makes the level that is read there."""
    part = circuit.by_name.get(name)
    assert part is not None or name == "stone", f"no part is called {name}"
    if part is None or isinstance(part, Block | Run):
        program = Program(circuit, still=True)
        probe = program.probe(name) if part is not None else ()  # a block that nothing powers is no part
        return {("", program.names[source]): lost for source, lost in probe}
    inputs = wiring(circuit).inputs[name]
    return {(port, source): lost[0] for (port, source), lost in inputs.items() if port != "heard"}


def felt_inputs(circuit: Circuit) -> dict[str, dict[tuple[str, str], int]]:
    """For each part what feeds it, off the machine itself; levels lost where a comparator reads, or what is watched."""
    program = Program(circuit, still=True)
    found: dict[str, dict[tuple[str, str], int]] = {name: {} for name in program.names}
    for number, port in enumerate(program.ports):
        reader = program.devices[program.port_device[number]].part
        for source, lost in program.feeds[number]:
            given = program.devices[source].part.word == "comparator"
            felt = lost if not port.boolean and (given or reader.word == "comparator") else 0
            known, key = found[reader.name], (port.name, program.names[source])
            known[key] = min(felt, known.get(key, felt))
    for part in circuit.parts:
        if isinstance(part, SensorCell):
            found[part.name] |= {("grows", source): 0 for source in part.grows}
    return found


def expected_feeds(words: str) -> Drivers:
    """The inputs that a case names: `port source lost`, or `source lost` of dust and blocks, with commas between."""
    found: Drivers = {}
    for each in words.split(","):
        split = each.split()
        lost = int(split.pop()) if split and split[-1].isdecimal() else 0
        if split:
            found["" if len(split) == 1 else split[0], split[-1]] = lost
    return found


def check_case(case: Case) -> None:
    """Asserts that just what the case says feeds each of the parts that it names."""
    circuit = circuit_of(drawn(case.layers, case.head))
    for name, words in case.fed.items():
        assert feeds_of(circuit, name) == expected_feeds(words), (case.rule, case.says, name)
