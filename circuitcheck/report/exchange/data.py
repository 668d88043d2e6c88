"""The report for machines: plain data in a versioned shape, ready for JSON."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from circuitcheck.about import PROGRAM, VERSION
from circuitcheck.certificate.folder_files import Listed
from circuitcheck.checks.drawing.drawn_box import DrawnBox
from circuitcheck.checks.finding import Finding, Flashing, FlashingSearch, Refusal
from circuitcheck.checks.outcome import Failure, Given, Outcome, Race, StudyResult
from circuitcheck.checks.proof import Proof
from circuitcheck.diagnostics import Diagnostic, Span
from circuitcheck.explain.cause import sentence
from circuitcheck.explain.noteworthy import noteworthy
from circuitcheck.model.claims import Act
from circuitcheck.report import wording
from circuitcheck.report.terminal.verdict_lines import finding_level
from circuitcheck.verify import Exit, FileReport, overall

SCHEMA_VERSION = 3


def document(reports: Sequence[FileReport], unchanged: Sequence[str] = (), code: Exit | None = None) -> dict[str, Any]:
    """The whole report, and which files were left out, as they passed before; `code` is the call's if not the files'.

    Times and durations are in gt, levels from 0 to 15.
    """
    return {
        **_head(),
        "exit": _exit(overall(reports) if code is None else code),
        "files": [_file(report) for report in reports],
        "unchanged": list(unchanged),
    }


def _exit(code: Exit) -> dict[str, Any]:
    return {"code": int(code), "meaning": code.name.lower()}


def _file(report: FileReport) -> dict[str, Any]:
    return {
        "path": report.path,
        "title": report.title,
        "language": report.language,
        "rules": report.rules,
        "result": report.exit.name.lower(),
        "diagnostics": [_diagnostic(each) for each in report.diagnostics],
        "circuits": [_study(result) for result in report.results],
        "findings": [_finding(each) for each in report.findings],
    }


def _place(span: Span) -> dict[str, Any]:
    return {"file": span.file, "line": span.line, "column": span.column, "end_column": span.end_column}


def _diagnostic(each: Diagnostic) -> dict[str, Any]:
    return {
        "code": each.code,
        "severity": "error",
        "place": _place(each.span),
        "message": each.message,
        "mend": each.hint,
    }


def _study(result: StudyResult) -> dict[str, Any]:
    return {
        "name": result.circuit,
        "label": result.label,
        "parts": result.parts,
        "stands_at": {name: list(place) for name, place in result.where.items()},
        "box": None if result.box is None else _box(result.box),
        "outcomes": [_outcome(each) for each in result.outcomes],
        "flashing": None if result.flashing is None else search_data(result.flashing),
    }


def _box(box: DrawnBox) -> dict[str, Any]:
    return {
        "layers": box.layers,
        "rows": box.rows,
        "columns": box.columns,
        "places": box.places,
        "least": box.least,
    }


def _outcome(each: Outcome) -> dict[str, Any]:
    return {
        "title": each.title,
        "verdict": each.verdict.name.lower(),
        "meaning": each.verdict.value,
        "place": _place(each.span),
        "detail": each.detail,
        "runs": each.runs,
        "starts": [{"part": name, "level": level} for name, level in each.starts],
        "failure": None if each.failure is None else _failure(each.failure, each.undetermined),
        "race": None if each.race is None else _race(each.race),
        "proof": None if each.proof is None else _proof(each.proof),
        "differences": list(each.differences),
        "given": [_given(given) for given in each.given],
    }


def _given(given: Given) -> dict[str, Any]:
    return {
        "rule": given.rule,
        "takes": given.takes,
        "tried": given.tried,
        "otherwise": None if given.otherwise is None else given.otherwise.name.lower(),
    }


def headed(path: str, data: Mapping[str, Any]) -> dict[str, Any]:
    """What a command found of one file, with the head that every report for machines has."""
    return {**_head(), "path": path, **data}


def _head() -> dict[str, Any]:
    return {"schema_version": SCHEMA_VERSION, "program": {"name": PROGRAM, "version": VERSION}}


def mistakes_data(diagnostics: Sequence[Diagnostic]) -> dict[str, Any]:
    """The mistakes of a file that a command could do nothing with."""
    return {"diagnostics": [_diagnostic(each) for each in diagnostics]}


def proof_data(claims: Sequence[Outcome], facts: Sequence[Outcome], flashing: FlashingSearch | None) -> dict[str, Any]:
    """What exploring one circuit came to: its claims, what flashes by itself, and what else was not asked for."""
    return {
        "claims": [_outcome(each) for each in claims],
        "flashing": None if flashing is None else search_data(flashing),
        "facts": [_outcome(each) for each in facts],
    }


def certificate_data(listing: Listed, folder: str) -> dict[str, Any]:
    """What a certificate has of each claim: its folder in that of the certificate, or why it has none."""
    claims = [{"words": each.words, "kind": each.kind, "folder": each.folder or None, "why": each.why or None,
               "rounds": each.rounds or None} for each in listing.entries]  # fmt: skip
    return {"folder": folder, "claims": claims}


def _proof(proof: Proof) -> dict[str, Any]:
    return {
        "states": proof.states,
        "depth": proof.depth,
        "complete": proof.complete,
        "limit": proof.limit,
        "hints": list(proof.hints),
        "solver": proof.solver,
        "clauses": proof.clauses,
        "shortest": proof.shortest,
        "parts": proof.parts,
        "unbroken_to": proof.unbroken_to,
        "no_round_to": proof.no_round_to,
        "rounds_sought": proof.rounds_sought,
        "clauses_kept": proof.clauses_kept,
        "clauses_sought": proof.clauses_sought,
        "rounds": proof.rounds,
        "assumptions": list(proof.assumptions),
        "leanings": [{"assumption": each.words, "holds_without": each.holds_without} for each in proof.leanings],
        "within": proof.within,
        "seconds": round(proof.seconds, 3),
        "burn_outs_open": list(proof.burn_outs_open),
        "way": _trace(proof.trace),
        "back": _trace(proof.back),
        "back_from": proof.back_from,
        "round": None if proof.round is None else {"from": proof.round[0], "length": proof.round[1]},
        "burn_outs": [
            {"torch": each.torch, "span": each.span, "at": each.at, "way": _trace(each.acts)}
            for each in proof.burn_outs
        ],
    }


def _trace(acts: Sequence[Act]) -> list[dict[str, Any]]:
    return [{"at": act.at, "part": act.name, "verb": act.verb, "level": act.level} for act in acts]


def _failure(failure: Failure, undetermined: bool) -> dict[str, Any]:
    causes = noteworthy(failure, undetermined).causes
    return {
        "at": failure.at,
        "place": _place(failure.broken.span),
        "check": None if failure.check is None else failure.check.title,
        "expected": wording.expected(failure),
        "happened": wording.happened(failure),
        "because": [
            {
                "signal": each.name,
                "level": each.level,
                "steps": [
                    {
                        "at": s.at,
                        "part": s.part,
                        "level": s.level,
                        "rule": s.rule,
                        "waited": s.waited,
                        "words": sentence(s),
                    }
                    for s in each.steps
                ],
                "hindrances": [
                    {"at": h.at, "part": h.part, "rule": h.rule, "words": h.words, "mend": h.hint}
                    for h in each.hindrances
                ],
            }
            for each in causes
        ],
    }


def _race(race: Race) -> dict[str, Any]:
    return {
        "at": race.at,
        "first": race.first,
        "second": race.second,
        "by_hand": race.by_hand,
        "cure": None if race.cure is None else race.cure.words,
    }


def _finding(each: Finding) -> dict[str, Any]:
    return {
        "rule": each.rule,
        "level": finding_level(each),
        "part": each.part,
        "place": _place(each.span),
        "message": each.message,
        "mend": each.hint,
        "silenced": each.silenced,
        "where": each.where,
        "forbidden": each.forbidden,
        "flashing": None if each.flashing is None else _flashing(each.flashing),
        "refusal": None if each.refusal is None else _refusal(each.refusal),
    }


def _refusal(each: Refusal) -> dict[str, Any]:
    return {
        "stands_at": list(each.place),
        "why": each.why,
        "at": each.at,
        "title": each.title,
        "stroke": each.stroke,
        "way": _trace(each.acts),
    }


def _flashing(each: Flashing) -> dict[str, Any]:
    return {
        "count": each.count,
        "begins": each.begins,
        "ends": each.ends,
        "lamps": list(each.lamps),
        "quickest": each.quickest,
        "by_itself": each.by_itself,
        "way": _trace(each.trace),
        "cure": None if each.cure is None else each.cure.words,
    }


def search_data(search: FlashingSearch) -> dict[str, Any]:
    """What came of looking for flashing that a circuit makes by itself."""
    return {
        "states": search.states,
        "quiet": search.quiet,
        "touches": search.touches,
        "complete": search.complete,
        "limit": search.limit,
        "finding": None if search.finding is None else _finding(search.finding),
    }
