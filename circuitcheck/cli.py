"""The command line: reads arguments, calls the rest, prints. Decides nothing else."""

from __future__ import annotations

import argparse
import gc
import os
import sys
from collections.abc import Sequence
from typing import NoReturn

from circuitcheck import __version__

EXIT_CODES = "exit codes: 0 all hold; 1 some check fails; 2 a file or the call is wrong; 3 undecided, nothing fails"


def main(arguments: Sequence[str] | None = None) -> NoReturn:
    """The entry point. Always ends the process, with the exit code that the outcome asks for."""
    # A short run makes much and drops little: collecting seldom takes a tenth off its time (measured).
    gc.set_threshold(100_000, 20, 20)
    try:
        code = _run(sys.argv[1:] if arguments is None else arguments)
        sys.stdout.flush()
    except BrokenPipeError:
        # The reader of a pipe went away; what it wanted it has got.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        code = 0
    except KeyboardInterrupt:
        print("circuitcheck: stopped", file=sys.stderr)
        code = 130
    sys.exit(code)


def _run(arguments: Sequence[str]) -> int:
    parser = _parser()
    options = parser.parse_args(arguments)
    if options.command == "verify":
        return _verify(options)
    return _try(options)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="circuitcheck", description="A verifier for redstone logic circuits.", epilog=EXIT_CODES
    )
    parser.add_argument("--version", action="version", version=f"circuitcheck {__version__}")
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    verify = commands.add_parser(
        "verify",
        help="run every check of circuit files and say what holds",
        description="Runs every check of circuit files and says what holds, what does not, and why.",
        epilog=f"for example: circuitcheck verify circuits/sluice.circuit · {EXIT_CODES}",
    )
    verify.add_argument("paths", nargs="+", metavar="PATH", help="circuit files, or folders of them")
    verify.add_argument("--json", action="store_true", help="write the report as JSON")
    verify.add_argument("--quiet", action="store_true", help="show only what does not hold")
    _common(verify)
    attempt = commands.add_parser(
        "try",
        help="work a circuit's inputs and see what happens",
        description="Works a circuit's inputs as its own language says it, and draws what happens.",
        epilog='for example: circuitcheck try circuits/sluice.circuit "at 5t pond.1 on" "until 30t"',
    )
    attempt.add_argument("path", metavar="FILE", help="a circuit file")
    attempt.add_argument(
        "lines", nargs="+", metavar="LINE", help='lines of a check, such as "at 5t pond.1 on" or "until 30t"'
    )
    attempt.add_argument(
        "--show", action="append", metavar="NAME", help="a signal to draw; inputs and outputs if none is named"
    )
    _common(attempt)
    return parser


def _common(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--width", type=_width, metavar="COLUMNS", help="how wide to write")


def _width(text: str) -> int:
    if not text.isdecimal() or not 40 <= int(text) <= 400:
        raise argparse.ArgumentTypeError("a width is a number of columns from 40 to 400")
    return int(text)


def _verify(options: argparse.Namespace) -> int:
    from circuitcheck.report.lines import width_of, write
    from circuitcheck.report.terminal import report_lines, summary
    from circuitcheck.verify import FileReport, circuit_files, overall, verify_file

    empty: list[str] = []
    files = circuit_files(options.paths, empty.append)
    for folder in empty:
        print(f"circuitcheck: no circuit files (*.circuit) below {folder}", file=sys.stderr)
    reports: list[FileReport] = []
    width = width_of(sys.stdout, options.width)
    for number, path in enumerate(files, 1):
        _progress(number, len(files), path)
        report = verify_file(path)
        reports.append(report)
        if not options.json:
            write(report_lines(report, width, options.quiet))
    _progress(0, len(files), "")
    if options.json:
        import json

        from circuitcheck.report.data import document

        print(json.dumps(document(reports), indent=2, ensure_ascii=False))
    elif reports:
        write([summary(reports)])
    return 2 if empty else int(overall(reports))


def _progress(number: int, count: int, path: str) -> None:
    """One line on stderr that is overwritten, only on a terminal and only for several files."""
    if count > 1 and sys.stderr.isatty():
        text = f"{number}/{count} {path}"[:78] if number else ""
        sys.stderr.write(f"\r{text:<78}\r")
        sys.stderr.flush()


def _try(options: argparse.Namespace) -> int:
    from circuitcheck.report.attempt import attempt_lines
    from circuitcheck.report.lines import width_of, write
    from circuitcheck.verify import attempt

    tried = attempt(options.path, options.lines)
    unknown = tried.unknown(options.show or [])
    if unknown:
        print(f"circuitcheck: --show: {unknown}", file=sys.stderr)
        return 2
    write(attempt_lines(tried, options.show or [], width_of(sys.stdout, options.width)))
    return int(tried.exit)
