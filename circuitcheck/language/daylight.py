"""Places, phases of the day and chances, from the lines that say so."""

from __future__ import annotations

from circuitcheck.diagnostics import Diagnostic, article, did_you_mean, error
from circuitcheck.language import tree
from circuitcheck.language.scope import Scope
from circuitcheck.language.values import Reader
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.claims import TimeBound
from circuitcheck.model.duration import in_seconds
from circuitcheck.model.light import (
    FULL_SUN,
    PHASES,
    SKY,
    STANDING_LIGHT,
    THINGS,
    Condition,
    Cycle,
    Layer,
    LightPath,
    Place,
)
from circuitcheck.model.parts.cells import Becoming, Need
from circuitcheck.model.rules import Chance

MOST_PARTS = 8
"""On how many parts the light at one place may hang: every state of them is looked at."""
MOST_BLOCKS = 64
"""How many blocks of one thing a path of light may pass; after 15 all is dark."""


def chance_of(written: tree.Fraction, mistakes: list[Diagnostic]) -> Chance | None:
    """A chance from 0 to 1, or None with a mistake recorded."""
    of, _, within = written.text.partition("/")
    if len(written.text) > 20 or int(within) == 0 or int(of) > int(within):
        hint = "a probability is a fraction from 0/1 to 1/1"
        mistakes.append(error("CKT305", written.span, f"{written.text[:20]} is not a probability", hint))
        return None
    return Chance(int(of), int(within))


def change_of(written: tree.Change, mistakes: list[Diagnostic]) -> Becoming | None:
    """A change that the author names, or None with a mistake recorded."""
    chance = chance_of(written.chance, mistakes)
    least, most = 0, FULL_SUN
    if written.level is not None and written.side is not None:
        below = written.side.text == "below"
        digits = written.level.text
        level = int(digits) if len(digits) < 4 else FULL_SUN + 2
        if not (1 <= level <= FULL_SUN if below else 0 <= level < FULL_SUN):
            bounds = f"from 1 to {FULL_SUN}" if below else f"from 0 to {FULL_SUN - 1}"
            message = f"no light is {written.side.text} {digits[:20]}, or all is"
            mistakes.append(error("CKT305", written.level.span, message, f"{bounds} makes a difference"))
            return None
        least, most = (0, level - 1) if below else (level + 1, FULL_SUN)
    if chance is None:
        return None
    return Becoming(written.to.text == "on", chance, Need(least, most), written.title.text if written.title else "")


def cycle_of(line: tree.CycleLine, mistakes: list[Diagnostic]) -> Cycle | None:
    """The phases of the day, or None with a mistake recorded."""
    reader = Reader({}, mistakes)
    before = len(mistakes)
    whole = reader.duration(line.whole)
    lengths: dict[str, int] = {}
    for item in line.phases:
        name, length = item.name.text, reader.duration(item.amount)
        if name not in PHASES:
            hint = did_you_mean(name, PHASES) or f"the phases are {', '.join(PHASES)}"
            mistakes.append(error("CKT312", item.name.span, f"no phase of the day is called '{name}'", hint))
        elif name in lengths:
            mistakes.append(error("CKT312", item.name.span, f"'{name}' stands twice", "keep one of them"))
        else:
            lengths[name] = length or 0
    missing = [name for name in PHASES if name not in lengths]
    if len(mistakes) > before or whole is None:
        return None
    if missing:
        hint = f"add {', '.join(f'{name} …' for name in missing)}; a phase may be 0t long"
        mistakes.append(error("CKT312", line.cycle.span, f"the cycle has no {missing[0]}", hint))
        return None
    cycle = Cycle(**lengths, span=line.cycle.span)
    if cycle.whole != whole or not whole:
        message = f"the phases add up to {in_seconds(cycle.whole)}, and the whole cycle is {in_seconds(whole)}"
        hint = "change one of the phases, or the whole" if whole else "a day has some length"
        mistakes.append(error("CKT312", line.whole.span, message, hint))
        return None
    return cycle


def time_bound(written: tree.TimeBound, amounts: Reader, mistakes: list[Diagnostic]) -> TimeBound:
    """What a response is held to; with a mistake recorded it is not to be used."""
    percent = written.percent.text[:-1] if written.percent is not None else "0"
    if len(percent) > 12 or float(percent) > 100:
        mistakes.append(error("CKT305", written.span, f"{percent[:12]}% is not a percentage", "from 0% to 100%"))
        percent = "0"
    time = amounts.duration(written.amount) if written.amount is not None else 0
    said = written.amount.text if written.amount is not None else ""
    words = {
        "share": f"{percent}% within {said}",
        "missed": f"missed at most {percent}%",
    }.get(written.kind, f"{written.kind} at most {said}")
    return TimeBound(written.kind, float(percent) / 100, time or 0, words)


class PlaceReader:
    """Reads the places that stand in one scope, of one circuit."""

    def __init__(self, scope: Scope, circuit: Circuit, mistakes: list[Diagnostic]) -> None:
        self._scope = scope
        self._circuit = circuit
        self._mistakes = mistakes

    def place(self, line: tree.PlaceLine) -> Place | None:
        """The place, or None with a mistake recorded."""
        before = len(self._mistakes)
        paths = [self._path(item) for item in line.paths]
        known = tuple(path for path in paths if path is not None)
        if len(self._mistakes) > before:
            return None
        ends = {path.layers[-1]._replace(number=1) if path.layers else Layer(1, "air") for path in known}
        ends = {Layer(1, "air") if end.thing in ("glass", "dust", "aside", "leaf") else end for end in ends}
        if len(ends) > 1:
            ends_in = " and ".join(sorted(_words(item.layers[-1]) for item in line.paths if item.layers))
            message = f"the paths to '{line.name.text}' end in different blocks: {ends_in}"
            self._fail(line.name, message, "all of them end in the one block right above the cells")
            return None
        place = Place(self._scope.full(line.name.text), known, line.name.span)
        if len(place.parts) > MOST_PARTS:
            message = f"the light at '{line.name.text}' depends on {len(place.parts)} parts"
            self._mistakes.append(error("CKT305", line.name.span, message, f"on {MOST_PARTS} at most"))
            return None
        return place

    def _path(self, item: tree.LightPathItem) -> LightPath | None:
        source = item.source.text
        if source not in (SKY, STANDING_LIGHT):
            part = self._source(item.source)
            if part is None:
                return None
            if not self._circuit.by_name[part].light:
                message = f"'{source}' is {article(self._circuit.by_name[part].word)} and gives no light"
                self._fail(item.source, message, f"light comes from {SKY}, {STANDING_LIGHT}, lamps and torches")
                return None
            source = part
        layers = [self._layer(layer) for layer in item.layers]
        known = tuple(layer for layer in layers if layer is not None)
        words = ", ".join(_words(layer) for layer in item.layers)
        return LightPath(source, known, f"{item.source.text} through {words}" if words else item.source.text)

    def _layer(self, item: tree.LayerItem) -> Layer | None:
        thing = item.thing.text
        if thing not in THINGS:
            hint = did_you_mean(thing, THINGS) or f"light passes {', '.join(THINGS)}"
            self._fail(item.thing, f"no light passes '{thing}'", hint)
            return None
        digits = item.number.text if item.number is not None else "1"
        count = int(digits) if len(digits) < 4 else MOST_BLOCKS + 1
        if not 1 <= count <= MOST_BLOCKS and item.number is not None:
            message = f"{digits[:20]} blocks of {thing} are not a path of light"
            self._mistakes.append(error("CKT305", item.number.span, message, f"from 1 to {MOST_BLOCKS}"))
            return None
        if item.when is None:
            return Layer(count, thing)
        part = self._part(item.when)
        return (
            None if part is None else Layer(count, thing, Condition(part, item.only is None or item.only.text == "on"))
        )

    def _source(self, word: tree.Word) -> str | None:
        """The part that gives light; where there is none of that name, it is said what could."""
        before = len(self._mistakes)
        part = self._part(word)
        if part is None and len(self._mistakes) > before and self._mistakes[-1].code == "CKT201":
            said = self._mistakes.pop()
            hint = f"light comes from {SKY}, {STANDING_LIGHT}, and from lamps and torches by their names"
            near = said.hint if said.hint.startswith("did you mean") else ""
            self._mistakes.append(error("CKT201", word.span, said.message, near or hint))
        return part

    def _part(self, word: tree.Word) -> str | None:
        names = self._scope.signals(word, self._mistakes)
        if len(names) > 1:
            self._fail(word, f"'{word.text}' is {len(names)} parts, and one belongs here", "name one of them")
        return names[0] if len(names) == 1 and names[0] in self._circuit.by_name else None

    def _fail(self, word: tree.Word, message: str, hint: str) -> None:
        self._mistakes.append(error("CKT311", word.span, message, hint))


def _words(item: tree.LayerItem) -> str:
    count = f"{item.number.text} " if item.number is not None else ""
    when = f" when {item.when.text}" if item.when is not None else ""
    only = f" {item.only.text}" if item.only is not None else ""
    return f"{count}{item.thing.text}{when}{only}"
