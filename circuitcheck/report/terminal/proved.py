"""What exploring came to, for people: how far it went, under what, until when, and the counterexample as a check."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from circuitcheck.checks.outcome import GOOD, Outcome, Verdict
from circuitcheck.checks.proof import BurnOut, Proof
from circuitcheck.model.claims import Claim, ForEver, Possible, Unraced
from circuitcheck.model.duration import show
from circuitcheck.prove.facts import Ticking
from circuitcheck.report import writing
from circuitcheck.report.lines import Line, Piece, Style, line, safe, wrapped
from circuitcheck.report.terminal.chains import Chains
from circuitcheck.report.terminal.verdict_lines import outcome_lines

INDENT = " " * 11
LEANINGS = {False: "needed for", True: "not needed for", None: "not decided without it"}
MOST_NAMED = 6
"""How many claims are named at most that an assumption matters for."""
FACTS = {Verdict.PROVED: ("yes", Style.PLAIN), Verdict.UNDECIDED: ("open", Style.DOUBT)}
"""What is said of what was not asked for; whatever else comes of it is a no."""


def proved_lines(outcome: Outcome, claim: Claim, width: int, chains: Chains) -> Iterator[Line]:
    """One claim: its verdict, and what it rests on; causes that were reported for another claim are not repeated."""
    yield from outcome_lines(outcome, width, chains)
    proof = outcome.proof
    if proof is None:
        return
    if outcome.verdict is not Verdict.UNDECIDED:
        yield from wrapped(_covered(proof, outcome), width, INDENT)
    if outcome.verdict in GOOD and outcome.verdict is not Verdict.FAILS_AS_SAID:
        yield from _brought_about(proof, width)
        yield from _under(proof, width)
        for burn_out in proof.burn_outs[:1]:
            yield from wrapped(_until(burn_out, len(proof.burn_outs)), width, INDENT)
        if proof.burn_outs_open:
            names = ", ".join(f"'{safe(name)}'" for name in proof.burn_outs_open[:4])
            text = f"until a torch burns out (T4), if one can: for {names} it was not decided within the budget"
            yield from wrapped(text, width, INDENT)
    elif proof.trace or outcome.failure is not None:
        yield from _under(proof, width)
        yield from _ready(outcome, claim, proof, width)


def _ready(outcome: Outcome, claim: Claim, proof: Proof, width: int) -> Iterator[Line]:
    """The trace that breaks a claim as a check."""
    failure = outcome.failure
    until = failure.at if failure is not None else proof.trace[-1].at
    levels: list[tuple[str, int]] = []
    if failure is not None and isinstance(claim.body, Unraced):
        levels = [(name, failure.recording.level_of(name, until)) for name in claim.body.names]
    shows = isinstance(claim.body, Possible | ForEver) or outcome.verdict is Verdict.UNDECIDED
    yield line()
    yield from wrapped("to see it go there" if shows else "to keep it as a check", width, "    ")
    yield line("    paste this into the file:")
    for row in writing.check(claim, proof.trace, until, levels):
        yield line("      ", safe(row))
    yield line()


def _covered(proof: Proof, outcome: Outcome) -> str:
    if proof.solver:
        how = _by_solver(proof) if proof.complete else "a shortest trace"
        seen = f"{proof.states:,} states, and then {proof.solver}: {how}"
        if proof.parts:
            seen += f", of {proof.parts} part{'' if proof.parts == 1 else 's'}, whatever feeds them"
    elif proof.complete:
        seen = f"all {proof.states:,} states, the farthest {show(proof.depth)} away"
    elif proof.shortest:
        seen = f"{proof.states:,} states, the nearest ones first: there is no shorter trace"
    else:
        seen = f"{proof.states:,} states of a search with few changes of inputs: with more, a trace may be shorter"
    return f"{seen}; {proof.seconds:.1f} s"


def _by_solver(proof: Proof) -> str:
    """By which means a solver proved it."""
    if proof.rounds:
        most = "1 round" if proof.rounds == 1 else f"{proof.rounds} rounds"
        return f"an invariant of {proof.clauses} clauses that bounds the wait to {most}"
    if proof.clauses:
        return f"an invariant of {proof.clauses} clauses"
    return f"by induction over {show(proof.depth)}" if proof.depth else "it rests within the pace after each change"


def _brought_about(proof: Proof, width: int) -> Iterator[Line]:
    """Of what is always possible: how soon, the trace after which it takes longest, and what brings it about then."""
    if proof.within:
        yield from wrapped(f"in {show(proof.within)} at the latest, whatever order is unknown", width, INDENT)
        there = f"it takes longest after: {safe(writing.trace(proof.trace))}"
        back = f"then: {safe(writing.trace(proof.back, proof.back_from))}"
        yield from wrapped(f"{there}; {back}", width, INDENT)


def _under(proof: Proof, width: int) -> Iterator[Line]:
    for words in proof.assumptions:
        yield from wrapped(f"under: {safe(words)}", width, INDENT)


def leaning_lines(outcomes: Sequence[Outcome], width: int) -> Iterator[Line]:
    """Of each assumption, which proofs need it, as far as that was looked into."""
    found: dict[str, dict[bool | None, list[str]]] = {}
    for outcome in outcomes:
        for each in outcome.proof.leanings if outcome.proof is not None else ():
            found.setdefault(each.words, {}).setdefault(each.holds_without, []).append(outcome.title)
    left = sum(_not_looked_into(outcome) for outcome in outcomes)
    if not found and not left:
        return
    yield line()
    yield line("  what the proofs depend on")
    for words, titles in found.items():
        yield from wrapped(safe(words), width, "    ")
        for holds_without in (False, True, None):
            if holds_without in titles:
                text = f"{LEANINGS[holds_without]}: {_named(titles[holds_without])}"
                yield from wrapped(text, width, "      ", "        ")
    if left:
        text = f"of {left:,} proofs the budget did not last to look into that"
        yield from wrapped(text, width, "    ", style=Style.FAINT)


def _not_looked_into(outcome: Outcome) -> bool:
    proof = outcome.proof
    proved = outcome.verdict in (Verdict.PROVED, Verdict.HOLDS_IF)
    return proved and proof is not None and bool(proof.assumptions) and not proof.leanings


def _named(titles: Sequence[str]) -> str:
    named = ", ".join(f'"{safe(title)}"' for title in titles[:MOST_NAMED])
    return f"{named} and {len(titles) - MOST_NAMED:,} more" if len(titles) > MOST_NAMED else named


def _until(burn_out: BurnOut, count: int) -> str:
    others = {1: "", 2: ", or one more,"}.get(count, f", or one of {count - 1} more,")
    return (
        f"until the torch '{safe(burn_out.torch)}'{others} burns out (T4): inputs can switch it off 8 times "
        f"within {show(burn_out.span)}, soonest by {show(burn_out.at)}: {safe(writing.trace(burn_out.acts))}"
    )


def fact_lines(outcomes: Iterable[Outcome], ticking: Ticking, width: int) -> Iterator[Line]:
    """What can always be brought about, and what still ticks when nobody touches the circuit."""
    yield line()
    yield line("  not claimed, but worth knowing")
    for outcome in outcomes:
        proof = outcome.proof
        label, style = FACTS.get(outcome.verdict, ("no", Style.DOUBT))
        rows = wrapped(safe(outcome.title), width - 11, "", INDENT)
        yield line("  ", Piece(f"{label:<9}", style), *rows[0])
        yield from rows[1:]
        if proof is None:
            continue
        if outcome.verdict is Verdict.UNDECIDED:
            yield from wrapped(safe(outcome.detail), width, INDENT)
        elif outcome.verdict is not Verdict.PROVED:
            yield from wrapped(
                f"it may not be possible any more after: {safe(writing.trace(proof.trace))}", width, INDENT
            )
        else:
            yield from _brought_about(proof, width)
    yield from _ticking(ticking, width)
    yield line()


def _ticking(ticking: Ticking, width: int) -> Iterator[Line]:
    if ticking.period is None:
        text = "what it does without inputs depends on an unknown order or start, or does not repeat"
    elif ticking.parts:
        shown = ", ".join(f"'{safe(name)}'" for name in ticking.parts[:8])
        more = f" and {len(ticking.parts) - 8} more" if len(ticking.parts) > 8 else ""
        text = f"without inputs, {shown}{more} keep changing, every {show(ticking.period)} the same"
    else:
        text = "without inputs, nothing changes"
    yield line("  ", Piece(f"{'note':<9}", Style.FAINT), *wrapped(text, width - 11, "", INDENT)[0])
    yield from wrapped(text, width - 11, "", INDENT)[1:]
