"""From conditions in the syntax tree to the model's: names looked up, what is asked of them known to be there."""

from __future__ import annotations

from collections.abc import Iterable

from circuitcheck.diagnostics import Diagnostic, Span, error
from circuitcheck.language import tree
from circuitcheck.language.scope import Scope
from circuitcheck.model import claims as model
from circuitcheck.model.circuit import Circuit


class ConditionReader:
    """Reads the conditions that stand in one scope, about one circuit."""

    def __init__(self, scope: Scope, circuit: Circuit, mistakes: list[Diagnostic]) -> None:
        self._scope = scope
        self._circuit = circuit
        self._mistakes = mistakes
        self.member: dict[str, str] = {}
        """For a claim about each of a row: the row's name and the member it is read for."""

    def condition(self, condition: tree.Condition) -> model.Condition | None:
        """A condition; None where it has a mistake."""
        if isinstance(condition, tree.Atom):
            return self._atom(condition)
        if isinstance(condition, tree.Negation):
            inner = self.condition(condition.part)
            return None if inner is None else model.Not(inner)
        parts = [self.condition(part) for part in condition.parts]
        known = tuple(part for part in parts if part is not None)
        if len(known) < len(parts):
            return None
        return model.AllOf(known) if condition.how == "all_of" else model.AnyOf(known)

    def _atom(self, atom: tree.Atom) -> model.Condition | None:
        names = self.signals(atom.name)
        test = model.Test(atom.test) if atom.test else model.Test.ON
        made = []
        for name in names:
            if test in model.LATCH_TESTS and name not in self._circuit.latches:
                self._no_latch(atom, name)
                return None
            made.append(model.Atom(name, test, self.level(atom.level), atom.name.span))
        if not made:
            return None
        # A whole row in a condition means all of it: `pond.* off` is "every one of them is off".
        return made[0] if len(made) == 1 else model.AllOf(tuple(made))

    def _no_latch(self, atom: tree.Atom, name: str) -> None:
        """Tells that no latch is asked, and of torches that are to be one why they are not (L1)."""
        from circuitcheck.space.latches import why_no_latch

        apart = why_no_latch(self._circuit.by_name, name)
        if apart is not None:
            self._fail("CKT402", atom.name.span, f"{apart[0]} (L1)", apart[1])
            return
        message = f"'{atom.name.text}' is no set–reset latch, so it is never '{atom.test.removeprefix('is_')}'"
        self._fail("CKT402", atom.name.span, message, "ask whether it is on or off")

    def unknown_alone(self, conditions: Iterable[model.Condition]) -> None:
        """Tells of questions that only an expectation may ask."""
        for condition in conditions:
            for atom in model.atoms(condition):
                if atom.test is model.Test.UNKNOWN:
                    message = "only a latch can be 'unknown', in a line 'at … expect NAME unknown'"
                    self._fail("CKT402", atom.span, message, "write it in a line of its own")

    def level(self, word: tree.Word | None) -> int:
        """A level from 0 to 15; 0 where none is named."""
        if word is None:
            return 0
        level = int(word.text) if len(word.text) < 4 else 999
        if level > 15:
            self._fail("CKT305", word.span, f"there is no level {word.text[:20]}", "levels go from 0 to 15")
        return level

    def signals(self, word: tree.Word) -> tuple[str, ...]:
        """The signals that a name stands for."""
        member = self.member.get(word.text)
        return self._scope.signals(tree.Word(member, word.span) if member else word, self._mistakes)

    def signal(self, word: tree.Word) -> str | None:
        """The one signal that a name stands for; None where it is another number."""
        names = self.signals(word)
        if len(names) > 1:
            self._fail(
                "CKT304", word.span, f"'{word.text}' is {len(names)} signals, and one belongs here", "name one of them"
            )
        return names[0] if len(names) == 1 else None

    def _fail(self, code: str, span: Span, message: str, hint: str) -> None:
        self._mistakes.append(error(code, span, message, hint))
