"""What of a file stays as it is while the rest of its circuit is searched for.

Torches and repeaters are searched for, with what powers them and what powers lamps and dust. What the file's checks and
claims name keeps its name, and so does what gives an output. Levers, buttons and plates stay.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import zip_longest

from circuitcheck.designing.netlist import GT_A_TICK, REPEATER, TORCH, Kind, Netlist, Words, powered
from circuitcheck.designing.same_reactions import given_out
from circuitcheck.diagnostics import Diagnostic
from circuitcheck.language import drawn_tree, tree
from circuitcheck.language.layout import laid_out
from circuitcheck.language.load import Loaded, load_text
from circuitcheck.language.parse import parse
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.claims import Check, Claim, Study, Unburnt, Unraced, atoms, conditions

SEARCHED = (TORCH, REPEATER)
INPUTS = ("lever", "button", "plate")
READ = ("lamp", "junction")
POWERED = ("from", "joins")
MOST_LINES = 300
"""Of how many lines of parts what is read and what stays is looked for."""
OWN = "part"
"""What parts are called that the file has no name for, with their number."""


class CantDesign(Exception):
    """Why a file's circuit can't be searched for; the second argument says what would help."""


@dataclass(frozen=True)
class Line:
    """A line of what is read: what of it stays, and where it stands."""

    number: int
    further: range
    """The lines on which it goes on."""
    word: str
    name: str
    others: str
    """Its options but what powers it, and its comment."""

    def powered_by(self, sources: tuple[str, ...]) -> str:
        """The line with other sources."""
        return f"{self.word:8} {self.name}{powered(self.word, sources)}{self.others}"


@dataclass(frozen=True)
class Frame:
    """A file without the part of its circuit that is searched for."""

    path: str
    folder: str
    lines: tuple[str, ...]
    study: Study
    inputs: tuple[str, ...]
    read: tuple[Line, ...]
    """Lamps and dust whose sources are searched for."""
    named: tuple[str, ...]
    """Torches and repeaters that keep their name."""
    replaced: frozenset[int]
    """The lines of the parts that make way."""

    @property
    def circuit(self) -> Circuit:
        """The file's circuit as it is."""
        return self.study.circuit

    @property
    def own(self) -> Netlist:
        """The netlist that the file has now."""
        parts = [part for part in self.circuit.parts if part.word in SEARCHED]
        kinds = tuple((part.name, Kind(part.word, max(part.lag // GT_A_TICK, 1))) for part in parts)
        return Netlist(kinds, ())

    def names(self, count: int) -> tuple[str, ...]:
        """Names for so many parts that the file has no name for."""
        taken = {part.name for part in self.circuit.parts} - {
            part.name for part in self.circuit.parts if part.word in SEARCHED and part.name not in self.named
        }
        free = (f"{OWN}{number}" for number in range(1, count + len(taken) + 1))
        return tuple([name for name in free if name not in taken][:count])

    def text(self, netlist: Netlist) -> str:
        """The file with a netlist in place of its own."""
        sources = dict(netlist.sources)
        own = {line.number: line.powered_by(sources[line.name]) for line in self.read}
        dropped = self.replaced.union(*(line.further for line in self.read))
        at = min(self.replaced, default=min(own, default=len(self.lines)))
        found: list[str] = []
        for number, line in enumerate(self.lines, 1):
            if number == at:
                found += netlist.lines()
            if number in own:
                found.append(own[number])
            elif number not in dropped:
                found.append(line)
        return "\n".join(found) + "\n"

    def written(self, netlist: Netlist) -> str:
        """That file as it is handed over: in the standard layout, if its author's was."""
        text, before = self.text(netlist), "\n".join(self.lines)
        return laid_out(text, self.path)[0] if laid_out(before, self.path)[0].strip() == before.strip() else text

    def study_with(self, netlist: Netlist) -> Study:
        """The study of that file. Raises CantDesign where it has a mistake."""
        loaded = load_text(self.text(netlist), self.path, self.folder)
        if not loaded.valid:
            first = loaded.diagnostics[0]
            raise CantDesign(
                f"with other parts line {first.span.line} has a mistake, {first.message}", "change that line"
            )
        return loaded.studies[0]

    def everything(self, words: Words) -> Circuit:
        """A circuit in which some parts, and all that is read, are powered by everything. Raises CantDesign."""
        sources = (*self.inputs, *words)
        everywhere = tuple((name, sources) for name in (*words, *(line.name for line in self.read)))
        return self.study_with(Netlist(tuple((name, Kind(word)) for name, word in words.items()), everywhere)).circuit


def frame_of(text: str, path: str, folder: str, same: bool = False) -> Frame | tuple[Diagnostic, ...]:
    """What stays of a file, or its mistakes; `same` if what it gives out is to stay as it is. Raises CantDesign."""
    file, mistakes = parse(text, path)
    if file is None or mistakes:
        return tuple(mistakes)
    parts = [statement for statement in file.statements if isinstance(statement, tree.PartLine)]
    lines = tuple(text.splitlines())
    read = tuple(_line(each, lines) for each in parts if each.kind.text in READ)
    inputs = [each.first.text for each in parts if each.kind.text in INPUTS]
    loaded = load_text(text if same else _with_something(lines, parts, read, inputs), path, folder)
    if not loaded.valid:
        return loaded.diagnostics
    if len(parts) > MOST_LINES:
        large = f"it has {len(parts):,} lines of parts, and {MOST_LINES:,} are the most that are searched"
        raise CantDesign(large, "give what is to be searched alone")
    for statement in file.statements:
        _refuse(statement)
    study = _only_study(loaded, same)
    named = _named(study)
    if same:
        named |= {study.circuit.signal(name) or name: None for name in given_out(study.circuit)}
    words = {part.name: part.word for part in study.circuit.parts}
    return Frame(
        path,
        folder,
        lines,
        study,
        tuple(name for name, word in words.items() if word in INPUTS),
        read,
        tuple(name for name in named if words.get(name) in SEARCHED),
        frozenset(line for each in parts if each.kind.text in SEARCHED for line in _lines(each)),
    )


def _with_something(
    lines: Sequence[str], parts: Sequence[tree.PartLine], read: Sequence[Line], inputs: Sequence[str]
) -> str:
    """The text with an input for what powers lamps and dust, where it says nothing of that: it is still to be found."""
    found = list(lines)
    powered_already = {part.first.text for part in parts for option in part.options if option.word.text in POWERED}
    for line in read:
        if inputs and line.name not in powered_already:
            found[line.number - 1] = line.powered_by((inputs[0],))
    return "\n".join(found)


def _only_study(loaded: Loaded, same: bool) -> Study:
    if not loaded.studies:
        raise CantDesign("the file has no circuit of its own", "give a file with inputs and what they are to power")
    study = loaded.studies[0]
    if not (same or study.checks or study.claims):
        what = "add claims or checks: they say what it must do; or keep what it does now with --same"
        raise CantDesign("nothing is asked of the circuit", what)
    if len(loaded.studies) > 1:
        raise CantDesign("the file asks about more than one circuit", "leave definitions and 'given' to other files")
    return study


def _refuse(statement: tree.Statement) -> None:
    """Raises CantDesign for a statement that stands in the way."""
    if isinstance(statement, tree.InstanceLine | tree.Repetition | tree.Definition):
        raise CantDesign("it has pieces, or lines that are repeated", "write it part by part, and line by line")
    if isinstance(statement, tree.UseLine):
        raise CantDesign("it uses other files", "give one file that says all")
    if isinstance(statement, drawn_tree.LegendBlock | drawn_tree.PieceBlock | drawn_tree.DrawingBlock):
        raise CantDesign("it is drawn as well, and the drawing would not be that of another circuit", "leave that out")
    if isinstance(statement, tree.PartLine):
        known = (*SEARCHED, *INPUTS, *READ)
        if statement.kind.text not in known:
            kinds = f"only {', '.join(known)} are searched"
            raise CantDesign(f"it has a {statement.kind.text}, '{statement.first.text}': {kinds}", "leave it out")
        if statement.last is not None and statement.kind.text not in INPUTS:
            raise CantDesign(f"it has a row, '{statement.first.text}'", "write it part by part")
        if any(option.word.text == "locked" for option in statement.options):
            raise CantDesign(f"the repeater '{statement.first.text}' is locked: locks are not searched", "leave it out")


def _lines(statement: tree.PartLine) -> range:
    """The lines on which a part stands: what powers it may be said on several."""
    last = max((name.span.line for option in statement.options for name in option.names), default=0)
    first = statement.kind.span.line
    return range(first, max(first, last) + 1)


def _line(statement: tree.PartLine, lines: Sequence[str]) -> Line:
    where = _lines(statement)
    others = ""
    for option, following in zip_longest(statement.options, statement.options[1:]):
        if option.word.text not in POWERED:
            span = option.word.span
            same = following is not None and following.word.span.line == span.line
            end = following.word.span.column - 1 if following is not None and same else None
            others += "  " + lines[span.line - 1][span.column - 1 : end].partition("#")[0].strip()
    comment = lines[where[-1] - 1].partition("#")
    others += f"  {comment[1]}{comment[2]}".rstrip() if comment[1] else ""
    return Line(where[0], where[1:], statement.kind.text, statement.first.text, others)


def _named(study: Study) -> dict[str, None]:
    """Every part that keeps its name, since the file names it: in checks and claims, outputs, and what is silenced."""
    found = {output.source: None for output in study.circuit.outputs}
    found |= {name: None for silence in study.silences for name in silence.names}
    for claim in _claims(study.claims, study.checks):
        if isinstance(claim.body, Unraced | Unburnt):
            found |= dict.fromkeys(claim.body.names)
        else:
            found |= {atom.name: None for each in conditions(claim.body) for atom in atoms(each)}
    for check in study.checks:
        for expectation in check.expectations:
            found |= {atom.name: None for atom in atoms(expectation.condition)}
    return found


def _claims(claims: Iterable[Claim], checks: Iterable[Check]) -> Iterable[Claim]:
    yield from claims
    for check in checks:
        yield from check.throughout
