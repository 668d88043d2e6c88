"""How time passes on a bench while others ask: in stretches, stopped at any moment, and ended when nobody looks.

An order that is open: rules C5b and L4. The rest is our own.
"""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable
from pathlib import Path

import pytest

pytest.importorskip("starlette", reason="starlette is not installed")

from circuitcheck.bench import serving
from circuitcheck.bench import workbench as told
from circuitcheck.bench import worked as worked_by_hand
from circuitcheck.bench.calls import answered
from circuitcheck.bench.following import Follower
from circuitcheck.bench.serving import Bench
from circuitcheck.bench.workbench import Workbench

from .test_worked import BOTH, CLOCK, LINE, session


def while_it_runs(bench: Bench, doing: Callable[[], Awaitable[None]]) -> None:
    """Does something while the clocks of a bench run, which is ended after that."""

    async def both() -> None:
        clocks = asyncio.create_task(bench.run())
        try:
            await asyncio.wait_for(doing(), 60)
        finally:
            bench.ended.set()
            await clocks

    asyncio.run(both())


def served(session: Workbench, monkeypatch: pytest.MonkeyPatch) -> Bench:
    """A bench whose file is verified by nobody."""

    async def nothing(_path: str, _root: str) -> list[tuple[str, str]]:
        return []

    monkeypatch.setattr(serving, "verdicts_of", nothing)
    return Bench(session, Follower(session.sources))


async def until(holds: Callable[[], bool]) -> None:
    """Waits for something."""
    while not holds():
        await asyncio.sleep(0.01)


def test_time_that_is_stopped_while_pages_are_told_ends_no_bench(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    bench = served(session(tmp_path, CLOCK), monkeypatch)
    tell = bench.tell

    async def stopped_meanwhile() -> None:
        if bench.session.worked.now:
            bench.session.stand_still()
        await tell()

    async def doing() -> None:
        monkeypatch.setattr(bench, "tell", stopped_meanwhile)
        bench.session.speed = 1_000
        await until(lambda: bench.session.worked.now > 0 and bench.session.speed == 0)
        await asyncio.sleep(0.1)
        assert not bench.ended.is_set()

    while_it_runs(bench, doing)


def test_an_order_left_unchosen_stops_time_and_no_bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    bench = served(session(tmp_path, BOTH), monkeypatch)

    async def doing() -> None:
        for verb in ("on", "off"):
            await bench.do({"do": "act", "name": "pond", "verb": verb})
            await bench.do({"do": "speed", "number": 500})
            end = bench.session.worked.now + 30
            await until(lambda end=end: bench.session.open is not None or bench.session.worked.now > end)  # type: ignore[misc]
        assert bench.session.open is not None
        stands = bench.session.worked.now
        for number in (500, 2_000):
            await bench.do({"do": "speed", "number": number})
            await until(lambda: bench.session.open is not None and bench.session.speed == 0)
        assert (bench.session.worked.now, bench.ended.is_set()) == (stands, False)
        turn = bench.session.turn
        assert (await bench.do({"do": "choose", "number": 1, "turn": turn - 1}))[0] == 409
        assert (await bench.do({"do": "choose", "number": 1, "turn": turn}))[0] == 200
        assert bench.session.worked.now == stands + 1

    while_it_runs(bench, doing)


def test_a_condition_that_never_comes_can_be_stopped_and_ends_by_itself(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    bench = served(session(tmp_path, LINE), monkeypatch)

    async def doing() -> None:
        await bench.do({"do": "until", "words": "open on"})
        await until(lambda: bench.session.worked.now > 5)
        await bench.do({"do": "speed", "number": 0})
        here = bench.session.worked.now
        assert (bench.session.waits, bench.session.speed) == (False, 0)
        await asyncio.sleep(0.05)
        assert bench.session.worked.now == here
        monkeypatch.setattr(told, "MOST_UNTIL", 300)
        await bench.do({"do": "until", "words": "open on"})
        await until(lambda: bool(bench.session.said))
        assert (bench.session.worked.now, bench.session.waits) == (here + 300, False)

    while_it_runs(bench, doing)


def test_a_stretch_ends_after_its_time_however_much_is_due(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    bench = served(session(tmp_path, CLOCK), monkeypatch)
    monkeypatch.setattr(serving, "A_STRETCH", -1.0)
    assert bench._let_pass(1_000) == 1


def test_a_long_run_is_gone_again_in_stretches_and_can_be_stopped(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(worked_by_hand, "MOST_WORK_AT_ONCE", 1)
    bench = session(tmp_path, CLOCK)
    for _ in range(100):
        bench.pass_time(1)
    state = bench.worked.state
    (tmp_path / "mill.circuit").write_text(CLOCK + "lamp second from turn\n", encoding="utf-8")
    bench.read_again()
    assert (bench.worked.now, bench.waits) == (bench.worked.at_once, True)
    while bench.waits:
        assert bench.pass_time(1) or bench.worked.now == 100
    assert bench.worked.now == 100
    (tmp_path / "mill.circuit").write_text(CLOCK, encoding="utf-8")
    bench.read_again()
    bench.pass_time(3)
    bench.stand_still()
    assert (bench.waits, bench.worked.now) == (False, bench.worked.at_once + 3)
    answered(bench, {"do": "back", "number": 100})
    while bench.waits:
        bench.pass_time(1)
    assert bench.worked.state == state


def test_a_file_saved_while_a_condition_is_waited_for_is_read_all_the_same(tmp_path: Path) -> None:
    bench = session(tmp_path, LINE)
    answered(bench, {"do": "until", "words": "open on"})
    (tmp_path / "mill.circuit").write_text("lever rope\nlamp open from rope\n", encoding="utf-8")
    bench.read_again()
    assert not bench.waits
    assert bench.pass_time(5)


def test_a_bench_ends_when_its_last_page_has_been_closed_for_a_while(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(serving, "ENDS_AFTER", 0.3)
    bench = served(session(tmp_path, LINE), monkeypatch)

    async def doing() -> None:
        await asyncio.sleep(0.5)
        assert not bench.ended.is_set(), "it waits for its first page"
        first, second = bench.stream(), bench.stream()
        for page in (first, second):
            assert (await anext(page)).startswith("data: ")
        await first.aclose()  # type: ignore[attr-defined]
        await asyncio.sleep(0.6)
        assert not bench.ended.is_set(), "a page looks still"
        await second.aclose()  # type: ignore[attr-defined]
        third = bench.stream()
        await anext(third)
        await asyncio.sleep(0.6)
        assert not bench.ended.is_set(), "a page that comes back in time keeps it"
        await third.aclose()  # type: ignore[attr-defined]
        await until(bench.ended.is_set)

    while_it_runs(bench, doing)
