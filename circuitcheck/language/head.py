"""The head of a file: the version of the language, the set of rules with its settings, and the cycle of the day."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from circuitcheck.diagnostics import Diagnostic, Span, did_you_mean, either, error
from circuitcheck.language import tree
from circuitcheck.language.daylight import chance_of, cycle_of
from circuitcheck.language.values import Reader
from circuitcheck.model.light import USUAL_CYCLE
from circuitcheck.model.rules import (
    LANGUAGE_VERSION,
    MOST,
    RULE_SETS,
    SETTINGS,
    USUAL,
    WORDS,
    Chance,
    RuleSet,
    having,
)


class Head:
    """What a head says; as is usual where it says nothing."""

    def __init__(self, mistakes: list[Diagnostic]) -> None:
        self._mistakes = mistakes
        self.rules: RuleSet = USUAL
        self.cycle = USUAL_CYCLE

    def read(self, statements: Iterable[tree.Statement]) -> None:
        """Takes in all lines of a head, each mistake recorded."""
        for statement in statements:
            if isinstance(statement, tree.LanguageLine) and statement.version.text != str(LANGUAGE_VERSION):
                message = (
                    f"this program reads version {LANGUAGE_VERSION} of the language, not {statement.version.text[:20]}"
                )
                self._fail("CKT508", statement.version.span, message, f"write 'language {LANGUAGE_VERSION}'")
            elif isinstance(statement, tree.RulesLine):
                self._take_rules(statement)
        for statement in statements:
            if isinstance(statement, tree.SettingLine):
                self._take_setting(statement)
            elif isinstance(statement, tree.CycleLine):
                self.cycle = cycle_of(statement, self._mistakes) or self.cycle
        for kind in (tree.LanguageLine, tree.RulesLine, tree.CircuitLine, tree.CycleLine):
            lines = [statement for statement in statements if isinstance(statement, kind)]
            for line in lines[1:]:
                word = (
                    line.version
                    if isinstance(line, tree.LanguageLine)
                    else line.cycle
                    if isinstance(line, tree.CycleLine)
                    else line.name
                )
                self._fail("CKT202", word.span, "this stands twice in the file", "keep one of the lines")

    def _take_rules(self, line: tree.RulesLine) -> None:
        rules = RULE_SETS.get(line.name.text)
        if rules is None:
            hint = did_you_mean(line.name.text, RULE_SETS) or f"the sets are {', '.join(RULE_SETS)}"
            self._fail("CKT509", line.name.span, f"no set of rules is called '{line.name.text}'", hint)
        else:
            self.rules = rules

    def _take_setting(self, line: tree.SettingLine) -> None:
        name = line.name.text
        if name not in SETTINGS:
            hint = did_you_mean(name, SETTINGS) or f"the settings are {', '.join(SETTINGS)}"
            self._fail("CKT510", line.name.span, f"no setting is called '{name}'", hint)
            return
        value = self._value_of(name, SETTINGS[name], line.amount)
        if value is None:
            return
        self.rules = replace(having(self.rules, name, value), chosen=self.rules.chosen | {name})

    def _value_of(self, name: str, form: str, amount: tree.Amount | tree.Fraction) -> int | str | Chance | None:
        """What a setting is set to, by the form that it takes; None with a mistake recorded."""
        if form == "bool":
            words = {"yes": True, "no": False}
            if amount.text not in words:
                self._fail("CKT510", amount.span, f"'{name}' is yes or no", "write yes or no")
            return words.get(amount.text)
        if form in WORDS:
            words_of_it = WORDS[form]
            if amount.text in words_of_it:
                return amount.text
            self._fail("CKT510", amount.span, f"'{name}' is {either(words_of_it)}", f"write {either(words_of_it)}")
            return None
        if form == "Chance":
            if isinstance(amount, tree.Fraction):
                return chance_of(amount, self._mistakes)
            self._fail("CKT510", amount.span, f"'{name}' is a chance", "write for example 3/4096")
            return None
        if isinstance(amount, tree.Fraction):
            self._fail(
                "CKT510",
                amount.span,
                f"'{name}' is not a probability",
                "the page on rules says what each setting takes",
            )
            return None
        reader = Reader({}, self._mistakes)
        if form == "GameTicks":
            return reader.duration(amount)
        count = reader.count(amount)
        if count is not None and count > MOST[name]:
            self._fail("CKT305", amount.span, f"'{name}' is out of range", f"from 0 to {MOST[name]}")
            return None
        return count

    def _fail(self, code: str, span: Span, message: str, hint: str = "") -> None:
        self._mistakes.append(error(code, span, message, hint))
