"""`least`: the circuit of fewest torches and repeaters for which all that a file asks holds."""

from __future__ import annotations

import argparse
import os

from circuitcheck import examine
from circuitcheck.certificate.uncertified import Uncertified
from circuitcheck.commands import common, least_by_steps, printing
from circuitcheck.commands.least_certificate import STOPPED, write_certificate
from circuitcheck.designing.as_before import as_before
from circuitcheck.designing.fewest_parts import Ended, Search, Searched
from circuitcheck.designing.frame import CantDesign, Frame, frame_of
from circuitcheck.designing.same_reactions import Unlike
from circuitcheck.designing.too_weak import TooWeak, too_weak
from circuitcheck.diagnostics import Diagnostic, Span
from circuitcheck.examine import Opened
from circuitcheck.language.load import read_text
from circuitcheck.prove.meter import NO_BOUND, Limits, Meter, seconds_from_now
from circuitcheck.report.files import refuse_folder, write_whole
from circuitcheck.report.terminal.least_lines import least_data, least_lines

USUAL_MOST = 3
"""How many parts are tried where the file has none."""
USUAL_STATES = 50_000
"""How many states are looked at for one claim of one netlist."""
ALL = 15_000_000
"""How many states the whole search may cost, if no seconds are given: five to ten minutes of one core that is free."""


@common.guarded
def run(options: argparse.Namespace) -> int:
    """Searches. Exit code 1 where no netlist of so few parts will do, 3 where that is not known."""
    text = read_text(options.path, Span(options.path, 1, 1, 1))
    if isinstance(text, Diagnostic):
        return _mistakes((text,), "", options)
    common.new_file(options.write)
    if options.certificate:
        if options.by_steps:
            raise examine.Refused(
                "--certificate does not go with --by-steps: single changes exclude no smaller circuit"
            )
        if options.same:
            raise examine.Refused("--certificate does not go with --same: it is written of claims and checks only")
        refuse_folder(options.certificate)
    if options.by_steps:
        return least_by_steps.run(options)
    least_by_steps.look_at_shift(options)
    try:
        frame = frame_of(text, options.path, os.path.dirname(options.path), options.same)
        if not isinstance(frame, Frame):
            return _mistakes(frame, text, options)
        return _searched(frame, options)
    except Unlike as unlike:
        raise examine.Refused(f"{options.path} can't be held to what it does: {unlike}") from None
    except CantDesign as refused:
        why = f"{refused.args[0]}; {refused.args[1]}, or use --by-steps"
        raise examine.Refused(f"{options.path} can't be searched: {why}") from None
    except Uncertified as refused:
        raise examine.Refused(f"{options.path} can't be searched with so many parts: {refused}") from None


def _searched(frame: Frame, options: argparse.Namespace) -> int:
    limits = Limits(options.states or USUAL_STATES, until=seconds_from_now(options.seconds))
    with printing.progress(options) as progress:
        before = as_before(frame, limits, options.shift) if options.same else None
        most = NO_BOUND if options.seconds else ALL
        budget = Meter(most, limits.memory, "for the search", until=limits.until)
        search = Search(frame, limits, budget, progress.tell, before, not options.certificate)
        weak = None
        try:
            search.run(options.most if options.most is not None else frame.own.parts or USUAL_MOST)
            if search.found.netlist is not None and before is None:
                weak = too_weak(search)
        except KeyboardInterrupt:
            if search.found.ended is not Ended.FOUND:
                search.found.stop(STOPPED)
            _told(options, frame, search.found, None)
            return printing.INTERRUPTED
    code = _told(options, frame, search.found, weak, limits)
    return code if code == printing.INTERRUPTED else _code(search.found) or code


def _told(
    options: argparse.Namespace, frame: Frame, found: Searched, weak: TooWeak | None, limits: Limits | None = None
) -> int:
    """Says what was found, and writes what is to be written; a certificate only with limits for that.

    Returns the exit code that this asks for.
    """
    if not options.json:
        printing.show(least_lines(frame, found, printing.width(options), weak))
    if options.write and found.netlist is not None:
        write_whole(options.write, frame.written(found.netlist))
        if not options.json:
            printing.say(f"  written to {options.write}")
    written = None
    if options.certificate and limits is not None:
        # The seconds were for the search, and may all be spent.
        budget = Meter(ALL, limits.memory, "for the certificate")
        written = write_certificate(options, frame, found, budget, limits.states)
    if options.json:
        certificate = {} if written is None else {"certificate": written.data(options.certificate)}
        printing.file_json(options.path, {**least_data(frame, found, weak), **certificate})
    return 0 if written is None else written.code


def _code(found: Searched) -> int:
    if found.netlist is None:
        return 1 if found.ended is Ended.NONE and not found.undecided else 3
    return 0 if found.is_least else 3


def _mistakes(diagnostics: tuple[Diagnostic, ...], text: str, options: argparse.Namespace) -> int:
    sources = {options.path: tuple(text.splitlines())}
    return common.mistakes(Opened(options.path, diagnostics, sources, None, ()), options)
