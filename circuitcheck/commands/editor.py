"""`editor`: the language server, for an editor to start."""

from __future__ import annotations

import argparse
import sys
from typing import Any

from circuitcheck.commands import common


def add(commands: Any) -> None:
    """Adds the command with its options."""
    example = "circuitcheck editor"
    does = "answer an editor over standard input and output (Language Server Protocol; takes the extra 'editor')"
    parser = common.parser(commands, "editor", does, example, run)
    common.root_option(parser)


def run(options: argparse.Namespace) -> int:
    """Serves until the editor ends it."""
    # The server waits for its input in a thread that hears no interrupt, so the process ends at once.
    common.ctrl_c_ends_it()
    try:
        from circuitcheck.editor.server import serve
    except ImportError as missing:
        if missing.name not in ("pygls", "lsprotocol"):
            raise
        return common.refuse("an editor's server takes the extra 'editor': pip install 'circuitcheck[editor]'")
    if sys.stdin.isatty():
        print("circuitcheck: waiting for an editor to speak on standard input; Ctrl-C ends it", file=sys.stderr)
    serve(options.root)
    return 0
