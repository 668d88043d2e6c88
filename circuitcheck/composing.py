"""A circuit made from Python: it is written down in the language, line by line, and read by the one loader.

So what is refused is refused with the same words and codes as in a file, and all that is built could stand in one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from circuitcheck.diagnostics import did_you_mean
from circuitcheck.errors import InvalidCircuit, WrongCall, must_be_name, must_be_path, must_be_words
from circuitcheck.language import tree
from circuitcheck.language.load import load_text
from circuitcheck.language.parse import parse
from circuitcheck.language.text import plain
from circuitcheck.loaded import LoadedCircuit
from circuitcheck.model.parts import KINDS


class Builder:
    """Makes a circuit, part by part. A line that can't be read is refused at once; names are looked up at the end.

    >>> builder = circuitcheck.Builder("ferry", "A bell calls the ferry.")
    >>> rope = builder.part("lever", "rope")
    >>> winch = builder.part("repeater", "winch", from_=rope, delay="2t")
    >>> bell = builder.part("lamp", "bell", from_=winch)
    >>> builder.check("a pull rings the bell", "at 5t rope on", "by 8t expect bell")
    >>> ferry = builder.build()
    >>> ferry.verify().exit.name
    'HOLDS'
    """

    def __init__(self, name: str, title: str = "", folder: str | Path = ".") -> None:
        """The circuit's name and title; `use` lines look into `folder`. Raises InvalidCircuit and WrongCall."""
        must_be_name(name)
        must_be_words(title)
        must_be_path(folder)
        self._name = "circuit"  # what mistakes are placed in, until the name is known to be one
        self._folder = folder
        self._lines: list[str] = []
        self._built = False
        head = f'circuit {name} "{title}"' if title else f"circuit {name}"
        match self._read(head):
            case [tree.CircuitLine(name=read, title=said)] if (read.text, said.text if said else "") == (name, title):
                self._lines.append(head)
                self._name = name
            case _:
                raise WrongCall(f"{head!r} is more than the head of a circuit", "give one name and a plain title")

    @property
    def text(self) -> str:
        """What has been said so far, in the language: it can be written to a file, and mistakes are placed in it.

        >>> builder = circuitcheck.Builder("ferry")
        >>> builder.part("lever", "rope", starts="on")
        'rope'
        >>> print(builder.text)
        circuit ferry
        lever rope starts on
        """
        return "\n".join(self._lines)

    def part(self, kind: str, name: str, **options: str | int | Sequence[str] | None) -> str:
        """Adds a part, or a row of them ("pond.1 to pond.3"), and returns its name, to be given as a source.

        Options are the words of the language: `from_="rope"` (a word of Python takes a `_` behind it), `delay="2t"`,
        `locked_by=["bolt", "bar"]` for several sources, `short=True` for a word alone. False and None leave it out.
        Of a row it returns all parts, "pond.*". Raises InvalidCircuit for a line that can't be read, and WrongCall.

        >>> builder = circuitcheck.Builder("ferry")
        >>> builder.part("button", "bell_push", short=True)
        'bell_push'
        >>> try:
        ...     builder.part("lamp", "gap", from_="bell_push")
        ... except circuitcheck.InvalidCircuit as refused:
        ...     print(refused.diagnostics[0].code, refused.diagnostics[0].span)
        CKT103 ferry:3:6
        """
        must_be_name(kind)
        must_be_name(name)
        if kind not in KINDS:
            hint = did_you_mean(kind, KINDS) or f"the kinds are {', '.join(KINDS)}"
            raise WrongCall(f"no kind of part is called '{kind}'", hint)
        given = {word: value for word, value in options.items() if value is not None and value is not False}
        said = [f"{word.rstrip('_').replace('_', ' ')}{_written(word, value)}" for word, value in given.items()]
        line = " ".join([kind, name, *said])
        match self._read(line):
            case [tree.PartLine(first=first, last=last, options=read)] if len(read) == len(given):
                row = (first.text,) if last is None else (first.text, "to", last.text)
                if row == tuple(name.split()):
                    self._take(line)
                    return first.text if last is None else f"{first.text.rpartition('.')[0]}.*"
        raise WrongCall(f"{line!r} says something else than one part with these options", "give each option by itself")

    def add(self, text: str) -> None:
        """Adds whole lines of the language, whatever they say. Raises InvalidCircuit and WrongCall.

        >>> builder = circuitcheck.Builder("ferry")
        >>> builder.add("assume at most 1 changes within 12t")
        >>> builder.add("lever rope")
        >>> builder.add('always "calm"  rope or rope off')
        """
        must_be_words(text)
        self._read(text)
        self._take(text)

    def check(self, title: str, *lines: str) -> None:
        """Adds a check of these lines. Raises InvalidCircuit and WrongCall.

        >>> builder = circuitcheck.Builder("ferry")
        >>> rope = builder.part("lever", "rope")
        >>> builder.check("a pull", "at 1s rope on", "at 1s expect rope")
        """
        must_be_words(title, *lines)
        text = "\n".join([f'check "{title}"', *(f"  {line}" for line in lines), "end"])
        match self._read(text):
            case [tree.CheckBlock(title=tree.Word(text=read))] if read == title:
                self._take(text)
            case _:
                raise WrongCall(f"{text!r} is more than one check", "add each check by itself, with a plain title")

    def build(self) -> LoadedCircuit:
        """Reads all that was added, as a file is read, and ends the building. Raises InvalidCircuit and WrongCall.

        After mistakes (a name that nothing has, say) parts can still be added, and the circuit be built again.

        >>> builder = circuitcheck.Builder("ferry")
        >>> bell = builder.part("lamp", "bell", from_="rope")
        >>> try:
        ...     builder.build()
        ... except circuitcheck.InvalidCircuit as refused:
        ...     print([(each.code, each.span.line) for each in refused.diagnostics])
        [('CKT201', 2)]
        >>> rope = builder.part("lever", "rope")
        >>> builder.build()
        <circuit of ferry>
        """
        self._still_open()
        if len(self._lines) == 1:
            raise WrongCall(f"the circuit '{self._name}' has no parts yet", "add some with part() or add() before")
        built = LoadedCircuit(load_text(self.text, self._name, self._folder), self._folder)
        self._built = True
        return built

    def __repr__(self) -> str:
        return f"<builder of {self._name}, {len(self._lines)} lines>"

    def _still_open(self) -> None:
        if self._built:
            hint = "go on with what build() returned, or begin another Builder"
            raise WrongCall(f"the circuit '{self._name}' has been built already", hint)

    def _read(self, text: str) -> Sequence[tree.Statement]:
        """The statements of a text that is to be added. Raises InvalidCircuit, placed where the text would stand."""
        self._still_open()
        file, mistakes = parse(plain(text), self._name)
        if file is None:
            above = len(self._lines)
            placed = (replace(each, span=replace(each.span, line=each.span.line + above)) for each in mistakes)
            raise InvalidCircuit(tuple(placed))
        return file.statements

    def _take(self, text: str) -> None:
        self._lines += plain(text).rstrip("\n").split("\n")


def _written(word: str, value: object) -> str:
    """What follows the word of an option."""
    if value is True:
        return ""
    if isinstance(value, str | int):
        return f" {value}"
    if isinstance(value, Sequence) and all(isinstance(each, str) for each in value):
        return f" {', '.join(value)}"
    raise WrongCall(f"{value!r} is nothing that '{word}' can be", "give a text, a whole number, names, or True")
