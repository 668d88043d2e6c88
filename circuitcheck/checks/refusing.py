"""Runs that ended at a mistake of their drawing: where, what led there, and the finding of it (rules M8, Z7)."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from circuitcheck.checks.finding import Finding, Refusal
from circuitcheck.checks.findings import as_author_says
from circuitcheck.checks.outcome import Outcome, StudyResult
from circuitcheck.checks.run import Run, replay
from circuitcheck.model.claims import Act, Study
from circuitcheck.model.drawing import said
from circuitcheck.model.duration import show

MOST_ACTS = 6
"""How many of the latest actions are named in words."""
AT_HOME = "V5"
"""The finding of the same mistake in the first stroke of a piston, made out without a run."""


def refusal_of(run: Run) -> Refusal | None:
    """Where a run ended at a mistake of its drawing; None if it did not."""
    refused = run.refused
    if refused is None:
        return None
    acts = tuple(act for act in run.check.acts if act.at <= run.followed)
    return Refusal(
        refused.rule,
        refused.name,
        refused.at,
        refused.why,
        run.followed,
        run.check.title,
        acts,
        _last_stroke(run),
        refused.hint,
    )


def _last_stroke(run: Run) -> str:
    for track in run.tracks[:1]:
        recording = replay(run, track, run.followed)
        for change in reversed(recording.changes):
            if change.stroke is not None:
                rule, words = change.stroke
                return f"'{run.program.names[change.device]}' starts to move at {show(change.at)}, {words} ({rule})"
    return ""


def with_refusals(study: Study, result: StudyResult) -> StudyResult:
    """The result of a study with a finding for each mistake of the drawing that ended a run."""
    found = list(_findings(study, result.outcomes))
    if not found:
        return result
    parts = {each.part for each in found}
    others = [each for each in result.findings if each.rule != AT_HOME or each.part not in parts]
    return replace(result, findings=as_author_says(study, (*others, *found)))


def _findings(study: Study, outcomes: Iterable[Outcome]) -> Iterator[Finding]:
    seen: set[tuple[str, str]] = set()
    drawing = study.circuit.drawing
    for outcome in outcomes:
        refusal = outcome.refusal
        if refusal is None or (refusal.rule, refusal.part) in seen or drawing is None:
            continue
        seen.add((refusal.rule, refusal.part))
        part = study.circuit.by_name.get(refusal.part)
        span = drawing.spans.get(refusal.place) or (drawing.span if part is None else part.span)
        message = f'{refusal.why}: "{refusal.title}" ends there, at {show(refusal.at)}{_trace(refusal)}'
        yield Finding(
            refusal.rule,
            refusal.part,
            span,
            message,
            refusal.hint,
            where=said(refusal.place),
            refusal=refusal,
        )


def _trace(refusal: Refusal) -> str:
    """What led there: what was done last from outside, and the last stroke."""
    done = [*(["…"] if len(refusal.acts) > MOST_ACTS else []), *map(_act, refusal.acts[-MOST_ACTS:])]
    led = [*done, *([refusal.stroke] if refusal.stroke else [])]
    return f"; what led there: {'; '.join(led)}" if led else ""


def _act(act: Act) -> str:
    return f"'{act.name}' {act.verb} at {show(act.at)}"
