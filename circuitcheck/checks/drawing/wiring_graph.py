"""A circuit as a wiring graph: parts that behave, and what feeds each, with all dust and blocks computed."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import fields
from typing import NamedTuple

from circuitcheck.engine.program import Program
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.parts.base import Part
from circuitcheck.model.parts.cells import Becoming, cells_of

UNLABELLED = frozenset({"name", "span", "start", "row", "place"})
"""Fields of a part that say only what things are called, or how they begin."""

Label = tuple[object, ...]
"""What a part is: its kind, its settings, whether it points straight, and its name if it is held to that."""
GIVEN_OUT = "dust given out"
Inputs = dict[tuple[str, str], tuple[int, ...]]
"""For one part: the kind of port and the source of each input, with the levels lost on the way where they can be felt.

A piston may hear one source at several dusts, so there may be more than one loss.
"""


class Wiring(NamedTuple):
    """A circuit as parts that behave, and what feeds each."""

    labels: dict[str, Label]
    inputs: dict[str, Inputs]

    def told_apart(self, marks: Mapping[str, object]) -> Wiring:
        """The same, with parts that have different marks distinguished."""
        return Wiring({name: (*label, marks.get(name)) for name, label in self.labels.items()}, self.inputs)

    def behind(self, name: str) -> list[str]:
        """The part of that name; of what is heard as one thing, the parts that make it."""
        return sorted({source for _, source in self.inputs[name]}) if self.is_ear(name) else [name]

    def is_ear(self, name: str) -> bool:
        """Whether a name stands for what is heard as one thing."""
        return name in self.labels and self.labels[name][0] == EAR

    def named(self, names: Collection[str]) -> Wiring:
        """The same, with some parts held to their names as well."""
        return Wiring(
            {name: (*label[:3], name) if name in names else label for name, label in self.labels.items()}, self.inputs
        )


EAR = "ear"
"""The word for what is heard as one thing: several parts by way of one dust."""


def wiring(circuit: Circuit, shown: Iterable[str] = ()) -> Wiring:
    """The wiring of a circuit; `shown` is dust, and blocks, that count as if something read them."""
    program = Program(circuit, still=True)
    inputs: dict[str, Inputs] = {name: {} for name in program.names}
    for name in shown:
        feeds = program.probe(name)
        inputs[name] = {("power", program.names[source]): (lost,) for source, lost in feeds}
    ears: dict[str, Label] = {}
    for number, port in enumerate(program.ports):
        reader = program.devices[program.port_device[number]].part
        name = reader.name
        felt = _felt(program, number)
        if port.name == "heard" and len(felt) > 1:
            # What is heard as one thing is not what is heard as several: it counts as a part of its own.
            name = f"{reader.name} hears {sorted(felt.items())}"
            inputs[name], ears[name] = {}, (EAR, (), False)
            inputs[reader.name]["heard", name] = (0,)
        for source, lost in felt.items():
            known, key = inputs[name], (port.name, source)
            known[key] = tuple(sorted({*known.get(key, ()), lost}))
    for cell in cells_of(device.part for device in program.devices):
        inputs[cell.name] |= {("grows", source): (0,) for source in cell.grows}
    labels = {device.part.name: label(device.part, device.part.name in program.straight) for device in program.devices}
    labels |= {**dict.fromkeys(shown, (GIVEN_OUT, (), False)), **ears}
    return Wiring(labels, inputs)


def _felt(program: Program, number: int) -> dict[str, int]:
    """What feeds a port, with what is lost on the way as far as it can be felt there.

    Of levels every one counts: of what a comparator gives, and where one reads. Of parts that give all or nothing only
    which is the stronger counts, where a change of level is felt (rules P2, D1).
    """
    port, feeds = program.ports[number], program.feeds[number]
    reader = program.devices[program.port_device[number]].part
    graded = {source for source, _ in feeds if program.devices[source].part.graded}
    if reader.measures or (graded and not port.boolean):
        return {program.names[source]: lost for source, lost in feeds}
    if port.boolean:
        return {program.names[source]: lost if source in graded else 0 for source, lost in feeds}
    ranks = sorted({lost for _, lost in feeds})
    return {program.names[source]: ranks.index(lost) for source, lost in feeds}


def label(part: Part, straight: bool) -> tuple[object, ...]:
    """What a part is, apart from its name and from what feeds it."""
    told = []
    for field in fields(part):
        value = getattr(part, field.name)
        if field.name == "becomes":
            told.append(
                (field.name, tuple(sorted((each.to_compare for each in value if isinstance(each, Becoming)), key=repr)))
            )
        elif field.name not in UNLABELLED and not isinstance(value, tuple | str):
            told.append((field.name, value))
    return ("stuck piston" if part.stuck else part.word, tuple(told), straight)


def given_out(circuit: Circuit) -> list[str]:
    """The dust and blocks that a circuit gives out: only as its signals are they more than wiring."""
    sources = dict.fromkeys(output.source for output in circuit.own_outputs)
    return [name for name in sources if name in circuit.by_name and not circuit.by_name[name].behaves]
