"""Parts that can't be built as they are written are refused (common practice, no source; each case names its rule)."""

from __future__ import annotations

import pytest

import circuitcheck
from circuitcheck.errors import InvalidCircuit

from .driving import HEADER

INPUTS = "lever pond\nlever race\n"


@pytest.mark.parametrize(
    ("rule", "part"),
    [
        ("D1", "detector mill watches pond, race"),
        ("D1", "detector mill"),
        ("D2", "detector mill arming pond"),
        ("D2", "detector mill hears pond"),
        ("D2", "detector mill arming pond hears race watches race"),
        ("K1", "comparator mill from pond compare subtract"),
        ("O1", "button mill"),
        ("O1", "button mill short long"),
        ("L1", "latch mill set pond"),
        ("L1", "latch mill reset pond"),
        ("R5", "latch mill data pond"),
        ("R5", "latch mill set pond reset race data pond"),
        ("R1", "repeater mill from pond delay 3gt"),
        ("R1", "repeater mill from pond delay 5t"),
    ],
)
def test_a_part_that_lacks_something_or_has_too_much_is_refused_where_it_is_written(rule: str, part: str) -> None:
    """Common practice, no source; rules D1, D2, K1, O1, L1, R5 and R1."""
    with pytest.raises(InvalidCircuit) as refused:
        circuitcheck.loads(f"{HEADER}{INPUTS}{part}\n")
    assert {mistake.span.line for mistake in refused.value.diagnostics} == {5}, rule
