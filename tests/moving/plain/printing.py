"""A box in the drawing language of circuit files (grammar/README.md, "Drawings")."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from .things import SOURCE, Action, Box, Place, Settings, Thing, word

LETTERS = "SGHOPQRTUVWXYZABCDEFIJKLMNabcdefghijklmnopqrstuvwxyz0123456789"


def printed(
    box: Box, actions: Sequence[Action] = (), until: int = 0, settings: Settings | None = None, moving: bool = False
) -> str:
    """The file: the drawing, and one check that does the actions and expects nothing.

    `moving` writes settings of moving things as well. Water that is no source is left out: it comes of the sources.
    """
    letters: dict[str, str] = {}
    layers = [
        "\n".join(
            "    " + "".join(_letter(letters, box, (layer, line, column)) for column in range(1, box.size[2] + 1))
            for line in range(1, box.size[1] + 1)
        )
        for layer in range(1, box.size[0] + 1)
    ]
    legend = [f"  {letter}  {text}" for text, letter in letters.items() if letter != "."]
    drawing = [f"  layer {layer}\n{text}\n  end" for layer, text in enumerate(layers, 1)]
    parts = [
        "language 1",
        "circuit box",
        "rules newer",
        *_settings(settings or Settings(), moving),
        "",
        "legend",
        "  .  air",
        *legend,
        "end",
        "",
        "drawing",
        *drawing,
        "end",
    ]
    if until:
        parts += ["", 'check "run"', *_lines(actions), f"  until {until}gt", "end"]
    return "\n".join(parts) + "\n"


def _letter(letters: dict[str, str], box: Box, place: Place) -> str:
    thing = box.things.get(place)
    still = "water" if box.water.get(place) == SOURCE else "air"
    text = still if thing is None else legend_line(thing)
    if text == "air":
        return "."
    if text not in letters:
        letters[text] = LETTERS[len(letters)]
    return letters[text]


def legend_line(thing: Thing) -> str:
    """The thing and what is said of it, but for its name."""
    said = [word(thing.kind)]
    if thing.kind == "block" and thing.fixed:
        said.append("fixed")
    if thing.kind == "half":
        said.append("at top" if thing.top else "at bottom")
    if thing.kind == "dust" and thing.dot:
        said.append("dot")
    if thing.kind in ("torch", "lever") and thing.on != "below":
        said.append(f"on {thing.on}")
    if thing.facing:
        said.append(f"facing {thing.facing}")
    if thing.sticky:
        said.append("sticky")
    if thing.kind in ("repeater", "detector"):
        said.append(f"delay {thing.delay}gt")
    if thing.kind == "detector":
        said.append(f"pulse {thing.pulse}gt")
    if thing.kind in ("torch", "repeater", "lever", "soil"):
        said.append("starts on" if thing.level else "starts off")
    return "  ".join(said)


def _settings(settings: Settings, moving: bool) -> list[str]:
    lines = ["setting burn_out_window 0gt"]
    if settings.outside_first:
        lines.append("setting outside_first yes")
    if moving:
        lines.append(f"setting piston_lands {settings.piston_lands}")
        lines.append(f"setting water_looks {settings.water_looks}")
    return lines


def _lines(actions: Sequence[Action]) -> list[str]:
    """Actions of one gt on one line: their order is unknown."""
    gts: dict[int, list[str]] = {}
    for action in actions:
        gts.setdefault(action.gt, []).append(f"{action.name} {'on' if action.level else 'off'}")
    return [f"  at {gt}gt  {', '.join(done)}" for gt, done in sorted(gts.items())]


def with_levels(box: Box, levels: dict[str, int]) -> Box:
    """The box with other levels at the start."""
    things = {
        place: replace(thing, level=levels.get(thing.name, thing.level)) if thing.kind not in ("piston",) else thing
        for place, thing in box.things.items()
    }
    return replace(box, things=things)
