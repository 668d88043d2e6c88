"""The least circuit that keeps all that is asked, in lines for people and as data."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import takewhile
from typing import TYPE_CHECKING, Any

from circuitcheck.model.duration import show
from circuitcheck.report.lines import Line, Piece, Style, line, safe, wrapped

if TYPE_CHECKING:
    from circuitcheck.designing.contradicting import Contradiction
    from circuitcheck.designing.fewest_parts import Searched
    from circuitcheck.designing.frame import Frame
    from circuitcheck.designing.netlist import Netlist, Words
    from circuitcheck.designing.too_weak import History, TooWeak

WHAT = "torches and repeaters"
SAME = (
    "proved beside the circuit as it was: whatever the inputs do that is assumed of them, as long as no torch "
    "burns out, these are at every gt as before, "
)


def least_lines(frame: Frame, searched: Searched, width: int, weak: TooWeak | None = None) -> Iterator[Line]:
    """What was looked for, what was found, what no circuit can do, and whether more should be asked."""
    yield line(Piece(safe(frame.path), Style.STRONG), f"  {_now(frame.own)}")
    if searched.netlist is not None:
        yield line(Piece(f"  {_size(searched.netlist)}", Style.GOOD), f"  {_how(searched)}")
        for each in changed_lines(frame, searched.netlist):
            yield line(f"    {safe(each)}")
        if searched.same is not None:
            yield from same_lines(searched.same, searched.shift, width)
        for name in unused(frame, searched.netlist):
            yield from wrapped(f"note: nothing that is asked needs the input '{safe(name)}'", width, "  ", "    ")
    if searched.contradiction is not None:
        yield from wrapped(safe(_contradicts(searched.contradiction)), width, "  ", "    ", style=Style.BAD)
    for each in _known(frame, searched):
        yield from wrapped(each, width, "  ", "    ")
    if weak is not None:
        yield from _weak_lines(frame, weak, width)


def same_lines(names: Sequence[str], shift: int, width: int) -> Iterator[Line]:
    """That some outputs are as they were, or by how much later or earlier they come."""
    late = f"but {abs(shift)} gt {'later' if shift > 0 else 'earlier'}" if shift else "without delay"
    yield from wrapped(f"{SAME}{late}: {safe(', '.join(names))}", width, "  ", "    ")


def _contradicts(contradiction: Contradiction) -> str:
    titles = [f"“{each.title}” ({each.span.file}:{each.span.line})" for each in contradiction.asked]
    together = f"{', '.join(titles[:-1])} and {titles[-1]} together" if len(titles) > 1 else titles[0]
    run = contradiction.run
    worked = " and ".join(f"'{name}' is worked at {show(at)}" for at, name in sorted(run.worked))
    when = f"when {worked}" if worked else "with nothing worked"
    broken = f"{'one of them' if len(titles) > 1 else 'it'} is broken by {show(run.gt - 1)}"
    return f"contradiction: no circuit at all keeps {together}: {when}, {broken}, whatever parts there are"


def _weak_lines(frame: Frame, weak: TooWeak, width: int) -> Iterator[Line]:
    if weak.other is not None and weak.differs is not None:
        size = _size(weak.other)
        told = f"too little is asked to fix the circuit: this one keeps it all as well and behaves otherwise ({size})"
        yield from wrapped(told, width, "  ", "    ", style=Style.DOUBT)
        for each in changed_lines(frame, weak.other):
            yield line(f"    {safe(each)}")
        yield from wrapped(_differs(weak.differs), width, "    ", "      ")
    for words, differs in weak.faults:
        told = f"a fault that nothing asked notices: {words}; {_differs(differs)}"
        yield from wrapped(safe(told), width, "  ", "    ", style=Style.DOUBT)


def _differs(history: History) -> str:
    """What is worked, and what then differs."""
    done = ", ".join(f"at {show(act.at)} {act.name} {act.verb}" for act in history.acts) or "with nothing worked"
    here, there = ("on" if each else "off" for each in (history.here, history.there))
    when = f"from {show(history.at)} on" if history.for_good else f"at {show(history.at)}"
    return f"{done}: {when} '{history.name}' is {here} above, {there} here"


def counted(number: int, what: str) -> str:
    """A number of things in words."""
    return f"{number:,} {what}{'' if number == 1 else 's'}"


def _now(own: Netlist) -> str:
    return f"has {_size(own)}" if own.parts else "has no torches and repeaters yet"


def _size(netlist: Netlist) -> str:
    return f"{counted(netlist.parts, 'part')}, {netlist.ticks}t in all"


def _how(searched: Searched) -> str:
    assert searched.result is not None
    verdicts = [outcome.verdict.value for outcome in searched.result.outcomes]
    ways = [f"{verdicts.count(way)} {way}" for way in dict.fromkeys(verdicts)]
    return ", ".join([*ways, *(["every output reacts as before"] if searched.same is not None else [])])


def changed_lines(frame: Frame, netlist: Netlist) -> list[str]:
    """The lines of the circuit that was found: its parts, and what is read of it."""
    sources = dict(netlist.sources)
    return [*netlist.lines(), *(each.powered_by(sources[each.name]) for each in frame.read)]


def unused(frame: Frame, netlist: Netlist) -> list[str]:
    """The inputs that power nothing."""
    used = {source for _, sources in netlist.sources for source in sources}
    return [name for name in frame.inputs if name not in used]


def _within(shifts: Sequence[int]) -> str:
    return f", up to {max(shifts)} gt earlier or later" if any(shifts) else ""


def _known(frame: Frame, searched: Searched) -> Iterator[str]:
    """Of how few parts it is known that none will do, and what is not known."""
    from circuitcheck.designing.fewest_parts import Ended

    none = list(takewhile(lambda each: not each.undecided, searched.without))
    if none:
        judged = sum(each.judged for each in none)
        fewer = f"{counted(none[-1].parts, 'part')} or fewer" if none[-1].parts else "no part at all"
        does = "does all that is asked" if searched.same is None else f"reacts as before{_within(searched.shifts)}"
        yield (
            f"with {fewer}: impossible, no netlist of {WHAT} {does}, of those that rest before "
            f"anything is worked, burn no torch out and have no part that nothing needs "
            f"({judged:,} judged, the others refuted by runs of those)"
        )
    if searched.undecided:
        yield f"open: {counted(searched.undecided, 'netlist')} could not be decided; --states gives more for each"
    if searched.ended is Ended.OVER:
        where = counted(searched.stopped_at, "part")
        why = f"{searched.stopped_by}, after {searched.judged:,} were judged"
        yield f"open with {where}: {why}{_done_with(frame, searched)}"


def _done_with(frame: Frame, searched: Searched) -> str:
    """Which kinds of parts it had been through by then."""
    from circuitcheck.designing.exclusion_list import in_words

    if not searched.done_with:
        return ""
    found = searched.netlist
    none = "none" if found is None else f"none of less than {found.ticks}t"
    kinds = [f"of {in_words(words)}{_named(frame, words)}" for words in searched.done_with]
    return f"; by then {none} was left {', '.join(kinds)}"


def _named(frame: Frame, words: Words) -> str:
    """What the parts are that the file has a name for, if it has any."""
    named = [f"'{safe(name)}' a {words[name]}" for name in frame.named]
    return f" ({', '.join(named)})" if named else ""


def least_data(frame: Frame, searched: Searched, weak: TooWeak | None = None) -> dict[str, Any]:
    """The same as data."""
    found = searched.netlist
    return {
        "least": {
            "ended": searched.ended.name.lower(),
            "had": {"parts": frame.own.parts, "ticks": frame.own.ticks},
            "found": None
            if found is None
            else {
                "parts": found.parts,
                "ticks": found.ticks,
                "is_least": searched.is_least,
                "lines": changed_lines(frame, found),
                "unused_inputs": unused(frame, found),
            },
            "contradiction": _contradiction_data(searched.contradiction),
            "without": [each._asdict() for each in searched.without],
            "undecided": searched.undecided,
            "judged": searched.judged,
            "stopped": _stopped_data(searched),
            "same": None if searched.same is None else list(searched.same),
            "shift": searched.shift,
            "another": None
            if weak is None or weak.other is None or weak.differs is None
            else {"lines": changed_lines(frame, weak.other), **_history_data(weak.differs)},
            "unnoticed_faults": []
            if weak is None
            else [{"fault": words, **_history_data(differs)} for words, differs in weak.faults],
        }
    }


def _stopped_data(searched: Searched) -> dict[str, Any] | None:
    """What ended a search before it was done, and which kinds of parts it had been through by then."""
    if not searched.stopped_by:
        return None
    kinds = [dict(words) for words in searched.done_with]
    return {"parts": searched.stopped_at, "why": searched.stopped_by, "excluded": kinds}


def _contradiction_data(contradiction: Contradiction | None) -> dict[str, Any] | None:
    if contradiction is None:
        return None
    worked = [{"at": at, "name": name} for at, name in sorted(contradiction.run.worked)]
    titles, lines = zip(*((each.title, each.span.line) for each in contradiction.asked), strict=True)
    return {"titles": titles, "lines": lines, "worked": worked, "until": contradiction.run.gt - 1}


def _history_data(history: History) -> dict[str, Any]:
    return {
        "worked": [{"at": act.at, "name": act.name, "verb": act.verb} for act in history.acts],
        "differs": history.name,
        "at": history.at,
        "found_is_on": history.here,
        "other_is_on": history.there,
        "for_good": history.for_good,
    }
