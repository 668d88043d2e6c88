"""A repeater or comparator drawn the wrong way round: the turn is tried, by running the circuit with it turned."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple

from circuitcheck.checks.drawing.built import judged as compared
from circuitcheck.checks.finding import Finding
from circuitcheck.checks.findings import static_findings
from circuitcheck.checks.outcome import GOOD, Outcome, Verdict
from circuitcheck.diagnostics import NOWHERE, Diagnostic
from circuitcheck.engine.program import Program
from circuitcheck.model.claims import Study
from circuitcheck.model.drawing import At, Drawing, said
from circuitcheck.space.circuit import redrawn

IDLE = ("V1", "V2")
"""What is found of a part that faces away: it drives nothing, or nothing drives it."""
MOST_TURNED = 8
"""How many parts are turned to see what comes of it."""

Key = tuple[str, str]
"""The rule and the part of a finding."""


class Turned(NamedTuple):
    """What the turn of some parts showed: a finding for each of them, and those that are gone with the turn."""

    findings: tuple[Finding, ...]
    gone: frozenset[Key]


def turned_round(
    study: Study, static: Sequence[Finding], verdicts: Callable[[Study], Sequence[Outcome]]
) -> Iterator[Turned]:
    """The parts that only face the wrong way: turned round, nothing is idle about them, and all that is asked holds.

    `static` is what was found in the circuit as it stands; `verdicts` runs all that is asked of a study.
    """
    drawn = study.drawn or study.circuit
    if drawn.drawing is None:
        return
    at = {
        drawn.drawing.name(place): place for place, thing in drawn.drawing.things.items() if thing.block_type.directed
    }
    found = {(each.rule, each.part) for each in static}
    idle = dict.fromkeys(part for rule, part in sorted(found) if rule in IDLE and part in at)
    suspects = [at[name] for name in idle][:MOST_TURNED]
    if not suspects or (study.drawn is None and redrawn(drawn, drawn.drawing) != drawn):
        return  # a circuit with one thing changed, such as a fault put in, is not what is drawn
    singly = [[each] for each in suspects] if len(suspects) > 1 else []
    for places in (suspects, *singly):
        turned = _turned(study, drawn.drawing, places, found, verdicts)
        if turned is not None:
            yield turned
            if places is suspects:
                return


def _turned(
    study: Study,
    drawing: Drawing,
    places: Sequence[At],
    found: set[Key],
    verdicts: Callable[[Study], Sequence[Outcome]],
) -> Turned | None:
    """What comes of turning the parts at some places; None where that leaves them idle, or something does not hold."""
    again = redrawn(study.drawn or study.circuit, drawing.turned(places))
    if isinstance(again, Diagnostic):
        return None
    meant = study._replace(circuit=again) if study.drawn is None else study._replace(drawn=again)
    left = {(each.rule, each.part) for each in static_findings(meant, Program(meant.circuit))}
    names = [drawing.name(place) for place in places]
    if left - found or any((rule, name) in left for rule in IDLE for name in names):
        return None
    outcomes = verdicts(meant) if study.drawn is None else compared(meant)
    if any(each.verdict not in GOOD and each.verdict is not Verdict.NOT_MET for each in outcomes):
        return None
    asked = any(each.verdict in GOOD for each in outcomes)
    what = "it does" if not asked else "the circuit holds" if study.drawn is None else "the drawing is the circuit"
    gone = frozenset(key for key in found - left if key[0] in IDLE)
    return Turned(tuple(_finding(drawing, place, gone, what) for place in places), gone)


def _finding(drawing: Drawing, place: At, gone: frozenset[Key], what: str) -> Finding:
    name, word = drawing.name(place), drawing.things[place].word
    rule = next(rule for rule in reversed(IDLE) if (rule, name) in gone)
    message = f"the {word} '{name}' faces away from what it should feed; turned round, {what}"
    return Finding(rule, name, drawing.spans.get(place, NOWHERE), message, "turn it round", where=said(place))
