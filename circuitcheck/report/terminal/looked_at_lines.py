"""What a layout brings with it beside its box, in a few lines for people and as data."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from circuitcheck.model.drawing import At, said
from circuitcheck.report.lines import Line, Style, safe, wrapped

if TYPE_CHECKING:
    from circuitcheck.plans.looking_after import Hears, LookedAt

MOST_NAMED = 8
Told = tuple[str, Style]


def looked_at_lines(looked: LookedAt, width: int) -> Iterator[Line]:
    """What is heard, how copies stand, what is lit otherwise, and how it is built and worked."""
    for words, style in (*_hearing(looked), *_copies(looked), *_light(looked), *_build(looked)):
        yield from wrapped(safe(words), width, "  ", "    ", style)


def elsewhere_words(looked: LookedAt) -> str:
    """Which parts stand elsewhere than before; most may have been moved as one."""
    count, of = len(looked.elsewhere), len(looked.now.parts)
    if not count:
        return f"all of its {of} parts stand to each other as before"
    names = _list([f"'{each.name}'" for each in looked.elsewhere])
    return f"{count} of {of} parts stand elsewhere or otherwise: {names}"


def _hearing(looked: LookedAt) -> Iterator[Told]:
    if looked.hears:
        what = "heard now, and not before" if looked.before is not None else "heard, and not meant"
        yield f"hearing: {what}: {_heard(looked.hears)}", Style.BAD
    if looked.hears_no_more:
        yield f"hearing: heard before, and not now: {_heard(looked.hears_no_more)}", Style.BAD
    if looked.listens and not looked.hears and not looked.hears_no_more:
        before = "what is heard is as before" if looked.before is not None else "nothing is heard that is not meant"
        at_home = ", with everything at home ('hears' says how it is where things have moved)"
        yield f"hearing: {before}{at_home if looked.now.circuit.things_move else ''}", Style.PLAIN


def _heard(all_: Sequence[Hears]) -> str:
    return _list(
        [f"'{each.what}' by '{each.listener}'{' (NOT meant)' if each.meant is False else ''}" for each in all_]
    )


def _copies(looked: LookedAt) -> Iterator[Told]:
    if not looked.copies:
        yield "copies beside it were not looked at", Style.DOUBT
        return
    worse = [each for each in looked.copies if looked.before is not None and _wider(each.now) > _wider(each.before)]
    sides = "; ".join(f"{each.side} {_apart(each.now)}" for each in looked.copies)
    was = "; ".join(f"{each.side} {_apart(each.before)}" for each in worse)
    yield f"a copy beside it: {sides}{f' (before: {was})' if was else ''}", Style.BAD if worse else Style.PLAIN


def _wider(apart: int | None) -> int:
    return 1_000 if apart is None else apart


def _apart(apart: int | None) -> str:
    if apart is None:
        return "no room between is enough"
    return f"with {apart} place{'' if apart == 1 else 's'} between" if apart else "at once"


def _light(looked: LookedAt) -> Iterator[Told]:
    if not looked.has_cells:
        return
    yield from ((f"light: {words}", Style.BAD) for words in looked.light)
    if not looked.light:
        yield "light: what falls on its cells lets the same things happen", Style.PLAIN


def _build(looked: LookedAt) -> Iterator[Told]:
    built = looked.built
    if built.helpers:
        yield f"build: needs a helper block to be placed against (W1): {_places(built.helpers)}", Style.DOUBT
    else:
        yield "build: each thing has a side to be placed against, in the order of 'sheets'", Style.PLAIN
    checked = sum(bool(each.lit or each.dark) for each in built.checkpoints)
    layers = len(built.checkpoints)
    yield f"checkpoints: something must light or be dark after {checked} of its {layers} stages", Style.PLAIN
    if built.shut_in:
        yield f"build: no hand comes there when its turn comes (W1): {_places(built.shut_in)}", Style.BAD
    for each in built.early:
        yield f"build: '{each.name}' must not be placed early: it would throw over '{each.upsets}'", Style.BAD
    if built.astray:
        names = _list([f"'{name}'" for name in built.astray])
        yield f"build: once all is built, these need not stand as they start: {names}", Style.DOUBT
    if looked.unsaid:
        said_before = _list([f"“{words}”" for words in looked.unsaid])
        yield f"layers: what was said of them before is not said of those now: {said_before}", Style.DOUBT
    if built.out_of_reach:
        yield f"work: no hand comes from outside (W1): {_places(built.out_of_reach)}", Style.BAD


def _places(places: Sequence[At]) -> str:
    return _list(list(map(said, places)), "; ")


def _list(words: Sequence[str], between: str = ", ") -> str:
    more = f" and {len(words) - MOST_NAMED} more" if len(words) > MOST_NAMED else ""
    return between.join(words[:MOST_NAMED]) + more


def looked_at_data(looked: LookedAt | None) -> dict[str, Any] | None:
    """The same as data; null where nothing was found, or the call was stopped before."""
    if looked is None:
        return None
    built = looked.built
    return {
        "shift": list(looked.shift),
        "elsewhere": [
            {"part": each.name, "before": list(each.before), "now": list(each.now)} for each in looked.elsewhere
        ],
        "hears": [each._asdict() for each in looked.hears],
        "hears_no_more": [each._asdict() for each in looked.hears_no_more],
        "copies": [each._asdict() for each in looked.copies],
        "light": list(looked.light),
        "unsaid": list(looked.unsaid),
        "checkpoints": [
            {"layer": each.stage.layer, "lit": list(each.lit), "dark": list(each.dark)} for each in built.checkpoints
        ],
        "helpers": [list(place) for place in built.helpers],
        "shut_in": [list(place) for place in built.shut_in],
        "out_of_reach": [list(place) for place in built.out_of_reach],
        "early": [{"part": each.name, "at": list(each.place), "upsets": each.upsets} for each in built.early],
        "astray": list(built.astray),
    }
