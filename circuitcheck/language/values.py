"""Amounts: durations, numbers and given values, read and judged in one place."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from circuitcheck.diagnostics import Diagnostic, Span, did_you_mean, error
from circuitcheck.language import tree
from circuitcheck.model import duration

MOST_DIGITS = 9
"""Longer numbers are refused: nothing in a circuit is as large."""


@dataclass(frozen=True, slots=True)
class Value:
    """What an amount comes to: a number, or a duration in gt; and how the author wrote it."""

    number: int
    is_duration: bool
    written: str

    def __str__(self) -> str:
        return self.written


Values = Mapping[str, Value]


class Reader:
    """Reads amounts where given values are known, and gathers what is wrong with them."""

    def __init__(self, values: Values, mistakes: list[Diagnostic]) -> None:
        self.values = values
        self._mistakes = mistakes

    def value(self, amount: tree.Amount) -> Value | None:
        """The amount's value, or None with a mistake recorded."""
        if amount.form is tree.AmountForm.NAME:
            known = self.values.get(amount.text)
            if known is None:
                hint = did_you_mean(amount.text, self.values) or "give it a value with a line 'given'"
                self._fail("CKT201", amount.span, f"no value is called '{amount.text}'", hint)
            return known
        if len(amount.text) > MOST_DIGITS + 3:
            self._fail("CKT305", amount.span, "this number is too large", f"at most {MOST_DIGITS} digits")
            return None
        if amount.form is tree.AmountForm.NUMBER:
            return Value(int(amount.text), False, amount.text)
        return self._duration(amount)

    def _duration(self, amount: tree.Amount) -> Value | None:
        game_ticks = duration.parse(amount.text)
        if isinstance(game_ticks, duration.Inexact):
            below, above = duration.show(game_ticks.below), duration.show(game_ticks.above)
            self._fail(
                "CKT307",
                amount.span,
                f"{amount.text} is not a whole number of gt",
                f"the nearest are {below} and {above}",
            )
            return None
        if game_ticks > duration.LONGEST:
            self._fail("CKT305", amount.span, f"{amount.text} is longer than a day", "choose a shorter time")
            return None
        return Value(game_ticks, True, amount.text)

    def duration(self, amount: tree.Amount) -> int | None:
        """A duration in gt, or None with a mistake recorded."""
        value = self.value(amount)
        if value is None:
            return None
        if not value.is_duration:
            said = f"'{amount.text}' is the bare number {value}" if amount.text != str(value) else f"'{value}'"
            self._fail("CKT306", amount.span, f"{said} needs a unit", f"write {value}t, {value}gt or {value}s")
            return None
        return value.number

    def count(self, amount: tree.Amount) -> int | None:
        """A whole number without a unit, or None with a mistake recorded."""
        value = self.value(amount)
        if value is None:
            return None
        if value.is_duration:
            self._fail(
                "CKT308", amount.span, f"a whole number belongs here, and {value} is a duration", "leave out the unit"
            )
            return None
        return value.number

    def _fail(self, code: str, span: Span, message: str, hint: str) -> None:
        self._mistakes.append(error(code, span, message, hint))


def declared(parameter: tree.Parameter, reader: Reader, mistakes: list[Diagnostic]) -> list[Value]:
    """The values a parameter may take, its usual one first. Ranges step by one of the unit they are written in."""
    usual = reader.value(parameter.amount)
    if usual is None:
        return []
    if parameter.least is None or parameter.most is None:
        return [usual]
    least, most = reader.value(parameter.least), reader.value(parameter.most)
    if least is None or most is None:
        return []
    if not least.is_duration == most.is_duration == usual.is_duration:
        mistakes.append(
            error(
                "CKT308",
                parameter.name.span,
                "the value and its range must be of one kind",
                "give all three a unit, or none",
            )
        )
        return []
    step, unit = _step(least, most)
    numbers = range(least.number, most.number + 1, step)
    if not numbers or len(numbers) > 1000 or usual.number not in numbers:
        message = f"{usual} is not among the values from {least} to {most}"
        mistakes.append(error("CKT305", parameter.name.span, message, "widen the range or change the value"))
        return []
    others = [Value(number, usual.is_duration, f"{number // step}{unit}") for number in numbers]
    return [usual, *(value for value in others if value.number != usual.number)]


def _step(least: Value, most: Value) -> tuple[int, str]:
    if not least.is_duration:
        return 1, ""
    units = {value.written.lstrip("0123456789.") for value in (least, most)}
    whole_ticks = not (least.number % 2 or most.number % 2)
    return (2, "t") if "gt" not in units and whole_ticks else (1, "gt")


def allows(given: tree.Value, value: Value, options: Sequence[Value], mistakes: list[Diagnostic]) -> bool:
    """Whether a value may be given where these are declared; if not, a mistake is recorded."""
    if not options:
        return False
    if value.is_duration is not options[0].is_duration:
        kind = "a duration" if options[0].is_duration else "a number without a unit"
        mistakes.append(
            error("CKT308", given.amount.span, f"'{given.name.text}' is {kind}", f"for example {options[0]}")
        )
        return False
    if len(options) > 1 and value.number not in [option.number for option in options]:
        low, high = min(options, key=lambda v: v.number), max(options, key=lambda v: v.number)
        message = f"{value} is not among the declared values"
        mistakes.append(error("CKT305", given.amount.span, message, f"from {low} to {high}"))
        return False
    return True
