"""The shelf of building blocks as a whole, and its blocks with values of their own.

What the blocks do: common practice, no source; rules R3 (pulses), R6 (delays), T4 and T6 (the ring clock).
"""

from __future__ import annotations

from pathlib import Path

import pytest

import circuitcheck
from outside.building import SHELF, shelf_text, start

FILES = [SHELF / f"{name}.circuit" for name in ("gates", "pulses", "latches", "arithmetic", "shelf")]


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
@pytest.mark.parametrize("rules", ["older", "newer", "newest"])
def test_every_file_of_the_shelf_verifies_under_every_set_of_rules(path: Path, rules: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert "rules newer\n" in text
    report = circuitcheck.verify_text(text.replace("rules newer\n", f"rules {rules}\n"), path.name, SHELF)
    assert report.exit is circuitcheck.Exit.HOLDS
    assert [finding for finding in report.findings if not finding.silenced] == []
    assert report.outcomes or path.stem == "shelf"


@pytest.mark.parametrize("width", [1, 2, 3, 4])
@pytest.mark.parametrize("held", [4, 5, 20, 41])
def test_an_edge_pulse_has_its_width_however_long_the_signal_is_on(width: int, held: int) -> None:
    run = start(shelf_text(("pond",), f"edge_pulse it (signal pond) given width {width}t", ("out",))).run(gt=9)
    run.set("pond", True)
    run.run(gt=held)
    run.set("pond", False)
    run.run(gt=100)
    assert [pulse.length for pulse in run.pulses("out")] == [2 * width]


@pytest.mark.parametrize("extra", [1, 2, 3])
@pytest.mark.parametrize("length", [1, 2, 7, 8, 9, 30])
def test_a_longer_pulse_is_stretched_to_4t_and_then_by_the_extra(extra: int, length: int) -> None:
    run = start(shelf_text(("pond",), f"longer_pulse it (signal pond) given extra {extra}t", ("out",))).run(gt=9)
    run.set("pond", True)
    run.run(gt=length)
    run.set("pond", False)
    run.run(gt=100)
    assert [pulse.length for pulse in run.pulses("out")] == [max(length, 8) + 2 * extra]


@pytest.mark.parametrize("wait", [1, 2, 3, 4])
def test_the_taps_of_a_delay_line_come_one_wait_after_another(wait: int) -> None:
    taps = ("first", "second", "third", "fourth")
    run = start(shelf_text(("pond",), f"delay_line it (signal pond) given wait {wait}t", taps)).run(gt=9)
    run.set("pond", True)
    run.run(gt=60)
    assert [run.edges(tap)[0].at for tap in taps] == [10 + 2 * wait * number for number in (1, 2, 3, 4)]


def test_a_width_out_of_its_range_is_refused() -> None:
    with pytest.raises(circuitcheck.InvalidCircuit, match="5t"):
        start(shelf_text(("pond",), "edge_pulse it (signal pond) given width 5t", ("out",)))


def test_the_ring_clock_keeps_its_period_for_as_long_as_one_cares_to_watch() -> None:
    run = start(shelf_text(("halt",), "ring_clock it (stop halt)", ("out",))).run(gt=4000)
    rises = [edge.at for edge in run.edges("out") if edge.level]
    assert rises == list(range(20, 4001, 20))
