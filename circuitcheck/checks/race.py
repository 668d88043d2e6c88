"""Which order decided: the two parts behind a race, and a cure that was tried and holds.

The cure is sought in the circuit, not in the file as `curing` does: it belongs to every verdict, and may cost no more
than a few runs of one check, where reading the file again for each change would cost as much as the runs. What is tried
here is among what is tried there, in its words and with the same verdict; a test holds that.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from itertools import islice

from circuitcheck.checks.finding import Cure
from circuitcheck.engine.state import Order
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.duration import GAME_TICKS_PER_TICK, show
from circuitcheck.model.making import Options, made_one

MOST_CURES = 24
"""How many changes of the circuit are tried."""


def deciding(
    bad: Sequence[Order], can_hold: Callable[[Sequence[Order]], Sequence[Order] | None]
) -> tuple[Order, Order] | None:
    """The last choice on a failing trace after which all is lost: as made there, and as made on a way that holds.

    `can_hold` follows the choices it is given, explores the rest, and returns the choices of a way that holds, if any.
    """
    for made in range(len(bad) - 1, -1, -1):
        way = can_hold(bad[:made])
        if way is not None and len(way) > made:
            return bad[made], way[made]
    return None


def tied(mine: Order, other: Order) -> tuple[int, int] | None:
    """Two devices that stand in one order here and in the other there; those that act nearest to the front."""
    places = {device: place for place, device in enumerate(other.devices)}
    for position, first in enumerate(mine.devices):
        for second in mine.devices[position + 1 :]:
            if first in places and second in places and places[second] < places[first]:
                return first, second
    return None


def find_cure(
    circuit: Circuit, names: tuple[str, str], holding: Callable[[Circuit], frozenset[tuple[str, str]] | None]
) -> Cure | None:
    """Tries small changes near the two parts until one makes the check hold over every order.

    `holding` runs a circuit, and returns what its parts note of themselves, by part and rule; None if it does not hold.
    """
    for changed, words in islice(_changes(circuit, names), MOST_CURES):
        notes = holding(changed)
        if notes is not None:
            return Cure(words, notes)
    return None


def _changes(circuit: Circuit, names: tuple[str, str]) -> Iterator[tuple[Circuit, str]]:
    named = [name for name in names if name in circuit.by_name]  # a place of water is no part of a circuit
    for name in circuit.upstream(named):
        part = circuit.by_name[name]
        for each in part.adjustments():
            for delay in each.values if each.slows else ():
                if delay != each.chosen:
                    words = f"{part.word} '{name}' at {show(delay)} instead of {show(each.chosen)}"
                    yield circuit.with_part(part, part.adjusted(each, delay)), words
    for name in named:
        for delay in (GAME_TICKS_PER_TICK, 2 * GAME_TICKS_PER_TICK):
            words = f"a repeater of {show(delay)} behind '{name}', before all that it feeds"
            yield inserted(circuit, name, delay), words


def inserted(circuit: Circuit, name: str, delay: int) -> Circuit:
    """The circuit with a repeater between a part and all that it powers; what watches it is left alone."""
    between = f"{name}.cure"
    repeater = made_one("repeater", between, Options(sources={"from": (name,)}, numbers={"delay": delay}))
    parts = tuple(part.rewired(name, between) for part in circuit.parts)
    return replace(circuit, parts=(*parts, repeater))
