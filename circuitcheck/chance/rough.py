"""An approximation for machines that are too large to be worked out: the first change alone, then what comes of it.

It takes no notice of further cells that change before the machine has answered, and takes a change that is not answered
for the last. Whoever uses it says that it is an approximation.
"""

from __future__ import annotations

from collections.abc import Sequence

from circuitcheck.chance.chain import Chain
from circuitcheck.chance.flow import Span, edge_test
from circuitcheck.model.claims import Atom

LONGEST_ANSWER = 4_000
"""After how many gt an answer is no longer waited for."""


def roughly(chain: Chain, edge: Atom, spans: Sequence[Span]) -> dict[int, float]:
    """For each gt of some spans that follow each other, the chance that the edge is in it."""
    start = chain.start()
    found: dict[int, float] = {}
    left = 1.0
    until = spans[-1].end if spans else 0
    for span in spans:
        drawn = chain.chances(start, span.sky)
        leaving = sum(chance for chance, _ in drawn[1:])
        answers: dict[int, float] = {}
        for chance, changed in drawn[1:]:
            delay = _answer(chain, chain.drawn(start, changed), start, edge)
            if delay is not None:
                answers[delay] = answers.get(delay, 0.0) + chance / leaving
        for now in range(span.begin, span.end if leaving else span.begin):
            out = left * leaving
            left -= out
            for delay, share in answers.items():
                if now + delay < until:
                    found[now + delay] = found.get(now + delay, 0.0) + out * share
    return found


def _answer(chain: Chain, state: int, before: int, edge: Atom) -> int | None:
    """How many gt after a change the edge comes if nothing more changes; None if it does not."""
    meets = edge_test(chain, edge)
    for delay in range(LONGEST_ANSWER):
        if meets(before, state):
            return delay
        if chain.resting[state]:
            return None
        before, state = state, chain.waited(state)
    return None
