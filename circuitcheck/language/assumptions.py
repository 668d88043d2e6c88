"""What the world is taken to do, from the lines that say so."""

from __future__ import annotations

from collections.abc import Sequence

from circuitcheck.diagnostics import Diagnostic, Span, article, error
from circuitcheck.language import tree
from circuitcheck.language.claims import without_comment
from circuitcheck.language.scope import Scope
from circuitcheck.language.values import Reader
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.claims import Assumption, Holding, RateLimit

LONGEST_ASSUMED = 24_000
"""The longest time that the world may be held to something: 20 minutes, in gt."""
MOST_CHANGES = 999


class AssumptionReader:
    """Reads the assumptions that stand in one scope, about one circuit."""

    def __init__(self, scope: Scope, circuit: Circuit, source: Sequence[str], mistakes: list[Diagnostic]) -> None:
        self._scope = scope
        self._circuit = circuit
        self._source = source
        self._mistakes = mistakes
        self._amounts = Reader(scope.values, mistakes)

    def assumption(self, line: tree.HoldingLine | tree.SparingLine) -> Assumption | None:
        """What a line says; None where it has a mistake."""
        return self._holding(line) if isinstance(line, tree.HoldingLine) else self._sparing(line)

    def _holding(self, line: tree.HoldingLine) -> Holding | None:
        at_least = self._time(line.amount)
        names = tuple(name for word in line.names for name in self._inputs(word))
        if at_least is None or not names:
            return None
        return Holding(names, at_least, self._words(line.assume.span))

    def _sparing(self, line: tree.SparingLine) -> RateLimit | None:
        within = self._time(line.amount)
        digits = line.most.text
        most = int(digits) if len(digits) < 4 else MOST_CHANGES + 1
        if most > MOST_CHANGES:
            self._fail(
                "CKT305", line.most.span, f"at most {digits[:20]} changes are not possible", f"from 0 to {MOST_CHANGES}"
            )
            return None
        return None if within is None else RateLimit(most, within, self._words(line.assume.span))

    def _time(self, amount: tree.Amount) -> int | None:
        time = self._amounts.duration(amount)
        if time is not None and not 1 <= time <= LONGEST_ASSUMED:
            hint = f"from 1gt to {LONGEST_ASSUMED}gt"
            self._fail("CKT305", amount.span, "this is not a possible time for an assumption", hint)
            return None
        return time

    def _inputs(self, word: tree.Word) -> tuple[str, ...]:
        names = self._scope.signals(word, self._mistakes)
        for name in names:
            part = self._circuit.by_name.get(name)
            if part is not None and not part.verbs:
                message = f"'{name}' is {article(part.word)}, and only inputs are assumed of"
                self._fail("CKT401", word.span, message, "name inputs")
                return ()
        return names

    def _words(self, span: Span) -> str:
        line = self._source[span.line - 1] if 0 < span.line <= len(self._source) else ""
        return without_comment(line).strip()

    def _fail(self, code: str, span: Span, message: str, hint: str) -> None:
        self._mistakes.append(error(code, span, message, hint))
