"""The studies of a file: each circuit it refers to, built, with what is asked of it.

A file yields its own circuit under its given values; the same circuit again for each other set of values that a check
asks for; and each of its definitions, alone, over the declared values of its parameters.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from circuitcheck.diagnostics import NOWHERE, Diagnostic, Span, did_you_mean, error
from circuitcheck.language import tree
from circuitcheck.language.assumptions import AssumptionReader
from circuitcheck.language.claims import ClaimReader
from circuitcheck.language.drawings import Drawings
from circuitcheck.language.elaborate import Definitions, Elaboration
from circuitcheck.language.legality import unbuildable
from circuitcheck.language.repetition import Asked, repeated
from circuitcheck.language.scope import Scope
from circuitcheck.language.values import Reader, Value, allows, declared
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.claims import Assumption, Check, Claim, Forbidding, Silence, Study, without_skipped
from circuitcheck.model.light import USUAL_CYCLE, Cycle
from circuitcheck.model.rules import RULES, RuleSet

MOST_COMBINATIONS = 64
"""Over how many combinations of its parameters a definition's own checks are run."""

PARTS = (tree.PartLine, tree.InstanceLine, tree.OutputLine, tree.PlaceLine)
"""What a file has that has a circuit of its own."""
WIRED = (tree.PartLine, tree.InstanceLine, tree.PlaceLine)
"""What says in words what a circuit is, so that a drawing of it is held against that."""
Allowed = dict[str, list[Value]]
"""For each given value, those it may take, the usual one first."""


@dataclass(frozen=True, slots=True)
class _Subject:
    """What a study is about: a file's own circuit or one of its definitions."""

    name: str
    title: str
    span: Span
    label: str
    statements: Sequence[tree.Statement]
    definition: tree.Definition | None
    drawn: Circuit | None
    """What is drawn of it."""

    @property
    def is_drawing(self) -> bool:
        """Whether the circuit is to be taken from its drawing, since nothing else says what it is."""
        return self.drawn is not None and not _is_wired(self.statements)


class Studies:
    """Makes the studies of one file; mistakes are gathered, and with any the studies are not to be used."""

    def __init__(
        self,
        definitions: Definitions,
        rules: RuleSet,
        sources: dict[str, tuple[str, ...]],
        mistakes: list[Diagnostic],
        cycle: Cycle = USUAL_CYCLE,
        resized: Mapping[str, int] | None = None,
        drawings: Drawings | None = None,
        wanted: frozenset[str] | None = None,
    ) -> None:
        """`wanted` has the labels of the studies that are to be made; None stands for all."""
        self._wanted = wanted
        self._definitions = definitions
        self._drawings = Drawings() if drawings is None else drawings
        self._cycle = cycle
        self._resized = resized
        self._rules = rules
        self._sources = sources
        self._mistakes = mistakes
        self.made: list[Study] = []

    def main(self, statements: Sequence[tree.Statement], head: tree.CircuitLine | None, file: str) -> None:
        """The file's own circuit; `file` names it where the file does not."""
        name = head.name.text if head else file
        title = head.title.text if head and head.title else ""
        span = head.name.span if head else NOWHERE
        reader = Reader({}, self._mistakes)
        allowed: Allowed = {}
        for given in (each for each in statements if isinstance(each, tree.Parameter)):
            if given.name.text in allowed:
                self._fail("CKT202", given.name.span, f"'{given.name.text}' is given twice", "keep one of them")
            allowed[given.name.text] = declared(given, reader, self._mistakes)
        values = {each: options[0] for each, options in allowed.items() if options}
        asked = list(repeated(statements, values, self._mistakes))
        has_parts = any(isinstance(each, PARTS) for each in statements)
        drawn = self._drawings.own(self._rules, name, self._mistakes)
        draws = self._drawings.draws_own or self._drawings.draws_the_unknown
        if draws and drawn is None and not _is_wired(statements):
            return  # what is asked is about the drawing, and none of its names is known
        if has_parts or asked or drawn is not None:
            subject = _Subject(name, title, span, "", statements, None, drawn)
            self._study(subject, values, allowed, asked, set())

    def alone(self, definition: tree.Definition) -> None:
        """A definition standing alone, over the declared values of its parameters."""
        inner = Reader({}, self._mistakes)
        allowed: Allowed = {each.name.text: declared(each, inner, self._mistakes) for each in definition.parameters}
        combinations = list(itertools.islice(itertools.product(*allowed.values()), MOST_COMBINATIONS + 1))
        if len(combinations) > MOST_COMBINATIONS:
            message = f"the values of '{definition.name.text}' make more than {MOST_COMBINATIONS} combinations to check"
            self._fail("CKT305", definition.name.span, message, "narrow the ranges")
            return
        seen: set[object] = set()
        for combination in combinations:
            values = dict(zip(allowed, combination, strict=True))
            several = [name for name, options in allowed.items() if len(options) > 1]
            label = ", ".join([definition.name.text, *(f"{name} {values[name]}" for name in several)])
            asked = list(repeated(definition.statements, values, self._mistakes))
            name = definition.name.text
            usual = combination == combinations[0]
            drawn = self._drawings.of(name, self._rules, self._mistakes) if usual else None
            if usual and drawn is None and self._drawings.draws(name) and not _is_wired(definition.statements):
                return  # none of the names in it is known
            subject = _Subject(name, "", definition.name.span, label, definition.statements, definition, drawn)
            self._study(subject, values, allowed, asked, seen)

    def _study(
        self, subject: _Subject, values: dict[str, Value], allowed: Allowed, asked: list[Asked], seen: set[object]
    ) -> None:
        """Builds the circuit once for each set of values that its checks ask for, the usual values first.

        `seen` holds what has been asked under which values already: over the values of a parameter, a check that gives
        that parameter a value of its own would come again and again.
        """
        groups: dict[tuple[tuple[str, Value], ...], list[Asked]] = {(): []}
        for each in asked:
            changed = self._changed(each, values, allowed)
            numbers = tuple((name, value.number) for name, value in sorted({**values, **dict(changed)}.items()))
            key = (id(each.statement), each.suffix, numbers)
            if key not in seen:
                seen.add(key)
                groups.setdefault(changed, []).append(each)
        for changed, group in groups.items():
            if any(mistake.code == "CKT507" for mistake in self._mistakes):
                return  # too large: building it again, or at all, would only take time
            alone = subject.definition
            own = [*([alone.name.text] if alone else []), *(f"{name} {value}" for name, value in changed)]
            label = ", ".join(own) if changed else subject.label
            if self._wanted is not None and label not in self._wanted:
                continue
            build = Elaboration(self._definitions, self._mistakes, self._resized)
            given = {**values, **dict(changed)}
            if subject.is_drawing and subject.drawn is not None:
                build.drawn(subject.drawn)
            scope = build.definition(alone, given) if alone else build.file(subject.statements, given)
            circuit = build.circuit(subject.name, subject.title, self._rules, subject.span)
            circuit = replace(circuit, cycle=self._cycle)
            if not self._mistakes:
                ports = frozenset(port.text for port in alone.ports) if alone else frozenset()
                # Of the parts of a row the first is reported.
                self._mistakes += {each.span: each for each in reversed(list(unbuildable(circuit, ports)))}.values()
            checks, claims = self._ask(scope, group, circuit)
            silences, forbidden = self._judgements(subject.statements, scope, build)
            assumptions = self._assumptions(subject.statements, scope, circuit)
            drawn = None if subject.is_drawing or changed else subject.drawn
            study = Study(circuit, checks, claims, label, silences, forbidden, assumptions, drawn=drawn)
            self.made.append(without_skipped(study))

    def _changed(self, asked: Asked, values: dict[str, Value], allowed: Allowed) -> tuple[tuple[str, Value], ...]:
        """The values that a check asks for and that differ from the usual ones."""
        changed = {}
        reader = Reader({**values, **asked.looped}, self._mistakes)
        for given in asked.statement.values if isinstance(asked.statement, tree.CheckBlock) else ():
            value = reader.value(given.amount)
            name = given.name.text
            usual = values.get(name)
            if usual is None:
                hint = did_you_mean(name, values) or "give it a usual value with a line 'given'"
                self._fail("CKT201", given.name.span, f"no value is called '{name}'", hint)
            elif (
                value is not None
                and allows(given, value, allowed[name], self._mistakes)
                and value.number != usual.number
            ):
                changed[name] = value
        return tuple(sorted(changed.items()))

    def _ask(
        self, scope: Scope, asked: Iterable[Asked], circuit: Circuit
    ) -> tuple[tuple[Check, ...], tuple[Claim, ...]]:
        checks: list[Check] = []
        claims: list[Claim] = []
        for statement, looped, suffix in asked:
            here = replace(scope, values={**scope.values, **looped})
            reader = ClaimReader(here, circuit, self._sources[statement.title.span.file], self._mistakes)
            if isinstance(statement, tree.CheckBlock):
                checks.append(reader.check(statement, suffix))
            elif isinstance(statement, tree.ResponseLine):
                claims += reader.response(statement)
            else:
                claims += reader.claims(statement, suffix)
        return tuple(checks), tuple(claims)

    def _assumptions(
        self, statements: Iterable[tree.Statement], scope: Scope, circuit: Circuit
    ) -> tuple[Assumption, ...]:
        found: list[Assumption | None] = []
        for each in statements:
            if isinstance(each, tree.HoldingLine | tree.SparingLine):
                reader = AssumptionReader(scope, circuit, self._sources[each.assume.span.file], self._mistakes)
                found.append(reader.assumption(each))
        return tuple(each for each in found if each is not None)

    def _judgements(
        self, statements: Iterable[tree.Statement], scope: Scope, build: Elaboration
    ) -> tuple[tuple[Silence, ...], tuple[Forbidding, ...]]:
        """What the author says of findings: which are silenced, for which parts and why, and which are failures.

        What a definition silences in itself is silent in its instances.
        """
        own = [(each, scope) for each in statements if isinstance(each, tree.SilenceLine)]
        silences = [self._silence(line, around) for line, around in (*own, *build.silences)]
        forbidden = [each.rule for each in statements if isinstance(each, tree.ForbidLine)]
        for rule in forbidden:
            self._known_rule(rule)
        return tuple(silences), tuple(Forbidding(rule.text, rule.span) for rule in forbidden)

    def _silence(self, line: tree.SilenceLine, scope: Scope) -> Silence:
        self._known_rule(line.rule)
        if not line.reason.text.strip():
            self._fail("CKT303", line.reason.span, "a silence needs a reason", "say why the finding is harmless")
        names = tuple(name for word in line.names for name in scope.signals(word, self._mistakes))
        if not names and scope.prefix:
            names = tuple(name for name in scope.names.parts if name.startswith(scope.prefix))
        return Silence(line.rule.text, names, line.reason.text, line.rule.span)

    def _known_rule(self, rule: tree.Word) -> None:
        if rule.text not in RULES:
            hint = did_you_mean(rule.text, RULES) or "the rules are those that messages cite, such as T3 or R4"
            self._fail("CKT406", rule.span, f"there is no rule '{rule.text}'", hint)

    def no_twins(self) -> None:
        """Tells titles that two checks or claims of one study share."""
        seen: set[tuple[str, str]] = set()
        for study in self.made:
            asked: tuple[Check | Claim, ...] = (*study.checks, *study.claims, *study.skipped)
            for each in asked:
                if (study.label, each.title) in seen:
                    self._fail("CKT407", each.span, f"two are titled '{each.title}'", "give each its own title")
                seen.add((study.label, each.title))

    def _fail(self, code: str, span: Span, message: str, hint: str = "") -> None:
        self._mistakes.append(error(code, span, message, hint))


def _is_wired(statements: Iterable[tree.Statement]) -> bool:
    return any(isinstance(each, WIRED) for each in statements)
