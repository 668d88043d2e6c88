"""`bench`: a circuit to work by hand in a browser."""

from __future__ import annotations

import argparse

from circuitcheck.commands import common, printing


@common.guarded
def run(options: argparse.Namespace) -> int:
    """Serves the bench until it is ended."""
    try:
        from circuitcheck.bench.serving import serve
    except ImportError as missing:
        if missing.name not in ("starlette", "uvicorn"):
            raise
        return printing.refuse("a bench takes the extra 'bench': pip install 'circuitcheck[bench]'")
    from circuitcheck.bench.workbench import Mistaken, Workbench
    from circuitcheck.bench.worked import Stopped

    try:
        session = Workbench(options.path, options.define, options.root)
    except Mistaken as mistaken:
        return common.mistakes(mistaken.opened, options)
    except Stopped as stopped:
        return printing.refuse(str(stopped))
    try:
        serve(session, options.port, not options.no_browser, printing.say)
    except OSError as taken:
        return printing.refuse(f"port {options.port} can't be had: {taken.strerror}; another may be free (--port)")
    except KeyboardInterrupt:
        pass
    return 0
