"""`editor`: the language server, for an editor to start."""

from __future__ import annotations

import argparse
import sys

from circuitcheck.commands import printing


def run(options: argparse.Namespace) -> int:
    """Serves until the editor ends it."""
    try:
        from circuitcheck.editor.server import serve
    except ImportError as missing:
        if missing.name not in ("pygls", "lsprotocol"):
            raise
        return printing.refuse("an editor's server takes the extra 'editor': pip install 'circuitcheck[editor]'")
    if sys.stdin.isatty():
        print("circuitcheck: waiting for an editor to speak on standard input; Ctrl-C ends it", file=sys.stderr)
    serve(options.root)
    return 0
