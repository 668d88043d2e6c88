"""A drawing as its author would write it: the legend, with a letter for each thing, and the layers."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from itertools import chain, groupby
from string import ascii_letters, digits, punctuation
from typing import NamedTuple

from circuitcheck.language import drawn_tree, tree
from circuitcheck.language.layout import laid_out
from circuitcheck.language.legend import Legend, Letter, legend_of
from circuitcheck.language.parse import parse
from circuitcheck.model.drawing import At, Drawing, Thing
from circuitcheck.model.duration import show
from circuitcheck.model.parts.kinds import Takes

AIR = "."
USUAL = {"block": "S", "dust": "-", "glass": "G", "half": "H", "lamp": "O", "torch": "!"}
"""The letters of things without a name, where they are free."""
LETTERS = ascii_letters + digits + "".join(sign for sign in punctuation if sign not in ',#"' + AIR)
Key = tuple[Thing, str]
"""What a letter stands for: a thing, and what its author calls it."""


class NoLetters(Exception):
    """There are more sorts of things than letters."""


def with_drawing(text: str, path: str, drawing: Drawing, of: str = "") -> str:
    """A circuit's text with a legend and a drawing below it: of its own circuit, or of a definition of that name.

    The text stays as it is. Raises NoLetters.
    """
    file, _ = parse(text, path)
    statements = () if file is None else file.statements
    legend = legend_of((each for each in statements if isinstance(each, drawn_tree.LegendBlock)), [])
    drawn = laid_out("\n".join(lines_of(drawing, of, legend)), path)[0]
    return "\n\n".join(each.rstrip() for each in (text, drawn) if each.strip()) + "\n"


def without_drawing(text: str, path: str, of: str = "", keep_legend: bool = False) -> str:
    """A text without the drawing of its own circuit, or of a definition, and without its legend if that was all."""
    file, _ = parse(text, path)
    statements = () if file is None else file.statements
    drawings = [each for each in statements if isinstance(each, drawn_tree.DrawingBlock)]
    gone = next(each for each in drawings if (each.of.text if each.of else "") == of)
    begins = [gone.drawing.span.line]
    pieces = [each for each in statements if isinstance(each, drawn_tree.PieceBlock)]
    if len(drawings) == 1 and not pieces and not keep_legend:
        legends = (each for each in statements if isinstance(each, drawn_tree.LegendBlock))
        begins += [entry.letter.span.line for each in legends for entry in each.entries[:1]]
    lines = text.splitlines()
    dropped: set[int] = set()
    for begin in begins:
        first = next(line for line in range(begin, 0, -1) if lines[line - 1].split()[:1] in (["legend"], ["drawing"]))
        dropped.update(range(first, _end(lines, first) + 1))
    left = [line for number, line in enumerate(lines, 1) if number not in dropped]
    thin = [line for number, line in enumerate(left) if line.strip() or (number and left[number - 1].strip())]
    return "\n".join(thin).strip("\n") + "\n"


KEPT = "_by_hand"
"""What is put to the name of a definition for the one that keeps the drawing that it had."""


class CantKeep(Exception):
    """Why a text can't keep the drawing that it has; the second argument says what would help."""


def keeping(text: str, path: str, of: str) -> str:
    """A text with a second definition like another, under a name of its own, which has its drawing. Raises CantKeep."""
    if not of:
        why = "a file has only one circuit of its own, of which two drawings can't be kept"
        raise CantKeep(why, "leave --keep out: the file that was read keeps the drawing before")
    file, _ = parse(text, path)
    statements = () if file is None else file.statements
    named = {each.name.text for each in statements if isinstance(each, tree.Definition)}
    name = of + KEPT
    if of not in named or name in named:
        there = f"'{name}' is defined already" if name in named else f"'{of}' is defined in another file"
        raise CantKeep(f"the drawing before can't be kept: {there}", "leave --keep out")
    lines = laid_out(text, path)[0].splitlines()
    copied = []
    for opening in (f"define {of} ", f"drawing of {of} "):
        first = next(number for number, line in enumerate(lines) if f"{line} ".startswith(opening))
        last = lines.index("end", first)
        copied.append([lines[first].replace(of, name, 1), *lines[first + 1 : last + 1]])
    return "\n\n".join([text.rstrip(), *("\n".join(each) for each in copied)]) + "\n"


def _end(lines: list[str], first: int) -> int:
    """The line that closes the block that begins on another, counted from 1."""
    depth = 1
    for number in range(first + 1, len(lines) + 1):
        word = lines[number - 1].split()[:1]
        drawn = lines[first - 1].split()[0] == "drawing"
        if word == ["end"]:
            depth -= 1
            if not depth:
                return number
        elif drawn and word == ["layer"] and depth == 1:
            depth += 1
    return len(lines)


def lines_of(drawing: Drawing, of: str = "", legend: Legend | None = None) -> Iterator[str]:
    """The lines of a drawing, below those of a legend for what no letter stands for yet. Raises NoLetters."""
    known, new, at_place, air, by_place = _signs(drawing, legend or {})
    if new or (None, "") not in known:
        yield "legend"
        if (None, "") not in known:
            yield f"  {air}  air"
        yield from (f"  {letter}  {_said(*key)}" for key, letter in sorted(new.items(), key=_in_order))
        yield "end"
        yield ""
    yield f"drawing of {of}" if of else "drawing"
    layers, rows, columns = drawing.size
    for layer in range(1, layers + 1):
        yield f"  layer {layer}"
        places = [[(layer, row, column) for column in range(1, columns + 1)] for row in range(1, rows + 1)]
        drawn = ("".join(at_place.get(at, air) for at in row) for row in places)
        for row, same in groupby(drawn):
            count = len(list(same))
            shown = " ".join(row) if row == "end" else row
            yield f"    {shown}, {count} times" if count > 1 else f"    {shown}"
        yield "  end"
    if by_place:
        yield from (
            f"  named {name} at layer {at[0]} row {at[1]} column {at[2]}" for at, name in sorted(drawing.names.items())
        )
    yield "end"


def lettered(drawing: Drawing) -> Drawing:
    """The drawing with a letter for each sort of thing, as a legend of its own would have it. Raises NoLetters."""
    at_place = _signs(drawing, {}).at_place
    return replace(drawing, things={at: replace(thing, letter=at_place[at]) for at, thing in drawing.things.items()})


class _Signs(NamedTuple):
    """The letters of a drawing: those that a legend has, new ones, which stands at each place, and that for air."""

    known: dict[tuple[Thing | None, str], str]
    new: dict[Key, str]
    at_place: dict[At, str]
    air: str
    by_place: bool
    """Whether things are named by their places, since there are too few letters for a letter each."""


def _signs(drawing: Drawing, legend: Legend) -> _Signs:
    """A letter for each thing of a drawing, those of a legend where it has them. Raises NoLetters."""
    known = {_key(letter): sign for sign, letter in legend.items()}
    keys = {at: (replace(thing, letter=""), drawing.names.get(at, "")) for at, thing in drawing.things.items()}
    keys |= _as_lettered(drawing, legend or {})
    free = [letter for letter in LETTERS if letter not in legend]
    by_place = len(set(keys.values()) - known.keys()) >= len(free)
    if by_place:
        keys = {at: (thing, "") for at, (thing, _) in keys.items()}
    air = known.get((None, "")) or (AIR if AIR not in legend else free.pop())
    new = _letters(dict.fromkeys(keys[at] for at in sorted(keys) if keys[at] not in known), free)
    letters = dict((*known.items(), *new.items()))
    return _Signs(known, new, {at: letters[key] for at, key in keys.items()}, air, by_place)


def _as_lettered(drawing: Drawing, legend: Legend) -> dict[At, Key]:
    """What the letters stand for of the things that have one of a legend still, if it gives them the names they have.

    A letter may be that of another legend, and several things of one name are numbered in order: where some of them
    are gone, or have no letter, the legend's letters would give them other names.
    """
    by_name: dict[str, dict[At, Key]] = {}
    for at, thing in sorted(drawing.things.items()):
        known, name = _key(legend[thing.letter]) if thing.letter in legend else (None, "")
        if known is not None and known == replace(thing, letter=""):
            by_name.setdefault(name, {})[at] = (known, name)
    found: dict[At, Key] = {}
    for name, keys in by_name.items():
        numbered = {at: f"{name}.{number}" if name and len(keys) > 1 else name for number, at in enumerate(keys, 1)}
        right = {at: key for at, key in keys.items() if drawing.names.get(at, "") == numbered[at]}
        if len(right) == len(keys) or not name:
            found |= right
    return found


def _key(letter: Letter) -> tuple[Thing | None, str]:
    """What a letter of a legend stands for."""
    thing = None if letter.thing is None else replace(letter.thing, letter="")
    return thing, letter.named.text if letter.named is not None else ""


def _in_order(item: tuple[Key, str]) -> tuple[bool, str, str, str]:
    """Blocks and dust first, then the parts by their kind and name."""
    (thing, name), letter = item
    return thing.is_part, thing.word, name, letter


def _letters(keys: Iterable[Key], free: list[str]) -> dict[Key, str]:
    """A letter for each sort of thing: one out of its name where that is free. Raises NoLetters."""
    found: dict[Key, str] = {}
    left = dict.fromkeys(free)
    asked = list(keys)
    for key in sorted(asked, key=lambda key: (bool(key[1]), key[1])):
        thing, name = key
        own = f"{name[:1]}{name[:1].upper()}{name.rpartition('.')[2]}{name}" if name else USUAL.get(thing.word, "")
        letter = next((letter for letter in chain(own, left) if letter in left), None)
        if letter is None:
            raise NoLetters
        del left[letter]
        found[key] = letter
    return found


def _said(thing: Thing, name: str) -> str:
    """A thing with its options, as a legend says it."""
    words = [thing.word]
    words += [f"facing {thing.facing.word}"] if thing.facing else []
    words += [f"on {thing.on.word}"] if thing.on and thing.on.word != "below" else []
    words += [f"at {thing.end}"] if thing.end else []
    words += [thing.shape] if thing.shape else []
    for word, value in thing.numbers:
        option = thing.kind.option(word) if thing.kind is not None else None
        timed = option is not None and option.takes is Takes.DURATION
        words.append(f"{word} {show(value) if timed else value}")
    words += sorted(thing.flags)
    if thing.start is not None and thing.kind is not None:
        starts = thing.kind.option("starts")
        assert starts is not None
        words += [f"starts {next(word for word, level in starts.starts.items() if level == thing.start)}"]
    words += [f"named {name}"] if name else []
    return "  ".join(words)
