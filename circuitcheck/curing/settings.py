"""Changes of what is set at a part: a time, a length, a mode, how it starts; and of given values."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from circuitcheck.curing.edits import Change, Cost, Edit, Home, behind, replacing
from circuitcheck.curing.source_text import Source
from circuitcheck.diagnostics import Span
from circuitcheck.language import tree
from circuitcheck.model.duration import GAME_TICKS_PER_TICK, Inexact, parse, show
from circuitcheck.model.parts import KINDS
from circuitcheck.model.parts.kinds import Kind, Option, Takes

NEAREST = 3
"""By how many ticks a time is changed, at most, where nothing bounds it."""
LONGEST_LINE = 16
"""Up to which length a line is tried: longer ones carry nothing."""


def settings(source: Source) -> Iterator[Change]:
    """Every other setting of everything that a line of the file sets, but of what something is asked with."""
    for home, definition, statement in source.statements():
        if isinstance(statement, tree.PartLine):
            yield from settings_of(home, statement)
            yield from _given_instead(home, statement, _given_in(source, definition))
        elif isinstance(statement, tree.Parameter):
            yield from _of_given(statement, source.asked_with(definition))
        elif isinstance(statement, tree.InstanceLine):
            yield from _of_instance(home, statement, source.asked_with(statement.definition.text))
    for name, known in source.definitions.items():
        for parameter in known.parameters:
            yield from _of_given(parameter, source.asked_with(name))


def _given_in(source: Source, definition: str) -> Iterator[tree.Parameter]:
    """The given values of a definition, or of the file's own lines."""
    for _, inside, each in source.statements():
        if inside == definition and isinstance(each, tree.Parameter):
            yield each
    yield from source.definitions[definition].parameters if definition else ()


def _given_instead(home: Home, line: tree.PartLine, given: Iterable[tree.Parameter]) -> Iterator[Change]:
    """What is given by name in place of a value that is written out: then checks that give another change it too."""
    known = list(given)
    for written in line.options:
        amount = written.amount
        for each in known if amount is not None and amount.form is not tree.AmountForm.NAME else ():
            if amount is None or each.amount.form is not amount.form:
                continue
            timed = amount.form is tree.AmountForm.DURATION
            chosen, value = _number(amount, timed), _number(each.amount, timed)
            if value is not None and chosen is not None:
                words = f"{named(line)} {written.word.text} {amount.text} → {each.name.text}"
                cost = Cost(steps=max(1, steps_between(chosen, value, timed)))
                later = value - chosen if written.word.text == "delay" else 0
                yield Change(words, cost, (replacing(amount.span, each.name.text),), frozenset({home}), later=later)


def named(line: tree.PartLine) -> str:
    """What a line of a part is called."""
    return f"{line.kind.text} '{line.first.text}'"


def last_word(line: tree.PartLine) -> Span:
    """The last word of a line of a part."""
    from circuitcheck.curing.source_text import spans

    return max(spans(line), key=lambda span: (span.line, span.end_column))


def readers_of(line: tree.PartLine) -> frozenset[tuple[int, int]]:
    """Where a line stands, as its parts say it of themselves."""
    return frozenset({(line.first.span.line, line.first.span.column)})


def settings_of(home: Home, line: tree.PartLine, drawn: bool = False) -> Iterator[Change]:
    """Every other setting of one part; `drawn` says that its line is that of a letter of a drawing."""
    kind = KINDS[line.kind.text]
    written = {each.word.text: each for each in line.options}

    def change(words: str, steps: int, edit: Edit, later: int = 0) -> Change:
        cost = Cost(steps=steps)
        return Change(f"{named(line)} {words}", cost, (edit,), frozenset({home}), readers_of(line), later=later)

    for option in kind.options:
        own = written.get(option.word)
        if option.takes in (Takes.DURATION, Takes.COUNT) and option.word != kind.counted_by:
            timed = option.takes is Takes.DURATION
            chosen = _number(own.amount, timed) if own is not None and own.amount is not None else option.default
            if own is None and (chosen is None or not (drawn or _stands_alone(kind, option, written))):
                continue
            was = own.amount.text if own is not None and own.amount is not None else said(chosen or 0, timed)
            for value in values_of(option, chosen):
                after = said(value, timed)
                edit = (
                    replacing(own.amount.span, after)
                    if own is not None and own.amount is not None
                    else behind(last_word(line), f"  {option.word} {after}")
                )
                later = value - chosen if timed and option.word == "delay" and chosen is not None else 0
                yield change(f"{option.word} {was} → {after}", steps_between(chosen, value, timed), edit, later)
    yield from (change(*each) for each in _flags(kind, line))
    if not kind.is_input:
        yield from (change(*each) for each in _starts(kind, line))


def _stands_alone(kind: Kind, option: Option, written: Iterable[str]) -> bool:
    """Whether an option that is not written may be: not one of another way of writing the part."""
    return option.word in kind.usual and bool({"watches", "from", "joins"} & set(written))


def said(value: int, timed: bool) -> str:
    """A value as a file says it."""
    return show(value) if timed else str(value)


def steps_between(chosen: int | None, value: int, timed: bool) -> int:
    """By how many steps two values differ."""
    if chosen is None:
        return 1
    return -(-abs(value - chosen) // GAME_TICKS_PER_TICK) if timed else abs(value - chosen)


def _number(amount: tree.Amount, timed: bool) -> int | None:
    """What an amount comes to, None where it is that of a given value."""
    if amount.form is tree.AmountForm.NAME:
        return None
    if not timed:
        return int(amount.text)
    read = parse(amount.text)
    return None if isinstance(read, Inexact) else read


def values_of(option: Option, chosen: int | None) -> list[int]:
    """The values that are tried of a time or a count, nearest first."""
    timed = option.takes is Takes.DURATION
    step = GAME_TICKS_PER_TICK if timed else 1
    middle = chosen if chosen is not None else (option.default or option.least)
    if option.most is not None and (timed or option.most < LONGEST_LINE):
        found = range(-(-option.least // step) * step, option.most + 1, step)
    elif timed:
        found = range(middle - NEAREST * step, middle + NEAREST * step + 1, step)
    else:
        found = range(1, LONGEST_LINE + 1)
    values = [value for value in found if value >= option.least and value != chosen]
    return sorted(values, key=lambda value: (abs(value - middle), value))


def _flags(kind: Kind, line: tree.PartLine) -> Iterator[tuple[str, int, Edit]]:
    """One mode instead of another, one more, or one less."""
    flags = [option.word for option in kind.options if option.takes is Takes.FLAG]
    own = {each.word.text: each.word for each in line.options if each.word.text in flags}
    for flag in flags:
        if flag in own:
            continue
        for word, where in own.items():
            yield f"{word} → {flag}", 1, replacing(where.span, flag)
        if not own:
            yield f"as it is → {flag}", 1, behind(last_word(line), f"  {flag}")
    for word, where in own.items():
        yield f"no longer {word}", 1, _taken_out(where.span)


def _taken_out(span: Span) -> Edit:
    """A word taken out, with the blank before it."""
    return Edit(span.line, span.column - 1, span.end_column, "")


def _starts(kind: Kind, line: tree.PartLine) -> Iterator[tuple[str, int, Edit]]:
    """Another start, or one where none is said."""
    option = next((each for each in kind.options if each.takes is Takes.START), None)
    if option is None:
        return
    own = next((each for each in line.options if each.word.text == option.word), None)
    chosen = own.start if own is not None else None
    has_sides = any(each.word.text == "set" for each in line.options)
    levels: dict[int, str] = {}
    for word, level in option.starts.items():
        # A latch of two sides starts set or reset, all else on or off.
        if word in ("set", "reset") and not has_sides:
            continue
        levels.setdefault(level, word)
    for level, word in levels.items():
        if chosen is None:
            yield f"starts as it comes → {word}", 1, behind(last_word(line), f"  {option.word} {word}")
        elif option.starts.get(chosen.text) != level:
            yield f"starts {chosen.text} → {word}", 1, replacing(chosen.span, word)


def _of_given(line: tree.Parameter, asked: frozenset[str]) -> Iterator[Change]:
    """Another value of what is given, within its range."""
    for was, after, steps in _others(line.amount, line.least, line.most) if line.name.text not in asked else ():
        words = f"given '{line.name.text}' {was} → {after}"
        yield Change(words, Cost(steps=steps), (replacing(line.amount.span, after),))


def _of_instance(home: Home, line: tree.InstanceLine, asked: frozenset[str]) -> Iterator[Change]:
    """Another value that an instance is given."""
    for given in (each for each in line.values if each.name.text not in asked):
        for was, after, steps in _others(given.amount, None, None):
            words = f"{line.definition.text} '{line.name.text}' given {given.name.text} {was} → {after}"
            yield Change(words, Cost(steps=steps), (replacing(given.amount.span, after),), frozenset({home}))


def _others(amount: tree.Amount, least: tree.Amount | None, most: tree.Amount | None) -> Iterator[tuple[str, str, int]]:
    """Other values of an amount: how it and they are written, and by how many steps they differ."""
    timed = amount.form is tree.AmountForm.DURATION
    chosen = _number(amount, timed)
    if chosen is None:
        return
    low = _number(least, timed) if least is not None else None
    high = _number(most, timed) if most is not None else None
    takes = Takes.DURATION if timed else Takes.COUNT
    option = Option("", takes, "", least=1 if low is None else low, most=high)
    for value in values_of(option, chosen):
        yield amount.text, said(value, timed), steps_between(chosen, value, timed)
