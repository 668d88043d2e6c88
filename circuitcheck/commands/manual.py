"""`manual`: the page on exit codes, the environment and files, in the order in which manual pages have them."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from typing import Any

from circuitcheck.about import PROGRAM, VERSION
from circuitcheck.commands import MODULES, common

EXITS = {
    0: "All that is asked holds, or fails as its file says it must, or is set aside there. Of commands that judge "
    "nothing: they did what they were asked to.",
    1: "Something does not hold: a check or claim fails, or hangs on an order or a start that nothing decides, or a "
    "finding came up that a file forbids. Of 'compare': the circuits differ. Of 'sweep --faults': a fault goes "
    "unnoticed. Of 'format --check': a file is not in the layout. Of 'tile': a copy may not stand so.",
    2: "A file has a mistake or can't be read, the call is wrong, an output can't be written, or a process that "
    "shared the work was killed. It outweighs 1 and 3.",
    3: "Nothing fails, and something is undecided: nothing called a claim into question, or a limit was hit. "
    "Of 'sweep': something was not judged. Of 'compare': no difference was found, and not all that both were to be "
    "put through could be followed.",
    130: "Ctrl-C ended it. ('verify --watch' and 'editor' are ended so as a rule, and then it is 0.)",
}
"""What each exit code means."""

ENVIRONMENT = {
    "CIRCUITCHECK_RECORD": "The file that 'verify --changed' keeps its record in, where --record names none.",
    "COLUMNS": "How many columns wide to write, as --width says, where that is not given.",
    "NO_COLOR": "Set and not empty, no colour is written; nor is it where output goes to no terminal.",
    "TERM": "With 'dumb', no colour is written.",
    "XDG_CACHE_HOME": "The cache folder, where records are kept. Without it LOCALAPPDATA, or else ~/.cache.",
}

FILES = {
    "*.circuit": "Circuit files. Of a folder, all that are below it; links to folders are not followed.",
    "~/.cache/circuitcheck/passed/*.json": "What 'verify --changed' knows to have passed, a record for each folder of "
    "a call. --record or CIRCUITCHECK_RECORD names another file, which may be kept from one CI run to the next. A "
    "record may be deleted at any time. It must lie outside the checkout (told by its version control, or else the "
    "folder of the call), as what a checkout brings along is not believed. It must be a plain file and no link, hold "
    "at most 16,000,000 bytes, and belong to its user, who alone can write it; anything else is told, and begun anew.",
}


def add(commands: Any) -> None:
    """Adds the command with its options."""
    does = "show the page on exit codes, the environment and files"
    common.parser(commands, "manual", does, "circuitcheck manual", run)


def run(options: argparse.Namespace) -> int:
    """Prints the page."""
    from circuitcheck.report.lines import Piece, Style, line, wrapped

    for title, rows in _page():
        common.show([line(Piece(title, Style.STRONG))])
        for name, text in rows:
            if name:
                common.show([line(f"    {name}")])
            common.show(wrapped(text, common.width(options), "        " if name else "    "))
            common.show([line()])
    return 0


def _page() -> Iterator[tuple[str, list[tuple[str, str]]]]:
    from circuitcheck.commands.parsers import DESCRIPTION

    yield "NAME", [("", f"{PROGRAM} {VERSION}: {DESCRIPTION[0].lower()}{DESCRIPTION[1:].rstrip('.')}")]
    commands = ", ".join(MODULES)
    yield "SYNOPSIS", [("", f"{PROGRAM} COMMAND [OPTIONS] … (--help after a command shows its options)")]
    yield "COMMANDS", [("", commands)]
    yield "EXIT CODES", [(str(code), text) for code, text in EXITS.items()]
    yield "ENVIRONMENT", list(ENVIRONMENT.items())
    yield "FILES", list(FILES.items())
