"""`certified` of a folder that says that no smaller circuit will do."""

from __future__ import annotations

import argparse
import os
from collections.abc import Mapping

from circuitcheck.certificate.checking import Verifies
from circuitcheck.certificate.folder_files import CIRCUIT, LIST, Unreadable
from circuitcheck.commands import printing
from circuitcheck.commands.least import USUAL_STATES
from circuitcheck.designing.exclusion_checked import Bounds, checked_kinds, strays
from circuitcheck.designing.exclusion_list import ExclusionList, exclusion_list
from circuitcheck.designing.frame import CantDesign, Frame, frame_of
from circuitcheck.diagnostics import Diagnostic, Span
from circuitcheck.examine import Refused
from circuitcheck.language.load import read_text
from circuitcheck.prove.meter import NO_BOUND, Limits, Meter, seconds_from_now
from circuitcheck.report.terminal.exclusion_lines import checked_kinds_lines, ending_lines

ALL = 15_000_000
"""How many states the prover may look at for all netlists of a folder, if no seconds are given."""


def checked_least(options: argparse.Namespace, files: Mapping[str, str], verifies: Verifies) -> int:
    """Checks kinds by kinds, printing as it goes."""
    try:
        return _checked(options, files, verifies)
    except Refused as why:
        return printing.refuse(str(why))


def _checked(options: argparse.Namespace, files: Mapping[str, str], verifies: Verifies) -> int:
    try:
        listing = exclusion_list(files[LIST])
    except Unreadable as why:
        raise Refused(f"{options.folder}/{LIST}: {why}") from why
    frame = _frame(options, listing, files)
    limits = Limits(options.states or USUAL_STATES, until=seconds_from_now(options.seconds))
    budget = Meter(NO_BOUND if options.seconds else ALL, limits.memory, until=limits.until)
    wrong, undecided = False, 0
    with printing.progress(options) as progress:
        for each in checked_kinds(frame, listing, files, verifies, progress.tell, Bounds(limits, budget)):
            printing.show(checked_kinds_lines(each, printing.width(options)))
            printing.flush()
            wrong = wrong or bool(each.wrong)
            undecided += len(each.undecided)
    besides = strays(frame, listing, files)
    printing.show(ending_lines(listing, wrong, undecided, besides, printing.width(options)))
    return 1 if wrong or besides else 3 if undecided else 0


def _frame(options: argparse.Namespace, listing: ExclusionList, files: Mapping[str, str]) -> Frame:
    """What the circuit of a certificate asks. Raises Refused."""
    own = f"{CIRCUIT}/{listing.main}"
    path = options.file or os.path.join(options.folder, own)
    text = read_text(path, Span(path, 1, 1, 1)) if options.file else files.get(own)
    if text is None:
        raise Refused(f"{options.folder}/{LIST}: there is no file '{own}'")
    frame = (text,) if isinstance(text, Diagnostic) else _framed(text, path)
    if not isinstance(frame, Frame):
        raise Refused(f"{path} is no circuit: {frame[0].code}: {frame[0].message}")
    return frame


def _framed(text: str, path: str) -> Frame | tuple[Diagnostic, ...]:
    try:
        return frame_of(text, path, os.path.dirname(path))
    except CantDesign as refused:
        raise Refused(f"{path} can't be searched: {refused.args[0]}") from None
