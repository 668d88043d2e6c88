"""Which parts power a place, and what is lost on the way (rules P2 to P5), by a search of its own."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from circuitcheck.model.circuit import Circuit
from circuitcheck.model.parts.base import Conducts, Part, Port

FULL = 15
"""The level that a source gives; a way that loses as much carries nothing (rule P2)."""

Ways = Mapping[str, int]
"""What is lost on the way from each part that feeds a place, by the part's name."""
_End = tuple[str, str]


class PowerWays:
    """The ways of power in a circuit.

    The first and the last dust of a line are two places. What a place has reaches its neighbours one dust on with one
    less, and this is repeated until nothing gets better.
    """

    def __init__(self, circuit: Circuit) -> None:
        self._parts = circuit.by_name
        self._ends: dict[_End, dict[str, int]] = {}
        lines = [part for part in self._parts.values() if part.conducts is Conducts.LINE]
        steps: dict[_End, list[tuple[_End, int]]] = {}
        for line in lines:
            first, last = (line.name, "first"), (line.name, "last")
            self._ends[first], self._ends[last] = dict(self._into_dust(line.powers)), {}
            steps.setdefault(first, []).append((last, line.dust - 1))
            steps.setdefault(last, []).append((first, line.dust - 1))
            for source in line.powers:
                if self._parts[source].conducts is Conducts.LINE:
                    steps.setdefault((source, "last"), []).append((first, 1))
                    steps.setdefault(first, []).append(((source, "last"), 1))
        changed = [end for end, ways in self._ends.items() if ways]
        while changed:
            here = changed.pop()
            for there, dust in steps.get(here, ()):
                if _better(self._ends[there], {name: loss + dust for name, loss in self._ends[here].items()}):
                    changed.append(there)

    def of_port(self, port: Port) -> Ways:
        """What feeds an input of a part."""
        return self.watched(port.sources) if port.watches else self.powering(port.sources)

    def powering(self, names: Iterable[str]) -> Ways:
        """The power that these give together."""
        return _together(self._given(name) for name in names)

    def watched(self, names: Iterable[str]) -> Ways:
        """The states that these show: dust its level, anything else whether it is on."""
        dust = (Conducts.LINE, Conducts.RUN)
        return _together(self._given(name) if self._parts[name].conducts in dust else {name: 0} for name in names)

    def seen(self, name: str) -> Ways:
        """The level that a person reads at a part."""
        part = self._parts[name]
        return self.powering((name,)) if _is_block(part) and not part.behaves else self.watched((name,))

    def _given(self, name: str) -> Ways:
        part = self._parts[name]
        if part.conducts is Conducts.LINE:
            return self._ends[name, "last"]
        if part.conducts is Conducts.RUN:
            return _together([part.losses])
        if _is_block(part):
            return self.powering(each for each in part.powers if not _is_block(self._parts[each]))
        return {name: 0}

    def _into_dust(self, names: Iterable[str]) -> Ways:
        """What these give to dust: dust is reached along its line, and a block only passes on what is no dust."""
        found: dict[str, int] = {}
        for name in names:
            part = self._parts[name]
            if part.conducts in (Conducts.LINE, Conducts.RUN):
                continue
            if _is_block(part):
                _better(found, self._into_dust(each for each in part.powers if not _is_block(self._parts[each])))
            else:
                _better(found, {name: 0})
        return found


def _is_block(part: Part) -> bool:
    return part.conducts is Conducts.BLOCK


def _together(several: Iterable[Ways]) -> dict[str, int]:
    found: dict[str, int] = {}
    for ways in several:
        _better(found, ways)
    return found


def _better(found: dict[str, int], ways: Ways) -> bool:
    """Takes over what loses less; whether anything does."""
    better = {name: loss for name, loss in ways.items() if loss < found.get(name, FULL)}
    found.update(better)
    return bool(better)
