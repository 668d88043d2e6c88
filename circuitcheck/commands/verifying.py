"""`verify`, of the files that are due: verifies them one by one, printing as it goes, and writes what is asked for."""

from __future__ import annotations

import argparse
import json
import shlex
from collections.abc import Sequence
from typing import TYPE_CHECKING

from circuitcheck.batch import Manner, verified
from circuitcheck.checks.stopped import is_left
from circuitcheck.commands import common, printing
from circuitcheck.report.files import CannotWrite, write_private, write_whole
from circuitcheck.report.terminal.verdict_lines import report_lines, summary
from circuitcheck.verify import Exit, FileReport, FileStopped, overall

if TYPE_CHECKING:
    from circuitcheck.passed import Passed


def verify(
    files: Sequence[str], unchanged: Sequence[str], record: Passed | None, missing: bool, options: argparse.Namespace
) -> Exit:
    """Verifies files and tells what was found; `missing` says that something that was named holds no file.

    What was found before Ctrl-C is shown; logs, which would look like those of a whole call, are not written then.
    """
    reports, stopped = _verified(files, options)
    if record is not None:
        _take_down(record, [report for report in reports if not report.stopped])
    if stopped:
        printing.refuse(_left(files, reports, bool(options.sarif or options.junit)))
        _say(reports, unchanged, Exit.INTERRUPTED, options)
        return Exit.INTERRUPTED
    code = Exit.INVALID if missing else overall(reports)
    known = () if record is None else record.files
    common.outputs_apart(options, [*known, *(path for each in reports for path in each.sources)], "junit", "sarif")
    _tell(reports, unchanged, code, options)
    return code


def manner_of(options: argparse.Namespace) -> Manner:
    """How the call wants files to be verified."""
    manner = Manner(root=options.root, seconds=options.seconds)
    return manner if options.states is None else manner._replace(states=options.states)


def _verified(files: Sequence[str], options: argparse.Namespace) -> tuple[list[FileReport], bool]:
    """The reports on some files, and whether Ctrl-C came before the last."""
    reports: list[FileReport] = []
    with printing.progress(options) as progress:

        def begins(title: str) -> None:
            progress.tell(f"{len(reports) + 1} of {len(files)}: {files[len(reports)]}: {title}")

        def found(report: FileReport) -> None:
            reports.append(report)
            if not options.json:
                printing.show(report_lines(report, printing.width(options), options.quiet))

        try:
            for report in verified(files, manner_of(options), options.jobs, begins):
                found(report)
                progress.tell(f"{len(reports)} of {len(files)} files verified")
        except KeyboardInterrupt as stopped:
            if isinstance(stopped, FileStopped):
                found(stopped.report)
            return reports, True
    return reports, False


def _left(files: Sequence[str], reports: Sequence[FileReport], logs: bool) -> str:
    """What is left where Ctrl-C ends it."""
    said = []
    last = reports[-1] if reports else None
    if last is not None and last.stopped and (open_ := sum(map(is_left, last.outcomes))):
        said.append(f"{_count(open_, 'check or claim', 'checks and claims')} of {last.path}")
    if len(files) > len(reports):
        said.append(_count(len(files) - len(reports), "file", "files"))
    written = "; --sarif and --junit write nothing then" if logs else ""
    return f"stopped; left: {' and '.join(said) or 'nothing that was asked for'}{written}"


def _count(number: int, one: str, many: str) -> str:
    return f"{number} {one if number == 1 else many}"


def _take_down(record: Passed, reports: Sequence[FileReport]) -> None:
    for report in reports:
        # What was found would not be reported again, so a file with findings is verified each time; so is one with a
        # caution, which is reported even where it is silenced.
        told = (each for each in report.findings if not each.silenced or each.cautions)
        if report.exit is Exit.HOLDS and not any(told):
            record.passes(report.path, {path: "\n".join(lines) for path, lines in report.sources.items()})
    if record.news:
        try:
            write_private(record.place, record.text())
        except CannotWrite as failure:
            printing.refuse(f"what passed is not recorded: {failure}")


def _tell(reports: Sequence[FileReport], unchanged: Sequence[str], code: Exit, options: argparse.Namespace) -> None:
    """Writes what is to be written of all files together."""
    if options.sarif:
        from circuitcheck.report.exchange.sarif import sarif

        write_whole(options.sarif, json.dumps(sarif(reports, code), indent=2) + "\n")
    if options.junit:
        from circuitcheck.report.exchange.junit import junit

        write_whole(options.junit, junit(reports, unchanged))
    _say(reports, unchanged, code, options)


def _say(reports: Sequence[FileReport], unchanged: Sequence[str], code: Exit, options: argparse.Namespace) -> None:
    if options.json:
        from circuitcheck.report.exchange.data import document

        printing.as_json(document(reports, unchanged, code))
    elif reports or unchanged:
        failing = [each.path for each in reports if each.exit is Exit.FAILS]
        if failing and not options.quiet:
            root = ["--root", options.root] if options.root else []
            call = shlex.join(["circuitcheck", "cure", *root, "--", failing[0]])
            printing.say("the least change with which all of it holds:")
            printing.say(f"  {call}")
        printing.show([summary(reports, len(unchanged))])
