"""`python -m circuitcheck.commands.search_apart draw FILE …`: a search that tells its course to a program.

It takes the words of `draw` and `compact`, and writes what `search_told` says to standard output. When its standard
input ends, the search is stopped as by Ctrl-C: so it also ends with whoever began it.
"""

from __future__ import annotations

import argparse
import contextlib
import os
import sys
import threading
from _thread import interrupt_main
from collections.abc import Sequence

from circuitcheck.commands.laying import Reads, asked_task, laid_lines, refusing, searched
from circuitcheck.commands.parsers import options_of
from circuitcheck.commands.search_shown import Watched
from circuitcheck.diagnostics import Diagnostic, Span
from circuitcheck.examine import Refused
from circuitcheck.language.load import Loaded, read_text
from circuitcheck.placing.smallest_box import Ended
from circuitcheck.placing.task import drawn_task_of, task_of
from circuitcheck.report.lines import plain
from circuitcheck.report.page.search_told import SearchTold, line_of

READS: dict[str, tuple[Reads, str]] = {"draw": (task_of, "laid out"), "compact": (drawn_task_of, "made smaller")}
WIDTH = 96
AGAIN = 2.0
"""How long, in seconds, a search has to end before the next interrupt."""


def main(given: Sequence[str]) -> None:
    """Searches, and tells of it."""
    stopped = threading.Event()
    threading.Thread(target=_stop_when_input_ends, args=(stopped,), daemon=True).start()
    options = options_of(given)
    with contextlib.suppress(BrokenPipeError):  # nobody wants to know any more
        try:
            _tell(_searched(options, stopped))
        except Refused as refused:
            _tell(SearchTold(lines=(str(refused),)))
        except KeyboardInterrupt:
            _tell(SearchTold(lines=(Ended.STOPPED.value,)))


def _searched(options: argparse.Namespace, stopped: threading.Event) -> SearchTold:
    """Searches and tells how far that has come. Returns what it came to. Raises Refused.

    `stopped` is set once the search has been stopped.
    """
    text = read_text(options.path, Span(options.path, 1, 1, 1))
    if isinstance(text, Diagnostic):
        raise Refused(text.message)
    reads, what = READS[options.command]
    with refusing(options, what):
        task = asked_task(text, options, reads)
        if isinstance(task, Loaded):
            raise Refused(f"{options.path} has mistakes: {task.diagnostics[0].message}")

        def notes(_said: str) -> None:
            if watched.found is not None and watched.found.ended is Ended.STOPPED:
                stopped.set()

        watched = Watched(task, notes, lambda shown: _tell(SearchTold(shown)))
        laid = searched(task, options, watched)
        stopped.set()
        watched.end(laid.found)
        return SearchTold(None, laid.text, tuple(plain(laid_lines(options, laid, WIDTH)).splitlines()))


def _tell(told: SearchTold) -> None:
    sys.stdout.buffer.write(line_of(told))
    sys.stdout.buffer.flush()


def _stop_when_input_ends(stopped: threading.Event) -> None:
    # The stream of Python is left alone: it could not be closed while it is read here.
    while os.read(0, 1024):
        pass
    # Code that is called back while something is compiled swallows an interrupt, so it comes again until it is heard.
    while not stopped.is_set():
        interrupt_main()
        stopped.wait(AGAIN)


if __name__ == "__main__":
    main(sys.argv[1:])
