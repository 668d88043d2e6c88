"""What parts that no author writes have in common: the engine makes them, so no kind of part answers for them."""

from __future__ import annotations

from typing import ClassVar

from circuitcheck.model.parts.base import Conducts, Part, no_adjustments, no_changes


class Unwritten(Part):
    """A part of the engine's own, which shows a level and passes nothing on unless it says otherwise."""

    __slots__ = ()

    powered_by: ClassVar[tuple[str, ...]] = ()
    conducts: ClassVar[Conducts] = Conducts.NOTHING
    behaves: ClassVar[bool] = True
    graded: ClassVar[bool] = True
    measures: ClassVar[bool] = True
    directed: ClassVar[bool] = False
    indicates: ClassVar[bool] = False
    burns_out: ClassVar[bool] = False
    ends: ClassVar[bool] = True
    light: ClassVar[int] = 0

    faults = mistakes = no_changes
    adjustments = no_adjustments
