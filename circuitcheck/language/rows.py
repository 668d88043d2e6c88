"""Which parts a line makes: one, a row by its numbers, a row by a count, or one for each of a row that it reads."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from circuitcheck.diagnostics import Diagnostic, Span, article, did_you_mean, error
from circuitcheck.language import tree
from circuitcheck.language.scope import Names, Scope
from circuitcheck.language.values import Reader
from circuitcheck.model.parts import KINDS

LONGEST_ROW = 1_000


class Rows:
    """Reads the names of part lines. `resized` has other numbers of parts for some rows than the file says."""

    def __init__(self, names: Names, mistakes: list[Diagnostic], resized: Mapping[str, int]) -> None:
        self._names = names
        self._mistakes = mistakes
        self._resized = resized

    def names_of(self, line: tree.PartLine, scope: Scope) -> Sequence[tuple[str, int | None]]:
        """The names that a part line declares: one, `pond.1 to pond.7`, or one for each of the rows it reads."""
        text = line.first.text
        base, dot, last = text.rpartition(".")
        counted = self._counted(line)
        if counted is not None:
            return self._counted_row(line, counted, scope)
        if line.last is not None:
            return self._span_of_row(line.first, line.last)
        if not dot:
            return [(text, None)]
        if "." in base or not (last == "*" or last.isdecimal()):
            hint = "only the numbers of a row follow a dot, as in pond.1"
            self._fail("CKT203", line.first.span, f"'{text}' can't be the name of a part", hint)
            return []
        if last == "*":
            return [(f"{base}.{number}", number) for number in self._numbers_read(line, scope)]
        return [(text, int(last))] if len(last) < 7 else []

    @staticmethod
    def _counted(line: tree.PartLine) -> tree.Option | None:
        """The option that says how many parts the line makes, where there is one."""
        word = KINDS[line.kind.text].counted_by
        return next((option for option in line.options if word and option.word.text == word), None)

    def _counted_row(self, line: tree.PartLine, option: tree.Option, scope: Scope) -> list[tuple[str, int | None]]:
        word = option.word.text
        if line.last is not None or "." in line.first.text:
            hint = f"leave out '{word}', or name it '{line.first.text.partition('.')[0]}'"
            self._fail("CKT303", option.word.span, f"the name says how many there are, and so does '{word}'", hint)
            return []
        assert option.amount is not None
        count = Reader(scope.values, self._mistakes).count(option.amount)
        count = self._resized.get(scope.full(line.first.text), count) if count is not None else None
        if count is None:
            return []
        if not 1 <= count <= LONGEST_ROW:
            self._names.rows[scope.full(line.first.text)] = []
            what = f"{article(line.kind.text)} has from 1 to {LONGEST_ROW} {word}, this one {count}"
            self._fail(
                "CKT305",
                option.amount.span,
                what,
                f"give it {word}" if count < 1 else f"let several sensors have fewer {word}",
            )
            return []
        return [(f"{line.first.text}.{number}", number) for number in range(1, count + 1)]

    def _span_of_row(self, first: tree.Word, last: tree.Word) -> Sequence[tuple[str, int | None]]:
        base, _, low = first.text.rpartition(".")
        other, _, high = last.text.rpartition(".")
        good = base == other and base and "." not in base and low.isdecimal() and high.isdecimal()
        if not good or len(low) > 6 or len(high) > 6:
            self._fail(
                "CKT203", last.span, f"'{first.text} to {last.text}' is not a row", "write for example pond.1 to pond.7"
            )
            return []
        numbers = range(int(low), int(high) + 1)
        if not 0 < len(numbers) <= LONGEST_ROW:
            hint = "number it upwards, as in pond.1 to pond.7"
            self._fail("CKT305", last.span, f"a row has from 1 to {LONGEST_ROW} parts, this one {len(numbers)}", hint)
            return []
        return [(f"{base}.{number}", number) for number in numbers]

    def _numbers_read(self, line: tree.PartLine, scope: Scope) -> list[int]:
        for option in line.options:
            for word in option.names:
                if word.text.endswith(".*"):
                    known = self._names.rows.get(scope.full(word.text.removesuffix(".*")))
                    if known is not None:
                        # What reads a row that could not be made is a row that could not be made: no further mistake.
                        self._names.rows.setdefault(scope.full(line.first.text.removesuffix(".*")), [])
                    return self._later_row(word) if known is None else known
        hint = "name a row it reads, as in: detector ripple.* watches pond.*"
        self._fail("CKT203", line.first.span, f"'{line.first.text}' does not say how many parts it has", hint)
        return []

    def _later_row(self, word: tree.Word) -> list[int]:
        base = word.text.removesuffix(".*")
        hint = did_you_mean(base, list(self._names.rows)) or "declare the row it reads in an earlier line"
        self._fail("CKT201", word.span, f"no row is called '{base}'", hint)
        return []

    def _fail(self, code: str, span: Span, message: str, hint: str) -> None:
        self._mistakes.append(error(code, span, message, hint))
