"""`verify`: run every check of circuit files and say what holds."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from circuitcheck.commands import common

if TYPE_CHECKING:
    from circuitcheck.passed import Passed
    from circuitcheck.verify import Exit, FileReport


def add(commands: Any) -> None:
    """Adds the command with its options."""
    example = "circuitcheck verify circuits/sluice.circuit"
    does = "run every check of circuit files and say what holds, and why not"
    parser = common.parser(commands, "verify", does, example, _begun)
    parser.add_argument("paths", nargs="+", metavar="PATH", help="circuit files, or folders of them")
    common.root_option(parser)
    parser.add_argument("--json", action="store_true", help="write the report as JSON")
    parser.add_argument(
        "--sarif", type=common.path, metavar="FILE", help="also write failures and warnings as SARIF 2.1.0"
    )
    parser.add_argument("--junit", type=common.path, metavar="FILE", help="also write the verdicts as a JUnit log")
    parser.add_argument(
        "--changed",
        action="store_true",
        help="leave out files that are unchanged since they passed, with all they use",
    )
    parser.add_argument("--record", type=common.path, metavar="FILE", help="where --changed keeps what passed")
    parser.add_argument("--watch", action="store_true", help="verify again at each save, until Ctrl-C")
    parser.add_argument("--jobs", type=common.count(1, 256), default=1, metavar="N", help="processes to share the work")
    parser.add_argument(
        "--states",
        type=common.count(0, 10**9),
        metavar="N",
        help="budget of states for each claim (250,000); with 0, claims are only watched in the checks' runs",
    )
    common.seconds_option(parser, "limit of seconds for proving the claims of a file (no bound)")
    parser.add_argument("--quiet", action="store_true", help="show only what does not hold, and no progress")


def _begun(options: argparse.Namespace) -> int:
    if options.watch:
        # Ctrl-C is how watching ends, from the first moment on; until it has begun there is nothing to put in order.
        common.ctrl_c_ends_it()
    return common.guarded(run)(options)


def run(options: argparse.Namespace) -> int:
    """Verifies file by file, printing as it goes."""
    for one, other in (("changed", "sarif"), ("watch", "json"), ("watch", "sarif"), ("watch", "junit")):
        common.together(options, one, other)
    common.together(options, "watch", "changed")
    if options.record and not options.changed:
        return common.refuse("--record says where --changed keeps what passed, and goes with it")
    if options.watch:
        from circuitcheck.commands.watching import watch

        return watch(options)
    from circuitcheck.folders import circuit_files

    files, empty = circuit_files(options.paths)
    for folder in empty:
        common.refuse(f"no circuit files (*.circuit) below {folder}")
    record = _record(options) if options.changed else None
    unchanged = {path for path in files if record is not None and record.unchanged(path)}
    fresh = [path for path in files if path not in unchanged]
    if not fresh and unchanged and not (options.json or options.junit):
        common.say(common.unchanged(len(unchanged)))
        return 2 if empty else 0
    common.outputs_apart(options, files, "junit", "sarif", "record")
    reports = _verified(fresh, options)
    if record is not None:
        _take_down(record, reports)
    from circuitcheck.verify import Exit, overall

    code = Exit.INVALID if empty else overall(reports)
    known = () if record is None else record.files
    common.outputs_apart(options, [*known, *(path for each in reports for path in each.sources)], "junit", "sarif")
    _tell(reports, sorted(unchanged), code, options)
    return int(code)


def _record(options: argparse.Namespace) -> Passed:
    """The record of what passed. Raises Refused where it can't be kept."""
    from circuitcheck.passed import Misplaced, Passed, record_place

    try:
        record = Passed(
            record_place(options.paths, options.record or ""), f"states {options.states} root {options.root}"
        )
    except Misplaced as misplaced:
        from circuitcheck.examine import Refused

        raise Refused(str(misplaced)) from misplaced
    if record.unreadable:
        common.refuse(
            f"the record {record.place} can't be read, or others can write it; it was ignored, and a new one begins"
        )
    return record


def _verified(files: Sequence[str], options: argparse.Namespace) -> list[FileReport]:
    from circuitcheck.batch import verified
    from circuitcheck.report.terminal.verdict_lines import report_lines

    reports: list[FileReport] = []
    with common.progress(options) as progress:

        def begins(title: str) -> None:
            progress.tell(f"{len(reports) + 1} of {len(files)}: {files[len(reports)]}: {title}")

        for report in verified(files, common.manner_of(options), options.jobs, begins):
            reports.append(report)
            if not options.json:
                common.show(report_lines(report, common.width(options), options.quiet))
            progress.tell(f"{len(reports)} of {len(files)} files verified")
    return reports


def _take_down(record: Passed, reports: Sequence[FileReport]) -> None:
    from circuitcheck.report.files import CannotWrite, write_private
    from circuitcheck.verify import Exit

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
            common.refuse(f"what passed is not recorded: {failure}")


def _tell(reports: Sequence[FileReport], unchanged: Sequence[str], code: Exit, options: argparse.Namespace) -> None:
    """Writes what is to be written of all files together."""
    from circuitcheck.report.files import write_whole

    if options.sarif:
        import json

        from circuitcheck.report.exchange.sarif import sarif

        write_whole(options.sarif, json.dumps(sarif(reports, code), indent=2) + "\n")
    if options.junit:
        from circuitcheck.report.exchange.junit import junit

        write_whole(options.junit, junit(reports, unchanged))
    if options.json:
        from circuitcheck.report.exchange.data import document

        common.as_json(document(reports, unchanged, code))
    elif reports or unchanged:
        from circuitcheck.report.terminal.verdict_lines import summary

        common.show([summary(reports, len(unchanged))])
