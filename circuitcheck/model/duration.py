"""Durations: whole game ticks inside, written with their unit outside (rule C1).

One game tick (gt) is 1/20 s; a tick (t) is 2 gt.
"""

from __future__ import annotations

from dataclasses import dataclass

GAME_TICKS_PER_TICK = 2
GAME_TICKS_PER_SECOND = 20
UNITS = {"gt": 1, "t": GAME_TICKS_PER_TICK, "s": GAME_TICKS_PER_SECOND}
LONGEST = 24 * 60 * 60 * GAME_TICKS_PER_SECOND
"""The longest duration a file may name, in gt: a day of real time."""
MOST_DIGITS = 9
"""How many digits a duration of a call may have, its point among them."""


@dataclass(frozen=True, slots=True)
class Inexact:
    """A written duration that is not a whole number of gt, with its two whole neighbours in gt."""

    below: int
    above: int


def parse(text: str) -> int | Inexact:
    """Reads `2t`, `3gt` or `1.5s` as a whole number of gt, exactly (no floats are involved)."""
    unit = text.lstrip("0123456789.")
    whole, _, decimals = text[: len(text) - len(unit)].partition(".")
    scale = 10 ** len(decimals)
    below, rest = divmod(int(whole + decimals) * UNITS[unit], scale)
    return Inexact(below, below + 1) if rest else below


def whole(text: str) -> int:
    """Reads a duration that a call names, in gt. Raises ValueError, with what is wrong and what to write."""
    unit = text.lstrip("0123456789.")
    number = text[: len(text) - len(unit)]
    if unit not in UNITS or not number.replace(".", "", 1).isdecimal() or len(number) > MOST_DIGITS:
        raise ValueError(f"'{text}' is not a duration: write for example 16t, 3gt or 1.5s")
    parsed = parse(text)
    if isinstance(parsed, Inexact):
        raise ValueError(f"{text} is not a whole number of gt")
    return parsed


def show(game_ticks: int) -> str:
    """Writes a duration: whole ticks in t, anything else in gt."""
    if game_ticks % GAME_TICKS_PER_TICK == 0:
        return f"{game_ticks // GAME_TICKS_PER_TICK}t"
    return f"{game_ticks}gt"


def in_seconds(game_ticks: float) -> str:
    """Writes a duration in seconds, to the hundredth, as suits what takes long."""
    return f"{game_ticks / GAME_TICKS_PER_SECOND:.2f}".rstrip("0").rstrip(".") + "s"
