"""Builds the syntax tree while the parser reads: one method for each rule of the grammar, named as there.

Nothing is looked up or judged here, and nothing is raised; what a line means is for the lowering to say.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from lark import Token

from circuitcheck.diagnostics import Span
from circuitcheck.language import tree
from circuitcheck.language.drawn import Children, DrawnBuilder

TESTS = {
    "ON": "is_on",
    "OFF": "is_off",
    "IS": "is_level",
    "AT_LEAST": "is_at_least",
    "AT_MOST": "is_at_most",
    "RISES": "rises",
    "FALLS": "falls",
    "CHANGES": "changes",
    "SET": "is_set",
    "RESET": "is_reset",
    "FORBIDDEN": "is_forbidden",
    "UNKNOWN": "is_unknown",
}
"""What each test is called in the tree, by the words it is written with."""


def _together(first: Span, last: Span) -> Span:
    end = last.end_column if last.line == first.line else first.end_column
    return Span(first.file, first.line, first.column, end)


class Builder(DrawnBuilder):
    """Turns each rule's children into a value of the syntax tree. `file` is the file being read."""

    # The file

    def start(self, children: Children) -> tree.File:
        return tree.File(self.file, tuple(child for child in children if not isinstance(child, Token)))

    def language(self, children: Children) -> tree.LanguageLine:
        return tree.LanguageLine(self.word(children[1]))

    def circuit(self, children: Children) -> tree.CircuitLine:
        return tree.CircuitLine(self.word(children[1]), self._optional(children[2], self.text))

    def rules(self, children: Children) -> tree.RulesLine:
        return tree.RulesLine(self.word(children[1]))

    def setting(self, children: Children) -> tree.SettingLine:
        return tree.SettingLine(self.word(children[1]), children[2])

    def silence(self, children: Children) -> tree.SilenceLine:
        _silence, rule, _for, names, _because, reason = children
        return tree.SilenceLine(self.word(rule), names or (), self.text(reason))

    def forbid(self, children: Children) -> tree.ForbidLine:
        return tree.ForbidLine(self.word(children[1]))

    def fraction(self, children: Children) -> tree.Fraction:
        return tree.Fraction(str(children[0]), self.span(children[0]))

    def use(self, children: Children) -> tree.UseLine:
        return tree.UseLine(self.text(children[1]))

    # Parts

    def given(self, children: Children) -> tree.Parameter:
        return self.parameter(children[1:])

    def parameter(self, children: Children) -> tree.Parameter:
        name, amount, _from, least, _to, most = children
        return tree.Parameter(
            self.word(name),
            amount,
            least,
            most,
        )

    def kind(self, children: Children) -> tree.Word:
        return self.word(children[0])

    def row(self, children: Children) -> tuple[tree.Word, tree.Word | None]:
        return (self.word(children[0]), self._optional(children[2], self.word))

    def part(self, children: Children) -> tree.PartLine:
        kind, (first, last), *options = children
        return tree.PartLine(kind, first, last, tuple(options))

    def sources_option(self, children: Children) -> tree.Option:
        return tree.Option(self.word(children[0]), names=children[-1])

    def amount_option(self, children: Children) -> tree.Option:
        return tree.Option(self.word(children[0]), amount=children[1])

    def place_option(self, children: Children) -> tree.Option:
        return tree.Option(self.word(children[0]), place=self.word(children[1]))

    def change_option(self, children: Children) -> tree.Option:
        becomes, to, title, _chance, fraction, light = children
        side, level = light or (None, None)
        change = tree.Change(self.word(to), self._optional(title, self.text), fraction, side, level)
        return tree.Option(self.word(becomes), change=change)

    def in_light(self, children: Children) -> tuple[tree.Word, tree.Word]:
        return (self.word(children[0]), self.word(children[1]))

    def start_option(self, children: Children) -> tree.Option:
        return tree.Option(self.word(children[0]), start=children[1])

    def flag_option(self, children: Children) -> tree.Option:
        return tree.Option(children[0])

    def flag(self, children: Children) -> tree.Word:
        return self.word(children[0])

    def start_level(self, children: Children) -> tree.Word:
        return self.word(children[0])

    def output(self, children: Children) -> tree.OutputLine:
        return tree.OutputLine(self.word(children[1]), self.word(children[3]))

    # Light

    def cycle(self, children: Children) -> tree.CycleLine:
        return tree.CycleLine(self.word(children[0]), children[1], tuple(children[2:]))

    def phase(self, children: Children) -> tree.PhaseItem:
        return tree.PhaseItem(self.word(children[0]), children[1])

    def place(self, children: Children) -> tree.PlaceLine:
        paths = tuple(child for child in children if isinstance(child, tree.LightPathItem))
        return tree.PlaceLine(self.word(children[1]), paths)

    def way(self, children: Children) -> tree.LightPathItem:
        layers = tuple(child for child in children if isinstance(child, tree.LayerItem))
        return tree.LightPathItem(self.word(children[0]), layers)

    def layer(self, children: Children) -> tree.LayerItem:
        count, thing, _when, when, only = children
        return tree.LayerItem(self._optional(count, self.word), self.word(thing), self._optional(when, self.word), only)

    def only_when(self, children: Children) -> tree.Word:
        return self.word(children[0])

    # Pieces

    def definition(self, children: Children) -> tree.Definition:
        _define, name, ports, parameters, _gives, gives, *statements, _end = children
        return tree.Definition(self.word(name), ports, parameters or (), gives, tuple(statements))

    def parameters(self, children: Children) -> tuple[tree.Parameter, ...]:
        return tuple(children[1:])

    def instance(self, children: Children) -> tree.InstanceLine:
        definition, name, *wires, values = children
        return tree.InstanceLine(self.word(definition), self.word(name), tuple(wires), values or ())

    def wire(self, children: Children) -> tuple[tree.Word, tree.Word]:
        return (self.word(children[0]), self.word(children[1]))

    def values(self, children: Children) -> tuple[tree.Value, ...]:
        return tuple(children[1:])

    def value(self, children: Children) -> tree.Value:
        return tree.Value(self.word(children[0]), children[1])

    # Checks

    def check(self, children: Children) -> tree.CheckBlock:
        _check, title, values, judged, *lines, _end = children
        return tree.CheckBlock(self.text(title), values or (), judged, tuple(lines))

    def failing(self, children: Children) -> tree.Failing:
        return tree.Failing(self.word(children[-1]))

    def skipping(self, children: Children) -> tree.Skipping:
        return tree.Skipping(self.text(children[-1]))

    def at_acts(self, children: Children) -> tree.Acts:
        return tree.Acts(children[1], tuple(children[2:]))

    def at_expects(self, children: Children) -> tree.Expects:
        return self._expects("at", children[1], None, children)

    def by_expects(self, children: Children) -> tree.Expects:
        return self._expects("by", children[1], None, children)

    def span_expects(self, children: Children) -> tree.Expects:
        return self._expects("span", children[1], children[3], children)

    def _expects(self, how: str, start: tree.Amount, end: tree.Amount | None, children: Children) -> tree.Expects:
        span = _together(self.span(children[0]), (end or start).span)
        return tree.Expects(how, start, end, children[-1], span)

    def throughout(self, children: Children) -> tree.Throughout:
        return tree.Throughout(children[-1])

    def lasting(self, children: Children) -> tree.Lasting:
        return tree.Lasting(children[1])

    def action(self, children: Children) -> tree.ActionItem:
        words = [self.word(token) for token in children]
        if children[0].type != "NAME":
            return tree.ActionItem(words[1], words[0], None)
        return tree.ActionItem(words[0], words[1], words[2] if len(words) > 2 else None)

    # Claims

    def claim(self, children: Children) -> tree.ClaimLine:
        quantifier, title, judged, each, body = children
        return tree.ClaimLine(self.word(quantifier), self.text(title), judged, each, body)

    def response_claim(self, children: Children) -> tree.ResponseLine:
        response, title, judged, _of, phase, _to, target, edge, days, *bounds = children
        word = self.word(response)
        said = f"response of {phase} to {target}" + (f" {edge.text}" if edge else "")
        said += f" when {days.text}" if days else ""
        named = self.text(title) if title is not None else tree.Word(said, word.span)
        return tree.ResponseLine(word, named, judged, self.word(phase), self.word(target), edge, days, tuple(bounds))

    def edge_test(self, children: Children) -> tree.Word:
        return self.word(children[0])

    def on_days(self, children: Children) -> tree.Word:
        return self.word(children[1])

    def median_bound(self, children: Children) -> tree.TimeBound:
        return tree.TimeBound("median", None, children[-1], self.span(children[0]))

    def mean_bound(self, children: Children) -> tree.TimeBound:
        return tree.TimeBound("mean", None, children[-1], self.span(children[0]))

    def share_bound(self, children: Children) -> tree.TimeBound:
        return tree.TimeBound("share", self.word(children[0]), children[-1], self.span(children[0]))

    def missed_bound(self, children: Children) -> tree.TimeBound:
        return tree.TimeBound("missed", self.word(children[-1]), None, self.span(children[0]))

    def holding(self, children: Children) -> tree.HoldingLine:
        assume, names, _stable, _for, amount = children
        return tree.HoldingLine(self.word(assume), names, amount)

    def sparing(self, children: Children) -> tree.SparingLine:
        assume, _at, _most, number, _changes, _within, amount = children
        return tree.SparingLine(self.word(assume), self.word(number), amount)

    def each(self, children: Children) -> tree.Word:
        return self.word(children[-1])

    def repetition(self, children: Children) -> tree.Repetition:
        _for, name, _in, *rest = children[:-1]
        amounts = tuple(item for item in rest if isinstance(item, tree.Amount))
        statements = tuple(item for item in rest if not isinstance(item, tree.Amount))
        return tree.Repetition(self.word(name), amounts, statements)

    def _first_span(self, children: Sequence[Any]) -> Span:
        for child in children:
            if isinstance(child, Token):
                return self.span(child)
            if isinstance(child, tree.Atom | tree.EdgeWords):
                return child.name.span
            if isinstance(child, tree.Negation):
                return self._first_span([child.part])
            if isinstance(child, tree.Joined):
                return self._first_span(child.parts)
        raise AssertionError("a body holds at least one word")

    def invariant(self, children: Children) -> tree.Body:
        return tree.Body("invariant", (children[0],), self._first_span(children))

    def response(self, children: Children) -> tree.Body:
        _when, trigger, _then, goal, _within, amount, _unless, unless = children
        items = (trigger, goal, amount, unless)
        return tree.Body("response", items, self._first_span(children))

    def lasting_until(self, children: Children) -> tree.Body:
        return tree.Body("lasting_until", (children[1], children[3], children[5]), self._first_span(children))

    def steady(self, children: Children) -> tree.Body:
        _when, trigger, _then, name, _stable, _for, amount = children
        items = (trigger, self.word(name), amount)
        return tree.Body("steady", items, self._first_span(children))

    def inversion(self, children: Children) -> tree.Body:
        return self._relation("inversion", children)

    def following(self, children: Children) -> tree.Body:
        return self._relation("following", children)

    def _relation(self, form: str, children: Children) -> tree.Body:
        items = (self.word(children[0]), self.word(children[2]), children[-1])
        return tree.Body(form, items, self.span(children[0]))

    def pulses(self, children: Children) -> tree.Body:
        return tree.Body("pulses", (self.word(children[3]), children[-1]), self.span(children[0]))

    def gaps(self, children: Children) -> tree.Body:
        return tree.Body("gaps", (self.word(children[3]), children[-1]), self.span(children[0]))

    def delay(self, children: Children) -> tree.Body:
        return tree.Body("delay", (children[1], children[3], children[-1]), self.span(children[0]))

    def possible(self, children: Children) -> tree.Body:
        wanted = children[1]
        condition = None if isinstance(wanted, Token) else wanted
        return tree.Body("possible", (condition,), self.span(children[0]))

    def racing(self, children: Children) -> tree.Body:
        return tree.Body("racing", (self.word(children[0]),), self.span(children[0]))

    def burning(self, children: Children) -> tree.Body:
        return tree.Body("burning", (self.word(children[0]),), self.span(children[0]))

    def eventual(self, children: Children) -> tree.Body:
        _when, trigger, _then, _eventually, goal, meanwhile, *_until, given = children
        return tree.Body("eventual", (trigger, goal, meanwhile, given or ()), self._first_span(children))

    def recurring(self, children: Children) -> tree.Body:
        return tree.Body("recurring", (children[0], children[-1] or ()), self._first_span(children))

    def resting(self, children: Children) -> tree.Body:
        return tree.Body("resting", (), self.span(children[0]))

    def fairness(self, children: Children) -> tuple[tree.Condition, ...]:
        return tuple(child for child in children if not isinstance(child, Token))

    def edge(self, children: Children) -> tree.EdgeWords:
        return tree.EdgeWords(self.word(children[0]), str(children[1]))

    def exactly(self, children: Children) -> tree.Bounds:
        amount = children[0]
        return tree.Bounds(amount, amount)

    def at_least(self, children: Children) -> tree.Bounds:
        return tree.Bounds(children[-1], None)

    def at_most(self, children: Children) -> tree.Bounds:
        return tree.Bounds(None, children[-1])

    def between(self, children: Children) -> tree.Bounds:
        return tree.Bounds(children[0], children[2])

    # Conditions

    def all_of(self, children: Children) -> tree.Joined:
        return self._joined("all_of", children)

    def any_of(self, children: Children) -> tree.Joined:
        return self._joined("any_of", children)

    def _joined(self, how: str, children: Children) -> tree.Joined:
        return tree.Joined(how, tuple(child for child in children if not isinstance(child, Token)))

    def group(self, children: Children) -> tree.Condition:
        condition: tree.Condition = children[0]
        return condition

    def negation(self, children: Children) -> tree.Negation:
        return tree.Negation(children[-1])

    def atom(self, children: Children) -> tree.Atom:
        test, level = children[1] if len(children) > 1 else ("", None)
        return tree.Atom(self.word(children[0]), test, level)

    def test(self, children: Children) -> tuple[str, tree.Word | None]:
        """The name of a test and, where one is asked for, the level."""
        last = children[-1]
        level = self.word(last) if last.type == "NUMBER" else None
        return TESTS["_".join(token.type for token in children if token.type != "NUMBER")], level
