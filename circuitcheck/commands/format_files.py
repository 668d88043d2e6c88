"""`format`: put circuit files into the one canonical layout, or say which are not in it."""

from __future__ import annotations

import argparse
from typing import Any

from circuitcheck.commands import common, printing
from circuitcheck.diagnostics import Diagnostic, Span
from circuitcheck.folders import circuit_files
from circuitcheck.language.layout import laid_out
from circuitcheck.language.load import linked_out, read_text
from circuitcheck.report.files import write_whole
from circuitcheck.report.lines import Piece, Style, line, safe
from circuitcheck.report.terminal.verdict_lines import diagnostic_lines


@common.guarded
def run(options: argparse.Namespace) -> int:
    """Lays out file by file; a file with mistakes is left as it is."""
    files, empty = circuit_files(options.paths)
    for folder in empty:
        printing.refuse(f"no circuit files (*.circuit) below {folder}")
    changed, mistaken = 0, 0
    for path in files:
        whole = Span(path, 1, 1, 1)
        text = linked_out(path, "", whole) or read_text(path, whole, plain_only=True)
        new, mistakes = ("", [text]) if isinstance(text, Diagnostic) else laid_out(text, path)
        if mistakes:
            mistaken += 1
            _show_mistakes(path, mistakes, "" if isinstance(text, Diagnostic) else text, options)
        elif not _is_written(path, new):
            changed += 1
            if not options.check:
                write_whole(path, new)
            if not options.quiet:
                printing.say(f"{'not in the layout' if options.check else 'laid out'}: {path}")
    if not options.quiet:
        printing.say(_summary(len(files) - changed - mistaken, changed, mistaken, options.check))
    if empty or mistaken:
        return 2
    return 1 if options.check and changed else 0


def _is_written(path: str, text: str) -> bool:
    """Whether the file holds this to the byte; line ends and marks that reading passes over count too."""
    with open(path, "rb") as stream:
        return stream.read() == text.encode("utf-8")


def _show_mistakes(path: str, mistakes: Any, text: str, options: argparse.Namespace) -> None:
    printing.show([line(Piece(safe(path), Style.STRONG))])
    for mistake in mistakes:
        printing.show(diagnostic_lines(mistake, {path: tuple(text.split("\n"))}, printing.width(options)))


def _summary(kept: int, changed: int, mistaken: int, check: bool) -> str:
    said = [
        *([f"{changed} {'to be laid out' if check else 'laid out'}"] if changed else []),
        *([f"{mistaken} left alone for mistakes"] if mistaken else []),
        f"{kept} as {'it' if kept == 1 else 'they'} should be",
    ]
    return ", ".join(said)
