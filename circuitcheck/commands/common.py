"""What commands share: the width, the one way to print, and one clear line for what can't be done."""

from __future__ import annotations

import argparse
import os
import signal
import sys
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager, nullcontext
from contextvars import ContextVar
from typing import TYPE_CHECKING, Any, Protocol, TextIO

if TYPE_CHECKING:
    from circuitcheck.batch import Manner
    from circuitcheck.examine import Drawn, Opened
    from circuitcheck.model.drawing import At
    from circuitcheck.report.lines import Line
    from circuitcheck.report.terminal.progress import Progress

INTERRUPTED = 130
"""The exit code after Ctrl-C."""

EXIT_CODES = """exit codes ('circuitcheck manual' says more):
  0 all hold, or nothing is judged; 1 something does not
  2 a file or the call is wrong; 3 undecided, nothing fails"""


class Command(Protocol):
    """A module of this package."""

    def add(self, commands: Any) -> None:
        """Adds the command with its options."""


def parser(commands: Any, name: str, does: str, example: str, run: Callable[[argparse.Namespace], int]) -> Any:
    """A command's parser, with a worked line in its help."""
    made = commands.add_parser(
        name,
        help=does,
        description=f"{does[0].upper()}{does[1:]}.",
        epilog=f"for example:\n  {example}\n\n{EXIT_CODES}",
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    made.set_defaults(run=run)
    made.add_argument("--width", type=_width, metavar="COLUMNS", help="how wide to write")
    return made


def _width(text: str) -> int:
    from circuitcheck.report.lines import NARROWEST, WIDEST

    return count(NARROWEST, WIDEST)(text)


def count(least: int, most: int) -> Callable[[str], int]:
    """Reads a whole number of a call between two bounds."""

    def read(text: str) -> int:
        if not text.isdecimal() or len(text) > 12 or not least <= int(text) <= most:
            raise argparse.ArgumentTypeError(f"a whole number from {least:,} to {most:,}")
        return int(text)

    return read


def path(text: str) -> str:
    """Reads the name of a file of a call; an empty one, as a variable without a value leaves it, names none."""
    if not text:
        raise argparse.ArgumentTypeError("the name of a file, which can't be empty")
    return text


def root_option(parser: Any) -> None:
    """Adds the option that says out of which folder `use` lines may take files."""
    help_ = "take used files from this folder and below, not from the file's own folder only"
    parser.add_argument("--root", type=_folder, default="", metavar="FOLDER", help=help_)


def _folder(text: str) -> str:
    if text and not os.path.isdir(text):  # the default, no folder, comes here too
        raise argparse.ArgumentTypeError(f"'{text}' is no folder")
    return text


def states_option(parser: Any, usual: int) -> None:
    """Adds the option that says how many states are looked at."""
    help_ = f"budget of states for one claim ({usual:,})"
    parser.add_argument("--states", type=count(1, 10**9), metavar="N", help=help_)


def quiet_option(parser: Any) -> None:
    """Adds the option that leaves out how far work has come."""
    parser.add_argument("--quiet", action="store_true", help="report no progress on standard error")


def seconds_option(parser: Any, help_: str) -> None:
    """Adds the option that bounds proving by time as well; what that ends may be another thing on another machine."""
    parser.add_argument("--seconds", type=count(1, 10**6), metavar="N", help=help_)


def width(options: argparse.Namespace) -> int:
    """How wide to write."""
    from circuitcheck.report.lines import width_of

    return width_of(sys.stdout, options.width)


def show(lines: Iterable[Line]) -> None:
    """Prints lines to standard output; once its reader has gone away, to nowhere, and work goes on to its verdict."""
    from circuitcheck.report.lines import write

    told = _TOLD.get()
    with reader_may_go():
        write(lines if told is None else told.kept(lines))


class _Told:
    """The parts that were named while one command printed about a circuit that is drawn."""

    def __init__(self, where: Mapping[str, At]) -> None:
        self.where = where
        self.names: dict[str, None] = {}
        self.ended = False
        """Whether the last line was empty."""

    def kept(self, lines: Iterable[Line]) -> Iterator[Line]:
        """The same lines, with the names in them taken down."""
        from circuitcheck.report.lines import plain
        from circuitcheck.report.terminal.places import named_in

        for each in lines:
            text = plain([each])
            self.names |= dict.fromkeys(named_in(text, self.where))
            self.ended = not text
            yield each


_TOLD: ContextVar[_Told | None] = ContextVar("told", default=None)


def stands_at(where: Mapping[str, At]) -> None:
    """From here on a circuit is reported whose parts stand there; of one that is not drawn, nowhere."""
    _TOLD.set(_Told(where) if where else None)


def _show_places(options: argparse.Namespace) -> None:
    told = _TOLD.get()
    _TOLD.set(None)
    if told is not None and not getattr(options, "json", False):
        from circuitcheck.report.terminal.places import place_lines

        lines = list(place_lines(told.names, told.where, width(options)))
        show(lines[1:] if told.ended else lines)


def flush() -> None:
    """Writes what is still to be written, and may be read by nobody any more."""
    for stream in (sys.stdout, sys.stderr):
        if not stream.closed:  # an editor's server closes its output when it has said good-bye
            with reader_may_go(stream):
                stream.flush()


@contextmanager
def reader_may_go(stream: TextIO | None = None) -> Iterator[None]:
    """For writing to a stream, standard output if none is named: its reader may go away, which changes no verdict.

    What is said of how far work has come steps aside meanwhile.
    """
    progress = _PROGRESS.get()
    try:
        with nullcontext() if progress is None else progress.aside():
            yield
    except BrokenPipeError:
        let_go_of(sys.stdout if stream is None else stream)


_PROGRESS: ContextVar[Progress | None] = ContextVar("progress", default=None)


@contextmanager
def progress(options: argparse.Namespace) -> Iterator[Progress]:
    """Says on standard error how far the work inside has come, unless the call wants none of it."""
    from circuitcheck.report.terminal.progress import Progress

    with Progress(sys.stderr, getattr(options, "quiet", False)) as made:
        before = _PROGRESS.set(made)
        try:
            yield made
        finally:
            _PROGRESS.reset(before)


def let_go_of(stream: TextIO) -> None:
    """Sends what is still to be written to a stream to nowhere."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())


def is_read() -> bool:
    """Whether standard output is still read by somebody."""
    try:
        return not os.path.samestat(os.fstat(sys.stdout.fileno()), os.stat(os.devnull))
    except (OSError, ValueError):
        return True


def say(text: str) -> None:
    """Prints one line of plain text."""
    from circuitcheck.report.lines import line, safe

    show([line(safe(text))])


def file_json(path: str, data: Mapping[str, Any]) -> None:
    """Prints what was found of one file as JSON; of a circuit that is drawn, with the places of its parts."""
    from circuitcheck.report.exchange.data import headed

    told = _TOLD.get()
    where = {} if told is None else {"stands_at": {name: list(place) for name, place in told.where.items()}}
    as_json(headed(path, {**data, **where}))


def as_json(data: Mapping[str, Any]) -> None:
    """Prints data as JSON, in letters that standard output can carry."""
    import json

    from circuitcheck.report.lines import escaped

    text = escaped(json.dumps(data, indent=2, ensure_ascii=False))
    unicode = (sys.stdout.encoding or "").lower().startswith("utf")
    with reader_may_go():
        print(text if unicode else json.dumps(json.loads(text), indent=2))


def unchanged(files: int) -> str:
    """What is said where nothing had to be verified."""
    return "1 file unchanged since it passed" if files == 1 else f"{files} files unchanged since they passed"


def refuse(text: str) -> int:
    """Says on standard error why a call can't be done. Returns the exit code for that."""
    from circuitcheck.report.lines import safe

    with reader_may_go(sys.stderr):
        print(f"circuitcheck: {safe(text)}", file=sys.stderr)
    return 2


def failing(text: str) -> int:
    """Says on standard error why nothing was done with a circuit that fails. Returns the exit code for that."""
    refuse(text)
    return 1


def mistakes(opened: Opened, options: argparse.Namespace) -> int:
    """Shows the mistakes of a file. Returns the exit code for that, or 0 where there are none."""
    if not opened.diagnostics:
        stands_at(opened.where)
        return 0
    if getattr(options, "json", False):
        from circuitcheck.report.exchange.data import mistakes_data

        file_json(opened.path, mistakes_data(opened.diagnostics))
        return 2
    from circuitcheck.report.lines import Piece, Style, line, safe
    from circuitcheck.report.terminal.verdict_lines import diagnostic_lines

    show([line(Piece(safe(opened.path), Style.STRONG))])
    for diagnostic in opened.diagnostics:
        show(diagnostic_lines(diagnostic, opened.sources, width(options)))
    return 2


def drawn_of(opened: Opened) -> Drawn:
    """What a file draws, for commands that tell places as they go. Raises Refused where it draws nothing."""
    stands_at({})
    return opened.drawn


def manner_of(options: argparse.Namespace) -> Manner:
    """How the call wants files to be verified."""
    from circuitcheck.batch import Manner

    manner = Manner(root=options.root, seconds=options.seconds)
    return manner if options.states is None else manner._replace(states=options.states)


def together(options: argparse.Namespace, *names: str) -> None:
    """Refuses options that say nothing beside each other, where more than one of them is given. Raises Refused."""
    given = [name for name in names if getattr(options, name)]
    if len(given) > 1:
        from circuitcheck.examine import Refused

        shown = [name.upper() if name == "output" else f"--{name}" for name in given]
        raise Refused(f"{' and '.join(shown)} do not go together")


def outputs_apart(options: argparse.Namespace, inputs: Iterable[str], *names: str) -> None:
    """Refuses outputs that would be written over what is read, over a circuit, or over each other. Raises Refused."""
    from circuitcheck.examine import Refused
    from circuitcheck.folders import SUFFIX

    taken = {_where(path): "it is read" for path in inputs}
    for name in names:
        path = getattr(options, name)
        if not path:
            continue
        there = _where(path)
        why = "it is a circuit file" if there.endswith(SUFFIX) else taken.get(there)
        if why:
            raise Refused(f"--{name} {path} would be written over: {why}")
        taken[there] = f"--{name} writes there as well"


def _where(path: str) -> str:
    """Where a path leads; itself if it can be none, as a record or a call may have it."""
    try:
        return os.path.realpath(path)
    except ValueError:
        return path


def ctrl_c_ends_it() -> None:
    """From here on Ctrl-C ends the process at once and in order: for what goes on until then, with nothing open."""
    # Where whoever called has Ctrl-C passed over, as shells do in the background, it stays so.
    if signal.getsignal(signal.SIGINT) is signal.default_int_handler:
        signal.signal(signal.SIGINT, lambda *_: os._exit(0))


def guarded(work: Callable[[argparse.Namespace], int]) -> Callable[[argparse.Namespace], int]:
    """A command whose refusals become one clear line and exit code 2."""

    def run(options: argparse.Namespace) -> int:
        from circuitcheck.examine import REFUSALS
        from circuitcheck.report.files import CannotWrite
        from circuitcheck.workers import WorkerLost

        try:
            code = work(options)
            _show_places(options)
            return code
        except (*REFUSALS, CannotWrite, WorkerLost) as refused:
            return refuse(str(refused))

    return run
