"""From pieces and nets to an arrangement in rows of whole numbers, and back to pieces that stand in a box."""

from __future__ import annotations

from collections.abc import Sequence

from circuitcheck.model.drawing import At
from circuitcheck.placing.grid import LEVER
from circuitcheck.placing.pieces.arranging import STANDS, Arrangement
from circuitcheck.placing.pieces.ground import Rows, Standing
from circuitcheck.placing.pieces.made_pieces import Piece, Spot
from circuitcheck.placing.pieces.nets import Net
from circuitcheck.placing.problem import Problem

End = tuple[int, list[Spot], bool]
"""Where a net comes to a piece or goes from it: its number, where that is in each of the stands, whether it goes."""


class Plan:
    """A circuit in pieces: what is to be arranged."""

    def __init__(self, problem: Problem, nets: Sequence[Net], pieces: Sequence[Piece], by_hand: bool) -> None:
        self.problem, self.nets, self.by_hand = problem, nets, by_hand
        self.pieces = [[piece.turned(turn) for turn in range(4)] for piece in pieces]
        self.net_of = {source: number for number, net in enumerate(nets) for source in net.sources}
        self.nets_at: dict[int, list[int]] = {}
        for number, net in enumerate(nets):
            for port in net.ports:
                self.nets_at.setdefault(port, []).append(number)

    def at_pins(self, stand: int) -> dict[int, list[int]]:
        """The nets that lead to each port, in the order of its pins, of a piece that stands so."""
        return {port: nets[:: -1 if stand >= 4 else 1] for port, nets in self.nets_at.items()}

    def ends(self, piece: int) -> list[End]:
        """All ends of nets at a piece."""
        found: list[End] = []
        turns = self.pieces[piece]
        for part in turns[0].taps:
            if part in self.net_of:
                found.append((self.net_of[part], [turns[stand % 4].parts[part][0] for stand in range(STANDS)], True))
        for port in turns[0].pins:
            for net in self.nets_at[port]:
                places = [turns[stand % 4].pins[port][self.at_pins(stand)[port].index(net)] for stand in range(STANDS)]
                found.append((net, places, False))
        return found

    def arrangement(self, low: Spot, high: Spot, numbers: Sequence[int], rows: Rows) -> Arrangement:
        """All pieces at one place in the middle, with the bounds and the other numbers that an arrangement has."""
        middle = [(one + other) // 2 for one, other in zip(low, high, strict=True)]
        at = [each for _ in self.pieces for each in (*middle, 0)]
        lows: list[int] = []
        highs: list[int] = []
        tall: list[int] = []
        ends: list[int] = [0]
        end_net: list[int] = []
        end_at: list[int] = []
        of_net: list[list[tuple[int, int]]] = [[] for _ in self.nets]
        for number, turns in enumerate(self.pieces):
            for stand in range(STANDS):
                least, greatest = turns[stand % 4].core
                lows += least
                highs += greatest
            levers = self.by_hand and any(self.problem.codes[part] == LEVER for part in turns[0].parts)
            tall.append(99 if levers else 0)
            for net, places, source in self.ends(number):
                of_net[net].append((number, len(end_net) if source else -1 - len(end_net)))
                end_net.append(net)
                end_at += [each for place in places for each in place]
            ends.append(len(end_net))
        first = [0]
        for each in of_net:
            first.append(first[-1] + len(each))
        return Arrangement(
            rows(at),
            rows(lows),
            rows(highs),
            rows(tall),
            rows(ends),
            rows(end_net or [0]),
            rows(end_at or [0]),
            rows(first),
            rows([piece for each in of_net for piece, _ in each] or [0]),
            rows([end for each in of_net for _, end in each] or [0]),
            rows([*low, *high, *numbers]),
        )

    def standing_at(self, stands: Sequence[tuple[int, int, int, int]], size: At) -> Standing:
        """The pieces in a box, each at a layer, row and column, in one of its stands."""
        pieces, order = [], {}
        for number, turns in enumerate(self.pieces):
            layer, row, column, stand = stands[number]
            piece = turns[stand % 4]
            pieces.append((piece, (layer, row, column)))
            at_pins = self.at_pins(stand)
            order.update({port: at_pins[port] for port in piece.pins})
        return Standing(self.problem, size, pieces, self.net_of, order, self.by_hand)

    def way_said(self, sources: Sequence[int], ports: Sequence[int]) -> str:
        """What leads from some parts to some inputs, in words."""
        names = self.problem.names
        readers = ", ".join(f"'{names[self.problem.ports[port].part]}'" for port in ports)
        return f"from {self._from(sources)} to {readers}"

    def _from(self, sources: Sequence[int]) -> str:
        """What a net comes from, in words."""
        return " and ".join(f"'{self.problem.names[source]}'" for source in sources)

    def said(self, net: int, end: int) -> str:
        """What lacks if a net does not come to one of its ends, in words."""
        names, sources = self.problem.names, self._from(self.nets[net].sources)
        if end < 0:
            return f"what '{names[-1 - end]}' gives does not come to the dust of {sources}"
        port = self.problem.ports[end]
        if port.part < 0:
            return f"no dust gives out what {sources} gives"
        return f"'{names[port.part]}' lacks what {sources} gives"
