"""What a claim about runs without end says, as one about finite runs: how many rounds go by while something is owed.

A run without end breaks such a claim if from some gt on something is owed for ever, while everything that the claim
takes to hold again and again does. A *round* is over when all of that has held again; where the claim takes nothing so,
each gt is one. Such a run goes through more rounds than any number while the same thing is owed, and so does one of its
beginnings. So a claim is true if there is a number that no run goes beyond, whichever it is: that is what is certified
(the counter of K. Claessen and N. Sörensson, "A liveness checking algorithm that counts", FMCAD 2012).
"""

from __future__ import annotations

from circuitcheck.certificate.claim_rules import breaks, holds
from circuitcheck.certificate.gates import YES
from circuitcheck.certificate.transition import Transition
from circuitcheck.certificate.uncertified import Uncertified
from circuitcheck.model.claims import Eventually, ForEver, Resting, Until

MOST = 600
"""The most rounds that may be counted."""
GONE = "or more rounds have gone"


def too_many_rounds(system: Transition, body: ForEver, most: int) -> int:
    """Adds the counter of a claim. Returns a literal of a state: more than so many rounds went by while it was owed.

    Of what is to hold until something comes, also: it did not. Raises Uncertified.
    """
    if not 1 <= most <= MOST:
        raise Uncertified(f"of a claim about runs without end 1 to {MOST} rounds are counted, and not {most}")
    gates = system.gates
    owed = system.held("something is owed")
    still = gates.both(_given(system, body) ^ 1, gates.any((owed, _asked(system, body))))
    if isinstance(body, Resting):  # it is owed only while nobody does anything
        still = gates.both(still, gates.any(part.driven for part in system.parts.values()) ^ 1)
    system.becomes(owed, still)
    over = gates.both(still, _round_over(system, body, still))
    row = [system.held(f"{number} {GONE}") for number in range(1, most + 1)]
    system.rows.append(row)
    for before, counted in zip([YES, *row], row, strict=False):
        system.becomes(counted, gates.both(still, gates.any((counted, gates.both(before, over)))))
    wrong = gates.both(row[-1], over)
    if isinstance(body, Eventually) and body.meanwhile is not None:
        wrong = gates.any((wrong, breaks(system, Until(body.trigger, body.meanwhile, body.goal))))
    ever = system.held("the claim has been broken")
    system.becomes(ever, gates.any((ever, wrong)))
    return ever


def _asked(system: Transition, body: ForEver) -> int:
    """Something is owed from this gt on."""
    return holds(system, body.trigger) if isinstance(body, Eventually) else YES


def _given(system: Transition, body: ForEver) -> int:
    """What is owed is given in this gt."""
    if isinstance(body, Resting):
        waiting = (system.becoming(part.waiting) for part in system.parts.values() if part.waits)
        return system.gates.any(waiting) ^ 1
    return holds(system, body.goal if isinstance(body, Eventually) else body.condition)


def _round_over(system: Transition, body: ForEver, still: int) -> int:
    """All has held, since the last round was over, that the claim takes to hold again and again."""
    gates = system.gates
    now = [] if isinstance(body, Resting) else [holds(system, each) for each in body.given]
    if len(now) < 2:
        return gates.all(now)
    seen = [system.held(f"{number} of what holds again and again has held") for number in range(1, len(now) + 1)]
    so_far = [gates.any(pair) for pair in zip(seen, now, strict=True)]
    over = gates.all(so_far)
    for each, has_held in zip(seen, so_far, strict=True):
        system.becomes(each, gates.all((still, over ^ 1, has_held)))
    return over
