"""Which devices of a machine that moves may have a say in some signals, as far as its wirings were looked at."""

from __future__ import annotations

from collections.abc import Iterable

from circuitcheck.engine.motion import Motion
from circuitcheck.engine.program import Program
from circuitcheck.space import wirings as space
from circuitcheck.space.configuration import Configuration


class Say:
    """Who reads or hears whom, in all wirings that were shown: home, one stroke of each piston, and what is learned.

    Pistons and water always count as asked for: which of them can change a wiring is found out by running.
    """

    def __init__(self, program: Program, motion: Motion, signals: Iterable[str]) -> None:
        self.upstream: frozenset[str] = frozenset()
        """The names of all devices that may have a say."""
        self.read_anew: set[str] = set()
        """Those that someone reads or hears elsewhere than at home: more may matter of them than that they change."""
        self._sources: dict[str, set[str]] = {}
        for name, inputs in motion.wirings.home.home.items():
            self._take(name, inputs)
        for port, owner in enumerate(program.wiring.port_device):
            names = {program.names[source] for source, _ in program.feeds[port]}
            self._sources.setdefault(program.names[owner], set()).update(names)
        probed = {program.names[source] for name in signals for source, _ in program.probe(name)}
        moving = {program.names[each.index] for each in program.devices if each.strokes or each.flows}
        self._asked_for = sorted(probed | moving)
        for stroke in motion.strokes.one_at_a_time():
            for now in (stroke.under_way, stroke.landed):
                self._take_all(motion.wirings.wiring(now))
        self._follow()

    def learn(self, motion: Motion, now: Configuration) -> bool:
        """Takes in the wiring of one more configuration; whether that says anything new."""
        before = len(self.read_anew)
        self._take_all(motion.wirings.wiring(now))
        return self._follow() or len(self.read_anew) > before

    def _take_all(self, wiring: space.Wiring | space.TooMany) -> None:
        if isinstance(wiring, space.TooMany):
            return  # the run that comes to it is refused
        for name, inputs in wiring.changed.items():
            self._take(name, inputs)
            self.read_anew |= space.read_anew(wiring.home[name], inputs)

    def _take(self, name: str, inputs: space.Inputs) -> None:
        drivers = (*(each for _, each in inputs.ports), *inputs.hears)
        self._sources.setdefault(name, set()).update(source for each in drivers for source, _ in each)

    def _follow(self) -> bool:
        """Follows who has a say back from what is asked for; whether there are more than before."""
        found = dict.fromkeys(self._asked_for)
        queue = list(found)
        for name in queue:
            for source in sorted(self._sources.get(name, ())):
                if source not in found:
                    found[source] = None
                    queue.append(source)
        before, self.upstream = self.upstream, frozenset(found)
        return self.upstream != before
