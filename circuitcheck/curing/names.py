"""What may be named as a source where: parts, rows, outputs, and what instances give out, in a file or a definition."""

from __future__ import annotations

import re
from collections.abc import Iterable

from circuitcheck.curing.source_text import Source
from circuitcheck.language import tree
from circuitcheck.model.claims import Study


class Names:
    """The names of a file, scope by scope."""

    def __init__(self, source: Source) -> None:
        self._source = source
        self._scopes: dict[str, tuple[str, ...]] = {}

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
