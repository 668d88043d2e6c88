"""The grammar as it is read: the file that comes with the program, and the words of kinds of part that it lacks.

A kind says in its table which words it takes and what stands behind each, which is all that the grammar has to know.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from circuitcheck.language.shipped import shipped
from circuitcheck.model.parts import KINDS
from circuitcheck.model.parts.kinds import Takes

FORMS = {
    Takes.SOURCES: "_sources_word",
    Takes.DURATION: "_amount_word",
    Takes.COUNT: "_amount_word",
    Takes.FLAG: "flag",
}
"""The rule that words of options belong to, by what stands behind them; what is not here has a form of its own."""


def grammar() -> str:
    """The grammar with the words of every kind in the table."""
    text = shipped("circuit.lark")
    reserved = set(re.findall(r'^[A-Z_]+: "(\w+)"$', text, re.MULTILINE))
    added = {word: rule for word, rule in _words() if word not in reserved}
    lines = (f'%extend {rule}: {word.upper()}\n{word.upper()}: "{word}"\n' for word, rule in added.items())
    return text + "".join(lines)


def _words() -> Iterator[tuple[str, str]]:
    """Every word of the table that has a rule, with that rule."""
    for kind in KINDS.values():
        yield kind.word, "kind"
        yield from ((option.word, FORMS[option.takes]) for option in kind.options if option.takes in FORMS)
