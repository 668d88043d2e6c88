"""Names: what each place of a file may call by which name, and what that name stands for in the finished circuit."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from circuitcheck.diagnostics import Diagnostic, Span, did_you_mean, error
from circuitcheck.language import tree
from circuitcheck.language.values import Values

DEEPEST_WIRE = 200
"""How many ports and outputs one name may lead through."""
WATER = re.compile(r"water(_\d+){3}")
"""What accounts of a run call a place of water that strokes can change."""
WATER_HINT = (
    "water can be shown ('--show') and explained ('--why'), not asked for: ask for what feels it, as a detector"
)


@dataclass(slots=True)
class Names:
    """Every full name of one circuit."""

    parts: dict[str, Span] = field(default_factory=dict)
    """Parts and the members that come with them, with the place of their line."""
    places: dict[str, Span] = field(default_factory=dict)
    """Places that light falls on; they have a space of names of their own."""
    rows: dict[str, list[int]] = field(default_factory=dict)
    """For each row, the numbers in it."""
    aliases: dict[str, Wire] = field(default_factory=dict)
    """Outputs: a full name that stands for what is wired to it."""
    broken: set[str] = field(default_factory=set)
    """Instances that could not be made: what is looked up in them is no further mistake."""
    given_out: dict[str, frozenset[str]] = field(default_factory=dict)
    """For each instance, the names inside it that may be wired from outside."""


@dataclass(frozen=True, slots=True)
class Wire:
    """A name and the place it is to be looked up in, once all names are known."""

    word: tree.Word
    scope: Scope


@dataclass(frozen=True, slots=True)
class Scope:
    """Where a line stands: in the file itself (no prefix) or inside an instance, with the ports wired to it."""

    names: Names
    values: Values
    prefix: str = ""
    ports: dict[str, Wire] = field(default_factory=dict)
    unwired: frozenset[str] = frozenset()
    """Ports that were left unwired, which is one mistake and no more."""

    def full(self, name: str) -> str:
        """The full name of something declared here."""
        return self.prefix + name

    def sources(self, word: tree.Word, mistakes: list[Diagnostic], pick: int | None = None) -> tuple[str, ...]:
        """What a name stands for as a source: parts that may be wired from here. `pick` chooses from a row."""
        private = self._private(word.text)
        if private is not None:
            instance, inner = private
            outs = sorted(self.names.given_out[instance])
            hint = did_you_mean(inner, outs) or f"it gives {', '.join(outs)}"
            mistakes.append(error("CKT204", word.span, f"'{inner}' is inside '{instance}' and is not given out", hint))
            return ()
        return self._look_up(word, mistakes, pick, DEEPEST_WIRE)

    def signals(self, word: tree.Word, mistakes: list[Diagnostic]) -> tuple[str, ...]:
        """What a name stands for in a check: anything in the circuit, the insides of instances included."""
        return self._look_up(word, mistakes, None, DEEPEST_WIRE)

    def _private(self, text: str) -> tuple[str, str] | None:
        """The instance and the inner name, where a name reaches past what an instance gives out."""
        head, _, inner = text.partition(".")
        instance = self.full(head)
        outs = self.names.given_out.get(instance)
        if outs is None or inner in outs or inner.removesuffix(".inverse") in outs:
            return None
        return instance, inner

    def _look_up(self, word: tree.Word, mistakes: list[Diagnostic], pick: int | None, deepest: int) -> tuple[str, ...]:
        text = word.text
        if text in self.ports:
            return self._follow(self.ports[text], word, mistakes, deepest)
        if text in self.unwired:
            return ()
        if text.endswith(".*"):
            return self._row(word, mistakes, pick, deepest)
        full = self.full(text)
        if full in self.names.parts:
            return (full,)
        if full in self.names.aliases:
            return self._follow(self.names.aliases[full], word, mistakes, deepest)
        if full in self.names.rows and not self.names.rows[full]:
            return ()  # a row that could not be made is reported where it stands
        if full in self.names.rows:
            hint = f"write {text}.* for all of it or {text}.{self.names.rows[full][0]} for one"
            mistakes.append(error("CKT201", word.span, f"'{text}' is a row", hint))
            return ()
        if self.full(text.partition(".")[0]) in self.names.broken:
            return ()
        hint = WATER_HINT if WATER.fullmatch(text) else did_you_mean(text, self.known()) or self._some_known()
        mistakes.append(error("CKT201", word.span, f"nothing here is called '{_short(text)}'", hint))
        return ()

    def _follow(self, wire: Wire, word: tree.Word, mistakes: list[Diagnostic], deepest: int) -> tuple[str, ...]:
        if deepest == 0:
            mistakes.append(
                error("CKT208", word.span, f"'{_short(word.text)}' only leads back to itself", "name a part")
            )
            return ()
        return wire.scope._look_up(wire.word, mistakes, None, deepest - 1)

    def _row(self, word: tree.Word, mistakes: list[Diagnostic], pick: int | None, deepest: int) -> tuple[str, ...]:
        base = word.text.removesuffix(".*")
        if base in self.ports:
            return self._follow(self.ports[base], word, mistakes, deepest)
        numbers = self.names.rows.get(self.full(base))
        if numbers is None:
            rows = [name.removeprefix(self.prefix) for name in self.names.rows]
            hint = did_you_mean(base, rows) or "a row is declared as in: lever pond.1 to pond.3"
            mistakes.append(error("CKT201", word.span, f"no row is called '{_short(base)}'", hint))
            return ()
        if pick is not None:
            if pick not in numbers:
                mistakes.append(
                    error("CKT201", word.span, f"row '{base}' has no number {pick}", "make the rows equally long")
                )
                return ()
            numbers = [pick]
        return tuple(self.full(f"{base}.{number}") for number in numbers)

    def _some_known(self) -> str:
        names = [name for name in self.known() if len(name) <= 30]
        return f"there are {', '.join(names[:5])}{', …' if len(names) > 5 else ''}" if names else "declare it first"

    def known(self) -> list[str]:
        """Every name that can be looked up here."""
        here = [*self.names.parts, *self.names.aliases]
        return [name.removeprefix(self.prefix) for name in here if name.startswith(self.prefix)] + list(self.ports)


def _short(text: str) -> str:
    return text if len(text) <= 60 else text[:57] + "…"
