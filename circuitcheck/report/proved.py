"""What exploring came to, for people: how far it went, under what, until when, and a check of the way that breaks."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from circuitcheck.checks.outcome import GOOD, BurnOut, Outcome, Proof, Verdict
from circuitcheck.model.claims import Claim
from circuitcheck.model.duration import show
from circuitcheck.prove.facts import Ticking
from circuitcheck.report import writing
from circuitcheck.report.lines import Line, Piece, Style, line, safe, wrapped
from circuitcheck.report.terminal import outcome_lines

INDENT = " " * 11


def proved_lines(outcome: Outcome, claim: Claim, width: int) -> Iterator[Line]:
    """One claim: its verdict, and what it rests on."""
    yield from outcome_lines(outcome, width)
    proof = outcome.proof
    if proof is None:
        return
    yield from wrapped(_covered(proof, outcome), width, INDENT)
    if outcome.verdict in GOOD and outcome.verdict is not Verdict.FAILS_AS_SAID:
        yield from _under(proof, width)
        for burn_out in proof.burn_outs[:1]:
            yield from wrapped(_until(burn_out, len(proof.burn_outs)), width, INDENT)
        if proof.burn_outs_open:
            names = ", ".join(f"'{safe(name)}'" for name in proof.burn_outs_open[:4])
            text = f"until a torch burns out (T4), if one can: for {names} it was not decided within the budget"
            yield from wrapped(text, width, INDENT)
    elif proof.way or outcome.failure is not None:
        yield from _under(proof, width)
        yield line()
        yield line("    to keep it as a check, paste this into the file:")
        until = proof.way[-1].at if outcome.failure is None and proof.way else 0
        if outcome.failure is not None:
            until = outcome.failure.at
        for row in writing.check(claim, proof.way, until):
            yield line("      ", safe(row))
        yield line()


def _covered(proof: Proof, outcome: Outcome) -> str:
    if proof.solver:
        how = f"by induction over {show(proof.depth)}" if proof.complete else "a shortest way"
        seen = f"{proof.states:,} states, and then {proof.solver}: {how}"
    elif proof.complete:
        seen = f"all {proof.states:,} states, the farthest {show(proof.depth)} away"
    elif outcome.verdict is Verdict.UNDECIDED:
        seen = f"{proof.states:,} states up to {show(proof.depth)} away, and nothing broke it there"
    else:
        seen = f"{proof.states:,} states, the nearest ones first: there is no shorter way"
    return f"{seen}; {proof.seconds:.1f} s"


def _under(proof: Proof, width: int) -> Iterator[Line]:
    if not proof.assumptions:
        return
    said = {True: "  (it holds without as well)", False: "  (needed)", None: "  (not decided without)"}
    leanings = {each.words: said[each.holds_without] for each in proof.leanings}
    for words in proof.assumptions:
        yield from wrapped(f"under: {safe(words)}{leanings.get(words, '')}", width, INDENT)


def _until(burn_out: BurnOut, count: int) -> str:
    others = "" if count == 1 else f", or one of {count - 1} more,"
    return (
        f"until the torch '{safe(burn_out.torch)}'{others} burns out (T4): the world can switch it off 8 times "
        f"within {show(burn_out.span)}, soonest by {show(burn_out.at)}: {safe(writing.way(burn_out.acts))}"
    )


def fact_lines(outcomes: Iterable[Outcome], ticking: Ticking, width: int) -> Iterator[Line]:
    """What can always be brought about, and what still ticks when nobody touches the circuit."""
    yield line()
    yield line("  not asked for, and worth knowing")
    for outcome in outcomes:
        yield from outcome_lines(outcome, width)
        proof = outcome.proof
        if proof is None or outcome.verdict is not Verdict.PROVED:
            continue
        if proof.within:
            yield from wrapped(f"in {show(proof.within)} at the latest, whatever order is unknown", width, INDENT)
            there = f"it takes longest after: {safe(writing.way(proof.way))}"
            back = f"then: {safe(writing.way(proof.back))}"
            yield from wrapped(f"{there}; {back}", width, INDENT)
    yield from _ticking(ticking, width)
    yield line()


def _ticking(ticking: Ticking, width: int) -> Iterator[Line]:
    if ticking.period is None:
        text = "what it does when nobody touches it hangs on an unknown order or start, or does not repeat"
    elif ticking.parts:
        shown = ", ".join(f"'{safe(name)}'" for name in ticking.parts[:8])
        more = f" and {len(ticking.parts) - 8} more" if len(ticking.parts) > 8 else ""
        text = f"when nobody touches it, {shown}{more} keep changing, every {show(ticking.period)} the same"
    else:
        text = "when nobody touches it, nothing changes"
    yield line("  ", Piece(f"{'note':<9}", Style.FAINT), *wrapped(text, width - 11, "", INDENT)[0])
    yield from wrapped(text, width - 11, "", INDENT)[1:]
