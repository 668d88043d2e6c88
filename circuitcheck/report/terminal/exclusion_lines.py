"""What is in a certificate that no smaller circuit will do, and what checking one came to, for people."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from circuitcheck.report.lines import Line, Piece, Style, line, safe, wrapped
from circuitcheck.report.terminal.certified_lines import INDENT, folder_lines

if TYPE_CHECKING:
    from circuitcheck.designing.exclusion_checked import CheckedKinds
    from circuitcheck.designing.exclusion_list import ExclusionList, Kinds


def kinds_lines(done: str, kinds: Kinds, width: int) -> Iterator[Line]:
    """How all netlists of some kinds are excluded; `done` says what was done about that."""
    from circuitcheck.designing.exclusion_list import in_words

    ticks = "" if kinds.ticks is None else f", of {kinds.ticks}t in all or less"
    yield line(Piece(f"  {done:<15}", Style.GOOD), Piece(f"{in_words(kinds.words)}{ticks}"))
    yield from wrapped(_how(kinds), width, INDENT)


def _how(kinds: Kinds) -> str:
    from circuitcheck.designing.exclusion_list import counted

    cores = counted(sum(len(run.cores) for run in kinds.runs), "core")
    runs = counted(len(kinds.runs), "run")
    by = f"by {runs} with {cores}"
    return by if not kinds.alone else f"{by}, and {counted(len(kinds.alone), 'netlist')} by the prover alone"


def written_lines(listing: ExclusionList | None, why: str, folder: str, width: int) -> Iterator[Line]:
    """What was written, and why it is no more."""
    if listing is not None and listing.kinds:
        told = f"{folder}: a certificate that {listing.below.words('will do')}; circuitcheck certified checks it"
        yield from wrapped(safe(told), width, "  ", "    ")
    if why:
        rest = f"{folder} is not written" if listing is None else f"{folder}: what else was excluded is not certified"
        yield from wrapped(safe(f"{rest}: {why}"), width, "  ", "    ", style=Style.DOUBT)


def certificate_data(listing: ExclusionList | None, why: str, folder: str) -> dict[str, Any]:
    """The same as data."""
    return {
        "folder": None if listing is None else folder,
        "below": None if listing is None else listing.below._asdict(),
        "excluded": []
        if listing is None
        else [
            {
                "kinds": dict(each.words),
                "ticks": each.ticks,
                "runs": len(each.runs),
                "cores": sum(len(run.cores) for run in each.runs),
                "by_prover": len(each.alone),
            }
            for each in listing.kinds
        ],
        "why": why or None,
    }


def checked_kinds_lines(checked: CheckedKinds, width: int) -> Iterator[Line]:
    """What checking one choice of kinds came to."""
    from circuitcheck.designing.exclusion_list import in_words

    if not (checked.wrong or checked.undecided):
        yield from kinds_lines("excluded", checked.kinds, width)
        return
    if checked.wrong:
        yield line(Piece("  wrong          ", Style.BAD), Piece(in_words(checked.kinds.words)))
    else:
        yield line(Piece("  undecided      ", Style.DOUBT), Piece(in_words(checked.kinds.words)))
    for each in (*checked.wrong, *checked.undecided):
        yield from wrapped(safe(each), width, INDENT)


def ending_lines(
    listing: ExclusionList, wrong: bool, undecided: int, besides: Sequence[str], width: int
) -> Iterator[Line]:
    """What is wrong with the folder as a whole, or what it proves; `undecided` is how much was not checked."""
    from circuitcheck.designing.exclusion_list import counted

    yield from folder_lines(list(besides))
    if wrong or besides:
        return
    if undecided:
        told = f"{counted(undecided, 'thing')} not checked within the bounds; --states and --seconds give more"
        yield from (line(Piece("  undecided      ", Style.DOUBT), *each) for each in wrapped(told, width, ""))
        return
    first, *more = wrapped(listing.below.words("keeps all that is asked"), width - len(INDENT), "")
    yield line(Piece("  checked        ", Style.GOOD), *first)
    yield from (line(Piece(INDENT), *each) for each in more)
    alone = sum(len(each.alone) for each in listing.kinds)
    again = f"; of {alone} netlists the prover said again that they fail" if alone else ""
    told = f"each proof by a DRAT checker{again}; what is taken as given is in its README.txt"
    yield from wrapped(told, width, INDENT)
