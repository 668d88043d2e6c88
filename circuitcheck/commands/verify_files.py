"""`verify`: run every check of circuit files and say what holds."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from circuitcheck.commands import common, printing
from circuitcheck.examine import Refused
from circuitcheck.folders import circuit_files

if TYPE_CHECKING:
    from circuitcheck.passed import Passed


@common.guarded
def run(options: argparse.Namespace) -> int:
    """Verifies file by file, printing as it goes."""
    for one, other in (("changed", "sarif"), ("watch", "json"), ("watch", "sarif"), ("watch", "junit")):
        common.together(options, one, other)
    common.together(options, "watch", "changed")
    if options.record and not options.changed:
        return printing.refuse("--record says where --changed keeps what passed, and goes with it")
    if options.watch:
        from circuitcheck.commands.watching import watch

        return watch(options)
    files, empty = circuit_files(options.paths)
    for folder in empty:
        printing.refuse(f"no circuit files (*.circuit) below {folder}")
    record = _record(options) if options.changed else None
    unchanged = {path for path in files if record is not None and record.unchanged(path)}
    fresh = [path for path in files if path not in unchanged]
    if not fresh and unchanged and not (options.json or options.junit):
        printing.say(_unchanged(len(unchanged)))
        return 2 if empty else 0
    from circuitcheck.commands.verifying import verify

    common.outputs_apart(options, files, "junit", "sarif", "record")
    code = verify(fresh, sorted(unchanged), record, bool(empty), options)
    return int(code)


def _record(options: argparse.Namespace) -> Passed:
    """The record of what passed. Raises Refused where it can't be kept."""
    from circuitcheck.passed import Misplaced, Passed, record_place

    try:
        record = Passed(
            record_place(options.paths, options.record or ""), f"states {options.states} root {options.root}"
        )
    except Misplaced as misplaced:
        raise Refused(str(misplaced)) from misplaced
    if record.unreadable:
        printing.refuse(
            f"the record {record.place} can't be read, or others can write it; it was ignored, and a new one begins"
        )
    return record


def _unchanged(files: int) -> str:
    """What is said where nothing had to be verified."""
    return "1 file unchanged since it passed" if files == 1 else f"{files} files unchanged since they passed"
