"""How long it takes from the beginning of a phase of the day to an edge of a signal: the whole distribution.

The machine starts as the file says, at the beginning of a day, and is followed to the phase and on through it. So the
figures are those of the first such phase; what later days make of it, only days on end show (`chance.walk`).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from circuitcheck.chance.calendar import Calendar, Window
from circuitcheck.chance.chain import MOST_WALKED, Chain
from circuitcheck.chance.figures import Distribution
from circuitcheck.chance.flow import Flow, Seen, Span, spans
from circuitcheck.chance.joint import TooLarge
from circuitcheck.chance.reasons import why_never
from circuitcheck.chance.sampled import sampled
from circuitcheck.chance.shares import half_width
from circuitcheck.chance.walk import is_so
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.claims import Atom
from circuitcheck.model.light import DUE_UNTIL

ALL_BUT = 1e-9
"""Where a signal is so already but for less than this, it is taken to be so: what is left would be noise."""


ROUNDING = 1e-15
"""What adding up so many small numbers may lose."""


class NoSensor(Exception):
    """There is nothing in the circuit that chance could change."""


class Response(NamedTuple):
    """What it comes to. Times in gt, counted from the phase's beginning."""

    phase: str
    edge: Atom
    distribution: Distribution
    """Of those that are not so already."""
    already: float
    """The chance that the signal is so already when the phase begins."""
    false_alarms: float
    """How many edges are to be expected in the opposite phase before."""
    left_out: float
    """By how much the chances above may be wrong: at most; of an approximation, in 95 of 100 cases."""
    states: int
    days: int = 0
    """From how many days it was sampled, if it is an approximation."""
    rough: str = ""
    """Why it is an approximation, if it is."""
    never: tuple[str, ...] = ()
    """Why the edge never comes, if it never does."""
    open_orders: int = 0
    """In how many states an order was open (rule C5), and the first was taken."""

    @property
    def exact(self) -> bool:
        """Whether every change of every cell at every gt was taken into account."""
        return not self.rough

    @property
    def until(self) -> str:
        """The phase by whose end it has been missed."""
        return DUE_UNTIL[self.phase]


def respond(circuit: Circuit, phase: str, edge: Atom) -> Response:
    """The time from a phase's beginning to an edge. Raises NoSensor, ManyStarts and TooManyStarts."""
    chain = Chain(circuit, (edge.name,))
    if not chain.draws.cells:
        raise NoSensor
    calendar = Calendar(circuit.cycle, 1)
    window = next(calendar.windows(phase))
    wrong = next(calendar.wrong(phase))
    try:
        found = _exactly(chain, calendar, phase, edge, window, wrong)
    except TooLarge as large:
        chain = Chain(circuit, (edge.name,), MOST_WALKED)
        found = _sampled(chain, calendar, phase, edge, window, wrong)._replace(rough=str(large))
    if found.exact and not found.distribution.comes and found.already < 1.0:
        found = found._replace(never=tuple(why_never(circuit, calendar, window)))
    return found._replace(open_orders=len(chain.open_orders), states=len(chain.states))


def _exactly(chain: Chain, calendar: Calendar, phase: str, edge: Atom, window: Window, wrong: Window) -> Response:
    flow = Flow(chain, edge)
    before, alarms, seen = Seen(), Seen(), Seen()
    # What is a false alarm comes before what is due: the opposite phase lies in the day, or the night, before.
    flow.over(_between(chain, calendar, 0, wrong.begin), False, before)
    flow.over(_between(chain, calendar, wrong.begin, wrong.end), False, alarms)
    flow.over(_between(chain, calendar, wrong.end, window.begin), False, before)
    already = flow.take_out(lambda state: is_so(chain.level(state, edge.name), edge))
    flow.over(_between(chain, calendar, window.begin, window.end), True, seen)
    left = 1.0 - already
    if left <= ALL_BUT:
        already, left = 1.0, 1.0
    chances = {now - window.begin + 1: chance / left for now, chance in seen.edges.items()} if already < 1.0 else {}
    return Response(
        phase,
        edge,
        Distribution(chances, window.end - window.begin),
        already,
        sum(alarms.edges.values()),
        (before.left_out + alarms.left_out + seen.left_out + chain.draws.neglected * window.end + ROUNDING) / left,
        0,
    )


def _sampled(chain: Chain, calendar: Calendar, phase: str, edge: Atom, window: Window, wrong: Window) -> Response:
    sample = sampled(chain, calendar, phase, edge, window, wrong)
    asked = sample.days - sample.already
    chances = {wait: days / asked for wait, days in sample.waits.items()}
    return Response(
        phase,
        edge,
        Distribution(chances, window.end - window.begin),
        sample.already / sample.days,
        sample.false_alarms / sample.days,
        half_width(sample.days),
        0,
        sample.days,
    )


def _between(chain: Chain, calendar: Calendar, begin: int, end: int) -> Sequence[Span]:
    return list(spans(chain, list(_stretches(calendar, begin, end))))


def _stretches(calendar: Calendar, begin: int, end: int) -> Iterator[tuple[int, int, int | None]]:
    for phase in calendar.phases:
        if phase.begin < end and phase.end > begin:
            yield max(phase.begin, begin), min(phase.end, end), phase.sky
