"""The build in three dimensions on a page: from each corner, and with its layers apart. It turns without a script.

Radio buttons say which view is shown, and the page's style shows it. What moves stands in a view at each place that it
comes to, with the stands in which it is there; the page's script shows it then, with the levels of the moment.
"""

from __future__ import annotations

from dataclasses import replace
from xml.etree.ElementTree import Element

from circuitcheck.model.drawing import At
from circuitcheck.plans.solids_at_a_moment import POOL
from circuitcheck.report.page.first_sections import Covers
from circuitcheck.report.page.looks import look, of_water
from circuitcheck.report.page.markup import add, behind, picture
from circuitcheck.report.sheet import described
from circuitcheck.report.solid.from_a_corner import Asked, TooMuchToShow, View
from circuitcheck.report.solid.view import Corner
from circuitcheck.scenes import Scene

MOST_SOLIDS = 1_500
"""Of a build of more things no views are put into a page: each stands in five of them."""
MOST_IN_ALL = 60_000
"""Nor of one whose things, times the ways in which they are displaced, are more."""
APART = "layers apart"


def build_views(parent: Element, scene: Scene, number: int, when: str, covers: Covers) -> None:
    """The views of a build, and what chooses one; the first is shown at first."""
    figure = add(parent, "figure", attributes={"class": "build"})
    caption = add(figure, "figcaption", "The build in three dimensions")
    try:
        views = _views(scene, number)
    except TooMuchToShow:
        views = {}
    if not views:
        words = "It is too large to be drawn here from each corner: 'circuitcheck sheets --solid' draws it."
        add(figure, "p", words, {"class": "note"})
        return
    behind(add(caption, "span", when, {"class": "when"}), "")
    field = add(figure, "fieldset", attributes={"class": "ways"})
    behind(add(field, "legend", "View"), " ")
    for word in views:
        chosen = {"checked": ""} if word == next(iter(views)) else {}
        attributes = {"type": "radio", "name": f"view-{number}", "value": word, "autocomplete": "off", **chosen}
        behind(add(add(field, "label"), "input", attributes=attributes), f" {word}")
    holder = covers.over(figure, "Levels of the build in three dimensions")
    holder.set("class", "answer levels")
    for word, drawn in views.items():
        picture(add(holder, "div", attributes={"class": "view", "data-view": word}), drawn, f"The build: {word}")


def _views(scene: Scene, number: int) -> dict[str, Element]:
    """Each view, by what it is called. Raises TooMuchToShow."""
    states = [*scene.standing, *scene.growing]
    if len(scene.solids) > MOST_SOLIDS or len(scene.solids) * len(states) > MOST_IN_ALL:
        return {}
    _, rows, columns = scene.drawing.size
    asked = {corner.word: Asked(corner) for corner in Corner}
    asked[APART] = Asked(apart=max(2, round((rows + columns) / 3)))
    seen = {
        (at, states[place][at]): look(each)
        for place, stand in enumerate(scene.stands)
        for at, each in stand.seen.items()
        if at in states[place]
    }
    depths = _depths(scene)
    seen |= {(at, replace(POOL, depth=depth)): of_water(depth) for at, each in depths.items() for depth in each}
    found = {}
    for place, (word, each) in enumerate(asked.items()):
        view = View(scene.drawing, scene.name, each, f"b{number}{'abcde'[place]}")
        found[word] = view.of_states(states, seen, depths)
        _lighten(found[word], scene)
    return found


def _depths(scene: Scene) -> dict[At, set[int]]:
    """The levels that water comes to at each place, at the start or in any run."""
    by_device: dict[int, set[int]] = {}
    for choice in scene.choices:
        for device, level in enumerate(choice.start):
            by_device.setdefault(device, set()).add(level)
        for moment in choice.moments:
            for device, level in zip(moment.levels[::2], moment.levels[1::2], strict=True):
                by_device.setdefault(device, set()).add(level)
    return {at: by_device.get(device, set()) - {0} for at, device in scene.water.items()}


def _lighten(drawn: Element, scene: Scene) -> None:
    """Says what each thing is and where in one title, on the shape itself: a page has thousands of them.

    Plain blocks without a name have none: their layers have them. Where it is said only of what can change, so that the
    page's script looks at nothing else; what is not there at the start is marked.
    """
    for layer in list(drawn.iter("g")):
        for place, group in enumerate(layer):
            shape = group.find("use")
            if group.get("data-at") is None or shape is None:
                continue
            x, y = group.get("transform", "").removeprefix("translate(").removesuffix(")").split()
            made = Element("use", {"href": shape.get("href", ""), "x": x, "y": y})
            at, spans, depth = _place(group), group.get("data-in"), group.get("data-depth")
            changes = spans is not None or depth is not None
            if not _is_plain(scene, at, group.findtext("title", "")):
                add(made, "title", f"{group.findtext('title')}: {group.findtext('desc')}")
            if changes or at in scene.conditions or (at in scene.feeds and len(made)):
                made.set("data-place", group.get("data-at", ""))
                told = (("data-in", spans), ("data-depth", depth), ("data-side", group.get("data-side")))
                made.attrib.update({name: each for name, each in told if each is not None})
                if not _there_at_start(scene, at, spans, depth):
                    made.set("class", "gone")
            layer[place] = made


def _is_plain(scene: Scene, at: At, title: str) -> bool:
    """Whether what is seen at a place is what is drawn there, without a name or a state of its own."""
    thing = scene.drawing.things.get(at)
    named = at in scene.drawing.names
    return thing is not None and not (thing.is_part or thing.is_dust or named) and title == described(thing)


def _there_at_start(scene: Scene, at: At, spans: str | None, depth: str | None) -> bool:
    """Whether something is there at the first start, where it may come and go."""
    if not scene.choices:
        return True
    first = scene.choices[0]
    device, on = scene.conditions.get(at, (None, True))
    if spans is not None and not any(first.stand in _span(each) for each in spans.split()):
        return False
    if depth is not None:
        return first.start[scene.water[at]] == int(depth)
    return device is None or (first.start[device] > 0) is on


def _span(words: str) -> range:
    first, _, last = words.partition("-")
    return range(int(first), int(last or first) + 1)


def _place(group: Element) -> At:
    layer, row, column = map(int, group.get("data-at", "").split(","))
    return (layer, row, column)
