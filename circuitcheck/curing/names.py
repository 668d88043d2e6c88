"""What may be named as a source where: parts, rows, outputs, and what instances give out, in a file or a definition."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

from circuitcheck.curing.source_text import Source
from circuitcheck.language import tree
from circuitcheck.model.claims import Study
from circuitcheck.model.parts.base import Conducts, Part

WATCHING = ("watches", "hears")
"""The options that name what is watched, whether it gives power or not."""


class Names:
    """The names of a file, scope by scope."""

    def __init__(self, source: Source) -> None:
        self._source = source
        self._scopes: dict[str, tuple[str, ...]] = {}
        self._fitting: dict[str, tuple[str, ...]] = {}

    def of(self, definition: str) -> tuple[str, ...]:
        """Every name that may be read in a definition, or in the file's own lines."""
        if definition not in self._scopes:
            study = self._source.study_of(definition)
            self._scopes[definition] = () if study is None else tuple(self._known(study, definition))
        return self._scopes[definition]

    def _known(self, study: Study, definition: str) -> Iterable[str]:
        circuit = study.circuit
        statements = self._source.definitions[definition].statements if definition else self._source.file.statements
        instances = [each.name.text for each in statements if isinstance(each, tree.InstanceLine)]
        outputs = {each.name for each in circuit.outputs}
        names: dict[str, None] = {}
        for name in circuit.signals:
            head, _, inner = name.partition(".")
            if head not in instances:
                names[name] = None
                base, dot, number = name.rpartition(".")
                if dot and number.isdecimal():
                    names[f"{base}.*"] = None
            elif inner in outputs or name in outputs or self._given_out(statements, head, inner):
                names[name] = None
        return names

    def _given_out(self, statements: Iterable[tree.Statement], instance: str, inner: str) -> bool:
        """Whether an instance gives out a name; where its definition is in another file, reading it again tells."""
        for each in statements:
            if isinstance(each, tree.InstanceLine) and each.name.text == instance:
                known = self._source.definitions.get(each.definition.text)
                return known is None or inner in {word.text for word in known.gives}
        return False

    def fitting(self, definition: str, kind: str, option: str) -> tuple[str, ...]:
        """Those that an option of a kind can name: cells where cells grow, what gives power where none watch."""
        key = f"{definition} {'grows' if kind == 'sensor' else 'watches' if option in WATCHING else ''}"
        if key not in self._fitting:
            study = self._source.study_of(definition)
            parts = {} if study is None else study.circuit.by_name
            self._fitting[key] = tuple(
                name for name in self.of(definition) if _fits(parts, name, kind == "sensor", option in WATCHING)
            )
        return self._fitting[key]

    def fresh(self, definition: str, wanted: str) -> str:
        """A name that nothing has there yet."""
        taken = {name.removesuffix(".*") for name in self.of(definition)}
        base = re.sub(r"\W", "_", wanted)
        number = 1
        name = base
        while name in taken:
            number += 1
            name = f"{base}_{number}"
        return name


def _fits(parts: Mapping[str, Part], name: str, grows: bool, watches: bool) -> bool:
    """Whether what a name stands for can be named so; of what is no part of its own it is left open."""
    part = parts.get(name.replace(".*", ".1"))
    if grows:
        return part is not None and part.cell is not None
    return watches or part is None or part.conducts is not Conducts.NOTHING
