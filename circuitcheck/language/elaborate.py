"""From part lines to parts: rows, instances of definitions, names, options and sources become one flat circuit."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from circuitcheck.diagnostics import Diagnostic, Span, article, did_you_mean, error
from circuitcheck.language import tree
from circuitcheck.language.daylight import PlaceReader, change_of
from circuitcheck.language.options import number_of, start_of
from circuitcheck.language.rows import Rows
from circuitcheck.language.scope import Names, Scope, Wire
from circuitcheck.language.values import Reader, Values, allows, declared
from circuitcheck.model.circuit import Circuit, Output
from circuitcheck.model.making import made
from circuitcheck.model.parts import KINDS
from circuitcheck.model.parts.base import Part
from circuitcheck.model.parts.kinds import Kind, Request, Takes
from circuitcheck.model.rules import RuleSet

MOST_PARTS = 100_000
"""How many parts one circuit may grow to."""
MOST_CONNECTIONS = 500_000
"""How many connections, from what a part reads to that part, one circuit may grow to."""
DEEPEST_INSTANCE = 50

Definitions = Mapping[str, tree.Definition]


@dataclass(frozen=True, slots=True)
class _Line:
    """A part line with the scope it stands in and, for a row, the number it is built for."""

    line: tree.PartLine
    scope: Scope
    name: str
    number: int | None


class Elaboration:
    """Builds one circuit. Mistakes are gathered in `mistakes`; with any, the circuit is not to be used."""

    def __init__(
        self, definitions: Definitions, mistakes: list[Diagnostic], resized: Mapping[str, int] | None = None
    ) -> None:
        self._definitions = definitions
        self._mistakes = mistakes
        self._names = Names()
        self._rows = Rows(self._names, mistakes, resized or {})
        self._lines: list[_Line] = []
        self._outputs: list[tuple[tree.OutputLine, Scope]] = []
        self._places: list[tuple[tree.PlaceLine, Scope]] = []
        self._wired: list[tuple[Part, ...]] = []
        self._connections = 0
        self._gives: tuple[tree.Word, ...] = ()
        self._drawn: Circuit | None = None
        self.silences: list[tuple[tree.SilenceLine, Scope]] = []
        """What definitions say of findings in them, with the scope of each instance."""

    def file(self, statements: Iterable[tree.Statement], values: Values) -> Scope:
        """Elaborates a file's own lines. Returns the scope that its checks stand in."""
        scope = Scope(self._names, values)
        self._declare(statements, scope, ())
        return scope

    def definition(self, definition: tree.Definition, values: Values) -> Scope:
        """Elaborates a definition standing alone, its ports as levers of their own names."""
        scope = Scope(self._names, values)
        for port in definition.ports:
            self._add_name(port.text, port.span)
            self._wired.append(made("lever", port.text, span=port.span))
        self._declare(definition.statements, scope, (definition.name.text,))
        self._check_given_out(definition, scope)
        self._gives = definition.gives
        return scope

    def circuit(self, name: str, title: str, rules: RuleSet, span: Span) -> Circuit:
        """The finished circuit; call it last."""
        too_many = any(mistake.code == "CKT507" for mistake in self._mistakes)
        for line in () if too_many else self._lines:
            if self._connections > MOST_CONNECTIONS:
                self._too_many(line.line.first.span, f"{MOST_CONNECTIONS:,} connections")
                break
            self._wired.append(self._build(line))
        outputs = []
        for output, scope in self._outputs:
            sources = scope.sources(output.source, self._mistakes)
            if len(sources) > 1:
                self._fail(
                    "CKT304", output.source.span, f"an output is one signal, not {len(sources)}", "name one of them"
                )
            outputs += [Output(scope.full(output.name.text), source, output.name.span) for source in sources[:1]]
        outputs += self._given_out()
        parts = tuple(part for parts in self._wired for part in parts)
        made = Circuit(name, parts, tuple(outputs), rules, title, span)
        if self._drawn is not None:
            return replace(self._drawn, name=name, outputs=tuple(outputs), title=title, span=span)
        read = (PlaceReader(scope, made, self._mistakes).place(line) for line, scope in self._places)
        return replace(made, places=tuple(place for place in read if place is not None))

    def _given_out(self) -> list[Output]:
        """What a definition standing alone gives, as its outputs."""
        named = {output.name.text for output, scope in self._outputs if not scope.prefix}
        return [Output(word.text, word.text, word.span) for word in self._gives if word.text not in named]

    def drawn(self, read: Circuit) -> None:
        """Takes in the parts of a circuit that was read out of a drawing, with their names."""
        self._drawn = read
        for part in read.parts:
            self._names.parts.setdefault(part.name, part.span)
            base, dot, last = part.name.rpartition(".")
            if dot and last.isdecimal():
                self._names.rows.setdefault(base, []).append(int(last))

    # Declaring names

    def _declare(self, statements: Iterable[tree.Statement], scope: Scope, inside: tuple[str, ...]) -> None:
        for statement in statements:
            if isinstance(statement, tree.PartLine):
                self._declare_part(statement, scope)
            elif isinstance(statement, tree.InstanceLine):
                self._declare_instance(statement, scope, inside)
            elif isinstance(statement, tree.PlaceLine):
                self._declare_place(statement, scope)
            elif isinstance(statement, tree.OutputLine):
                self._declare_output(statement, scope)
            elif isinstance(statement, tree.SilenceLine) and scope.prefix:
                self.silences.append((statement, scope))

    def _declare_part(self, line: tree.PartLine, scope: Scope) -> None:
        kind = KINDS[line.kind.text]
        members = kind.members(frozenset(option.word.text for option in line.options))
        for name, number in self._rows.names_of(line, scope):
            full = scope.full(name)
            if number is not None:
                self._names.rows.setdefault(scope.full(name.rpartition(".")[0]), []).append(number)
            if not self._add_name(full, line.first.span):
                continue
            for member in members:
                self._add_name(f"{full}.{member}", line.first.span)
            self._lines.append(_Line(line, scope, full, number))
        if len(self._lines) > MOST_PARTS:
            self._too_many(line.first.span)

    def _declare_place(self, line: tree.PlaceLine, scope: Scope) -> None:
        full, span = scope.full(line.name.text), line.name.span
        first = self._names.places.get(full)
        if "." in line.name.text:
            self._fail("CKT203", span, f"'{line.name.text}' can't be the name of a place", "leave out the dot")
        elif first is not None:
            hint = "give one of them another name"
            self._fail("CKT202", span, f"'{full}' is named twice (first in line {first.line})", hint)
        else:
            self._names.places[full] = span
            self._places.append((line, scope))

    def _declare_output(self, line: tree.OutputLine, scope: Scope) -> None:
        full = scope.full(line.name.text)
        if "." in line.name.text:
            self._fail(
                "CKT203", line.name.span, f"'{line.name.text}' can't be the name of an output", "leave out the dot"
            )
        elif full in self._names.parts or full in self._names.aliases:
            self._twice(full, line.name.span)
        else:
            self._names.aliases[full] = Wire(line.source, scope)
            self._outputs.append((line, scope))

    def _declare_instance(self, line: tree.InstanceLine, scope: Scope, inside: tuple[str, ...]) -> None:
        definition = self._definitions.get(line.definition.text)
        full = scope.full(line.name.text)
        self._names.broken.add(full)
        if definition is None:
            hint = did_you_mean(line.definition.text, [*self._definitions, *KINDS])
            self._fail("CKT205", line.definition.span, f"nothing called '{line.definition.text}' is defined", hint)
        elif definition.name.text in inside:
            self._fail("CKT506", line.definition.span, f"'{definition.name.text}' contains itself", "break the circle")
        elif len(inside) >= DEEPEST_INSTANCE or len(self._lines) > MOST_PARTS:
            self._too_many(line.definition.span)
        elif "." in line.name.text:
            self._fail("CKT203", line.name.span, f"'{line.name.text}' can't be a name here", "leave out the dot")
        elif self._add_name(full, line.name.span):
            self._names.broken.discard(full)
            del self._names.parts[full]  # an instance is no part; only what is in it can be read
            self._names.given_out[full] = frozenset(word.text for word in definition.gives)
            ports = self._ports_of(line, definition, scope)
            inner = Scope(
                self._names,
                self._values_of(line, definition, scope),
                full + ".",
                ports,
                frozenset(port.text for port in definition.ports) - set(ports),
            )
            self._declare(definition.statements, inner, (*inside, definition.name.text))
            self._check_given_out(definition, inner)

    def _ports_of(self, line: tree.InstanceLine, definition: tree.Definition, scope: Scope) -> dict[str, Wire]:
        ports: dict[str, Wire] = {}
        names = [port.text for port in definition.ports]
        for port, source in line.wires:
            if port.text not in names:
                hint = did_you_mean(port.text, names) or f"its ports are {', '.join(names)}"
                self._fail("CKT206", port.span, f"'{definition.name.text}' has no port '{port.text}'", hint)
            elif port.text in ports:
                self._twice(port.text, port.span)
            else:
                ports[port.text] = Wire(source, scope)
        for name in names:
            if name not in ports:
                message = f"port '{name}' of '{definition.name.text}' is not wired"
                self._fail("CKT207", line.name.span, message, f"add '{name} SOURCE' between the brackets")
        return ports

    def _values_of(self, line: tree.InstanceLine, definition: tree.Definition, scope: Scope) -> Values:
        outer = Reader(scope.values, self._mistakes)
        inner = Reader({}, self._mistakes)
        allowed = {each.name.text: declared(each, inner, self._mistakes) for each in definition.parameters}
        values = {name: options[0] for name, options in allowed.items() if options}
        for given in line.values:
            value = outer.value(given.amount)
            name = given.name.text
            if name not in allowed:
                hint = did_you_mean(name, allowed)
                self._fail("CKT201", given.name.span, f"'{definition.name.text}' has no value called '{name}'", hint)
            elif value is not None and allows(given, value, allowed[name], self._mistakes):
                values[name] = value
        return values

    def _check_given_out(self, definition: tree.Definition, scope: Scope) -> None:
        for word in definition.gives:
            full = scope.full(word.text)
            if full not in self._names.parts and full not in self._names.aliases:
                hint = did_you_mean(word.text, scope.known())
                self._fail(
                    "CKT201", word.span, f"'{definition.name.text}' has no part called '{word.text}' to give", hint
                )

    # Building parts

    def _build(self, line: _Line) -> tuple[Part, ...]:
        kind = KINDS[line.line.kind.text]
        request = Request(line.name, line.line.first.span, {}, {}, None, frozenset(), {})
        reader = Reader(line.scope.values, self._mistakes)
        mistakes_before = len(self._mistakes)
        for written in line.line.options:
            self._take(kind, written, line, request, reader)
        for option in kind.options:
            if option.required and option.word not in request.spans:
                message = f"{article(kind.word)} needs '{option.word}': {option.meaning}"
                self._fail("CKT303", line.line.first.span, message, f"add '{option.word} …'")
            if option.default is not None:
                request.numbers.setdefault(option.word, option.default)
        if len(self._mistakes) > mistakes_before:
            return ()
        parts = kind.build(request)
        self._mistakes.extend(request.mistakes)
        return () if request.mistakes else parts

    def _take(self, kind: Kind, written: tree.Option, line: _Line, request: Request, reader: Reader) -> None:
        word = written.word.text
        option = kind.option(word)
        if option is None:
            known = [each.word for each in kind.options]
            hint = did_you_mean(word, known) or (f"it takes {', '.join(known)}" if known else "it takes no options")
            self._fail("CKT301", written.word.span, f"{article(kind.word)} takes no '{word}'", hint)
            return
        if word in request.spans and option.takes is not Takes.CHANGE:
            self._fail("CKT302", written.word.span, f"'{word}' stands twice", "keep one of them")
            return
        request.spans[word] = written.word.span
        if option.takes is Takes.SOURCES:
            picked = (line.scope.sources(name, self._mistakes, self._pick(line)) for name in written.names)
            request.sources[word] = tuple(dict.fromkeys(name for names in picked for name in names))
            self._connections += len(request.sources[word])
        elif option.takes is Takes.FLAG:
            request.flags |= {word}
        elif option.takes is Takes.START:
            assert written.start is not None
            request.start = start_of(kind, option, written.start, self._mistakes)
        elif option.takes is Takes.PLACE:
            self._take_place(written, line.scope, request)
        elif option.takes is Takes.CHANGE and written.change is not None:
            change = change_of(written.change, self._mistakes)
            request.changes += [change] if change is not None else []
        elif word != kind.counted_by:
            assert written.amount is not None
            number = number_of(option, written.amount, reader, self._mistakes)
            request.numbers |= {} if number is None else {word: number}

    def _take_place(self, written: tree.Option, scope: Scope, request: Request) -> None:
        assert written.place is not None
        full = scope.full(written.place.text)
        if full not in self._names.places:
            known = [name.removeprefix(scope.prefix) for name in self._names.places if name.startswith(scope.prefix)]
            hint = did_you_mean(written.place.text, known) or "a place is made as in: place bed gets sky through leaf"
            self._fail("CKT201", written.place.span, f"no place is called '{written.place.text}'", hint)
        request.places[written.word.text] = full

    def _pick(self, line: _Line) -> int | None:
        return line.number if line.line.first.text.endswith(".*") else None

    # Mistakes

    def _add_name(self, full: str, span: Span) -> bool:
        if full in self._names.parts or full in self._names.aliases or full in self._names.given_out:
            self._twice(full, span)
            return False
        self._names.parts[full] = span
        return True

    def _twice(self, name: str, span: Span) -> None:
        first = self._names.parts.get(name)
        where = f" (first in line {first.line})" if first else ""
        self._fail("CKT202", span, f"'{name}' is named twice{where}", "give one of them another name")

    def _too_many(self, span: Span, what: str = f"{MOST_PARTS:,} parts") -> None:
        if not any(mistake.code == "CKT507" for mistake in self._mistakes):
            self._fail("CKT507", span, f"the circuit grows past {what}", "make it smaller or split it")

    def _fail(self, code: str, span: Span, message: str, hint: str = "") -> None:
        self._mistakes.append(error(code, span, message, hint))
