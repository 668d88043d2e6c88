"""`verify --watch`: looks at the files a few times a second, and verifies again what was saved.

Asking the file system is enough for some hundred files, needs nothing installed, and works on network folders too.
"""

from __future__ import annotations

import argparse
import os
import shutil
import signal
import sys
import time
from collections.abc import Iterable

from circuitcheck.batch import verified
from circuitcheck.commands import printing
from circuitcheck.commands.verifying import manner_of
from circuitcheck.folders import circuit_files
from circuitcheck.language.text import decoded
from circuitcheck.report.lines import Line, line, wrapped
from circuitcheck.report.terminal.cautions import caution_sentence, cautions
from circuitcheck.report.terminal.verdict_lines import report_lines, summary
from circuitcheck.verify import FileReport

PAUSE = 0.2
"""Seconds between two looks."""
CLEAR = "\x1b[H\x1b[2J"
"""Sets the writing place to the corner and wipes the screen (ECMA-48, CUP and ED)."""

Stamp = tuple[int, int, int]
UNKNOWN: Stamp = (0, 0, 0)


def watch(options: argparse.Namespace) -> int:
    """Verifies, and verifies again at each save, until it is interrupted. Returns the exit code."""
    reports: dict[str, FileReport] = {}
    stamps: dict[str, Stamp | None] = {}
    shown = False
    try:
        _hear_ctrl_c()
        while True:
            files, _ = circuit_files(options.paths)
            now = {path: _stamp(path) for path in _all_read(files, reports)}
            due = [path for path in files if path not in reports or _touched(reports[path], stamps, now)]
            if due or set(reports) - set(files) or not shown:
                stamps = now
                reports = {path: report for path, report in reports.items() if path in files}
                with printing.progress(options) as progress:
                    for report in verified(due, manner_of(options), options.jobs, progress.tell):
                        reports[report.path] = report
                # A file that was met in this round may have been saved in it: it counts as what was read of it.
                stamps |= {path: _stamp_of(path, reports) for path in _all_read(files, reports) if path not in stamps}
                _show([reports[path] for path in files], due, options)
                shown = True
            if not printing.is_read():
                return 0
            time.sleep(PAUSE)
    except KeyboardInterrupt:
        print(file=sys.stderr)
        return 0


def _hear_ctrl_c() -> None:
    """Has Ctrl-C raised as ever, if it was to end the process until now."""
    if signal.getsignal(signal.SIGINT) not in (signal.SIG_IGN, None):
        signal.signal(signal.SIGINT, signal.default_int_handler)


def _all_read(files: Iterable[str], reports: dict[str, FileReport]) -> set[str]:
    used = {path for report in reports.values() for path in report.sources}
    return {*files, *used}


def _stamp(path: str) -> Stamp | None:
    try:
        found = os.stat(path)
    except (OSError, ValueError):
        return None
    return found.st_mtime_ns, found.st_size, found.st_ino


def _stamp_of(path: str, reports: dict[str, FileReport]) -> Stamp | None:
    """The stamp of a file that was read just now; an unknown one, so that it is due again, if it has changed since."""
    stamp = _stamp(path)
    read = next((report.sources[path] for report in reports.values() if path in report.sources), ())
    try:
        with open(path, "rb") as stream:
            return stamp if decoded(stream.read()).split("\n") == list(read) else UNKNOWN
    except (OSError, ValueError):
        return stamp


def _touched(report: FileReport, before: dict[str, Stamp | None], now: dict[str, Stamp | None]) -> bool:
    return any(before.get(path) != now.get(path) for path in (report.path, *report.sources))


def _cautions(reports: list[FileReport], width: int) -> list[Line]:
    said = [caution_sentence(each) for report in reports for each in cautions(report.findings)]
    return [row for each in said for row in wrapped(f"caution  {each}", width, "  ")]


def _show(reports: list[FileReport], due: list[str], options: argparse.Namespace) -> None:
    """One screen: what does not hold, of all files, and what was just done."""
    rows = [row for report in reports for row in report_lines(report, printing.width(options), quiet=True)]
    just = f"{len(due)} verified at {time.strftime('%H:%M:%S')}; watching, Ctrl-C ends it"
    foot = [*([summary(reports)] if reports else [line("no circuit files here")]), line(just)]
    if sys.stdout.isatty():
        with printing.reader_may_go():
            sys.stdout.write(CLEAR)
        room = max(shutil.get_terminal_size().lines - len(foot) - 2, 5)
        if len(rows) > room:
            # What fails first stays in sight.
            more = line(f"… {len(rows) - room} lines more: 'circuitcheck verify' shows them")
            # What can harm people is said again where its lines may be cut off.
            rows = [*rows[:room], more, *_cautions(reports, printing.width(options))]
    printing.show([*rows, *foot])
    printing.flush()
