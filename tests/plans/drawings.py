"""What the tests of plans share: small drawings in one set of letters, read as files are.

A layer is its rows with a `/` between them; layers go from the bottom up, as in a file.
"""

from __future__ import annotations

from circuitcheck.language.load import load_text
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.claims import Study
from circuitcheck.model.drawing import Drawing

LETTERS = """\
.  air
S  block
G  glass
^  half        at top
_  half        at bottom
-  dust
o  dust        dot
T  torch
W  torch       on west
E  torch       on east
N  torch       on north
Z  torch       on south
>  repeater    facing east
<  repeater    facing west
A  repeater    facing north
V  repeater    facing south
}  comparator  facing east
{  comparator  facing west
a  lever
i  lever       starts on
w  lever       on west
e  lever       on east
n  lever       on north
u  lever       on above
s  lever       on south
b  button      on north  short
k  button      on south  short
O  lamp
]  piston      facing east
[  piston      facing west
P  piston      facing above
D  detector    facing east
d  detector    facing west
m  sensor      fades
g  sensor      grows
~  water
≈  water       when pond
%  leaf
*  light
"""


def legend_of(*layers: str) -> str:
    """The legend of the letters in some layers."""
    used = {*"".join(layers)}
    return "\n".join(["legend", *(f"  {row}" for row in LETTERS.splitlines() if row[0] in used), "end"])


def file_of(*layers: str, names: str = "", head: str = "", rest: str = "") -> str:
    """A file with a drawing. `names` are like `gate 2 1 3, rope 2 1 1 starts on`, `head` and `rest` lines around it."""
    rows = ["drawing"]
    for number, layer in enumerate(layers, 1):
        rows += [f"  layer {number}", *(f"    {row}" for row in layer.split("/")), "  end"]
    for each in filter(None, names.split(", ")):
        name, layer, row, column, *start = each.split()
        rows.append(f"  named {name} at layer {layer} row {row} column {column} {' '.join(start)}".rstrip())
    return "\n".join(["language 1", "circuit mill", head, legend_of(*layers), *rows, "end", rest, ""])


def study_of(text: str) -> Study:
    """The study of a file without mistakes."""
    loaded = load_text(text)
    assert loaded.diagnostics == (), loaded.diagnostics
    return loaded.studies[0]


def drawn_of(*layers: str, names: str = "", head: str = "", rest: str = "") -> tuple[Circuit, Drawing]:
    """A drawing, and the circuit that is read out of it."""
    study = study_of(file_of(*layers, names=names, head=head, rest=rest))
    circuit = study.drawn or study.circuit
    assert circuit.drawing is not None
    return circuit, circuit.drawing


def side(*view: str) -> tuple[str, ...]:
    """A drawing of one row, shown from the south: from the top layer down."""
    return view[::-1]
