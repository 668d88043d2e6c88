"""The build in three dimensions on a page: from each corner, and with its layers apart. It turns without a script.

Radio buttons say which view is shown, and the page's style shows it.
"""

from __future__ import annotations

from xml.etree.ElementTree import Element

from circuitcheck.model.drawing import At
from circuitcheck.report.page.markup import add, behind, picture
from circuitcheck.report.solid.from_a_corner import Asked, TooMuchToShow, solid_picture
from circuitcheck.report.solid.view import Corner
from circuitcheck.scenes import Scene

MOST_SOLIDS = 1_500
"""Of a build of more things no views are put into a page: each stands in five of them."""
APART = "layers apart"


def build_views(parent: Element, scene: Scene, number: int) -> None:
    """The views of a build, and what chooses one; the first is shown at first."""
    figure = add(parent, "figure", attributes={"class": "build"})
    add(figure, "figcaption", "The build in three dimensions, as drawn")
    try:
        views = _views(scene, number)
    except TooMuchToShow:
        views = {}
    if not views:
        words = "It is too large to be drawn here from each corner: 'circuitcheck sheets --solid' draws it."
        add(figure, "p", words, {"class": "note"})
        return
    field = add(figure, "fieldset", attributes={"class": "ways"})
    behind(add(field, "legend", "View"), " ")
    for word in views:
        chosen = {"checked": ""} if word == next(iter(views)) else {}
        attributes = {"type": "radio", "name": f"view-{number}", "value": word, "autocomplete": "off", **chosen}
        behind(add(add(field, "label"), "input", attributes=attributes), f" {word}")
    for word, drawn in views.items():
        holder = add(figure, "div", attributes={"class": "view", "data-view": word})
        picture(holder, drawn, f"The build: {word}")


def _views(scene: Scene, number: int) -> dict[str, Element]:
    """Each view, by what it is called. Raises TooMuchToShow."""
    if len(scene.solids) > MOST_SOLIDS:
        return {}
    _, rows, columns = scene.drawing.size
    asked = {corner.word: Asked(corner) for corner in Corner}
    asked[APART] = Asked(apart=max(2, round((rows + columns) / 3)))
    found = {}
    for place, (word, each) in enumerate(asked.items()):
        found[word] = solid_picture(scene.drawing, scene.solids, scene.name, each, f"b{number}{'abcde'[place]}")
        _lighten(found[word], scene)
    return found


def _lighten(drawn: Element, scene: Scene) -> None:
    """Says what each thing is and where in one title, on the shape itself: a page has thousands of them.

    Plain blocks without a name have none: their layers have them.
    """
    for layer in list(drawn.iter("g")):
        for place, group in enumerate(layer):
            shape = group.find("use")
            if group.get("data-at") is None or shape is None:
                continue
            x, y = group.get("transform", "").removeprefix("translate(").removesuffix(")").split()
            made = Element("use", {"href": shape.get("href", ""), "x": x, "y": y})
            at = _place(group)
            thing = scene.drawing.things[at]
            if thing.is_part or thing.is_dust or at in scene.drawing.names:
                add(made, "title", f"{group.findtext('title')}: {group.findtext('desc')}")
            layer[place] = made


def _place(group: Element) -> At:
    layer, row, column = map(int, group.get("data-at", "").split(","))
    return (layer, row, column)
