"""The build in three dimensions on a bench: one picture for each way of looking at it, and what differs later.

The difference is that of one way in which the build stands from another (`Standing`), so a picture costs what moves in
it. Whoever asks from a way that is not known any more gets the whole picture.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Mapping
from typing import Any
from xml.etree.ElementTree import Element

from circuitcheck.bench.seen import Seen
from circuitcheck.bench.worked import Stopped
from circuitcheck.engine.state import State
from circuitcheck.model.drawing import At
from circuitcheck.plans.solids import Cut
from circuitcheck.plans.solids_at_a_moment import Standing
from circuitcheck.report.exchange.svg import written
from circuitcheck.report.sheet import Look
from circuitcheck.report.solid.from_a_corner import Asked, TooMuchToShow, View
from circuitcheck.report.solid.view import Corner, Shown

MOST_VIEWS = 8
"""How many ways of looking at a build are kept."""
MOST_SEEN = 32
"""Of how many ways of standing it is kept what is seen, for each way of looking."""
MOST_APART = 50
"""How many empty layers are put between two at most."""

Found = tuple[list[Shown], int]


class Build:
    """The build of one drawing."""

    def __init__(self, seen: Seen, name: str) -> None:
        self._seen = seen
        self._name = name
        self._views: OrderedDict[Asked, _Looked] = OrderedDict()
        self._looks: dict[int, dict[At, Look]] = {}

    def told(self, state: State, asked: Asked, known: int) -> dict[str, Any]:
        """The picture in a state; only what differs, if it is known how the build stood before. Raises Stopped."""
        now = self._seen.standing(state)
        if now is None or self._seen.drawing is None:
            raise Stopped("nothing is drawn here")
        within(self._seen.drawing.size, asked.cut)
        view = self._views.pop(asked, None) or _Looked(View(self._seen.drawing, self._name, asked))
        self._views[asked] = view
        if len(self._views) > MOST_VIEWS:
            self._views.popitem(last=False)
        before, looked = view.seen.get(known), self._looks.get(known)
        looks = self._looks_of(now, state)
        try:
            found = self._found(view, now)
        except TooMuchToShow as many:
            raise Stopped(str(many)) from many
        if before is None or looked is None:
            return {"standing": now.number, "svg": written(view.view.picture(found, looks))}
        return {"standing": now.number, **_differences(view.view, before, found, looked, looks)}

    def _found(self, view: _Looked, now: Standing) -> Found:
        found = view.seen.pop(now.number, None) or view.view.seen(self._seen.standings.all_solids(now))
        view.seen[now.number] = found
        if len(view.seen) > MOST_SEEN:
            view.seen.popitem(last=False)
        return found

    def _looks_of(self, now: Standing, state: State) -> dict[At, Look]:
        """What is seen where the build is not as drawn."""
        if now.number not in self._looks:
            if len(self._looks) >= MOST_VIEWS * MOST_SEEN:
                self._looks = {}
            asked = ((at, self._seen.look(at, state)) for at, solid in now.otherwise.items() if solid is not None)
            self._looks[now.number] = {at: look for at, look in asked if look is not None}
        return self._looks[now.number]


class _Looked:
    """A way of looking at a build, and what was seen in the ways in which it stood."""

    def __init__(self, view: View) -> None:
        self.view = view
        self.seen: OrderedDict[int, Found] = OrderedDict()


def _differences(
    view: View, before: Found, after: Found, looked: Mapping[At, Look], looks: Mapping[At, Look]
) -> dict[str, Any]:
    """What is gone, and what is put in, the last that is painted first, each before another of its layer."""
    then = {each.at: each for each in before[0]}
    now = {each.at: each for each in after[0]}
    put: list[tuple[str, str]] = []
    root = Element("svg", {"xmlns": "http://www.w3.org/2000/svg"})
    following: dict[int, str] = {}
    for each in reversed(after[0]):
        key = key_of(each.at)
        if then.get(each.at) != each or looked.get(each.at) != looks.get(each.at):
            put.append((key, following.get(each.at[0], "")))
            root.append(view.thing(each, looks.get(each.at)))
        following[each.at[0]] = key
    changed = {key for key, _ in put}
    shapes = {id(shape): shape for at, each in now.items() if key_of(at) in changed for shape in [view.shape(each)]}
    root.extend(shapes.values())
    gone = [key_of(at) for at in then if at not in now]
    return {"gone": gone, "put": put, "svg": written(root)} if put else {"gone": gone, "put": [], "svg": ""}


def key_of(at: At) -> str:
    """A place as pages name it."""
    return ",".join(map(str, at))


def asked_of(words: Mapping[str, str]) -> Asked:
    """The way of looking that a page asks for. Raises Stopped."""
    corner = next((each for each in Corner if each.word == words.get("corner", Corner.SOUTH_EAST.word)), None)
    if corner is None:
        raise Stopped("a build is looked at from south-east, south-west, north-west or north-east")
    layer, row, column = (_whole(words, way, 1_000_000) or None for way in ("layer", "row", "column"))
    return Asked(corner, _whole(words, "apart", MOST_APART), Cut(layer, row, column), words.get("letters") == "1")


def within(size: At, cut: Cut) -> None:
    """Refuses a cut outside of a drawing. Raises Stopped."""
    for way, count in zip(("layer", "row", "column"), size, strict=True):
        if cut.parts.get(way, 1) > count:
            raise Stopped(f"a cut at {way} {cut.parts[way]:,} is outside the drawing: it has {count:,} {way}s")


def _whole(words: Mapping[str, str], key: str, most: int) -> int:
    digits = words.get(key) or "0"
    if not (digits.isascii() and digits.isdigit() and len(digits) < 8 and int(digits) <= most):
        raise Stopped(f"'{key}' is a whole number up to {most:,}")
    return int(digits)
