"""How long it takes from the beginning of a phase of the day to an edge of a signal: the whole distribution.

The machine starts as the file says, at the beginning of a day, and is followed to the phase and on through it. So the
figures are those of the first such phase; what later days make of it, only consecutive days show (`days.walk`).
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from circuitcheck.chance.days.calendar import Calendar, Window
from circuitcheck.chance.days.shares import half_width
from circuitcheck.chance.days.walk import is_so
from circuitcheck.chance.first_edge.figures import Distribution
from circuitcheck.chance.first_edge.flow import Flow, Seen, Stretch, spans
from circuitcheck.chance.first_edge.reasons import why_never
from circuitcheck.chance.first_edge.sampled import sampled
from circuitcheck.chance.machine.alike import NotAlike
from circuitcheck.chance.machine.burning import could_burn_out
from circuitcheck.chance.machine.chain import MOST_WALKED, Chain
from circuitcheck.chance.machine.joint import TooLarge
from circuitcheck.chance.machine.moving_chain import chain_of
from circuitcheck.diagnostics import NOWHERE
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.claims import Atom
from circuitcheck.model.light import DUE_UNTIL
from circuitcheck.model.parts.cells import cells_of
from circuitcheck.model.unsure import also, collected

ALL_BUT = 1e-9
"""Where a signal is so already but for less than this, it is taken to be so: what is left would be noise."""


ROUNDING = 1e-15
"""What adding up so many small numbers may lose."""
COARSE = ((1e-4, 1e-5), (1e-6, 1e-7))
"""Which turns of a passage are too rare, and which states too faint, where a response may be late by far: the first
pair leaves out a few thousandths, for a tenth of the time."""


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
    """By how much the chances of what is in question may be wrong: at most; of an approximation, in 95 of 100 cases."""
    open: float
    """The probability that an order is open on the way (rule C5): by as much other builds may differ."""
    already_off: float
    """By how much `already` may be wrong, in the same way."""
    states: int = 0
    days: int = 0
    """From how many days it was sampled, if it is an approximation."""
    in_question: int = 0
    """On how many of those it was not so already."""
    rough: str = ""
    """Why it is an approximation, if it is."""
    burning: tuple[str, ...] = ()
    """The torches that could burn out (rule T4), up to which the figures hold."""
    never: tuple[str, ...] = ()
    """Why the edge never comes, if it never does."""

    @property
    def exact(self) -> bool:
        """Whether every change of every cell at every gt was taken into account."""
        return not self.rough

    @property
    def until(self) -> str:
        """The phase by whose end it has been missed."""
        return DUE_UNTIL[self.phase]


_KEPT: deque[tuple[Circuit, tuple[str, Atom, str], Response, frozenset[str]]] = deque(maxlen=8)
"""Circuits, what was asked of them, the answer, and the rules that are not certain and that it came to."""


def respond(circuit: Circuit, phase: str, edge: Atom, case: str = "fair") -> Response:
    """The time from a phase's beginning to an edge. Raises NoSensor, ManyStarts, TooManyStarts and TooLarge.

    The last few are kept: a page shows what its verdicts were made of.
    """
    key = (phase, edge._replace(span=NOWHERE), case)
    for kept, asked, known, relied in _KEPT:
        if kept is circuit and asked == key:
            also(relied)
            return known
    with collected() as came_to:
        found = _worked_out(circuit, phase, edge, case)
    _KEPT.append((circuit, key, found, frozenset(came_to)))
    return found


def coarsely(circuit: Circuit, phase: str, edge: Atom, case: str = "fair") -> Iterator[Response]:
    """The same, more coarsely, each time more closely; what was left out is said. Raises what `respond` does."""
    asked = _asked(circuit, phase, edge, case)
    chain = chain_of(circuit, (edge.name,), whole=False)
    for rare, faint in COARSE:
        yield _followed_to(chain, asked, rare, faint)


def _worked_out(circuit: Circuit, phase: str, edge: Atom, case: str) -> Response:
    asked = _asked(circuit, phase, edge, case)
    try:
        chain, found = _followed(circuit, asked, exchanges=True)
    except NotAlike:
        chain, found = _followed(circuit, asked, exchanges=False)
    if found.exact and not found.distribution.comes and found.already < 1.0:
        found = found._replace(never=tuple(why_never(circuit, asked.calendar, asked.window, edge)))
    burning = tuple(could_burn_out(chain, circuit.rules.burn_out_window))
    return found._replace(states=len(chain.states), burning=burning)


def _asked(circuit: Circuit, phase: str, edge: Atom, case: str) -> _Asked:
    if not any(cells_of(circuit.parts)):
        raise NoSensor
    calendar = Calendar(circuit.cycle, 1, case)
    return _Asked(calendar, phase, edge, next(calendar.windows(phase)), next(calendar.wrong(phase)))


def _followed(circuit: Circuit, asked: _Asked, exchanges: bool) -> tuple[Chain, Response]:
    """The response and the chain that it was found with: exact, or where that is too large, sampled."""
    watched = (asked.edge.name,)
    chain = chain_of(circuit, watched, whole=False, exchanges=exchanges)
    try:
        return chain, _exactly(chain, asked)
    except TooLarge as large:
        chain = chain_of(circuit, watched, MOST_WALKED, whole=False, exchanges=exchanges)
        return chain, _sampled(chain, asked)._replace(rough=str(large))


class _Asked(NamedTuple):
    calendar: Calendar
    phase: str
    edge: Atom
    window: Window
    wrong: Window


def _exactly(chain: Chain, asked: _Asked) -> Response:
    """Followed so closely that little is left out, and more closely than that where it costs little. Raises TooLarge.

    A machine in which things move has passages of thousands of turns; to follow all turns ten times as closely takes
    several times as long. That is done at last for one that nearly was followed closely enough.
    """
    most, closest = chain.closeness.most_left_out, chain.closeness.closest
    found, too_large = _more_and_more_closely(chain, asked)
    if closest is not None and most < found.left_out <= closest.most_left_out:
        chain.give_room(closest)
        found, too_large = _followed_to(chain, asked, closest.rare, closest.faint), None
    if found.left_out > most:
        raise too_large or TooLarge("too little of its probability is in question to be followed closely")
    return found


def _more_and_more_closely(chain: Chain, asked: _Asked) -> tuple[Response, TooLarge | None]:
    """The response as closely as it was followed, and what kept it from being followed more closely, if that did.

    Raises TooLarge where it can't be followed at all.
    """
    closeness, closest = chain.closeness, chain.closeness.closest
    coarsest, *closer = closeness.rare
    found = _followed_to(chain, asked, coarsest)
    for rare in closer:
        if len(chain.states) > closeness.few_states:
            if found.left_out <= closeness.most_left_out:
                break
            if closest is not None and closest.at_once < found.left_out <= closest.most_left_out:
                break
        try:
            found = _followed_to(chain, asked, rare)
        except TooLarge as too_large:
            return found, too_large
    if found.left_out > closeness.most_left_out and len(chain.states) <= closeness.few_states:
        # Where nearly all is so already, what is faint is much of the little that is in question.
        found = _followed_to(chain, asked, closeness.rare[-1], closeness.faintest)
    return found, None


def _followed_to(chain: Chain, asked: _Asked, rare: float, faint: float | None = None) -> Response:
    """The response without the turns of passages that are rarer than this, and states fainter than that."""
    calendar, edge, window, wrong = asked.calendar, asked.edge, asked.window, asked.wrong
    flow = Flow(chain, edge, rare, chain.closeness.faint if faint is None else faint)
    before, alarms, seen = Seen(), Seen(), Seen()
    # What is a false alarm comes before what is due: the opposite phase lies in the day, or the night, before.
    flow.over(_between(chain, calendar, 0, wrong.begin), False, before)
    flow.over(_between(chain, calendar, wrong.begin, wrong.end), False, alarms)
    flow.over(_between(chain, calendar, wrong.end, window.begin), False, before)
    already = flow.take_out(lambda state: is_so(chain.levels[edge.name][state], edge))
    flow.over(_between(chain, calendar, window.begin, window.end), True, seen)
    parts = (before, alarms, seen)
    left_out = sum(each.left_out for each in parts) + ROUNDING
    left = 1.0 - already
    # What was left out is missing from what is so already: as little as that can't be reported from nothing.
    if left <= max(ALL_BUT, 2.0 * left_out):
        already, left = 1.0, 1.0
    chances = {now - window.begin + 1: chance / left for now, chance in seen.edges.items()} if already < 1.0 else {}
    return Response(
        phase=asked.phase,
        edge=edge,
        distribution=Distribution(chances, window.end - window.begin),
        already=already,
        false_alarms=sum(alarms.edges.values()),
        left_out=left_out / left,
        open=min(sum(each.open for each in parts) / left, 1.0),
        already_off=left_out,
    )


def _sampled(chain: Chain, asked: _Asked) -> Response:
    sample = sampled(chain, asked.calendar, asked.phase, asked.edge, asked.window, asked.wrong)
    in_question = sample.days - sample.already
    chances = {wait: days / max(in_question, 1) for wait, days in sample.waits.items()}
    return Response(
        phase=asked.phase,
        edge=asked.edge,
        distribution=Distribution(chances, asked.window.end - asked.window.begin),
        already=sample.already / sample.days,
        false_alarms=sample.false_alarms / sample.days,
        left_out=half_width(max(in_question, 1)),
        open=sample.open / sample.days,
        already_off=half_width(sample.days),
        days=sample.days,
        in_question=in_question,
    )


def _between(chain: Chain, calendar: Calendar, begin: int, end: int) -> Sequence[Stretch]:
    return list(spans(chain, list(_stretches(calendar, begin, end))))


def _stretches(calendar: Calendar, begin: int, end: int) -> Iterator[tuple[int, int, int | None]]:
    for phase in calendar.phases:
        if phase.begin < end and phase.end > begin:
            yield max(phase.begin, begin), min(phase.end, end), phase.sky
