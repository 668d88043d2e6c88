"""May it be tiled? A copy of a drawing beside, above or mirrored beside it, and what the two do to each other.

Both are read as one drawing. What feeds a part, what it hears and what light falls on it must be what it is alone.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise, product
from typing import NamedTuple

from circuitcheck.checks.drawing.lighting import light_differences
from circuitcheck.checks.drawing.wiring_graph import given_out, wiring
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.drawing import MIRRORED, At, Drawing, Thing, placed_name, said
from circuitcheck.model.light import FULL
from circuitcheck.model.rules import RuleSet
from circuitcheck.space.circuit import read
from circuitcheck.space.configuration import AT_HOME
from circuitcheck.space.room import neighbours
from circuitcheck.space.strokes import Breaks, Step, Strokes
from circuitcheck.space.tracing import way
from circuitcheck.space.water import water_of

DOES = {
    "heard": ("update", "is heard by"),
    "watched": ("update", "is watched by"),
    "grows": ("growth", "can grow over"),
}
"""What a source does at some ports, by kind; at all others it powers."""
MOST_TRIED = 16
"""How many offsets further on are tried."""
MOST_LOCATED = 12
"""Of how many things that come over from one copy to the other the place is sought."""
MOST_READ = 200_000
"""How many things may be read again, times the offsets."""
COPY = "copy"
"""The first name of all that is in the copy."""


class Offset(NamedTuple):
    """How far the copy is moved in layers, rows and columns, and whether east and west are exchanged in it first."""

    layers: int = 0
    rows: int = 0
    columns: int = 0
    mirrored: bool = False


class NotReckoned(Exception):
    """Two copies can't be looked at together; the text says why."""


class Meddling(NamedTuple):
    """One thing that two copies do to each other."""

    kind: str
    """`place`, `power`, `update`, `growth`, `piston`, `water` or `light`."""
    words: str


def meddlings(drawn: Circuit, drawing: Drawing, offset: Offset) -> list[Meddling]:
    """Everything that a drawing and its copy do to each other; empty where they may stand so.

    Of dust that the circuit gives out, what reaches it counts as well. Raises NotReckoned.
    """
    if any(name.startswith(f"{COPY}.") for name in drawing.names.values()):
        raise NotReckoned(
            f"something in the drawing is called '{COPY}.…', as what is in the copy is: call it otherwise"
        )
    copied = {_moved(drawing, place, offset): place for place in drawing.things}
    both = [place for place in copied if place in drawing.things]
    if both:
        text = f"both want the place {said(min(both))}" + (f", and {len(both) - 1} more" if len(both) > 1 else "")
        return [Meddling("place", text)]
    pair = _together(drawing, offset)
    made = read(pair, drawn.rules)
    if any(mistake.code == "CKT602" for mistake in made.mistakes):
        raise NotReckoned(f"a drawing and its copy can't be read together: {made.mistakes[0].message}")
    if made.mistakes:
        return [Meddling("place", each.message) for each in made.mistakes[:3]]
    there = [_Shift(drawing, offset, copied=each) for each in (False, True)]
    return [
        *_power(drawn, made.circuit, pair),
        *_pistons(drawing, pair, drawn.rules),
        *_water(drawing, pair, drawn.rules, there),
        *_light(drawn, made.circuit, drawing, there),
    ]


def least_apart(drawn: Circuit, drawing: Drawing, offset: Offset) -> Offset | None:
    """The nearest offset in the same direction, from this one on, at which nothing is done; None where none is found.

    At most 16 are tried, fewer of a large drawing.
    """
    layers, rows, columns = offset.layers, offset.rows, offset.columns
    for _ in range(min(MOST_TRIED, MOST_READ // max(len(drawing.things), 1))):
        trial = offset._replace(layers=layers, rows=rows, columns=columns)
        if not meddlings(drawn, drawing, trial):
            return trial
        layers, rows, columns = (number + (number > 0) - (number < 0) for number in (layers, rows, columns))
    return None


def _moved(drawing: Drawing, place: At, offset: Offset) -> At:
    column = drawing.size[2] + 1 - place[2] if offset.mirrored else place[2]
    return (place[0] + offset.layers, place[1] + offset.rows, column + offset.columns)


def _turned(thing: Thing, mirrored: bool) -> Thing:
    when = thing.when and thing.when._replace(part=f"{COPY}.{thing.when.part}")
    thing = replace(thing, when=when)
    if not mirrored:
        return thing
    facing, on = thing.facing, thing.on
    return replace(thing, facing=facing and MIRRORED.get(facing, facing), on=on and MIRRORED.get(on, on))


class _Shift:
    """Where a place of a drawing, or of its copy, is in the pair.

    Light computes with places from 1 on: what lies before them is moved there with the rest.
    """

    def __init__(self, drawing: Drawing, offset: Offset, copied: bool) -> None:
        self._drawing, self._offset, self._copied = drawing, offset, copied
        things = [*drawing.things, *(_moved(drawing, place, offset) for place in drawing.things)]
        self.least = [min([1, *(place[axis] for place in things)]) - 1 for axis in range(3)]

    def __call__(self, place: At) -> At:
        layer, row, column = _moved(self._drawing, place, self._offset) if self._copied else place
        return (layer - self.least[0], row - self.least[1], column - self.least[2])


def _together(drawing: Drawing, offset: Offset) -> Drawing:
    """A drawing and its copy as one."""
    things = dict(drawing.things)
    names = {place: drawing.name(place) for place in drawing.things}
    spans = dict(drawing.spans)
    for place, thing in drawing.things.items():
        there = _moved(drawing, place, offset)
        things[there] = _turned(thing, offset.mirrored)
        names[there] = f"{COPY}.{drawing.name(place)}"
        if place in drawing.spans:
            spans[there] = drawing.spans[place]
    shifted = _Shift(drawing, offset, copied=False)
    top = [max([1, *(place[axis] for place in things)]) - shifted.least[axis] for axis in range(3)]
    return replace(
        drawing,
        things={shifted(place): thing for place, thing in sorted(things.items())},
        names={shifted(place): name for place, name in names.items()},
        spans={shifted(place): span for place, span in spans.items()},
        starts={},
        size=(top[0], top[1], top[2]),
    )


def _power(alone: Circuit, both: Circuit, pair: Drawing) -> Iterator[Meddling]:
    """Parts that something feeds which does not feed them alone, or no longer feeds them."""
    shown = given_out(alone)
    located = 0
    mine = wiring(alone, shown)
    theirs = wiring(both, [f"{prefix}{name}" for prefix in ("", f"{COPY}.") for name in shown])
    for name, inputs in mine.inputs.items():
        for prefix in ("", f"{COPY}."):
            now = theirs.inputs.get(f"{prefix}{name}", {})
            usual = {(port, f"{prefix}{source}"): lost for (port, source), lost in inputs.items()}
            for port, source in sorted(now.keys() - usual.keys()):
                kind, does = DOES.get(port, ("power", "powers"))
                located += kind == "power"
                near = kind == "power" and located <= MOST_LOCATED
                where = _touching(both, pair, source, prefix + name) if near else ""
                yield Meddling(kind, f"'{source}' {does} '{prefix}{name}'{where}")
            for port, source in sorted(usual.keys() - now.keys()):
                kind, does = DOES.get(port, ("power", "powers"))
                yield Meddling(kind, f"'{source}' {does} '{prefix}{name}' no longer")
            for key in sorted(usual.keys() & now.keys()):
                if usual[key] != now[key]:
                    yield Meddling("power", f"on the path from '{key[1]}' to '{prefix}{name}' other levels are lost")
            if name in mine.labels and theirs.labels.get(f"{prefix}{name}", ())[:3] != mine.labels[name][:3]:
                yield Meddling("power", f"'{prefix}{name}' is another kind of part there, or points straight no more")


def _touching(both: Circuit, pair: Drawing, source: str, reader: str) -> str:
    """Where the power of one copy comes over to the other."""
    places = way(pair, both.rules, both.where[source], both.where[reader]) if source in both.where else []
    for one, other in pairwise(places):
        if pair.names[one].startswith(f"{COPY}.") is not pair.names[other].startswith(f"{COPY}."):
            return f": {pair.things[one].word} at {said(one)} touches {pair.things[other].word} at {said(other)}"
    return ""


def _pistons(drawing: Drawing, pair: Drawing, rules: RuleSet) -> Iterator[Meddling]:
    """Pistons that move or break something else than they do alone, with everything else at home."""
    alone, beside = Strokes(drawing, rules), Strokes(pair, rules)
    mine = {drawing.name(piston): _does(alone, piston) for piston in alone.pistons}
    comes: dict[At, str] = {}
    for stroke in beside.one_at_a_time():
        name = pair.name(stroke.piston)
        for place in stroke.changes:
            other = comes.setdefault(place, name)
            if other.startswith(f"{COPY}.") is not name.startswith(f"{COPY}."):
                yield Meddling("piston", f"the pistons '{other}' and '{name}' both move to {said(place)}")
    for piston in beside.pistons:
        name = pair.name(piston)
        if _does(beside, piston) != mine[name.removeprefix(f"{COPY}.")]:
            head = beside.facing(piston).from_(piston)
            yield Meddling("piston", f"the piston '{name}' meets what stands at {said(head)} or behind it")


def _does(strokes: Strokes, piston: At) -> tuple[str, ...]:
    """What becomes of what stands before a piston that is called first: what it moves or breaks, or that it stays."""
    step = strokes.start_out(AT_HOME, piston)
    things = strokes.drawing.things
    if isinstance(step, Step):
        return ("moves", *sorted(things[home].word for home, _ in step.after.places))
    if isinstance(step, Breaks):
        return ("breaks", *sorted(things[broken.thing].word for broken in step.broken))
    return ("stays",)


def _water(drawing: Drawing, pair: Drawing, rules: RuleSet, there: Sequence[_Shift]) -> Iterator[Meddling]:
    """Water that comes into the other copy, or stands at another level than it does alone (rules Z1, Z7)."""
    alone, both = water_of(drawing, rules), water_of(pair, rules)
    if both.too_many is not None and alone.too_many is None:
        raise NotReckoned(f"together their water reaches more places than are followed ({said(both.too_many)})")
    if not both.moves:
        return  # water that no stroke can change is read as it is drawn
    usual = {shift(at): alone.rest.get(at, 0) for shift in there for at in alone.places}
    layers, rows, columns = (range(1, size + 1) for size in drawing.size)
    inside = {shift(at) for shift in there for at in product(layers, rows, columns)}
    mine, theirs = ({shift(at) for at in alone.places} for shift in there)
    meets = min((at for at in mine for _, beside in neighbours(at) if beside in theirs), default=None)
    if meets is not None:
        yield Meddling("water", f"the water of both meets at {said(meets)}")
    comes = min((both.places - usual.keys()) & inside, default=None)
    if comes is not None:
        yield Meddling("water", f"water comes to {said(comes)}, where it does not come alone")
    other = min((at for at, level in usual.items() if both.rest.get(at, 0) != level), default=None)
    if other is not None:
        levels = f"{usual[other]} alone, {both.rest.get(other, 0)} beside its copy"
        yield Meddling("water", f"the water at {said(other)} rests at another level: {levels}")


def _light(alone: Circuit, both: Circuit, drawing: Drawing, there: Sequence[_Shift]) -> Iterator[Meddling]:
    wet = water_of(drawing, alone.rules).places
    for prefix, shift in zip(("", f"{COPY}."), there, strict=True):
        pairs = {name: f"{prefix}{name}" for name in alone.by_name}
        # Water has no name of its author's: it is called by its place.
        flows = {placed_name("water", at): placed_name("water", shift(at)) for at in wet}
        pairs |= flows | {name + FULL: other + FULL for name, other in flows.items()}
        for words in light_differences(alone, both, pairs):
            yield Meddling(
                "light", words.replace("in the circuit", "alone").replace("in the drawing", "beside its copy")
            )
