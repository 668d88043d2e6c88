"""`least --certificate`: the folder that shows others why no smaller circuit will do."""

from __future__ import annotations

import argparse
import os
from typing import Any, NamedTuple

from circuitcheck.certificate.folder_files import CIRCUIT, sum_of
from circuitcheck.commands import printing
from circuitcheck.designing.exclusion_files import about_all, asked_of_all
from circuitcheck.designing.exclusion_list import Below, ExclusionList, folder_of
from circuitcheck.designing.exclusion_proofs import NotCertified, excluded_below, proofs
from circuitcheck.designing.fewest_parts import Searched
from circuitcheck.designing.frame import Frame
from circuitcheck.prove.interrupts import interrupts_wait
from circuitcheck.prove.meter import Meter
from circuitcheck.report.files import GrowingFolder
from circuitcheck.report.terminal.exclusion_lines import certificate_data, kinds_lines, written_lines

NOTHING = "no smaller circuit was excluded, so that there is nothing to certify"
STOPPED = "it was stopped"


class Written(NamedTuple):
    """What was written of a certificate."""

    listing: ExclusionList | None = None
    """What is in the folder; None where there is none."""
    why: str = ""
    """Why there is no more in it; nothing if all is."""
    code: int = 0

    def data(self, folder: str) -> dict[str, Any]:
        """The same as data."""
        return certificate_data(self.listing, self.why, folder)


def write_certificate(
    options: argparse.Namespace, frame: Frame, found: Searched, budget: Meter, states: int
) -> Written:
    """Writes what certifies all that a search has excluded, kinds by kinds, and says what is in it.

    `budget` bounds the making of the proofs, and so many `states` what the prover looks at for one claim of a netlist.
    Raises CannotWrite.
    """
    below = excluded_below(frame, found)
    text = "\n".join(frame.lines) + "\n"
    main = os.path.basename(options.path)
    if not any(asked_of_all(*below, frame)):
        return _told(options, Written(None, NOTHING, 2))
    listing = ExclusionList(main, sum_of(text), states, Below(len(frame.named), None), ())
    with interrupts_wait():
        folder = GrowingFolder(options.certificate, {**about_all(listing), f"{CIRCUIT}/{main}": text})
    why, code = "", 0
    try:
        with printing.progress(options) as progress:
            for done in proofs(frame, found, below, budget, progress.tell):
                further = listing._replace(kinds=(*listing.kinds, done.kinds), below=done.below)
                with interrupts_wait():
                    folder.grow(folder_of(len(further.kinds), done.kinds.words), done.files, about_all(further))
                    listing = further
                if not options.json:
                    printing.show(kinds_lines("certified", done.kinds, printing.width(options)))
                    printing.flush()
    except NotCertified as stopped:
        why, code = str(stopped), 2
    except KeyboardInterrupt:
        why, code = STOPPED, printing.INTERRUPTED
    return _told(options, Written(listing, why, code))


def _told(options: argparse.Namespace, written: Written) -> Written:
    if not options.json:
        printing.show(written_lines(written.listing, written.why, options.certificate, printing.width(options)))
    return written
