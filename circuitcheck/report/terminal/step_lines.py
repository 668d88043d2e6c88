"""The steps by which a circuit was made smaller, in lines for people and as data."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from circuitcheck.report.lines import Line, Piece, Style, line, safe, wrapped
from circuitcheck.report.terminal.least_lines import counted, same_lines

if TYPE_CHECKING:
    from circuitcheck.designing.step_by_step import Size, Steps

NONE_TRIED = "nothing was tried: no line of a part of its own could go"
ONLY_ASKED = (
    "what nothing asks about may have changed with each step: 'compare' shows how it reacts otherwise, "
    "'sweep --faults' which faults nothing asked notices"
)


def step_lines(path: str, steps: Steps, width: int) -> Iterator[Line]:
    """What there was, what is left, and each step between."""
    yield line(Piece(safe(path), Style.STRONG), f"  has {_size(steps.before)}")
    if steps.steps:
        holds = "all that is asked holds" if steps.same is None else "every output reacts as before"
        yield line(Piece(f"  {_size(steps.after)}", Style.GOOD), f"  best found, {_saved(steps)}; {holds}")
        for number, words in enumerate(steps.steps, 1):
            yield from wrapped(f"{number}  {safe(words)}", width, "    ", "       ")
        if steps.same is None:
            yield from wrapped(ONLY_ASKED, width, "  ", "    ", style=Style.DOUBT)
        else:
            yield from same_lines(steps.same, steps.shift, width)
    if steps.ended:
        yield from wrapped(f"open: {steps.ended}, after {counted(steps.tried, 'change')} tried", width, "  ", "    ")
    elif not steps.tried:
        yield from wrapped(NONE_TRIED, width, "  ", "    ")
    else:
        still = " still" if steps.steps else ""
        told = f"no single change makes it smaller{still} ({counted(steps.tried, 'change')} tried)"
        yield from wrapped(told, width, "  ", "    ")
    if steps.unsure:
        told = f"of {counted(steps.unsure, 'change')} it is not decided whether all reacts as before: not made"
        yield from wrapped(told, width, "  ", "    ", style=Style.DOUBT)
    if steps.instances:
        told = f"note: {counted(steps.instances, 'instance')} written out part by part, to be changed apart"
        yield from wrapped(told, width, "  ", "    ")
    if steps.undrawn:
        told = "note: its legend and drawings are left out, since they would be those of another circuit"
        yield from wrapped(told, width, "  ", "    ")


def _size(size: Size) -> str:
    return f"{counted(size.parts, 'part')}, {size.ticks}t in all, {counted(size.wires, 'connection')}"


def _saved(steps: Steps) -> str:
    less = [before - after for before, after in zip(steps.before, steps.after, strict=True)]
    return f"{counted(less[0], 'part')}, {less[1]}t and {counted(less[2], 'connection')} saved"


def step_data(steps: Steps) -> dict[str, Any]:
    """The same as data."""
    return {
        "by_steps": {
            "before": steps.before._asdict(),
            "after": steps.after._asdict(),
            "steps": steps.steps,
            "tried": steps.tried,
            "ended": steps.ended,
            "undrawn": steps.undrawn,
            "instances": steps.instances,
            "same": None if steps.same is None else list(steps.same),
            "shift": steps.shift,
            "unsure": steps.unsure,
        }
    }
