"""The layers of a drawing on a page, each as powered at the start, and what its letters mean."""

from __future__ import annotations

from collections.abc import Mapping
from xml.etree.ElementTree import Element

from circuitcheck.model.drawing import At, Drawing
from circuitcheck.report.exchange.svg import MARGIN
from circuitcheck.report.page.first_sections import Covers
from circuitcheck.report.page.looks import at_start
from circuitcheck.report.page.markup import add, behind, name_of, picture
from circuitcheck.report.sheet import RULER, SIDE, Look, called, described, layer_picture, used
from circuitcheck.report.terminal.plans import stage_words
from circuitcheck.scenes import Scene


def layers(parent: Element, scene: Scene, when: str, covers: Covers) -> None:
    """Each layer, the lowest first; `when` says which moment is shown."""
    powered, looks = scene.powered, at_start(scene)
    for layer in range(1, scene.drawing.size[0] + 1):
        figure = add(parent, "figure", attributes={"class": "sheet", "data-layer": str(layer)})
        caption = add(figure, "figcaption", f"Layer {layer}")
        for words in scene.drawing.words.get(layer, ()):
            name_of(add(figure, "blockquote"), words)
        if any(place[0] == layer for place in (*powered, *looks)):
            behind(add(caption, "span", when, {"class": "when"}), "")
            holder = covers.over(figure, f"Levels of layer {layer}")
            holder.set("class", "answer levels")
            _sheet(holder, scene, layer, powered, looks)
        else:
            _sheet(figure, scene, layer, None, {})
        _letters(figure, scene.drawing, layer)
        _step(figure, scene, layer)


def _step(figure: Element, scene: Scene, layer: int) -> None:
    """What to bring for a layer, and what must be lit once it stands."""
    built = scene.built
    for number, checkpoint in enumerate(built.checkpoints if built is not None else ()):
        if built is None or checkpoint.stage.layer != layer:
            continue
        figure.set("data-step", str(number))
        rows = add(figure, "ul", attributes={"class": "step", "aria-label": f"To build layer {layer}"})
        for words, _ in stage_words(scene.drawing, checkpoint, built):
            name_of(add(rows, "li"), f"{words[0].upper()}{words[1:]}.")


def _sheet(
    parent: Element, scene: Scene, layer: int, levels: Mapping[At, int] | None, looks: Mapping[At, Look]
) -> None:
    drawn = layer_picture(scene.drawing, layer, levels, f"layer {layer} of {scene.name}", looks)
    lighten(drawn, scene.drawing.size)
    picture(parent, drawn, f"Layer {layer}")


def _letters(parent: Element, drawing: Drawing, layer: int) -> None:
    letters = add(parent, "ul", attributes={"class": "letters"})
    for thing in used(drawing, layer):
        row = add(letters, "li")
        behind(add(row, "b", thing.letter), f" {described(thing)}{called(drawing, layer, thing)}")


def lighten(drawn: Element, size: At) -> None:
    """Takes out what the page's style, or one grid, says once for all places: a sheet has thousands of them."""
    _, rows, columns = size
    corner = MARGIN + RULER
    lines = [f"M{corner} {corner + SIDE * row}h{SIDE * columns}" for row in range(rows + 1)]
    lines += [f"M{corner + SIDE * column} {corner}v{SIDE * rows}" for column in range(columns + 1)]
    behind_all = next(place for place, each in enumerate(drawn) if each.tag == "rect") + 1
    drawn.insert(behind_all, Element("path", {"d": "".join(lines), "class": "grid"}))
    for group in drawn.findall("g"):
        if group.find("title") is None:
            drawn.remove(group)
            continue
        for element in group:
            kind = element.get("class", "")
            if kind in ("letter", "level"):
                for name in ("text-anchor", "font-size", "font-family", "fill"):
                    element.attrib.pop(name, None)
            elif kind == "bar":
                element.attrib.pop("fill", None)
