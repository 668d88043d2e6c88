"""All netlists of some kinds: their bits as variables, which of them count, and their runs, as clauses."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Mapping, Set

from circuitcheck.designing.frame import Frame
from circuitcheck.designing.netlist import DELAYS, REPEATER, Kind, Netlist, Words
from circuitcheck.designing.open_system import Bit, OpenSystem
from circuitcheck.designing.unrolled import SHIFTED, Asked, Stimulus, Unrolling
from circuitcheck.prove.symbolic.formula import Formula


class OpenNetlists:
    """The netlists of some kinds that a file may have, and what is asked of them, for any solver."""

    def __init__(self, frame: Frame, words: Words, asked: Asked) -> None:
        """Raises Uncertified, and CantDesign where the file has a mistake with such parts."""
        self.words = words
        self.read = tuple(line.name for line in frame.read)
        self.named = frozenset(frame.named)
        self.own = tuple(name for name in words if name not in self.named)
        """The parts that the file has no name for."""
        lamps = [line.name for line in frame.read if line.word == "lamp"]
        joined = [line.name for line in frame.read if line.word != "lamp"]
        system = OpenSystem(frame.everything(words), words, lamps, joined)
        self._unrolling = Unrolling(system, asked)
        formula = Formula()
        every = (*system.bits, *((SHIFTED, shift) for shift in asked.shifts))
        self.bits: dict[Bit, int] = {bit: formula.fresh() for bit in every}
        """The variable of each bit; it is the same in every formula."""
        self.shifts = {shift: self.bits[SHIFTED, shift] for shift in asked.shifts}
        """The variable of each shift."""

    def sensible(self) -> Formula:
        """Which netlists count: not those that one of fewer parts stands for, or with parts that power only each other.

        A torch that powers itself stays: while something else holds it off it rests, and let go for a while it ticks.
        None of this names a part apart from its kind, so what is excluded under it is so under other names as well.
        """
        formula = Formula()
        for variable in self.bits.values():
            assert formula.fresh() == variable, "bits have one number everywhere"
        add, bits = formula.add, self.bits
        for name in (*self.words, *self.read):
            add(*(bit for (reader, source), bit in bits.items() if reader == name and isinstance(source, str)))
        choices = [[bits[name, delay] for delay in DELAYS] for name, word in self.words.items() if word == REPEATER]
        for choice in (*choices, *([list(self.shifts.values())] if self.shifts else [])):
            add(*choice)
            for pair in itertools.combinations(choice, 2):
                add(*(-each for each in pair))
        for count in range(1, len(self.own) + 1):
            for some in map(frozenset, itertools.combinations(self.own, count)):
                add(*(bit for (reader, source), bit in bits.items() if source in some and reader not in some))
        return formula

    def run(self, stimulus: Stimulus) -> Formula:
        """Which of them may keep all that is asked in a run."""
        formula = self.sensible()
        self._unrolling.write(stimulus, formula, self.bits)
        return formula

    def too_slow(self, most: int) -> list[tuple[int, ...]]:
        """Clauses that leave only netlists whose delays are so many ticks together at most."""
        repeaters = [name for name, word in self.words.items() if word == REPEATER]
        torches = len(self.words) - len(repeaters)
        return [
            tuple(-self.bits[name, delay] for name, delay in zip(repeaters, delays, strict=True))
            for delays in itertools.product(DELAYS, repeat=len(repeaters))
            if torches + sum(delays) > most
        ]

    def renamings(self) -> list[dict[str, str]]:
        """Every way to exchange the names of like parts that the file has no names for."""
        kinds: dict[str, list[str]] = {}
        for name in self.own:
            kinds.setdefault(self.words[name], []).append(name)
        names = list(itertools.chain(*kinds.values()))
        orders = itertools.product(*map(itertools.permutations, kinds.values()))
        return [dict(zip(names, itertools.chain(*order), strict=True)) for order in orders]

    def renamed(self, names: Mapping[str, str]) -> dict[int, int]:
        """What each variable becomes as names are exchanged."""
        return {variable: self.bits[renamed_bit(bit, names)] for bit, variable in self.bits.items()}

    def behind(self, parts: Set[str], literals: Iterable[int], still: Set[str]) -> list[int]:
        """Those bits of a netlist that say what stands behind some parts, which are all those behind one.

        Whether inputs that are still power them does not count.
        Who reads a repeater counts too: whether it points straight says who is first.
        """
        directed = {name for name in parts if self.words[name] == REPEATER}
        bits = zip(self.bits, literals, strict=True)
        return [
            literal
            for (reader, source), literal in bits
            if (reader in parts and source not in still) or source in directed
        ]

    def literals(self, netlist: Netlist) -> list[int]:
        """All bits of a netlist, as literals of their variables. Raises KeyError for one of other parts."""
        has: set[Bit] = {(reader, source) for reader, sources in netlist.sources for source in sources}
        has |= {(name, kind.delay) for name, kind in netlist.kinds if kind.word == REPEATER}
        if not has <= set(self.bits):
            raise KeyError(netlist)
        return [variable if bit in has else -variable for bit, variable in self.bits.items()]

    def netlist(self, bits: Iterable[Bit]) -> Netlist:
        """The netlist that has just these bits."""
        delays: dict[str, int] = {}
        sources: dict[str, list[str]] = {name: [] for name in (*self.words, *self.read)}
        for name, source in bits:
            if isinstance(source, str):
                sources[name].append(source)
            else:
                delays[name] = source
        kinds = tuple((name, Kind(word, delays.get(name, 1))) for name, word in self.words.items())
        return Netlist(kinds, tuple((name, tuple(each)) for name, each in sources.items()))


def renamed_bit(bit: Bit, names: Mapping[str, str]) -> Bit:
    """What a bit becomes as names are exchanged."""
    reader, source = bit
    return names.get(reader, reader), names.get(source, source) if isinstance(source, str) else source


def moved(literal: int, renamed: Mapping[int, int]) -> int:
    """A literal of what a variable becomes."""
    return renamed[literal] if literal > 0 else -renamed[-literal]
