"""`diagnose`: which single mistake of the builder fits what he sees."""

from __future__ import annotations

import argparse
import shlex
from collections.abc import Iterable

from circuitcheck import examine
from circuitcheck.commands import common, printing
from circuitcheck.explain.mistakes import diagnose
from circuitcheck.model.duration import show
from circuitcheck.report.terminal.explained import diagnosis_lines


@common.guarded
def run(options: argparse.Namespace) -> int:
    """Tries every mistake and lists those that fit."""
    opened = examine.opened(options.path, root=options.root)
    if common.mistakes(opened, options):
        return 2
    lines = examine.observations(opened, options.lines)
    seen = examine.opened_with(options.path, lines, options.root)
    if common.mistakes(seen, options):
        return 2
    assert seen.study is not None
    (check,) = seen.study.checks
    if not check.expectations and not check.throughout:
        raise examine.Refused("no observation is given: add for example 'open off'")
    with printing.progress(options) as progress:
        diagnosis = diagnose(seen.study.circuit, check, lambda tried: progress.tell(f"{tried:,} mistakes tried"))
    printing.show(
        diagnosis_lines(diagnosis, _why_calls(options, diagnosis.as_designed, lines), printing.width(options))
    )
    return 0


def _why_calls(options: argparse.Namespace, seen: Iterable[tuple[str, int]], lines: Iterable[str]) -> list[str]:
    """The calls that say why signals are in the design as they were seen."""
    root = ["--root", options.root] if options.root else []
    done = [word for each in lines for word in ("--line", each)]
    return [
        shlex.join(["circuitcheck", "explain", *root, "--why", name, "--at", show(at), *done, "--", options.path])
        for name, at in seen
    ]
