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
    assert {each.title for each in found.contradiction.asked} == titles


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
    both = "“lit” (mill.circuit:5) and “dark” (mill.circuit:6) together"
    assert f"no circuit at all keeps {both}: with nothing worked, one of them is broken by" in told
    mill = tmp_path / "mill.circuit"
    mill.write_text(text)
    assert called("least", str(mill), "--json") == 1
    least = json.loads(capsys.readouterr().out)["least"]
    assert least["contradiction"] == {"titles": ["lit", "dark"], "lines": [5, 6], "worked": [], "until": 0}


# Two checks


def check(title: str, *lines: str) -> str:
    return "\n  ".join([f'check "{title}"', *lines]) + "\nend"


PULLED = ("at 10t  rope on", "from 12t to 20t  expect out")


@pytest.mark.parametrize(
    ("one", "other", "until"),
    [
        (PULLED, ("at 10t  rope on", "at 15t  expect out off"), 30),
        (PULLED, ("at 10t  rope on", "at 18t  rope off", "at 17t  expect out off", "by 30t expect out"), 34),
        (PULLED, ("at 10t  rope on", "by 20t  expect out off"), None),  # it may be off before 12t
        (PULLED, ("at 10t  rope on", "at 12t  rope off", "at 17t  expect out off"), None),
        (PULLED, ("at 9t  rope on", "at 17t  expect out off"), None),
        (PULLED, ("at 10t  rope on", "at 11t  expect out off"), None),
        (("at 3t  expect out", "at 9t  rope on"), ("at 3t  expect out off", "at 8t  rope on"), 6),
        (PULLED, ("at 10t  rope on", "throughout  when out then out off until rope off", "until 40t"), 24),
    ],
)
def test_two_checks_that_expect_otherwise_of_one_run_are_named(
    one: tuple[str, ...], other: tuple[str, ...], until: int | None
) -> None:
    text = asked(check("one", *one), check("other", *other))
    found = searched(text, 1)
    if until is None:
        assert found.contradiction is None
        return
    assert (found.ended, found.judged) == (Ended.NONE, 0)
    assert found.contradiction is not None
    assert [each.title for each in found.contradiction.asked] == ["one", "other"]
    assert found.contradiction.run.gt - 1 == until


def test_a_claim_may_be_what_makes_two_checks_contradict() -> None:
    """That it stays on once it is on: the one check has it on at once, the other off some time later."""
    early = check("early", "at 10t  rope on", "at 12t  expect out")
    late = check("late", "at 10t  rope on", "at 16t  expect out off")
    stays = 'always "stays"  when out then out until rope off'
    assert searched(asked(early, late), 1).contradiction is None
    contradiction = searched(asked(early, late, stays), 1).contradiction
    assert contradiction is not None
    assert [each.title for each in contradiction.asked] == ["early", "late", "stays"]
    assert contradiction.run == contradiction.run._replace(worked=frozenset({(20, "rope")}), gt=33, check=None)


def test_both_checks_are_told_with_their_lines(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    mill = tmp_path / "mill.circuit"
    mill.write_text(asked(check("one", *PULLED), check("other", "at 10t  rope on", "at 15t  expect out off")))
    assert called("least", str(mill)) == 1
    told = "".join(capsys.readouterr().out.split())
    assert f"“one”({mill}:5)and“other”({mill}:9)together:when'rope'isworkedat10t,oneofthemisbrokenby15t" in told
