"""Whether a drawing is the circuit: the same parts, fed by the same, whatever they are called.

Two circuits are the same if their wiring graphs are isomorphic: a node is a part that behaves, with its kind and its
settings; an edge says into which input one part gives, and how many levels are lost on the way where that can be felt.
Dust and blocks are in no node, since they only carry, but for those that the circuit gives out. Inputs and lamps
that both call the same are held to their names.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator, Mapping

from circuitcheck.checks.drawing.differences import Telling
from circuitcheck.checks.drawing.lighting import light_differences, light_told
from circuitcheck.checks.drawing.matching import TooMuchAlike, isomorphism
from circuitcheck.checks.drawing.wiring_graph import Wiring, given_out, wiring
from circuitcheck.checks.outcome import Outcome, Verdict
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.claims import Study
from circuitcheck.model.drawing import At, said
from circuitcheck.space.circuit import read

TITLE = "the drawing is the circuit"
MOST_TOLD = 12
"""How many differences are reported."""
MOST_SOUGHT = 40_000
"""How many dusts, times the things of the drawing, are taken away in turn to find one that is too many."""


def judged(study: Study) -> tuple[Outcome, ...]:
    """The verdict on whether a study's circuit is as it is drawn; none where it is not drawn as well."""
    drawn = study.drawn
    if drawn is None or drawn.drawing is None:
        return ()
    try:
        told = differences(study.circuit, drawn)
    except TooMuchAlike:
        detail = (
            "so many of its parts look alike that they can't be compared within bounds: give more of them their names"
        )
        return (Outcome(TITLE, drawn.drawing.span, Verdict.UNDECIDED, detail=detail),)
    verdict = Verdict.FAILS if told else Verdict.HOLDS
    if len(told) > MOST_TOLD:
        told = [*told[:MOST_TOLD], f"and {len(told) - MOST_TOLD} more"]
    return (Outcome(TITLE, drawn.drawing.span, verdict, differences=tuple(told)),)


def differences(circuit: Circuit, drawn: Circuit) -> list[str]:
    """In what a drawing is not the circuit, part by part and place by place; empty where it is."""
    shown = given_out(circuit)
    lacking = [name for name in shown if name not in drawn.by_name]
    if lacking:
        return [f"the circuit gives out '{name}': give that dust its name in the drawing" for name in lacking]
    mine, theirs = _both(circuit, drawn)
    # Of cells that are wired alike, those that stand in like light are paired.
    lit = (mine.told_apart(light_told(circuit)), theirs.told_apart(light_told(drawn)))
    pairs = _pairs(*lit) or _pairs(mine, theirs)
    if pairs is None:
        return [*_one_too_many(circuit, drawn), *Telling(circuit, drawn, mine, theirs).all()]
    # Dust and blocks that light depends on are no parts of the wiring: they are what they are called.
    same = {name: name for name in drawn.by_name if name not in pairs.values() and _is_wiring(circuit, name)}
    return [*_starts(circuit, drawn, pairs), *light_differences(circuit, drawn, {**same, **pairs})]


def _is_wiring(circuit: Circuit, name: str) -> bool:
    return name in circuit.by_name and not circuit.by_name[name].behaves


def _both(circuit: Circuit, drawn: Circuit) -> tuple[Wiring, Wiring]:
    """The wirings of both, with what they are held to by name."""
    shown, held = given_out(circuit), _held_to_names(circuit, drawn)
    theirs = wiring(drawn, shown)
    if any(part.arms_itself for part in circuit.parts):
        from circuitcheck.checks.drawing.own_blocks import with_own_blocks  # few texts have such a detector

        theirs = with_own_blocks(drawn, theirs, frozenset(shown))
    return wiring(circuit, shown).named(held), theirs.named(held)


def matched(circuit: Circuit, drawn: Circuit) -> dict[str, str] | None:
    """For each part of a circuit the drawn one that it is; None where the drawing is not the circuit."""
    for one, two, pairs in _MATCHED:
        if one is circuit and two is drawn:
            return pairs
    found = None
    if all(name in drawn.by_name for name in given_out(circuit)):
        try:
            found = _pairs(*_both(circuit, drawn))
        except TooMuchAlike:
            found = None
    _MATCHED.append((circuit, drawn, found))
    return found


def started(circuit: Circuit | None, drawn: Circuit) -> Circuit:
    """What is drawn of a circuit, if it is of one, with the starts that this declares: by matching, else by name."""
    if circuit is None:
        return drawn
    pairs = matched(circuit, drawn) or {name: name for name in circuit.by_name}
    declared = ((there, circuit.by_name[here].start) for here, there in pairs.items() if here in circuit.by_name)
    return drawn.starting({name: start for name, start in declared if start is not None})


_MATCHED: deque[tuple[Circuit, Circuit, dict[str, str] | None]] = deque(maxlen=8)


def places(circuit: Circuit, drawn: Circuit | None) -> Mapping[str, At]:
    """Where the parts of a circuit stand, by its own names: in itself if it is drawn, or in the drawing that it is."""
    if drawn is None:
        return circuit.where
    pairs = matched(circuit, drawn) or {}
    return {name: drawn.where[there] for name, there in pairs.items() if there in drawn.where}


def _pairs(mine: Wiring, theirs: Wiring) -> dict[str, str] | None:
    """For each part of the circuit the drawn one that it is; None where they are not the same."""
    return {name: name for name in mine.labels} if mine == theirs else isomorphism(mine, theirs)


def _one_too_many(circuit: Circuit, drawn: Circuit) -> Iterator[str]:
    """The one dust without which the drawing would be the circuit, if there is; of a large one none is sought."""
    drawing = drawn.drawing
    assert drawing is not None
    dust = [place for place, thing in drawing.things.items() if thing.is_dust]
    for place in dust if len(dust) * len(drawing.things) <= MOST_SOUGHT else ():
        left = read(drawing.without(place), drawn.rules)
        named = all(name in left.circuit.by_name for name in given_out(circuit))
        if not left.mistakes and named and _pairs(*_both(circuit, left.circuit)) is not None:
            yield f"without the dust at {said(place)} the drawing would be the circuit"
            return


def _held_to_names(circuit: Circuit, drawn: Circuit) -> frozenset[str]:
    """What people work and look at, where both call it the same: there a name is no matter of taste."""
    return frozenset(
        part.name
        for part in circuit.parts
        if (part.verbs or part.indicates) and getattr(drawn.by_name.get(part.name), "word", "") == part.word
    )


def _starts(circuit: Circuit, drawn: Circuit, pairs: Mapping[str, str]) -> Iterator[str]:
    """Parts that are said to start one way in the circuit and another in the drawing."""
    for name, other in pairs.items():
        one, two = circuit.by_name.get(name), drawn.by_name.get(other)
        mine, theirs = (None if each is None else each.start for each in (one, two))
        if mine is not None and theirs is not None and mine != theirs:
            where = f" ({said(drawn.where[other])})" if other in drawn.where else ""
            yield f"'{name}' starts at {mine} in the circuit, and at {theirs} in the drawing{where}"
