"""What stands behind the words of a part's options, held against what its kind takes."""

from __future__ import annotations

from circuitcheck.diagnostics import Diagnostic, article, error
from circuitcheck.language import tree
from circuitcheck.language.values import Reader
from circuitcheck.model.duration import show
from circuitcheck.model.parts.kinds import Kind, Option, Takes


def start_of(kind: Kind, option: Option, word: tree.Word, mistakes: list[Diagnostic]) -> int | None:
    """The level that a start stands for, or None with a mistake recorded."""
    level = option.starts.get(word.text)
    if level is None:
        words = list(option.starts)
        said = "a level from 0 to 15" if len(words) > 8 else " or ".join(words)
        message = f"{article(kind.word)} can't start {word.text}"
        mistakes.append(error("CKT309", word.span, message, f"it starts {said}"))
    return level


def number_of(option: Option, amount: tree.Amount, reader: Reader, mistakes: list[Diagnostic]) -> int | None:
    """A duration in gt or a count within the option's bounds, or None with a mistake recorded."""
    durations = option.takes is Takes.DURATION
    number = reader.duration(amount) if durations else reader.count(amount)
    if number is None:
        return None
    show_bound = show if durations else str
    if number < option.least or (option.most is not None and number > option.most):
        most = f" to {show_bound(option.most)}" if option.most is not None else " or more"
        message = f"{option.word} {amount.text} is out of range"
        mistakes.append(error("CKT305", amount.span, message, f"from {show_bound(option.least)}{most}"))
        return None
    return number
