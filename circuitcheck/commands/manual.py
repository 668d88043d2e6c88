"""`manual`: the page on exit codes, the environment and files, in the usual order of manual pages."""

from __future__ import annotations

import argparse
from collections.abc import Iterator

from circuitcheck.about import PROGRAM, VERSION
from circuitcheck.commands import MODULES, printing
from circuitcheck.commands.parsers import DESCRIPTION
from circuitcheck.report.lines import Piece, Style, line, wrapped

EXITS = {
    0: "Every check and claim holds, fails as its file says, or is skipped. A command that judges nothing has done its "
    "work.",
    1: "Something does not hold: a check or claim fails or depends on an unknown order or start, or there is a finding "
    "that a file forbids. Of 'compare': the circuits differ. Of 'sweep --faults': no check detects some fault. Of "
    "'format --check': a file is not in the standard layout. Of 'tile': a copy can't stand there. "
    "Of 'certified': something in the folder is not what the circuit makes it. Of 'cure': nothing that was tried cures "
    "the file; where something does, the code is 0. Of 'least': no circuit of so few parts will do. "
    "Of 'draw' and 'compact': no layout was found. Of 'compact': what was found is as asked, but larger than before.",
    2: "A file has a mistake or can't be read, the call is wrong, an output can't be written, or a process that "
    "shared the work was killed. This code takes precedence over 1 and 3.",
    3: "Nothing fails, but something is undecided: no run triggered a claim, or a budget or limit ran out. "
    "Of 'sweep': something was not judged. Of 'compare': no difference was found, but the comparison could not follow "
    "everything. Of 'cure': the search ended before everything was tried, or some change was left undecided. "
    "Of 'least': the budget ended, or a smaller circuit could not be decided. Of 'draw' and 'compact' with "
    "--least: a smaller box could not be excluded. Of 'compact': the time ran out before anything could be judged.",
    130: "Ctrl-C ended the command. 'verify' and 'prove' show the verdicts that they had by then; what was left counts "
    "as undecided. ('verify --watch' and 'editor' usually end so; then the code is 0.)",
}
"""What each exit code means."""

ENVIRONMENT = {
    "CIRCUITCHECK_RECORD": "The file in which 'verify --changed' keeps its record, unless --record names one.",
    "COLUMNS": "How many columns wide the output is, unless --width says so.",
    "NO_COLOR": "If set and not empty, output has no colour. Output that goes to no terminal never has colour.",
    "TERM": "If it is 'dumb', output has no colour.",
    "XDG_CACHE_HOME": "The cache folder, where records are kept. Without it LOCALAPPDATA, or else ~/.cache.",
}

FILES = {
    "*.circuit": "Circuit files. For a folder, all circuit files below it; links to folders are not followed.",
    "~/.cache/circuitcheck/compiled": "Code that 'draw' has compiled, with the extra 'compiled'. You may delete it at "
    "any time.",
    "~/.cache/circuitcheck/passed/*.json": "The record of 'verify --changed': which files passed, one record for each "
    "folder of a call. --record or CIRCUITCHECK_RECORD names another file, which CI can keep from one run to the next. "
    "You may delete a record at any time. A record must lie outside the checkout (which its version control shows, or "
    "else it is the folder of the call), because a record that a checkout brings is not trusted. It must be a plain "
    "file and not a link, hold at most 16,000,000 bytes, and belong to its user, who alone can write it. Otherwise "
    "'verify' says so and starts a new record.",
}


def run(options: argparse.Namespace) -> int:
    """Prints the page."""
    for title, rows in _page():
        printing.show([line(Piece(title, Style.STRONG))])
        for name, text in rows:
            if name:
                printing.show([line(f"    {name}")])
            printing.show(wrapped(text, printing.width(options), "        " if name else "    "))
            printing.show([line()])
    return 0


def _page() -> Iterator[tuple[str, list[tuple[str, str]]]]:
    yield "NAME", [("", f"{PROGRAM} {VERSION}: {DESCRIPTION[0].lower()}{DESCRIPTION[1:].rstrip('.')}")]
    commands = ", ".join(MODULES)
    yield "SYNOPSIS", [("", f"{PROGRAM} COMMAND [OPTIONS] … (--help after a command shows its options)")]
    yield "COMMANDS", [("", commands)]
    yield "EXIT CODES", [(str(code), text) for code, text in EXITS.items()]
    yield "ENVIRONMENT", list(ENVIRONMENT.items())
    yield "FILES", list(FILES.items())
