"""What arranges pieces and leads nets: as it is, or compiled where numba is installed, with the same results."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import NamedTuple

from circuitcheck.placing import grid, random_numbers
from circuitcheck.placing.compiled import PLAIN as PLAIN_FAST
from circuitcheck.placing.compiled import Fast, array, cache_folder, can_compile, compiled, fast_for, functions
from circuitcheck.placing.grid import Row
from circuitcheck.placing.pieces import arranging, leading
from circuitcheck.placing.pieces.arranging import Arrangement
from circuitcheck.placing.pieces.ground import Rows
from circuitcheck.placing.pieces.leading import Ground

MODULES = (grid, random_numbers, leading, arranging)
"""Whose functions are compiled: each module with those whose functions it calls before it."""
WORTH_IT = 50_000
"""From how many moves on it is worth it to compile, which takes some eight seconds the first time."""


class Tools(NamedTuple):
    """What arranges pieces, what leads nets, and the rows that both work on; and what anneals windows."""

    arrange: Callable[[Arrangement, Row, Row, int, int, int], None]
    lead: Callable[[Ground, int, int, int, int, int], int]
    take: Callable[[Ground, Row, Row, Row, int], None]
    write_own: Callable[[Ground, Row, Row, Row, int], None]
    fought: Callable[[Ground, Row, Row, Row, int, int, int], int]
    rows: Rows
    fast: Fast


PLAIN = Tools(arranging.arrange, leading.lead, leading.take, leading.write_own, leading.fought, list, PLAIN_FAST)


def tools_for(moves: int) -> Tools:
    """What lays out with so many moves: compiled where that was done before, or is worth it."""
    known = moves >= WORTH_IT or Path(cache_folder(MODULES)).is_dir()
    tools = compiled_tools() if known and can_compile() else PLAIN
    return tools._replace(fast=fast_for(moves))


@cache
def compiled_tools() -> Tools:
    """The functions, compiled."""
    inside = functions(MODULES)
    own = (inside["arrange"], inside["lead"], inside["take"], inside["write_own"], inside["fought"])
    return Tools(*own, array, compiled())
