"""In what a drawing differs from its circuit, in words: part by part, input by input, place by place."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from circuitcheck.checks.drawing.matching import paired
from circuitcheck.checks.drawing.wiring_graph import Wiring
from circuitcheck.diagnostics import article
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.drawing import said
from circuitcheck.model.duration import show
from circuitcheck.space.tracing import way

DURATIONS = frozenset({"delay", "pulse", "rearm", "travel"})
"""The settings that are reported with their unit."""


class Telling:
    """Finds words for what differs, with parts paired as well as can be."""

    def __init__(self, circuit: Circuit, drawn: Circuit, mine: Wiring, theirs: Wiring) -> None:
        self._circuit = circuit
        self._drawn = drawn
        self._mine = mine
        self._theirs = theirs
        self._pairs = paired(mine, theirs)

    def all(self) -> Iterator[str]:
        """Every difference: parts that are on one side only, settings, and what feeds what."""
        back = {theirs: mine for mine, theirs in self._pairs.items()}
        for name, label in self._mine.labels.items():
            if name not in self._pairs and not self._mine.is_ear(name):
                yield f"the circuit's {label[0]} '{name}' is not in the drawing"
        for name, label in self._theirs.labels.items():
            if name not in back and not self._theirs.is_ear(name):
                yield f"the drawing has {article(str(label[0]))} that the circuit has not: {self._there(name)}"
        for name, other in self._pairs.items():
            yield from self._settings(name, other)
        for name, other in self._pairs.items():
            yield from self._feeds(name, other, back)

    def _there(self, name: str) -> str:
        """A part of the drawing, with its place."""
        place = self._drawn.where.get(name)
        return f"'{name}'" + (f" at {said(place)}" if place else "")

    def _settings(self, name: str, other: str) -> Iterator[str]:
        (_, mine, straight), (_, theirs, straight_there) = self._mine.labels[name][:3], self._theirs.labels[other][:3]
        assert isinstance(mine, tuple)
        assert isinstance(theirs, tuple)
        for (field, value), (_, value_there) in zip(mine, theirs, strict=True):
            if value != value_there:
                there = f"{_value(field, value_there)} in the drawing: {self._there(other)}"
                yield f"{field} of '{name}' is {_value(field, value)} in the circuit, and {there}"
        if straight is not straight_there:
            where = "the drawing" if straight_there else "the circuit"
            yield (
                f"'{name}' points straight into a repeater or comparator in {where} only: {self._there(other)}; "
                "it acts in another order then (C3)"
            )

    def _feeds(self, name: str, other: str, back: Mapping[str, str]) -> Iterator[str]:
        mine = self._mine.inputs[name]
        if self._mine.is_ear(name):
            yield from self._heard(name, other, back)
            return
        theirs = {(port, back.get(source, source)): lost for (port, source), lost in self._theirs.inputs[other].items()}
        for port, source in sorted(theirs.keys() - mine.keys()):
            yield self._one_more(name, other, port, self._pairs.get(source, source))
        for port, source in sorted(mine.keys() - theirs.keys()):
            if self._mine.is_ear(source):
                heard = f"'{name}' hears {_together(self._mine.behind(source))} as one change"
                yield f"in the circuit {heard}, in the drawing it does not: {self._there(other)}"
                continue
            there = self._pairs.get(source)
            what = f"'{source}'" if there is None else self._there(there)
            into = f"'{source}' goes into {_input(port)} of '{name}'"
            yield f"in the circuit {into}, in the drawing it does not: {what} and {self._there(other)}"
        for key in sorted(mine.keys() & theirs.keys()):
            if mine[key] != theirs[key]:
                here, there = (" and ".join(map(str, lost)) for lost in (mine[key], theirs[key]))
                yield (
                    f"from '{key[1]}' to {_input(key[0])} of '{name}', {here} levels are lost in the circuit and "
                    f"{there} in the drawing: {self._there(other)}"
                )

    def _heard(self, name: str, other: str, back: Mapping[str, str]) -> Iterator[str]:
        """What differs between things that are heard as one on either side."""
        mine = {source: lost for (_, source), lost in self._mine.inputs[name].items()}
        theirs = {back.get(source, source): lost for (_, source), lost in self._theirs.inputs[other].items()}
        if mine.keys() != theirs.keys():
            here, there = (_together(sorted(each)) for each in (mine, theirs))
            yield f"in the circuit {here} are heard as one change, in the drawing {there}"
        elif mine != theirs:
            yield f"of {_together(sorted(mine))}, heard as one change, another is the stronger in the drawing"

    def _one_more(self, name: str, other: str, port: str, source: str) -> str:
        """Where power comes in that the circuit lacks, and by way of what."""
        if self._theirs.is_ear(source):
            heard = f"hears {_together(self._theirs.behind(source))} as one change"
            return f"in the drawing {self._there(other)} {heard}, in the circuit '{name}' does not"
        into = f"{_input(port)} of '{name}'"
        said_of = f"in the drawing {self._there(source)} goes into {into} too: {self._there(other)}"
        drawing, where = self._drawn.drawing, self._drawn.where
        if drawing is None or source not in where or other not in where:
            return said_of
        places = way(drawing, self._drawn.rules, where[source], where[other])
        if len(places) > 2 and places[1] in drawing.things:
            return f"{said_of}, by way of the {drawing.things[places[1]].word} at {said(places[1])}"
        return said_of


def _together(names: Sequence[str]) -> str:
    return " and ".join(f"'{name}'" for name in names)


def _value(field: str, value: object) -> str:
    """A setting in words; durations with their unit."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if field == "becomes":
        return "other changes of its own"
    return show(value) if isinstance(value, int) and field in DURATIONS else str(value)


def _input(port: str) -> str:
    return {"block": "the block", "back": "the back", "side": "a side", "power": "the power"}.get(
        port, f"what is {port}"
    )
