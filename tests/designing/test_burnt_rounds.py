"""Torches that burn out whatever reads them: what is excluded for one netlist burns out in each of those excluded."""

from __future__ import annotations

import itertools

import pytest

from circuitcheck.checks.outcome import FAILING
from circuitcheck.designing.burnt_rounds import Burning, behind, burning_behind, needed_by_claims, rests, rounds
from circuitcheck.designing.netlist import Kind, Netlist
from circuitcheck.designing.proposing import Proposer
from circuitcheck.designing.unrolled import Asked
from circuitcheck.diagnostics import NOWHERE
from circuitcheck.judging.door import judged_until_failing
from circuitcheck.model.claims import Claim, Unburnt

from .test_least import LIMITS, asked, framed

TEXT = asked('always "lit"  out or a or b', inputs="lever a, lever b")
TORCH = Kind("torch")


def netlist(**sources: str) -> Netlist:
    """Parts that are torches, and 'out', with what powers each."""
    kinds = tuple((name, TORCH) for name in sources if name != "out")
    return Netlist(kinds, tuple((name, tuple(each.split())) for name, each in sources.items()))


TICKS = {"part1": "part1 part2", "part2": "a"}
"""Part1 powers itself and so ticks for as long as part2 lets it (rule T2), until it burns out (rule T4)."""


def burns(tried: Netlist, torch: str) -> bool:
    claim = Claim("", Unburnt((torch,)), NOWHERE)
    study = framed(TEXT).study_with(tried)._replace(checks=(), claims=(claim,))
    return any(each.verdict in FAILING for each in judged_until_failing(study, LIMITS, LIMITS.meter()))


@pytest.mark.parametrize("part3", ["part1", "b part2", "a b part1 part2", "part1 part3"])
def test_a_torch_that_ticks_is_excluded_with_all_that_stand_so_behind_one(part3: str) -> None:
    tried = netlist(**TICKS, part3=part3, out="part3 part1")
    study, two = framed(TEXT).study_with(tried), frozenset({"part1", "part2"})
    assert burning_behind(tried, frozenset(), study, LIMITS, LIMITS.meter()) == (two, frozenset("b"))
    assert burns(tried, "part1")


def test_what_is_behind_a_torch_and_how_that_can_rest() -> None:
    crossed = netlist(part1="part2", part2="part1 a", part3="part1 b", out="part3")
    assert behind(crossed, "part3") == {"part1", "part2"}
    both = frozenset({"part1", "part2"})
    assert rounds(crossed) == [("part1", both), ("part2", both)]
    assert set(rests(crossed, behind(crossed, "part1"), frozenset())) == {frozenset({"part1"}), frozenset({"part2"})}
    assert rests(crossed, behind(crossed, "part1"), frozenset("a")) == [frozenset({"part1"})]
    assert rests(netlist(part1="part1", out="part1"), {"part1"}, frozenset()) == []


def test_what_burns_in_one_of_several_ways_to_rest_is_not_excluded_for_others() -> None:
    """Part3 ticks while part1 is off; so it never does where the circuit begins with part1 on and stays so."""
    tried = netlist(part1="part2", part2="part1", part3="part3 part1 a", out="part3")
    assert len(rests(tried, behind(tried, "part3"), frozenset("a"))) > 1
    study = framed(TEXT).study_with(tried)
    assert not burning_behind(tried, frozenset("a"), study, LIMITS, LIMITS.meter())


def test_without_a_round_nothing_is_excluded_so() -> None:
    tried = netlist(part1="a", part2="part1 b", out="part2")
    assert not rounds(tried)
    assert not burning_behind(tried, frozenset(), framed(TEXT).study_with(tried), LIMITS, LIMITS.meter())


def test_only_where_claims_are_about_all_that_is_read() -> None:
    study = framed(TEXT).study
    assert needed_by_claims(study, ["out"])
    assert not needed_by_claims(study, ["out", "bell"])
    assert not needed_by_claims(study._replace(claims=()), ["out"])


def test_a_proposer_leaves_out_all_that_have_the_blamed_parts_alike() -> None:
    frame = framed(TEXT)
    asked_of = Asked(frame.study.checks, frame.study.claims, frame.study.assumptions)

    def proposed(blaming: bool, still: frozenset[str] = frozenset()) -> list[Netlist]:
        found = []
        proposer = Proposer(frame, {"part1": "torch"}, asked_of, LIMITS.meter())
        for each in proposer:
            found.append(each)
            if blaming:
                proposer.blame(Burning(frozenset({"part1"}), still))
        return found

    every, left = proposed(False), proposed(True)
    rows = [dict(each.sources)["part1"] for each in every]
    assert len(set(rows)) < len(rows)
    assert sorted(dict(each.sources)["part1"] for each in left) == sorted(set(rows))
    but_b = {tuple(each for each in row if each != "b") for row in rows}
    assert len(proposed(True, frozenset("b"))) == len(but_b) < len(set(rows))


BURNING = (
    TICKS,
    {"part1": "part1 part2", "part2": "a part1"},
    {"part1": "part1 part2 part3", "part2": "a part1", "part3": "a part2"},
)


@pytest.mark.parametrize("sources", BURNING)
def test_inputs_that_are_off_all_the_while_make_no_difference_to_what_burns_out(sources: dict[str, str]) -> None:
    """Judged again with such an input as one more source of any of those behind the torch that burns out."""
    tried = netlist(**sources, out="part1")
    burning = burning_behind(tried, frozenset(), framed(TEXT).study_with(tried), LIMITS, LIMITS.meter())
    assert burning is not None
    assert burning.still == {"b"}
    for count in (1, len(burning.parts)):
        for some in itertools.combinations(sorted(burning.parts), count):
            more = {name: f"{row} b" if name in some else row for name, row in sources.items()}
            assert burns(netlist(**more, out="part1"), "part1")
