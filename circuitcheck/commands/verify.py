"""`verify`: run every check of circuit files and say what holds."""

from __future__ import annotations

import argparse
import sys
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
    parser.add_argument("--quiet", action="store_true", help="show only what does not hold")


def run(options: argparse.Namespace) -> int:
    """Verifies file by file, printing as it goes."""
    from circuitcheck.report.terminal import report_lines, summary
    from circuitcheck.verify import FileReport, circuit_files, overall, verify_file

    empty: list[str] = []
    files = circuit_files(options.paths, empty.append)
    for folder in empty:
        common.refuse(f"no circuit files (*.circuit) below {folder}")
    reports: list[FileReport] = []
    for number, path in enumerate(files, 1):
        _progress(number, len(files), path)
        reports.append(verify_file(path))
        if not options.json:
            common.show(report_lines(reports[-1], common.width(options), options.quiet))
    _progress(0, len(files), "")
    if options.json:
        import json

        from circuitcheck.report.data import document

        print(json.dumps(document(reports), indent=2, ensure_ascii=not _unicode()))
    elif reports:
        common.show([summary(reports)])
    return 2 if empty else int(overall(reports))


def _unicode() -> bool:
    return (sys.stdout.encoding or "").lower().startswith("utf")


def _progress(number: int, count: int, path: str) -> None:
    """One line on stderr that is overwritten, only on a terminal and only for several files."""
    if count > 1 and sys.stderr.isatty():
        text = f"{number}/{count} {path}"[:78] if number else ""
        sys.stderr.write(f"\r{text:<78}\r")
        sys.stderr.flush()
