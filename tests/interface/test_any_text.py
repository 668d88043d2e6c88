"""Whatever texts a caller gives, what comes back is a result or one CircuitError, and nothing else is raised."""

from __future__ import annotations

from contextlib import suppress

from hypothesis import given, settings
from hypothesis import strategies as st

from circuitcheck import Builder, CircuitError, loads
from circuitcheck.language.parse import keywords

PIECES = ["rope", "bell", "2t", "1.5", "gt", "\n", "\r", "#", '"', ",", ".", "*", "(", " ", "\0", "\ud800", "9" * 12]
TEXTS = st.lists(st.sampled_from([*PIECES, *keywords().values()]) | st.text(max_size=4), max_size=6).map(" ".join)
MILL = loads("circuit mill\nlever rope\nlamp bell from rope\n")


@settings(max_examples=60, deadline=None)
@given(TEXTS, TEXTS)
def test_a_run_takes_any_text_for_a_name_a_time_or_a_condition(one: str, other: str) -> None:
    run = MILL.start()
    for call in (run.throw, run.press, run.level, run.levels, run.edges, run.rows, run.expect, run.throughout):
        with suppress(CircuitError):
            call(one)
    with suppress(CircuitError):
        run.set(one, True).set(other, 3)
    if len(one) < 6:  # a run of a day takes long
        with suppress(CircuitError):
            run.run(one)


@settings(max_examples=60, deadline=None)
@given(TEXTS, TEXTS, TEXTS)
def test_a_builder_takes_any_text(one: str, other: str, third: str) -> None:
    with suppress(CircuitError):
        Builder(one, other)
    builder = Builder("mill")
    builder.part("lever", "rope")
    for kind in ("lamp", one):
        with suppress(CircuitError):
            builder.part(kind, other, from_=third)
    with suppress(CircuitError):
        builder.part("repeater", "next", **{one: other})
    with suppress(CircuitError):
        builder.check(one, other, third)
    with suppress(CircuitError):
        builder.add(one)
    with suppress(CircuitError):
        builder.build()
    with suppress(CircuitError):
        loads(f"{one}\n{other}")
