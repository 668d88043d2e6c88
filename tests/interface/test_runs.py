"""Runs are worked by methods, branched, and read as plain data."""

from __future__ import annotations

import copy
import csv
import io
from pathlib import Path

import numpy
import pytest

import circuitcheck
from circuitcheck import Edge, Pulse, Row, Simulation, loads

ALL_INPUTS = (
    "circuit mill\nlever rope\nbutton bell_push short\nplate doorstep\nanalogue depth\n"
    "repeater winch from rope delay 2t\nlamp open from winch\ncomparator gauge from depth\n"
)
ORDER = "lever one\nlever two\nlatch gate set one reset two starts reset\n"


def test_each_input_is_worked_by_a_method_of_its_own() -> None:
    """Rules O1 and R2 (common practice, no source)."""
    run = loads(ALL_INPUTS).start().set("rope", True).press("bell_push").set("doorstep", True).set("depth", 9).step()
    assert [run.level(name) for name in ("rope", "bell_push", "doorstep", "depth")] == [15, 15, 15, 9]
    run.throw("rope").set("depth", 0).step()
    assert [run.level(name) for name in ("rope", "depth")] == [0, 0]


def test_a_step_is_one_gt_and_time_is_a_text_or_a_number_of_gt() -> None:
    run = loads(ALL_INPUTS).start()
    assert [run.step().now, run.run(gt=20).now, run.run("10t").now, run.run("1s").now] == [1, 21, 41, 61]


def test_a_branch_goes_its_own_way() -> None:
    run = loads(ALL_INPUTS).start().set("rope", True).run("10t").set("depth", 5)
    branch = run.copy()
    branch.set("rope", False).run("10t")
    run.run("10t")
    assert (run.level("open"), branch.level("open")) == (15, 0)
    assert run.level("depth") == branch.level("depth") == 5
    assert len(run.edges("open")) == 1
    assert len(branch.edges("open")) == 2
    branch.expect("open off")
    run.expect("open on")


def test_a_branch_where_orders_are_open_follows_all_of_them() -> None:
    """Rule C5 (common practice, no source)."""
    run = loads(ORDER).start().set("one", True).set("two", True).run("1s").set("one", False).set("two", False)
    branch = copy.copy(run).run("1s")
    assert run.levels("gate") == {0}
    assert branch.levels("gate") == run.run("1s").levels("gate") == {0, 15}


@pytest.mark.parametrize("gt", range(0, 40, 3))
def test_a_run_that_is_branched_anywhere_ends_as_one_that_is_not(gt: int) -> None:
    sluice = circuitcheck.load(Path(__file__).parents[2] / "circuits" / "sluice.circuit")
    whole = sluice.start().set("pond.1", True).run(gt=60)
    run = sluice.start().set("pond.1", True).run(gt=gt)
    assert run.copy().run(gt=60 - gt).rows() == run.run(gt=60 - gt).rows() == whole.rows()


def test_edges_pulses_and_rows_are_plain_tuples_of_plain_values() -> None:
    run = loads(ALL_INPUTS).start().set("rope", True).run("5t").set("rope", False).run("10t")
    data: list[tuple[object, ...]] = [*run.edges("open"), *run.pulses("open"), *run.rows("rope", "open")]
    assert all(isinstance(each, tuple) and {type(value) for value in each} <= {int, str} for each in data)
    assert run.edges("open") == [(5, 15), (19, 0)] == [Edge(5, 15), Edge(19, 0)]
    assert run.pulses("open") == [(5, 19)] == [Pulse(5, 19)]
    assert run.pulses("open")[0].length == 14


def test_rows_are_a_table_that_a_writer_of_tables_takes_as_it_is() -> None:
    """Against the standard library's csv, which knows nothing of circuits."""
    run = loads(ALL_INPUTS).start().set("rope", True).run("5t")
    written = io.StringIO()
    csv.writer(written).writerows([Row._fields, *run.rows("rope", "open")])
    assert list(csv.DictReader(io.StringIO(written.getvalue())))[1] == {"signal": "rope", "at": "1", "level": "15"}


def test_edges_become_an_array_of_whole_numbers_without_a_bridge() -> None:
    """Against numpy, which knows nothing of circuits."""
    run = loads(ALL_INPUTS).start().set("rope", True).run("5t").set("rope", False).run("10t")
    array = numpy.array(run.edges("open"))
    assert array.dtype.kind == "i"
    assert array.tolist() == [[5, 15], [19, 0]]


def test_rows_give_the_level_at_the_start_at_each_change_and_now() -> None:
    run = loads(ALL_INPUTS).start().set("rope", True).run("5t")
    assert run.rows("open") == [("open", 0, 0), ("open", 5, 15), ("open", 10, 15)]
    assert loads("lever rope").start().rows() == [("rope", 0, 0)]
    assert {row.signal for row in run.rows()} == set(loads(ALL_INPUTS).circuit.signals)


def test_what_is_raised_is_still_what_python_calls_it() -> None:
    run: Simulation = loads(ALL_INPUTS).start()
    with pytest.raises(ValueError, match="unit"):
        run.run(5)  # type: ignore[arg-type]
    with pytest.raises(KeyError):
        run.level("opne")
    with pytest.raises(AssertionError):
        run.expect("open on")
