"""What `draw` and `compact` share: a task is read, laid out within a budget, verified, told and written."""

from __future__ import annotations

import argparse
import os
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from time import monotonic
from typing import NamedTuple

from circuitcheck.commands import arguments, common, printing
from circuitcheck.commands.looking import look
from circuitcheck.commands.search_shown import Watched, page_at
from circuitcheck.diagnostics import Diagnostic, Span
from circuitcheck.examine import Opened, Refused
from circuitcheck.language.load import Loaded, read_text
from circuitcheck.model.directions import DIRECTIONS
from circuitcheck.placing.asked_places import AXES, FIRST, LAST, Asked, Spot, together
from circuitcheck.placing.bounds import LONGEST, Bounds, places_of
from circuitcheck.placing.compiled import fast_for
from circuitcheck.placing.exact import BUDGET, LeastBox, least_box
from circuitcheck.placing.exact_places import Box
from circuitcheck.placing.exact_wanted import not_handled, wanted
from circuitcheck.placing.fewest_things import FewestThings
from circuitcheck.placing.grid import MOST_PLACES
from circuitcheck.placing.holding import Holding
from circuitcheck.placing.pieces.in_pieces import LONGEST_OF_PIECES, PieceSearch, begin_in_pieces, is_for_pieces
from circuitcheck.placing.pieces.tools import tools_for
from circuitcheck.placing.problem import CantPlace
from circuitcheck.placing.renewing import Renewing
from circuitcheck.placing.smallest_box import AT_ONCE, Ended, Found, Search
from circuitcheck.placing.task import Task, cost_of
from circuitcheck.plans.looking_after import LookedAt
from circuitcheck.report.files import write_whole
from circuitcheck.report.lines import Line, wrapped
from circuitcheck.report.terminal.drawn_lines import counted, drawn_data, drawn_lines
from circuitcheck.report.terminal.least_box_lines import least_box_data, least_box_lines
from circuitcheck.sweeps.executors import executor_of, usual_workers
from circuitcheck.verify import Exit, FileReport

USUAL_MOVES = 300_000
TOO_SHORT = 60
"""In fewer seconds nothing is compiled that was not before: that takes some forty of them."""
WORTH_SHARING = 100_000
"""From how many moves on it is worth it to begin processes."""
MOST_ASKED = 120
"""Larger boxes are not asked exactly, whatever the budget."""
FEW = 10
"""Of so many parts the least box is mostly found, or few boxes are left open, within the usual budget."""
LEAST = "hint: of so few parts --least asks each box in turn, the smallest first, and says which are excluded"

NO_REPEATERS = "repeaters are put in only where more than 25 parts are laid out, and nothing is asked of their places"

Reads = Callable[[str, str, str, str, str, Asked], Task | Loaded]
"""Makes a task of a text, its path, its folder, the folder of what it uses, a definition, and what is asked."""


def laid_out(options: argparse.Namespace, reads: Reads, what: str) -> int:
    """Lays out. Exit code 1 where no layout was found, or only one that is larger than what stands.

    Else it is that of verifying the file that was made.
    """
    text = read_text(options.path, Span(options.path, 1, 1, 1))
    if isinstance(text, Diagnostic):
        return common.mistakes(Opened(options.path, (text,), {}, None, ()), options)
    common.new_file(options.write)
    with refusing(options, what):
        task = asked_task(text, options, reads)
        if isinstance(task, Loaded):
            return common.mistakes(Opened(task.path, task.diagnostics, task.sources, None, ()), options)
        common.found_from(options.write, task.loaded)
        common.outputs_apart(options, task.loaded.sources, "page")
        with printing.progress(options) as progress:
            watched = Watched(task, progress.tell, page_at(options.page) if options.page else None)
            laid = searched(task, options, watched)
        _tell(options, laid)
        watched.end(laid.found)
        return _exit(laid)


class Laid(NamedTuple):
    """What laying out a task came to."""

    task: Task
    found: Found
    least: LeastBox | None
    text: str
    """The file with its drawing; empty where nothing was found."""
    report: FileReport | None
    looked: LookedAt | None


@contextmanager
def refusing(options: argparse.Namespace, what: str) -> Iterator[None]:
    """Has what can't be placed refused in words about the file. Raises Refused."""
    try:
        yield
    except CantPlace as refused:
        raise Refused(f"{options.path} can't be {what}: {refused.args[0]}; {refused.args[1]}") from None


def asked_task(text: str, options: argparse.Namespace, reads: Reads) -> Task | Loaded:
    """The task that a call asks for; the file as read where it has mistakes. Raises CantPlace."""
    task = reads(text, options.path, os.path.dirname(options.path), options.root, options.define, _asked(options))
    if isinstance(task, Loaded):
        return task
    if getattr(options, "keep", False):
        task.kept()
    return _for_fewest_things(task, options) if options.fewest_things else task


def searched(task: Task, options: argparse.Namespace, watched: Watched) -> Laid:
    """Lays out within the budget of a call, and verifies and looks at what is found. Raises CantPlace."""
    if options.least and (why := _not_for_least(task)):
        raise CantPlace(f"least boxes are not searched for {why}", "leave out --least")
    moves = options.moves or USUAL_MOVES
    in_pieces = _in_pieces(task)
    if options.add_repeaters and not in_pieces:
        raise CantPlace(NO_REPEATERS, "leave out --add-repeaters")
    bounds = _bounds(options, LONGEST_OF_PIECES if in_pieces else LONGEST)
    until = monotonic() + options.seconds if options.seconds else None
    holding = Holding(task, until)
    by_hand, seed = not options.inputs_anywhere, options.seed or 1
    compiling = 0 if options.seconds and options.seconds < TOO_SHORT else moves
    renewing = Renewing(task, holding)
    search: Search | FewestThings | PieceSearch
    if in_pieces:
        renews = renewing.renew if options.add_repeaters else lambda ways: None
        tools = tools_for(compiling)
        search = PieceSearch(task.problem, bounds, tools, moves, seed, until, by_hand, watched.tell, renews)
    else:
        fast, allows = fast_for(compiling), holding.allows
        sort = FewestThings if task.fewest_things else Search
        search = sort(task.problem, bounds, fast, moves, seed, until, by_hand, watched.tell, allows)
        if task.drawn is not None:
            search.begin_with(task.drawn, task.where)
    watched.found = search.found
    least = _least(task, until, options, watched.tell) if options.least else None

    def begin() -> None:
        if not isinstance(search, PieceSearch) and task.drawn is None:
            box_search = search.search if isinstance(search, FewestThings) else search
            begin_in_pieces(box_search, task.problem, bounds, moves, seed, until, by_hand, compiles=compiling > 0)

    found = _as_found(task, least, bounds) or _run(search, begin, moves, options.jobs)
    task, found.repeaters, found.kept_out = renewing.task, renewing.put_in, renewing.kept_out
    text = "" if found.drawing is None else task.with_drawing(found.drawing, getattr(options, "keep", False))
    report = _verified(task, holding, found, text, watched.tell)
    looked = _looked(task, found, text, watched.tell)
    return Laid(task, found, least, text, report, looked)


def _exit(laid: Laid) -> int:
    """The exit code for what was found."""
    task, found, least, report = laid.task, laid.found, laid.least, laid.report
    if found.ended is Ended.STOPPED:
        return printing.INTERRUPTED
    if found.drawing is None:
        return Exit.FAILS
    if least is not None and least.open_below(cost_of(found.drawing).places):
        return max(Exit.UNDECIDED, Exit.HOLDS if report is None else report.exit)
    verified = Exit.UNDECIDED if report is None else report.exit
    return Exit.FAILS if task.is_larger(found.drawing) and verified is not Exit.INVALID else verified


def _for_fewest_things(task: Task, options: argparse.Namespace) -> Task:
    """The task with few things asked for. Raises CantPlace where they are not searched for."""
    why = "where boxes are asked in turn" if options.least else ""
    why = why or ("where something stays as it is drawn" if task.problem.staying else "")
    why = why or ("of a circuit that is laid out in pieces" if _in_pieces(task) else "")
    if why:
        raise CantPlace(f"few things are not searched for {why}", "leave out --fewest-things")
    return replace(task, fewest_things=True)


def _in_pieces(task: Task) -> bool:
    return task.drawn is None and is_for_pieces(task.problem)


def _run(search: Search | FewestThings | PieceSearch, begin: Callable[[], None], moves: int, jobs: int | None) -> Found:
    """Searches, in several processes where that is worth it; what comes out does not depend on how many they are."""
    try:
        begin()
        if isinstance(search, PieceSearch) or moves < WORTH_SHARING:
            return search.run()
        with executor_of(min(jobs or usual_workers(), AT_ONCE)) as executor:
            found = search.run(executor)
            if found.ended is Ended.STOPPED:
                raise KeyboardInterrupt  # nobody waits for what the processes are at
    except KeyboardInterrupt:
        found = search.found
        found.ended = Ended.STOPPED
    return found


def _not_for_least(task: Task) -> str:
    """For what of a task least boxes are not searched for, in words; empty where they are."""
    if task.problem.staying:
        return "where something stays as it is drawn"
    return "copies that stand beside them" if task.problem.asked.tiles else ""


def _least(task: Task, until: float | None, options: argparse.Namespace, tells: Callable[[str], None]) -> LeastBox:
    """Asks boxes in turn, the smallest first; of what is drawn already only smaller ones.

    Boxes that the call does not bound may be of any length.
    """
    bounds = _bounds(options, MOST_PLACES)

    def fits(box: Box) -> bool:
        return bounds.fits((box.height, box.depth, box.width))

    most = min(places_of(bounds), MOST_ASKED)
    if task.drawn is not None:
        most = min(most, cost_of(task.drawn).places - 1)
    budget = options.conflicts or BUDGET
    return least_box(
        wanted(task.study.circuit, task.problem.given, task.problem.asked),
        most,
        fits,
        budget,
        until,
        not options.inputs_anywhere,
        tells,
    )


def _as_found(task: Task, least: LeastBox | None, bounds: Bounds) -> Found | None:
    """What the search for the least box ends with where there is no need to search on, or it was stopped."""
    if least is None:
        return None
    ended = Ended.STOPPED if least.stopped else Ended.EXACT
    if least.found is not None:
        return Found(least.found.drawing, ended=ended)
    drawn = task.drawn if task.drawn is not None and bounds.fits_turned(task.drawn.size) else None
    if least.stopped or (drawn is not None and not least.open_below(cost_of(drawn).places)):
        return Found(drawn, ended=ended)
    allowed = places_of(bounds)
    if task.drawn is not None:
        allowed = min(allowed, cost_of(task.drawn).places - 1)
    all_asked = allowed <= MOST_ASKED and not least.open_below(allowed + 1)
    return Found(ended=Ended.EXCLUDED) if all_asked else None


def _verified(task: Task, holding: Holding, found: Found, text: str, tells: Callable[[str], None]) -> FileReport | None:
    """What the file with what was found comes to.

    None where nothing was, where no time was left to judge any other than the one that stands, or Ctrl-C ended that.
    """
    if found.drawing is None or (found.unjudged and not task.is_other(found.drawing)):
        return None
    tells("verifying the file with its drawing")
    try:
        return holding.report(text)
    except KeyboardInterrupt:
        found.ended = Ended.STOPPED
        return None


def _looked(task: Task, found: Found, text: str, tells: Callable[[str], None]) -> LookedAt | None:
    """What no claim is about; None where nothing was found, nothing other, or Ctrl-C ended the search or this."""
    if found.drawing is None or found.ended is Ended.STOPPED or not task.is_other(found.drawing):
        return None
    tells("looking at what is heard, lit and beside it, and at how it is built")
    try:
        return look(task, text)
    except KeyboardInterrupt:
        found.ended = Ended.STOPPED
        return None


def _tell(options: argparse.Namespace, laid: Laid) -> None:
    task, found, least, text, report, looked = laid
    places = 0 if found.drawing is None else cost_of(found.drawing).places
    if options.json:
        data = drawn_data(task, found, text, report, looked)
        data["draw"]["least"] = None if least is None else least_box_data(least, places, _within(options))
        printing.file_json(options.path, data)
    else:
        width = printing.width(options)
        printing.show(laid_lines(options, laid, width))
        if least is not None:
            printing.show(least_box_lines(least, places, _within(options), width))
        elif task.problem.parts <= FEW and not _not_for_least(task) and not_handled(task.study.circuit) is None:
            printing.show(wrapped(LEAST, width, "  ", "    "))
    if options.write and text:
        write_whole(options.write, text)
        if not options.json:
            printing.say(f"  written to {options.write}")


def laid_lines(options: argparse.Namespace, laid: Laid, width: int) -> Iterator[Line]:
    """What laying out came to, for people."""
    task, found, _, text, report, looked = laid
    yield from drawn_lines(task, found, text, report, looked, bool(options.box or options.layers), width)


def _asked(options: argparse.Namespace) -> Asked:
    """What the call asks beside a size."""
    at = ((name, _spot(counted, sides)) for name, sides, counted in options.at or ())
    stays = (each if isinstance(each, str) else _spot(each) for each in options.stays or ())
    return Asked(
        together(at),
        tuple(map(_spot, options.free or ())),
        stays=tuple(stays),
        tiles=tuple(dict.fromkeys(DIRECTIONS[each] for each in options.tiles or ())),
    )


def _spot(counted: arguments.Counted, sides: Iterable[str] = ()) -> Spot:
    low, high = zip(*(counted.get(axis, (FIRST[0], LAST[0])) for axis in AXES), strict=True)
    return Spot(frozenset(DIRECTIONS[side] for side in sides), (low[0], low[1], low[2]), (high[0], high[1], high[2]))


def _bounds(options: argparse.Namespace, longest: int) -> Bounds:
    """The largest box that the call allows; where it says nothing, no side is longer than so many places."""
    columns, rows, layers = options.box or (longest, longest, longest)
    return Bounds(min(layers, options.layers or layers), rows, columns)


def _within(options: argparse.Namespace) -> str:
    """What the call says of the largest box, in words; empty where it says nothing."""
    said = ["x".join(map(str, options.box))] if options.box else []
    said += [counted(options.layers, "layer")] if options.layers else []
    said += ["the places that are asked for"] if options.at or options.free else []
    return " and ".join(said)
