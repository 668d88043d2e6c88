"""A search that is interrupted, or given nothing to search with."""

from __future__ import annotations

from pathlib import Path

import pytest

from circuitcheck import verify_text
from circuitcheck.commands.printing import INTERRUPTED
from circuitcheck.designing.fewest_parts import Search

from .test_least import asked, called


def test_an_interrupt_leaves_what_was_found_written_whole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """It comes while it is looked whether the claims are too weak: by then a circuit is known."""

    def interrupted(search: Search) -> None:
        assert search.found.netlist is not None
        raise KeyboardInterrupt

    monkeypatch.setattr("circuitcheck.commands.least.too_weak", interrupted)
    mill, smaller = tmp_path / "mill.circuit", tmp_path / "smaller.circuit"
    mill.write_text(asked('always "inverse"  out inverts rope, settled within 1t'))
    assert called("least", str(mill), "--write", str(smaller)) == INTERRUPTED
    assert verify_text(smaller.read_text()).exit.name == "HOLDS"


@pytest.mark.parametrize("options", [("--states", "0"), ("--seconds", "0"), ("--most", "9")])
def test_a_budget_of_nothing_or_too_many_parts_is_refused(options: tuple[str, str], tmp_path: Path) -> None:
    mill = tmp_path / "mill.circuit"
    mill.write_text(asked('always "inverse"  out inverts rope, settled within 1t'))
    assert called("least", str(mill), *options) == 2
