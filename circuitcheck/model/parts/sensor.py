"""The sensor: cells that change at random with the light above them (rules X1 to X3), for detectors to watch.

A cell is on while it is grown, or is what its author has it become. It gives no power: detectors watch it. To hands and
to the prover it is an input that may change whenever it likes; how likely that is, is computed in `chance`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import ClassVar

from circuitcheck.diagnostics import NOWHERE
from circuitcheck.model.block_type import (
    BlockType,
    Form,
    Gives,
    Ground,
    Joins,
    Placed,
    Pushed,
    Read,
    Reads,
    Tells,
    Wiring,
)
from circuitcheck.model.directions import Facing
from circuitcheck.model.parts.base import Conducts, Device, Part, Reason, no_adjustments, no_changes
from circuitcheck.model.parts.cells import Becoming, Cell, Need
from circuitcheck.model.parts.kinds import Kind, Option, Request, Takes, start_option
from circuitcheck.model.parts.lever import LeverDevice
from circuitcheck.model.rules import FULL_POWER, RuleSet


@dataclass(frozen=True, slots=True, kw_only=True)
class SensorCell(Part):
    """One cell of a sensor. `grows` names the cells that can grow it over; `place` the light above it, if any."""

    row: str
    """The name that all cells of its sensor share."""
    place: str
    fades: bool
    grows: tuple[str, ...]
    becomes: tuple[Becoming, ...]
    word: ClassVar[str] = "sensor"
    verbs: ClassVar[frozenset[str]] = frozenset({"on", "off", "throw"})
    powered_by: ClassVar[tuple[str, ...]] = ()
    conducts: ClassVar[Conducts] = Conducts.NOTHING
    behaves: ClassVar[bool] = True
    graded: ClassVar[bool] = False
    measures: ClassVar[bool] = False
    directed: ClassVar[bool] = False
    indicates: ClassVar[bool] = False
    burns_out: ClassVar[bool] = False
    ends: ClassVar[bool] = False
    light: ClassVar[int] = 0
    powerless: ClassVar[str] = "is a cell of a sensor and gives no power"

    def device(self, index: int, ports: Sequence[int], straight: bool, rules: RuleSet) -> Device:
        return CellDevice(self, index, ports)

    @property
    def cell(self) -> Cell:
        return self

    def at_place(self, place: str) -> Part:
        """The cell with the light of another place."""
        return replace(self, place=place)

    def grown_from(self, cells: tuple[str, ...]) -> Part:
        """The cell with other cells that can grow it over."""
        return replace(self, grows=cells)

    def unchanging(self) -> Part:
        """The cell as one that never changes."""
        return replace(self, fades=False, grows=(), becomes=())

    faults = mistakes = no_changes
    adjustments = no_adjustments


class CellDevice(LeverDevice):
    """An action changes it as it does a lever: it stays so until the next one."""

    __slots__ = ()

    drawn: ClassVar[bool] = True

    def reason(self, level: int) -> Reason:
        cell = self.part
        assert isinstance(cell, SensorCell)
        if bool(cell.grows) if level else cell.fades:
            return Reason("X3", "the cell is grown over") if level else Reason("X2", "the cell fades")
        named = (each.title for each in cell.becomes if each.on is bool(level) and each.title)
        return Reason("X1", f"the cell {next(named, 'changes')}")


def build(request: Request) -> tuple[Part, ...]:
    place = request.places.get("at", "")
    needs = [word for word in ("fades", "grows") if word in request.flags or request.feeds(word)]
    needs += [] if all(each.need == Need() for each in request.changes) else ["becomes"]
    if needs and not place:
        request.fail(
            "CKT303", f"what '{needs[0]}' depends on light: say at which place the cells are", "add 'at PLACE'"
        )
    base, _, number = request.name.rpartition(".")
    row = base if number.isdecimal() else request.name
    return (
        SensorCell(
            name=request.name,
            span=request.span,
            start=FULL_POWER if request.start is None else request.start,
            row=row,
            place=place,
            fades="fades" in request.flags,
            grows=request.feeds("grows"),
            becomes=tuple(request.changes),
        ),
    )


BLOCK_TYPE = BlockType(
    "sensor",
    "a soil cell, which is a solid block",
    solid=True,
    facing=Facing.NONE,
    held=(),
    lies=False,
    light="solid",
    wiring=Wiring.PART,
    directed=False,
    gives=Gives.NOTHING,
    joins=Joins.NONE,
    tells=Tells.BESIDE,
    pushed=Pushed.MOVES,
    placed=Placed.BY_ITSELF,
    ground=Ground.SOIL,
    shows=False,
    reads=(Read("grows", Reads.GROWN), Read("at", Reads.LIGHT)),
    called="soil cell",
    synonyms=("soil", "turf"),
    form=Form.SHOULDERS,
)
KIND = Kind(
    "sensor",
    "cells that change at random with the light, for detectors to watch",
    (
        Option("cells", Takes.COUNT, "how many cells it has", most=1_000),
        Option("at", Takes.PLACE, "the place whose light falls on its cells"),
        Option("fades", Takes.FLAG, "a grown cell fades in the dark, below what holds light back"),
        Option("grows", Takes.SOURCES, "the cells from which a bare one can be grown over"),
        Option("becomes", Takes.CHANGE, "a change of your own, with its chance in each gt"),
        start_option("whether its cells are grown at the start"),
    ),
    build,
    (SensorCell(name="x", span=NOWHERE, row="x", place="", fades=False, grows=(), becomes=()),),
    counted_by="cells",
    block_type=BLOCK_TYPE,
)
