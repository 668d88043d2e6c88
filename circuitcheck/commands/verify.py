"""`verify`: run every check of circuit files and say what holds."""

from __future__ import annotations

import argparse
import sys
import time
from typing import Any

from circuitcheck.commands import common


def add(commands: Any) -> None:
    """Adds the command with its options."""
    example = "circuitcheck verify circuits/sluice.circuit"
    parser = common.parser(
        commands, "verify", "run every check of circuit files and say what holds, and why not", example, run
    )
    parser.add_argument("paths", nargs="+", metavar="PATH", help="circuit files, or folders of them")
    parser.add_argument("--json", action="store_true", help="write the report as JSON")
    parser.add_argument(
        "--states",
        type=common.count(0, 10**9),
        metavar="N",
        help="states looked at to prove each claim (50,000); with 0 claims are only watched in the checks' runs",
    )
    parser.add_argument("--quiet", action="store_true", help="show only what does not hold")


def run(options: argparse.Namespace) -> int:
    """Verifies file by file, printing as it goes."""
    from circuitcheck.report.terminal import report_lines, summary
    from circuitcheck.verify import USUAL_STATES, FileReport, circuit_files, overall, verify_file

    empty: list[str] = []
    files = circuit_files(options.paths, empty.append)
    for folder in empty:
        common.refuse(f"no circuit files (*.circuit) below {folder}")
    reports: list[FileReport] = []
    progress = _Progress(len(files))
    for path in files:
        progress.file(path)
        reports.append(verify_file(path, progress.check, USUAL_STATES if options.states is None else options.states))
        progress.end()
        if not options.json:
            common.show(report_lines(reports[-1], common.width(options), options.quiet))
    if options.json:
        from circuitcheck.report.data import document

        common.as_json(document(reports))
    elif reports:
        common.show([summary(reports)])
    return 2 if empty else int(overall(reports))


class _Progress:
    """One line on stderr that says what runs, for runs that take long; only on a terminal, and wiped in the end."""

    PATIENCE = 0.5
    """How many seconds pass before it says anything."""

    def __init__(self, files: int) -> None:
        self._files = files
        self._number = 0
        self._path = ""
        self._begun = time.monotonic()
        self._shown = False
        self._wanted = sys.stderr.isatty()

    def file(self, path: str) -> None:
        """The next file begins."""
        self._number += 1
        self._path = path
        self.check("")

    def check(self, title: str) -> None:
        """A check of the file begins."""
        if self._wanted and time.monotonic() - self._begun > self.PATIENCE:
            from circuitcheck.report.lines import safe

            text = safe(f"{self._number}/{self._files} {self._path} {title}")[:78]
            sys.stderr.write(f"\r{text:<78}\r")
            sys.stderr.flush()
            self._shown = True

    def end(self) -> None:
        """The file is done: what it comes to may be printed."""
        if self._shown:
            sys.stderr.write(f"\r{'':<78}\r")
            sys.stderr.flush()
            self._shown = False
