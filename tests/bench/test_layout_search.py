"""The search for a layout on a bench: one at a time, in a process that ends with it, and a result that is never written
over anything.

That a layout is the circuit is asked of the true reading of drawings, by verifying the file that was written.
"""

from __future__ import annotations

import asyncio
import os
from collections.abc import Callable
from pathlib import Path
from threading import Event
from typing import Any

import pytest

from circuitcheck.bench.calls import answered
from circuitcheck.bench.layout_search import LayoutSearch, Wanted
from circuitcheck.bench.searching import keep_searching
from circuitcheck.bench.workbench import Known, Workbench
from circuitcheck.bench.worked import Stopped
from circuitcheck.commands import search_apart
from circuitcheck.report.page.search_told import SearchTold, line_of, told_of
from circuitcheck.verify import Exit, verify_file

MILL = "lever rope\ntorch shut from rope\nlamp sign from shut\n"
SHORT = {"do": "search", "seconds": 2}


@pytest.fixture
def bench(tmp_path: Path) -> Workbench:
    """A bench with a circuit in text."""
    mill = tmp_path / "mill.circuit"
    mill.write_text(MILL, encoding="utf-8")
    return Workbench(str(mill))


async def searched(search: LayoutSearch, until: Callable[[], bool], looks: Callable[[], None] = lambda: None) -> None:
    """Lets a search go on until something is so, and ends it then as a bench that ends does."""

    async def tell() -> None:
        looks()

    task = asyncio.create_task(keep_searching(search, tell))
    while not until():
        await asyncio.sleep(0.05)
    task.cancel()
    with pytest.raises(asyncio.CancelledError):
        await task


def is_over(search: LayoutSearch) -> bool:
    return not search.goes_on


def test_a_circuit_is_laid_out_and_the_result_written_as_a_new_file(bench: Workbench, tmp_path: Path) -> None:
    told: list[dict[str, Any]] = []
    known = bench.since(Known())[1]
    answered(bench, SHORT)
    assert bench.differs(known)
    asyncio.run(searched(bench.search, lambda: is_over(bench.search), lambda: told.append(bench.search.state())))
    assert any(each["told"].startswith("Now: ") and each["goes_on"] for each in told)
    last = bench.search.state()
    assert last["told"].startswith("The search has ended: ")
    assert last["heading"].startswith("Found: ")
    assert last["file"] == "mill_drawn.circuit"
    assert any("checks and claims hold" in line for line in last["lines"])
    assert "data-at" in bench.search.build({"corner": "north-west"})["svg"]
    assert "svg" in bench.search.layer(1)
    assert answered(bench, {"do": "write", "name": last["file"]}) == {"written": str(tmp_path / last["file"])}
    assert verify_file(str(tmp_path / last["file"])).exit is Exit.HOLDS
    assert bench.search.state()["file"] == "mill_drawn2.circuit"


@pytest.mark.parametrize(
    ("name", "why"),
    [
        ("mill.circuit", "is there already"),
        ("../mill2.circuit", "beside the one on the bench"),
        ("mill.txt", "beside the one on the bench"),
        (".circuit", "beside the one on the bench"),
        ("a" * 300 + ".circuit", "can't be written"),
        ("\0.circuit", "can't be written"),
    ],
)
def test_nothing_is_written_over_and_nothing_elsewhere(bench: Workbench, tmp_path: Path, name: str, why: str) -> None:
    bench.search.take(SearchTold(text="lever rope\n"))
    with pytest.raises(Stopped, match=why):
        bench.search.write(name)
    assert [each.name for each in tmp_path.iterdir()] == ["mill.circuit"]
    assert (tmp_path / "mill.circuit").read_text(encoding="utf-8") == MILL


def test_there_is_one_search_at_a_time_and_nothing_to_write_before_its_end(bench: Workbench) -> None:
    with pytest.raises(Stopped, match="no search goes on"):
        answered(bench, {"do": "stop search"})
    with pytest.raises(Stopped, match="no layout to be written"):
        answered(bench, {"do": "write", "name": "new.circuit"})
    answered(bench, SHORT)
    with pytest.raises(Stopped, match="a search goes on already"):
        answered(bench, SHORT)
    with pytest.raises(Stopped, match="yet: the search goes on"):
        answered(bench, {"do": "write", "name": "new.circuit"})
    with pytest.raises(Stopped, match="nothing is laid out yet"):
        bench.search.layer(1)


@pytest.mark.parametrize(
    ("asked", "why"),
    [
        ({"seconds": 0}, "from 1 to 3,600 seconds"),
        ({"seconds": 4000}, "from 1 to 3,600 seconds"),
        ({"box": "5x4"}, "a box is written as 5x4x3"),
        ({"box": "5x4x3 --write x"}, "a box is written as 5x4x3"),
        ({"layers": 41}, "up to 40 layers"),
        ({"seed": 0}, "numbers from 1 on"),
        ({"layers": -1}, "must be a whole number"),
    ],
)
def test_what_can_not_be_asked_is_said(bench: Workbench, asked: dict[str, Any], why: str) -> None:
    with pytest.raises(Stopped, match=why):
        answered(bench, {"do": "search", **asked})
    assert not bench.search.goes_on


def test_time_goes_on_while_a_search_is_asked_for(bench: Workbench) -> None:
    answered(bench, {"do": "speed", "number": 20})
    answered(bench, SHORT)
    assert bench.speed == 20


def test_a_search_that_is_stopped_keeps_the_best_so_far(bench: Workbench) -> None:
    answered(bench, {"do": "search", "seconds": 50})

    def stops() -> None:
        if bench.search.state()["heading"].startswith("Best so far") and not bench.search.is_to_stop:
            answered(bench, {"do": "stop search"})
            assert bench.search.state()["told"] == "It is being stopped …"

    asyncio.run(searched(bench.search, lambda: is_over(bench.search), stops))
    last = bench.search.state()
    # The least box that counting allows may have been found before the search heard of its end.
    assert last["told"].startswith("The search has ended: ")
    assert last["file"]


def test_a_search_is_told_to_stop_until_it_has_stopped(monkeypatch: pytest.MonkeyPatch) -> None:
    stopped, told = Event(), list[bool]()

    def interrupt() -> None:
        told.append(stopped.is_set())
        if len(told) == 3:  # the first two were swallowed
            stopped.set()

    monkeypatch.setattr(search_apart, "interrupt_main", interrupt)
    monkeypatch.setattr(search_apart, "AGAIN", 0.001)
    monkeypatch.setattr("os.read", lambda stream, most: b"")
    search_apart._stop_when_input_ends(stopped)
    assert told == [False, False, False]


def test_what_can_not_be_searched_for_is_said(bench: Workbench) -> None:
    bench.search.begin(True, Wanted(2, 0, "", 1, False))
    asyncio.run(searched(bench.search, lambda: is_over(bench.search)))
    assert "can't be made smaller: it is not drawn" in " ".join(bench.search.state()["lines"])
    assert not bench.search.state()["file"]


def test_a_process_that_is_lost_or_can_not_begin_ends_its_search_only(
    bench: Workbench, monkeypatch: pytest.MonkeyPatch
) -> None:
    for program in ("/nowhere", "/bin/false"):
        monkeypatch.setattr("sys.executable", program)
        answered(bench, SHORT)
        asyncio.run(searched(bench.search, lambda: is_over(bench.search)))
        assert bench.search.state()["lines"] == ["the search ended before it could say what it came to"]


def test_the_process_ends_with_the_bench(bench: Workbench, monkeypatch: pytest.MonkeyPatch) -> None:
    begun: list[asyncio.subprocess.Process] = []
    create = asyncio.create_subprocess_exec

    async def noted(*words: str, **options: Any) -> asyncio.subprocess.Process:
        begun.append(await create(*words, **options))
        return begun[0]

    monkeypatch.setattr("asyncio.create_subprocess_exec", noted)
    answered(bench, {"do": "search", "seconds": 600})
    asyncio.run(searched(bench.search, lambda: bench.search.number > 1))
    assert begun[0].returncode is not None
    with pytest.raises(ProcessLookupError):
        os.kill(begun[0].pid, 0)


def test_what_is_told_comes_back_as_it_was() -> None:
    told = SearchTold(None, "lever rope\n", ("as asked",))
    assert told_of(line_of(told)) == told
