"""Claims that fix no circuit: another that keeps them all and behaves otherwise, and faults that they allow."""

from __future__ import annotations

from circuitcheck import verify_text
from circuitcheck.designing.fewest_parts import Search
from circuitcheck.designing.too_weak import TooWeak, too_weak
from circuitcheck.report.lines import plain
from circuitcheck.report.terminal.least_lines import least_data, least_lines

from .test_least import LATCH, LIMITS, asked, framed


def looked_into(text: str, most: int) -> tuple[Search, TooWeak]:
    search = Search(framed(text), LIMITS, LIMITS._replace(states=10**7).meter())
    search.run(most)
    return search, too_weak(search)


A_ALONE = asked(
    'always "dark"  when a then out off within 2t',
    'always "lit"   when a falls then out within 2t unless a or b',
    inputs="lever a, lever b",
)


def test_a_circuit_that_heeds_an_input_nobody_asks_about_keeps_it_all_as_well() -> None:
    search, weak = looked_into(A_ALONE, 1)
    assert weak.other is not None
    assert weak.differs is not None
    assert verify_text(framed(A_ALONE).written(weak.other)).exit.name == "HOLDS"
    assert [act.name for act in weak.differs.acts] == ["b"]
    assert weak.differs.for_good
    told = " ".join(plain(least_lines(search.frame, search.found, 80, weak)).split())
    assert "too little is asked" in told
    data = least_data(search.frame, search.found, weak)["least"]
    assert data["another"]["differs"] == "out"
    assert data["another"]["worked"][0]["name"] == "b"


def test_the_history_shows_what_it_says_in_both_circuits() -> None:
    """Gone by the checks of a file, apart from the search: here it is so, there it is not."""
    search, weak = looked_into(LATCH, 2)
    assert weak.other is not None
    assert weak.differs is not None
    lines = [f"  at {act.at}gt  {act.name} {act.verb}" for act in weak.differs.acts]
    expected = f"  at {weak.differs.at}gt  expect out {'' if weak.differs.here else 'off'}"
    check = "\n".join(['check "history"', *lines, expected, "end", ""])
    assert search.found.netlist is not None
    assert verify_text(search.frame.text(search.found.netlist) + check).exit.name == "HOLDS"
    assert verify_text(search.frame.text(weak.other) + check).exit.name == "FAILS"


def test_a_fault_that_no_claim_notices_is_named() -> None:
    _, weak = looked_into(
        asked(
            'always "later"    when rope rises then out off within 0t unless rope off',
            'always "follows"  out follows rope, settled within 4t',
        ),
        1,
    )
    assert [words for words, _ in weak.faults] == ["the repeater 'part1' is set to 2t"]
    assert not weak.faults[0][1].for_good


def test_where_all_is_asked_no_other_is_found() -> None:
    _, weak = looked_into(asked('always "is"  out follows rope, settled within 0t'), 0)
    assert weak.other is None
    assert weak.differs is None
