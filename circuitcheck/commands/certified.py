"""`certified`: checks a certificate. Of one about claims neither the prover nor the engine nor a solver is imported."""

from __future__ import annotations

import argparse
import os

from circuitcheck.certificate.checking import Verifies, checked, drat_checker, strays
from circuitcheck.certificate.folder_files import CIRCUIT, LIST, Listed, Unreadable, listed, tells_exclusions
from circuitcheck.commands import printing
from circuitcheck.language.load import load_file
from circuitcheck.model.claims import Study
from circuitcheck.report.terminal.certified_lines import checked_lines, folder_lines

MOST_READ = 1 << 30
"""How many bytes of a folder are read."""


class _Refused(Exception):
    """There is nothing that could be checked; the text says why."""


def run(options: argparse.Namespace) -> int:
    """Checks claim by claim, printing as it goes."""
    try:
        verifies = drat_checker()
    except ImportError as missing:
        if missing.name != "dratify":
            raise
        return printing.refuse("checking proofs takes the extra 'certificate': pip install 'circuitcheck[certificate]'")
    try:
        return _checked(options, verifies)
    except _Refused as why:
        return printing.refuse(str(why))


def _checked(options: argparse.Namespace, verifies: Verifies) -> int:
    files = _files(options.folder)
    if LIST not in files:
        raise _Refused(f"{options.folder} is no certificate: it has no file {LIST}")
    if tells_exclusions(files[LIST]):
        # Of these some are asked of the prover, which those about claims do without.
        from circuitcheck.commands.certified_least import checked_least

        return checked_least(options, files, verifies)
    if options.states or options.seconds:
        raise _Refused("--states and --seconds are for what the prover is asked of a folder of least --certificate")
    try:
        listing = listed(files[LIST])
    except Unreadable as why:
        raise _Refused(f"{options.folder}/{LIST}: {why}") from why
    study = _study(options, listing)
    wrong = False
    with printing.progress(options) as progress:
        for each in checked(study, listing, files, verifies, progress.tell):
            printing.show(checked_lines(each, printing.width(options)))
            printing.flush()
            wrong = wrong or bool(each.wrong)
    besides = strays(listing, files)
    printing.show(folder_lines(besides))
    return 1 if wrong or besides else 0


def _files(folder: str) -> dict[str, str]:
    """All files of a folder as text, by their paths in it; links to folders are as empty ones. Raises _Refused."""
    found: dict[str, str] = {}
    left = MOST_READ
    try:
        if not os.path.isdir(folder):
            raise _Refused(f"{folder} is no folder")
        for here, folders, names in os.walk(folder, onerror=_fail):
            linked = (os.path.join(here, name) for name in folders)
            found |= {_inside(path, folder): "" for path in linked if os.path.islink(path)}
            for name in names:
                path = os.path.join(here, name)
                left -= os.path.getsize(path) if os.path.isfile(path) else MOST_READ + 1
                if left < 0:
                    raise _Refused(f"{path}: it is too large, or no plain file")
                with open(path, "rb") as stream:
                    found[_inside(path, folder)] = stream.read().decode("utf-8", "surrogateescape")
    except OSError as failure:
        raise _Refused(f"{folder} can't be read: {(failure.strerror or 'unknown reason').lower()}") from failure
    except ValueError as failure:
        raise _Refused(f"{folder} can't be read: there is no such path") from failure
    return found


def _inside(path: str, folder: str) -> str:
    return os.path.relpath(path, folder).replace(os.sep, "/")


def _fail(failure: OSError) -> None:
    raise failure


def _study(options: argparse.Namespace, listing: Listed) -> Study:
    """The circuit that a certificate is about. Raises _Refused."""
    if not options.file and listing.main not in listing.sources:
        raise _Refused(f"{options.folder}/{LIST}: it has no file '{listing.main}'")
    path = options.file or os.path.join(options.folder, CIRCUIT, listing.main)
    loaded = load_file(path, options.root if options.file else os.path.join(options.folder, CIRCUIT))
    if loaded.diagnostics:
        first = loaded.diagnostics[0]
        raise _Refused(f"{path} is no circuit: {first.code}: {first.message}")
    for study in loaded.studies:
        if listing.define == (study.circuit.name if study.label else ""):
            return study
    raise _Refused(f"{path} has no circuit of its own" if not listing.define else f"{path} has no '{listing.define}'")
