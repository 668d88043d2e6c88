"""Python's garbage collector doesn't go through a large circuit again and again while it is read and wired up."""

from __future__ import annotations

import gc
from collections.abc import Callable, Iterator

import pytest

from circuitcheck.engine.program import Program
from circuitcheck.language.load import load_text
from circuitcheck.model.circuit import Circuit

BUCKETS = 400
WHEEL = "lever rope starts off\n" + "".join(
    f"torch bucket_{number} from {'rope' if number == 0 else f'bucket_{number - 1}'}\n" for number in range(BUCKETS)
)


def read() -> Circuit:
    return load_text(WHEEL).studies[0].circuit


def collections(work: Callable[[], object]) -> int:
    """How often the collector looks through what there is while some work is done."""
    begun = 0

    def count(phase: str, _: dict[str, int]) -> None:
        nonlocal begun
        begun += phase == "start"

    read()  # the grammar's tables, and all that is imported late, are there now
    gc.callbacks.append(count)
    try:
        work()
    finally:
        gc.callbacks.remove(count)
    return begun


@pytest.fixture(autouse=True)
def _keen_collector() -> Iterator[None]:
    """A collector as it is set without us."""
    before = gc.get_threshold()
    gc.set_threshold(700, 10, 10)
    yield
    gc.set_threshold(*before)
    gc.enable()


def test_the_collector_rests_while_a_text_is_read() -> None:
    assert collections(read) <= 1


def test_the_collector_rests_while_a_circuit_is_wired_up() -> None:
    circuit = read()
    assert collections(lambda: Program(circuit)) <= 2


def test_the_collector_works_again_after_a_text_with_mistakes() -> None:
    assert load_text("lamp bell from rop").diagnostics
    assert gc.isenabled()


def test_a_collector_that_was_off_stays_off() -> None:
    gc.disable()
    Program(read())
    assert not gc.isenabled()
