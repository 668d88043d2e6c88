"""Texts of drawings for the tests of mistakes: one legend, and drawings of it in a line."""

from __future__ import annotations

LEGEND = """legend
  .  air
  S  block
  -  dust
  o  dust      dot
  G  glass
  ^  half      at top
  _  half      at bottom
  a  lever     named rope
  v  lever     on above     named rope
  T  torch
  W  torch     on west
  *  light
  >  repeater  facing east
  }  comparator  facing east
  ]  piston    facing east  named paddle
  O  lamp      named bell
  m  sensor    fades      named turf
end
"""


def drawing(*layers: str, rest: str = "") -> str:
    """A drawing of these layers, with `/` between their rows; `rest` are more lines of it."""
    lines = []
    for number, layer in enumerate(layers, 1):
        lines += [f"layer {number}", *layer.split("/"), "end"]
    return "\n".join(["drawing", *lines, *rest.splitlines(), "end", ""])


def entry(line: str) -> str:
    """A legend with one more line, and a drawing that does not use it."""
    return f"legend\n  .  air\n{line}\nend\n{drawing('.')}"


def built(*layers: str, rest: str = "", head: str = "", pieces: str = "") -> str:
    return f"{head}{LEGEND}{pieces}{drawing(*layers, rest=rest)}"


def arch(*lines: str) -> str:
    """A piece called `arch`, two blocks wide, with some lines behind its layer."""
    return "\n".join(["piece arch", "layer 1", "SS", "end", *lines, "end", ""])
