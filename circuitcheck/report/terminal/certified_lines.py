"""What is in a certificate, and what checking one came to, for people."""

from __future__ import annotations

from collections.abc import Iterator

from circuitcheck.certificate.checking import Checked
from circuitcheck.certificate.folder_files import BROKEN, MORE_RUNS, NOT_CERTIFIED, Entry, Listed
from circuitcheck.report.lines import Line, Piece, Style, line, safe, wrapped

INDENT = " " * 17


def written_lines(listing: Listed, folder: str, width: int) -> Iterator[Line]:
    """What was written: how many claims are certified, and of each other claim why it is not."""
    certified = [entry for entry in listing.entries if entry.kind != NOT_CERTIFIED]
    count = f"{len(certified)} of {len(listing.entries)} claims"
    yield line(Piece(f"  {safe(folder)}: a certificate of {count}; circuitcheck certified checks it"))
    for entry in listing.entries:
        if entry.kind == NOT_CERTIFIED:
            yield from _not_certified(entry, width)


def certified_lines(entry: Entry) -> Iterator[Line]:
    """That a claim is certified, as soon as it is."""
    if entry.kind != NOT_CERTIFIED:
        yield line(Piece("  certified      ", Style.GOOD), Piece(safe(entry.words)))


def checked_lines(checked: Checked, width: int) -> Iterator[Line]:
    """What checking one claim came to."""
    entry = checked.entry
    if checked.wrong:
        yield line(Piece("  wrong          ", Style.BAD), Piece(safe(entry.words)))
        for each in checked.wrong:
            yield from wrapped(safe(each), width, INDENT)
    elif entry.kind == NOT_CERTIFIED:
        yield from _not_certified(entry, width)
    else:
        yield line(Piece(f"  {entry.kind:<15}", Style.GOOD), Piece(safe(entry.words)))
        if entry.kind == BROKEN:
            yield from wrapped(MORE_RUNS, width, INDENT)


def folder_lines(wrong: list[str]) -> Iterator[Line]:
    """What is wrong with a folder as a whole."""
    for each in wrong:
        yield line(Piece("  wrong          ", Style.BAD), Piece(safe(each)))


def _not_certified(entry: Entry, width: int) -> Iterator[Line]:
    yield line(Piece("  not certified  ", Style.DOUBT), Piece(safe(entry.words)))
    yield from wrapped(safe(entry.why), width, INDENT)
