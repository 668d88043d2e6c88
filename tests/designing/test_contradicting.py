"""Claims and checks that contradict one another are named, the fewest of them, with a run that shows it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from circuitcheck.designing.contradicting import Contradictions
from circuitcheck.designing.fewest_parts import Ended
from circuitcheck.designing.unrolled import Asked
from circuitcheck.report.lines import plain
from circuitcheck.report.terminal.least_lines import least_lines

from .test_least import CLAIMS, LIMITS, asked, called, framed, of_one_part, searched

LIT = 'always "lit"  out'
SOON = 'always "soon"  when rope rises then out within 2t'
PULL = 'check "pull"\n  at 10t  rope on\n  at 9t   expect out off\n  at 14t  expect out off\nend'


@pytest.mark.parametrize(
    ("lines", "titles"),
    [
        ((LIT, 'never "dark"  out', 'always "late"  when rope rises then out within 2t'), {"lit", "dark"}),
        ((LIT, 'always "turned"  out inverts rope, settled within 2t'), {"lit", "turned"}),
        (
            (
                'always "two"    from rope rises to out rises takes 2t',
                'always "three"  from rope rises to out rises takes 3t',
                SOON,
            ),
            {"two", "three"},
        ),
        ((SOON, 'always "still"  when out then out until rope off', PULL), {"soon", "still", "pull"}),
        (("torch idle  from rope", 'always "on"  idle', 'never "off"  idle'), {"on", "off"}),
    ],
)
def test_the_fewest_that_contradict_are_named(lines: tuple[str, ...], titles: set[str]) -> None:
    found = searched(asked(*lines), 2)
    assert found.ended is Ended.NONE
    assert found.judged == 0
    assert found.contradiction is not None
    assert set(found.contradiction.titles) == titles


def test_what_some_part_keeps_is_no_contradiction() -> None:
    """Every pair of claims that a netlist of one part keeps, tried by judging each netlist, with no solver."""
    for place, one in enumerate(CLAIMS):
        for other in CLAIMS[place + 1 :: 3]:
            frame = framed(asked(one, other))
            study = frame.study
            of = Asked(study.checks, study.claims, study.assumptions)
            contradiction = Contradictions(frame, of, LIMITS.meter()).first(())
            if contradiction is not None:
                assert not of_one_part(frame), (one, other)


def test_what_takes_more_parts_than_allowed_is_no_contradiction() -> None:
    found = searched(asked('always "turned"  out inverts rope, settled within 1t'), 0)
    assert found.ended is Ended.NONE
    assert found.contradiction is None


def test_a_run_that_is_assumed_away_shows_nothing() -> None:
    """The two claims meet only while the rope is on, and with no changes at all it never is."""
    text = asked('always "lit"  out or rope off', 'always "dark"  out off or rope off')
    found = searched(text, 0).contradiction
    assert found is not None
    assert found.run.worked == {(0, "rope")}
    assert searched(text.replace("at most 1 changes", "at most 0 changes"), 0).contradiction is None


def test_it_is_told_in_words_and_as_data(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = asked('always "lit"  out', 'never "dark"  out')
    told = " ".join(" ".join(plain(least_lines(framed(text), searched(text, 1), 80)).split()).split())
    assert "no circuit at all keeps “lit” and “dark” together: with nothing worked, one of them is broken by" in told
    mill = tmp_path / "mill.circuit"
    mill.write_text(text)
    assert called("least", str(mill), "--json") == 1
    least = json.loads(capsys.readouterr().out)["least"]
    assert least["contradiction"] == {"titles": ["lit", "dark"], "worked": [], "until": 0}
