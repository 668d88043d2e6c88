"""From a claim about a response to its verdict."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from circuitcheck.chance.days.calendar import Calendar
from circuitcheck.chance.first_edge.response import NoSensor, Response, coarsely, respond
from circuitcheck.chance.machine.joint import TooLarge
from circuitcheck.checks.outcome import Outcome, Verdict
from circuitcheck.checks.sensing import changes, hindrance, rows
from circuitcheck.engine.start import OpenStart
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.claims import ABRUPT, Atom, Claim, Test, TimeBound, Timely
from circuitcheck.model.duration import in_seconds
from circuitcheck.model.unsure import reached

TINY = 1e-8
"""A chance below this is reported as less than it."""
UNTOLD = 1e-4
"""Where more than this was left out, as in a sample, a small chance is reported as it was found."""


def in_time(claim: Claim, circuit: Circuit) -> Outcome:
    """The verdict on a claim about a response."""
    body = claim.body
    assert isinstance(body, Timely)
    _uncertain_light(circuit)
    circuit, case = _on_days(body, circuit)
    try:
        found = respond(circuit, body.phase, body.edge, case)
    except OpenStart as many:
        return Outcome(claim.title, claim.span, Verdict.UNDECIDED, detail=str(many))
    except TooLarge as large:
        return Outcome(claim.title, claim.span, Verdict.UNDECIDED, detail=f"too large even to be sampled: {large}")
    except NoSensor:
        return Outcome(claim.title, claim.span, Verdict.NOT_MET, detail="nothing here changes at random")
    return judged(claim, body, found, circuit)


def surely_late(claim: Claim, circuit: Circuit) -> bool:
    """Whether a claim about a response fails by so much that following it coarsely shows it; False if it may not fail.

    Only where nothing moves: the chain of a machine that moves takes as long either way.
    """
    body = claim.body
    if not isinstance(body, Timely) or claim.fails_because or circuit.things_move:
        return False
    circuit, case = _on_days(body, circuit)
    try:
        for found in coarsely(circuit, body.phase, body.edge, case):
            held = [_held(bound, found) for bound in body.bounds] if found.already < 1.0 else []
            if False in held or None not in held:
                return False in held
    except (OpenStart, TooLarge, NoSensor):
        pass
    return False


def _on_days(body: Timely, circuit: Circuit) -> tuple[Circuit, str]:
    """A circuit with the days that a claim is about, and which case of these it is."""
    if body.days == ABRUPT:
        return replace(circuit, cycle=circuit.cycle.at_once()), "fair"
    return circuit, body.days or "fair"


def _uncertain_light(circuit: Circuit) -> None:
    """Says that what cells do may depend on what is not certain of light and water, where it does.

    That is which flowing water lets a cell below it fade (rule Z9), and what light does past a thing in motion (M4).
    """
    drawing = circuit.drawing
    if drawing is None or not drawing.has_pistons:
        return
    from circuitcheck.space.water_light import fades_below_flow  # what moves is imported only where something does

    fading = [circuit.where[part.name] for part in circuit.parts if part.cell is not None and part.cell.fades]
    if fades_below_flow(drawing, circuit.rules, fading):
        reached(circuit.rules, "flow_fades")
    from circuitcheck.space.pushed_light import moved

    blocks = {each.part for apart in (True, False) for each in moved(drawing, circuit, apart)}
    if any(not blocks.isdisjoint(place.parts) for place in circuit.places):
        reached(circuit.rules, "lit_in_motion")


def judged(claim: Claim, body: Timely, found: Response, circuit: Circuit) -> Outcome:
    """The verdict on a claim, from what its response comes to."""
    if found.already == 1.0:
        verdict = Verdict.NOT_MET if found.exact else Verdict.UNDECIDED
        detail = "; ".join([f"{so_already(body.edge)} when {body.phase} begins", *_doubts(found)])
        return Outcome(claim.title, claim.span, verdict, detail=detail)
    held = [(bound, _held(bound, found), measured(bound, found)) for bound in body.bounds]
    broken = [
        f"{words}, not {bound.words.removeprefix(bound.kind).strip()}" for bound, so, words in held if so is False
    ]
    doubt = list(_doubts(found))
    # One bound that is surely broken decides, whatever the others come to.
    if not broken and any(so is None for _, so, _ in held):
        open_orders = f", and in {percent(found.open)} an order is open (C5)" if found.open else ""
        doubt.append(f"too close to tell: {off(found)}{open_orders}")
    detail = "; ".join(broken or [", ".join(words for _, _, words in held)])
    if found.already:
        detail += f"; {so_already(body.edge)} when {body.phase} begins in {already_share(found)}"
    if found.burning:
        detail += f"; as long as {' and '.join(map(repr, found.burning))} does not burn out (T4)"
    if found.never:
        detail = f"never: {'; '.join(found.never)}"
    if doubt:
        return Outcome(claim.title, claim.span, Verdict.UNDECIDED, detail=f"{detail}; {'; '.join(doubt)}")
    outcome = Outcome(claim.title, claim.span, Verdict.FAILS if broken else Verdict.HOLDS, detail=detail)
    return _against_word(outcome, claim.fails_because, found, circuit) if claim.fails_because else outcome


def _held(bound: TimeBound, found: Response) -> bool | None:
    """Whether a bound is kept; None where what was left out could turn it."""
    distribution, more, less = found.distribution, found.left_out + found.open, found.open
    if bound.kind == "missed":
        least, most = distribution.missed - more, distribution.missed + less
        return True if most <= bound.share else False if least > bound.share else None
    if bound.kind == "mean":
        mean, comes = distribution.mean, distribution.comes
        if mean is None:
            return None if more > UNTOLD else False
        # What was left out may come at once, or at the very end.
        earliest, latest = ((mean * comes + more * time) / (comes + more) for time in (1, distribution.until))
        return True if latest <= bound.time else False if earliest > bound.time else None
    wanted = 0.5 if bound.kind == "median" else bound.share
    within = distribution.within(bound.time)
    return True if within - less >= wanted else False if within + more < wanted else None


def measured(bound: TimeBound, found: Response) -> str:
    """What a bound is about, as it was found."""
    distribution = found.distribution
    if bound.kind == "missed":
        return f"missed {share(distribution.missed, found.left_out)}"
    if bound.kind == "mean":
        mean = distribution.mean
        return "no mean, as it never comes" if mean is None else f"mean {in_seconds(mean)}"
    if bound.kind == "median":
        reached = distribution.quantile(0.5)
        return "median never" if reached is None else f"median {in_seconds(reached)}"
    within = f"{percent(distribution.within(bound.time))} within {in_seconds(bound.time)}"
    reached = distribution.quantile(bound.share)
    if reached is not None and reached <= bound.time:
        return within
    return f"{within} ({bound.share * 100:g}% {'never' if reached is None else f'only within {in_seconds(reached)}'})"


def so_already(edge: Atom) -> str:
    """That a signal is already what an edge would make it, in words."""
    return f"'{edge.name}' is {'off' if edge.test is Test.FALLS else 'on'} already"


def already_share(found: Response) -> str:
    """In how many of all cases it is so already; of a sample on how many days, and by how much that may be off."""
    if not found.rough:
        return f"{share(found.already, found.already_off)} of all cases"
    days = found.days - found.in_question
    return f"{days:,} of {found.days:,} days, {percent(found.already)} give or take {percent(found.already_off)}"


def off(found: Response) -> str:
    """By how much the shares of what is in question may be off, and why."""
    if not found.rough:
        return f"{percent(found.left_out)} of the cases in question were left out"
    days = "1 day" if found.in_question == 1 else f"{found.in_question:,} days"
    return f"{days} of {found.days:,} were in question, and shares of those may be off by {percent(found.left_out)}"


def share(chance: float, left_out: float) -> str:
    """A chance in percent; one that is no more than what was left out is said to be less than that."""
    if 0.0 < chance <= left_out + TINY and left_out < UNTOLD:
        return f"less than {percent(max(left_out, TINY))}"
    return percent(chance)


def percent(chance: float) -> str:
    """A chance in percent, to two figures that matter; never rounded to none or all."""
    if chance <= 0.0:
        return "0%"
    if chance < TINY:
        return f"less than {TINY * 100:.6f}%"
    if chance > 1.0 - TINY:
        return "100%" if chance >= 1.0 else f"more than {100 - TINY * 100:.6f}%"
    small = min(chance, 1.0 - chance) * 100
    places = 1 if small >= 10 else 2
    while small < 10 ** (1 - places) and places < 8:
        places += 1
    return f"{chance * 100:.{places}f}".rstrip("0").rstrip(".") + "%"


def _doubts(found: Response) -> Iterator[str]:
    if found.rough:
        yield f"an approximation only: {found.rough}"


def _against_word(outcome: Outcome, rule: str, found: Response, circuit: Circuit) -> Outcome:
    """What a claim that must fail comes to: the rule it names must be at work in its cells."""
    if outcome.verdict is Verdict.HOLDS:
        return replace(outcome, verdict=Verdict.HOLDS_AGAINST_WORD, detail=f"the file says it fails because of {rule}")
    at_work = _at_work(found, circuit)
    if rule in at_work:
        return replace(outcome, verdict=Verdict.FAILS_AS_SAID, detail=f"because of {rule}")
    detail = f"{outcome.detail}; the file says because of {rule}; rules that apply here: {', '.join(sorted(at_work))}"
    return replace(outcome, verdict=Verdict.FAILS_OTHERWISE, detail=detail)


def _at_work(found: Response, circuit: Circuit) -> set[str]:
    """The rules by which cells can change while it is due; where none can, those of light that keep them from it."""
    window = next(Calendar(circuit.cycle, 1).windows(found.phase))
    skies = Calendar(circuit.cycle, 1).skies(window)
    rules: set[str] = set()
    for cells in rows(circuit).values():
        for change in changes(circuit, cells):
            hindered = hindrance(circuit, cells[0], change, skies)
            if not hindered.words:
                rules |= {"X1", "X4", change.rule} | ({"X5"} if change.sources else set())
            else:
                rules |= {change.rule, *hindered.rules}
    return rules
