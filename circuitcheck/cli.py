"""The command line: finds the command, runs it, ends the process. Everything else is in `circuitcheck.commands`."""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Sequence
from typing import NoReturn

from circuitcheck.commands import MODULES, command
from circuitcheck.commands.parsers import options_of
from circuitcheck.commands.printing import INTERRUPTED, ctrl_c_ends_it, flush, let_go_of, refuse
from circuitcheck.diagnostics import did_you_mean


def main(arguments: Sequence[str] | None = None) -> NoReturn:
    """The entry point. Always ends the process, with the exit code that the outcome asks for."""
    # A short run makes much and drops little: collecting seldom takes a tenth off its time (measured).
    gc.set_threshold(100_000, 20, 20)
    for name in ("stdout", "stderr"):
        if getattr(sys, name) is None:  # closed by whoever called, who does not want to hear of it
            setattr(sys, name, open(os.devnull, "w", encoding="utf-8"))  # noqa: SIM115
    try:
        code = _called(sys.argv[1:] if arguments is None else list(arguments))
        flush()
    except BrokenPipeError:
        # The reader of a pipe went away, in the middle of what judges nothing; what it wanted it has got.
        let_go_of(sys.stdout)
        code = 0
    except OSError as failure:
        # Every file is opened under guard, so this is the output: a full disk, say.
        let_go_of(sys.stdout)
        print(f"circuitcheck: the output can't be written: {(failure.strerror or '').lower()}", file=sys.stderr)
        code = 2
    except KeyboardInterrupt:
        print("circuitcheck: stopped", file=sys.stderr)
        code = INTERRUPTED
    sys.exit(code)


def _called(given: Sequence[str]) -> int:
    """Finds the command and runs it. Returns the exit code."""
    if given and given[0] not in MODULES and not given[0].startswith("-"):
        near = did_you_mean(given[0], MODULES) or f"the commands are {', '.join(MODULES)}"
        return refuse(f"there is no command '{given[0]}': {near}")
    try:
        options = options_of(given)
    except SystemExit as ended:
        return ended.code if isinstance(ended.code, int) else 0
    if options.command == "editor" or getattr(options, "watch", False):
        # Ctrl-C is how these end, from the first moment on; until they have begun there is nothing to put in order.
        ctrl_c_ends_it()
    return command(options.command).run(options)
