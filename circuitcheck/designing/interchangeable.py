"""Inputs that may be exchanged, as nothing that is asked tells them apart: netlists that differ so are one.

What refutes a netlist refutes, with the same inputs exchanged in it, the netlist in which they are. Whether they may be
is seen by what is written alone: with the names exchanged in it all must be asked that was, in whatever order. Where
that leaves a doubt they may not. So are symmetries broken in searches of other kinds (J. Crawford, M. Ginsberg, E. Luks
and A. Roy, "Symmetry-Breaking Predicates for Search Problems", KR 1996; from memory), here by excluding all images.
"""

from __future__ import annotations

import itertools
from collections.abc import Hashable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any, NamedTuple

from circuitcheck.designing.frame import Frame
from circuitcheck.designing.netlist import Netlist
from circuitcheck.designing.unrolled import Stimulus
from circuitcheck.diagnostics import NOWHERE
from circuitcheck.model.claims import AllOf, AnyOf, Holding, Study

MOST_EXCHANGES = 24
"""Of more inputs that are all alike too many netlists would be excluded at once."""
TOLD = frozenset({"span", "title", "words", "reason"})
"""What only says where something stands, or says it in words."""


class Exchange(NamedTuple):
    """What each of some inputs becomes, and each check, by its place."""

    names: Mapping[str, str]
    checks: tuple[int, ...]

    def of(self, run: Stimulus) -> Stimulus:
        """A run with the inputs exchanged."""
        return run._replace(
            worked=frozenset((gt, self.names.get(name, name)) for gt, name in run.worked),
            check=None if run.check is None else self.checks[run.check],
            start=None if run.start is None else frozenset(self.names.get(name, name) for name in run.start),
        )

    def of_netlist(self, netlist: Netlist) -> Netlist:
        """A netlist in which they are exchanged."""
        sources = ((name, tuple(self.names.get(each, each) for each in read)) for name, read in netlist.sources)
        return netlist._replace(sources=tuple(sources))


def exchanges(frame: Frame) -> tuple[Exchange, ...]:
    """Every way to exchange inputs that nothing tells apart, first that which changes nothing."""
    rows = _alike(frame)
    found = [none_of(frame)]
    for orders in itertools.islice(itertools.product(*map(itertools.permutations, rows)), 1, None):
        names = dict(zip(itertools.chain(*rows), itertools.chain(*orders), strict=True))
        checks = _checks_become(frame.study, names)
        assert checks is not None, "what two exchanges leave as it is, both together do"
        found.append(Exchange(names, checks))
        if len(found) > MOST_EXCHANGES:
            return tuple(found[:1])
    return tuple(found)


def none_of(frame: Frame) -> Exchange:
    """That which changes nothing."""
    return Exchange({}, tuple(range(len(frame.study.checks))))


def _alike(frame: Frame) -> list[list[str]]:
    """The inputs in rows: those of a row may be exchanged for one another."""
    given_out = {frame.circuit.signal(output.source) for output in frame.circuit.outputs}
    rows: list[list[str]] = []
    for name in frame.inputs:
        row = next((row for row in rows if not given_out & {name, row[0]} and _may(frame, name, row[0])), None)
        if row is None:
            rows.append([name])
        else:
            row.append(name)
    return rows


def _may(frame: Frame, one: str, other: str) -> bool:
    """Whether two inputs may be exchanged."""
    parts = [replace(frame.circuit.by_name[name], name="", span=NOWHERE) for name in (one, other)]
    names = {one: other, other: one}
    study = frame.study
    rest = (study.claims, study.assumptions, study.silences, study.forbidden)
    same = all(sorted(_forms(each, names), key=repr) == sorted(_forms(each, {}), key=repr) for each in rest)
    return same and parts[0] == parts[1] and _checks_become(study, names) is not None


def _checks_become(study: Study, names: Mapping[str, str]) -> tuple[int, ...] | None:
    """The place of the check that each check becomes; None where one becomes none."""
    forms = list(_forms(study.checks, {}))
    after = list(_forms(study.checks, names))
    if len(set(map(repr, forms))) < len(forms) or not all(each in forms for each in after):
        return None
    return tuple(forms.index(each) for each in after)


def _forms(values: Sequence[Any], names: Mapping[str, str]) -> Iterator[Hashable]:
    return (_form(each, names) for each in values)


def _form(value: Any, names: Mapping[str, str]) -> Hashable:
    """What something asks, with names exchanged: without where it stands, and without an order that means nothing."""
    if isinstance(value, str):
        # A whole row is named: which of its parts are exchanged is not looked into.
        return (value, *sorted(names)) if value.endswith("*") else names.get(value, value)
    if isinstance(value, AllOf | AnyOf):
        return type(value).__name__, *sorted(_forms(value.parts, names), key=repr)
    if isinstance(value, Holding):
        return type(value).__name__, *sorted(_forms(value.names, names), key=repr), value.at_least
    if hasattr(value, "_fields"):
        return type(value).__name__, *(_form(getattr(value, each), names) for each in value._fields if each not in TOLD)
    return tuple(_forms(value, names)) if isinstance(value, tuple) else value
