"""Inputs that nothing asked tells apart: their exchange excludes nothing that would do, and each run stands alone."""

from __future__ import annotations

import itertools
import os
import random

import pytest

from circuitcheck import verify_text
from circuitcheck.designing.fewest_parts import Search, asked_of
from circuitcheck.designing.frame import Frame, frame_of
from circuitcheck.designing.interchangeable import exchanges
from circuitcheck.designing.open_netlists import OpenNetlists
from circuitcheck.prove.meter import Limits
from circuitcheck.prove.symbolic.sat import Sat

LIMITS = Limits(50_000)
ROPES = ("rope", "cord", "chain")
TABLES = (0b0001, 0b0110) if os.environ.get("CIRCUITCHECK_LEAST") else (0b0001,)
"""AND, and in the long form XOR as well."""
LEVERS = "".join(f"lever {name}\n" for name in ROPES)
FOLLOWS = 'always "it rings"  when {} then bell within 8t\n'


def frame_of_mill(text: str) -> Frame:
    frame = frame_of(f"language 1\n{text}", "mill.circuit", "")
    assert isinstance(frame, Frame), frame
    return frame


def settles(names: tuple[str, ...], table: int) -> str:
    """Claims that a bell rings where a table says so: each row in words."""
    rows = list(itertools.product((True, False), repeat=len(names)))
    words = [" and ".join(name if on else f"{name} off" for name, on in zip(names, row, strict=True)) for row in rows]
    on = " or ".join(f"({each})" for place, each in enumerate(words) if table >> place & 1)
    off = " or ".join(f"({each})" for place, each in enumerate(words) if not table >> place & 1)
    levers = "".join(f"lever {name}\n" for name in names)
    return (
        f"{levers}junction bell\nassume at most 1 changes within 20t\n"
        f'always "on"  when {on} then bell within 8t unless {off}\n'
        f'always "off"  when {off} then bell off within 8t unless {on}\n'
    )


def unchanged(table: int, order: tuple[int, ...]) -> bool:
    """Whether a function is the same with its inputs in another order, by its table alone."""
    rows = list(itertools.product((True, False), repeat=len(order)))
    value = {row: table >> place & 1 for place, row in enumerate(rows)}
    return all(value[row] == value[tuple(row[place] for place in order)] for row in rows)


def test_inputs_may_be_exchanged_where_the_function_is_the_same_then() -> None:
    """Its table says so, whatever the order in which the claims name the rows of it."""
    chance = random.Random(5)
    symmetric = [table for table in range(1, 255) if unchanged(table, (1, 0, 2)) or unchanged(table, (0, 2, 1))]
    for table in [*chance.sample(symmetric, 15), *chance.sample(range(1, 255), 15)]:
        known = exchanges(frame_of_mill(settles(ROPES, table)))
        found = {tuple(each.names.get(name, name) for name in ROPES) for each in known}
        alike = {(0, 1, 2)} | {order for order in itertools.permutations(range(3)) if unchanged(table, order)}
        swaps = {order for order in alike if sum(each != place for place, each in enumerate(order)) == 2}
        assert len(found) == {0: 1, 1: 2, 3: 6}[len(swaps)], table
        assert found <= {tuple(ROPES[place] for place in order) for order in alike}


@pytest.mark.parametrize(
    ("text", "ways"),
    [
        (f"{LEVERS}junction bell\n" + FOLLOWS.format("rope and cord and chain"), 6),
        (f"{LEVERS}junction bell\n" + FOLLOWS.format("rope and (cord or chain)"), 2),
        (f"{LEVERS}junction bell\n" + FOLLOWS.format("rope and cord off and chain off"), 2),
        (f"{LEVERS.replace('cord', 'cord starts on')}junction bell\n" + FOLLOWS.format("rope and cord"), 1),
        (f"{LEVERS.replace('lever cord', 'button cord short')}junction bell\n" + FOLLOWS.format("rope and cord"), 1),
        (f"{LEVERS}junction bell\noutput out from rope\n" + FOLLOWS.format("(rope or cord) and chain"), 1),
        (f"{LEVERS}junction bell\nassume rope stable for 4t\n" + FOLLOWS.format("rope or cord or chain"), 2),
        (f"{LEVERS}junction bell\nassume chain, cord stable for 4t\n" + FOLLOWS.format("cord or chain"), 2),
        (f'{LEVERS}junction bell\nalways "x"  from rope rises to bell rises takes 2t\n', 2),
    ],
)
def test_what_tells_inputs_apart_keeps_them_apart(text: str, ways: int) -> None:
    assert len(exchanges(frame_of_mill(text))) == ways


def test_a_check_of_the_one_becomes_the_check_of_the_other() -> None:
    checks = [f'check "{name}"\n  at 10t {name} on\n  by 20t expect bell\nend\n' for name in ROPES[:2]]
    levers = "lever rope\nlever cord\njunction bell\n"
    both = exchanges(frame_of_mill(levers + "".join(checks)))
    assert [each.checks for each in both] == [(0, 1), (1, 0)]
    assert len(exchanges(frame_of_mill(levers + checks[0]))) == 1
    ordered = 'check "x"\n  at 10t rope on\n  at 20t cord on\n  by 30t expect bell\nend\n'
    assert len(exchanges(frame_of_mill(levers + ordered))) == 1


@pytest.mark.parametrize("table", TABLES)
def test_each_run_that_is_said_to_exclude_netlists_does(table: int) -> None:
    """Each is asked of a solver of its own, as it stands; what is excluded as a netlist fails where it is verified."""
    frame = frame_of_mill(settles(ROPES[:2], table))
    search = Search(frame, LIMITS, LIMITS._replace(states=20_000_000).meter())
    found = search.run(2)
    assert found.netlist is None
    assert len(exchanges(frame)) == 2
    runs = 0
    for kinds in found.excluded:
        netlists = OpenNetlists(frame, kinds.words, asked_of(frame))
        solvers = {
            run: Sat(netlists.run(run).clauses, LIMITS._replace(states=1_000_000).meter())
            for run in {each.run for each in kinds.excluded if each.run is not None}
        }
        for each in kinds.excluded:
            if each.run is not None:
                assert not solvers[each.run].ask(list(each.literals))
                runs += 1
            elif each.netlist is not None and not each.behind:
                assert verify_text(frame.text(each.netlist)).exit.name == "FAILS"
    assert runs > 10


def test_circuits_that_differ_by_an_exchange_still_show_that_too_little_is_asked() -> None:
    """Nothing says which of two ropes rings the bell alone: one circuit takes the one, another the other."""
    frame = frame_of_mill(
        "lever rope\nlever cord\njunction bell\nassume at most 1 changes within 20t\n"
        'always "both"  when rope and cord then bell within 8t unless rope off or cord off\n'
        'always "none"  when rope off and cord off then bell off within 8t unless rope or cord\n'
    )
    search = Search(frame, LIMITS, LIMITS._replace(states=20_000_000).meter())
    found = search.run(1)
    assert found.netlist is not None
    rings = {dict(netlist.sources)["bell"] for netlist, _ in itertools.islice(search.others(), 3)}
    assert {("rope",), ("cord",)} <= rings
