"""What commands share: opened files and their mistakes, options that do not go together, and refusals."""

from __future__ import annotations

import argparse
import os
from collections.abc import Callable, Iterable, Mapping
from typing import TYPE_CHECKING

from circuitcheck.commands import printing
from circuitcheck.examine import REFUSALS, Drawn, Opened, Refused
from circuitcheck.folders import SUFFIX
from circuitcheck.model.drawing import At
from circuitcheck.report.files import CannotWrite, refuse_unwritable
from circuitcheck.report.lines import Piece, Style, line, safe
from circuitcheck.workers import WorkerLost

if TYPE_CHECKING:
    from circuitcheck.language.load import Loaded


def stands_at(where: Mapping[str, At]) -> None:
    """From here on a circuit is reported whose parts stand there; of one that is not drawn, nowhere."""
    if not where:
        printing.PLACES.set(None)
        return
    from circuitcheck.report.terminal.places import Places

    printing.PLACES.set(Places(where))


def _show_places(options: argparse.Namespace) -> None:
    places = printing.PLACES.get()
    printing.PLACES.set(None)
    if places is not None and not getattr(options, "json", False):
        lines = list(places.lines(printing.width(options)))
        printing.show(lines[1:] if places.ended else lines)


def mistakes(opened: Opened, options: argparse.Namespace) -> int:
    """Shows the mistakes of a file. Returns the exit code for that, or 0 where there are none."""
    if not opened.diagnostics:
        stands_at(opened.where)
        return 0
    if getattr(options, "json", False):
        from circuitcheck.report.exchange.data import mistakes_data

        printing.file_json(opened.path, mistakes_data(opened.diagnostics))
        return 2
    from circuitcheck.report.terminal.verdict_lines import diagnostic_lines

    printing.show([line(Piece(safe(opened.path), Style.STRONG))])
    for diagnostic in opened.diagnostics:
        printing.show(diagnostic_lines(diagnostic, opened.sources, printing.width(options)))
    return 2


def drawn_of(opened: Opened) -> Drawn:
    """What a file draws, for commands that tell places as they go. Raises Refused where it draws nothing."""
    stands_at({})
    return opened.drawn


def together(options: argparse.Namespace, *names: str) -> None:
    """Refuses options that say nothing beside each other, where more than one of them is given. Raises Refused."""
    given = [name for name in names if getattr(options, name)]
    if len(given) > 1:
        shown = [name.upper() if name == "output" else f"--{name}" for name in given]
        raise Refused(f"{' and '.join(shown)} do not go together")


def outputs_apart(options: argparse.Namespace, inputs: Iterable[str], *names: str) -> None:
    """Refuses outputs that would be written over what is read, over a circuit, or over each other. Raises Refused."""
    taken = {_where(path): "it is read" for path in inputs}
    if getattr(options, "write", None) and "write" not in names:
        taken[_where(options.write)] = "--write writes there as well"
    for name in names:
        path = getattr(options, name)
        if not path:
            continue
        there = _where(path)
        why = taken.get(there) or ("it is a circuit file" if there.endswith(SUFFIX) else "")
        if why:
            raise Refused(f"--{name} {path} would be written over: {why}")
        taken[there] = f"--{name} writes there as well"


def new_file(path: str | None) -> None:
    """Refuses to write over a file, or where no file can be written. Raises Refused."""
    if not path:
        return
    if os.path.lexists(path):
        raise Refused(f"--write {path} is there already: name a new file")
    folder = os.path.dirname(path) or "."
    if not os.path.isdir(folder):
        raise Refused(f"--write {path} can't be written: there is no folder {folder}")
    if not os.access(folder, os.W_OK):
        raise Refused(f"--write {path} can't be written: the folder {folder} may not be written to")
    try:
        refuse_unwritable(path)
    except CannotWrite as why:
        raise Refused(f"--write {why}") from None


def found_from(path: str | None, loaded: Loaded) -> None:
    """Refuses to write a file's text where it would not find the files that it uses. Raises Refused."""
    if path and len(loaded.sources) > 1:
        there, here = (os.path.realpath(os.path.dirname(each) or ".") for each in (path, loaded.path))
        if there != here:
            raise Refused(f"--write {path}: {loaded.path} uses other files, so it must be written beside it")


def _where(path: str) -> str:
    """Where a path leads; itself if it can be none, as a record or a call may have it."""
    try:
        return os.path.realpath(path)
    except ValueError:
        return path


def guarded(work: Callable[[argparse.Namespace], int]) -> Callable[[argparse.Namespace], int]:
    """A command whose refusals become one clear line and exit code 2."""

    def run(options: argparse.Namespace) -> int:
        try:
            code = work(options)
            _show_places(options)
            return code
        except (*REFUSALS, CannotWrite, WorkerLost) as refused:
            return printing.refuse(str(refused))

    return run
