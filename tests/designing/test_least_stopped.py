"""A search that is interrupted, or given nothing to search with."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from report.schemas import faults

from circuitcheck import verify_text
from circuitcheck.commands.printing import INTERRUPTED
from circuitcheck.designing.fewest_parts import Ended, Search
from circuitcheck.prove.meter import Meter

from .test_least import LATCH, LIMITS, asked, called, framed


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


# The budget of the whole search, without seconds


@pytest.fixture
def latch(tmp_path: Path) -> str:
    """No netlist of one part keeps this, and some of two do."""
    path = tmp_path / "latch.circuit"
    path.write_text(LATCH)
    return str(path)


def stopped(latch: str, states: int, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> str:
    """What the command says as data with a budget of so many states for the whole search."""
    monkeypatch.setattr("circuitcheck.commands.least.ALL", states)
    capsys.readouterr()
    assert called("least", latch, "--json") == 3
    return capsys.readouterr().out


def test_a_budget_that_ends_says_what_was_excluded_by_then(
    latch: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """It is counted work: each search of so much of it ends at the same point."""
    meter, spent = Meter(10**7), list[int]()
    Search(framed(LATCH), LIMITS, meter, lambda what: spent.append(meter.steps)).run(1)
    texts = [stopped(latch, spent[-1], monkeypatch, capsys) for _ in range(2)]
    assert texts[0] == texts[1]
    report = json.loads(texts[0])
    assert list(faults("least", report)) == []
    least = report["least"]
    assert (least["ended"], least["found"], [each["parts"] for each in least["without"]]) == ("over", None, [0])
    why = f"the budget of {spent[-1]:,} states for the search ran out"
    assert least["stopped"] == {"parts": 1, "why": why, "excluded": [{"part1": "torch"}]}
    assert called("least", latch) == 3
    said = " ".join(capsys.readouterr().out.split())
    assert "with no part at all: impossible" in said
    assert f"open with 1 part: {why}, after {least['judged']} were judged; by then none was left of 1 torch" in said


def test_with_seconds_the_time_alone_bounds_the_search(
    latch: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("circuitcheck.commands.least.ALL", 1)
    assert called("least", latch, "--most", "2", "--seconds", "600", "--json") == 0
    assert json.loads(capsys.readouterr().out)["least"]["stopped"] is None


def test_a_budget_that_ends_while_wires_are_left_out_leaves_it_the_least(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing of fewer parts or ticks can come of that."""
    meter, spent = Meter(10**7), list[int]()
    leave_out = Search._leave_out_wires

    def noted(search: Search) -> None:
        spent.append(meter.steps)
        leave_out(search)

    monkeypatch.setattr(Search, "_leave_out_wires", noted)
    whole = Search(framed(LATCH), LIMITS, meter).run(2)
    assert meter.steps > spent[0]
    search = Search(framed(LATCH), LIMITS, Meter(spent[0]))
    cut_short = search.run(2)
    assert (cut_short.ended, cut_short.is_least) == (Ended.FOUND, True)
    assert whole.netlist is not None
    assert cut_short.netlist is not None
    assert (cut_short.netlist.parts, cut_short.netlist.ticks) == (whole.netlist.parts, whole.netlist.ticks)
