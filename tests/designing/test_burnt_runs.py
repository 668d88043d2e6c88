"""Runs refute netlists in which a torch burns out, and none that keep all that is asked (rules T4 to T6)."""

from __future__ import annotations

import os
from random import Random

import pytest

from circuitcheck.designing.burnt_rounds import rests
from circuitcheck.designing.fewest_parts import is_kept
from circuitcheck.designing.netlist import DELAYS, REPEATER, Kind, Netlist
from circuitcheck.designing.open_system import Bit, OpenSystem
from circuitcheck.designing.unrolled import Asked, Stimulus, Unrolling
from circuitcheck.judging.door import judged_as_asked
from circuitcheck.prove.symbolic.formula import Formula
from circuitcheck.prove.symbolic.sat import Sat

from .test_least import LIMITS, asked, framed

TORCH = Kind("torch")
ANYTHING = 'always "anything"  out or out off'
CLAIMS = (
    ANYTHING,
    'always "soon"  when a rises then out within 3t',
    'always "long"  every pulse of out lasts at least 2t',
)
LOTS = 150 if "CIRCUITCHECK_LEAST" in os.environ else 12


def refuted(text: str, netlist: Netlist, run: Stimulus, unburnt: bool = True) -> bool:
    """Whether the clauses of a run refute a netlist."""
    frame = framed(text)
    words = {name: kind.word for name, kind in netlist.kinds}
    system = OpenSystem(frame.everything(words), words, [], ["out"])
    formula = Formula()
    bits = {bit: formula.fresh() for bit in system.bits}
    study = frame.study
    Unrolling(system, Asked(study.checks, study.claims, study.assumptions, unburnt)).write(run, formula, bits)
    has: set[Bit] = {(reader, source) for reader, sources in netlist.sources for source in sources}
    has |= {(name, kind.delay) for name, kind in netlist.kinds if kind.word == REPEATER}
    for bit, variable in bits.items():
        formula.add(variable if bit in has else -variable)
    return not Sat(formula.clauses, LIMITS._replace(states=10**6).meter()).ask([])


def of_torches(**sources: str) -> Netlist:
    kinds = tuple((name, TORCH) for name in sources if name != "out")
    return Netlist(kinds, tuple((name, tuple(each.split())) for name, each in sources.items()))


@pytest.mark.parametrize(("gt", "burnt"), [(34, False), (35, True), (60, True)])
def test_a_torch_on_its_own_block_burns_out_with_its_eighth_off_and_not_before(gt: int, burnt: bool) -> None:
    """Its offs are 4 gt apart (rule T5). Let go by the other torch in gt 2, it is on in gt 4, and off in 6, 10 … 34."""
    ticks = of_torches(part1="part1 part2", part2="rope", out="part1")
    run = Stimulus(frozenset({(0, "rope")}), gt)
    assert refuted(asked(ANYTHING), ticks, run) is burnt
    assert not refuted(asked(ANYTHING), ticks, run, unburnt=False)
    assert not refuted(asked(ANYTHING, "setting burn_out_window 0gt"), ticks, run)


@pytest.mark.parametrize(("rules", "gt", "burnt"), [("older", 88, False), ("older", 89, True), ("newer", 110, False)])
def test_a_ring_of_three_burns_out_within_100_gt_and_not_within_60(rules: str, gt: int, burnt: bool) -> None:
    """Its period is 2 · 3 ticks (rule T6: the ring oscillator of any textbook of VLSI design).

    Let go in gt 0, the second torch goes off in gt 4 and every 12 gt from then on, for the eighth time in gt 88; the
    others do so later.
    """
    text = asked(ANYTHING, f"rules {rules}", inputs="lever rope starts on")
    ring = of_torches(part1="rope part3", part2="part1", part3="part2", out="part1")
    assert refuted(text, ring, Stimulus(frozenset({(0, "rope")}), gt)) is burnt


def netlist_of(lot: Random) -> Netlist:
    """Two or three parts by lot that can rest, mostly torches that power themselves or one another."""
    while True:
        netlist = _of_parts(lot)
        if rests(netlist, {name for name, _ in netlist.kinds}, frozenset()):
            return netlist


def _of_parts(lot: Random) -> Netlist:
    names = [f"part{number}" for number in range(1, lot.randint(2, 3) + 1)]
    kinds = tuple((name, TORCH if lot.random() < 0.8 else Kind(REPEATER, lot.choice(DELAYS[:2]))) for name in names)
    sources = [(each, {*lot.sample(["a", "b", *names], lot.randint(1, 2)), lot.choice([each, "b"])}) for each in names]
    return Netlist(kinds, (*((each, tuple(sorted(row))) for each, row in sources), ("out", tuple(names))))


def run_of(lot: Random) -> Stimulus:
    """One lever thrown, or the other after it as soon as may be."""
    worked = {(0, lot.choice("ab"))} | ({(lot.choice((25, 31)), lot.choice("ab"))} if lot.random() < 0.5 else set())
    return Stimulus(frozenset(worked), lot.choice((36, 50)))


def kept(text: str, netlist: Netlist) -> bool:
    return all(map(is_kept, judged_as_asked(framed(text).study_with(netlist), LIMITS).outcomes))


@pytest.mark.parametrize("claim", CLAIMS)
def test_what_a_run_refutes_is_never_kept(claim: str) -> None:
    """Netlists and runs by lot against the prover, which knows of no clauses; some are refuted by burn-out alone."""
    lot = Random(claim)
    text = asked(claim, inputs="lever a, lever b")
    alone = some = 0
    for _ in range(LOTS):
        netlist, run = netlist_of(lot), run_of(lot)
        if refuted(text, netlist, run):
            some += 1
            alone += not refuted(text, netlist, run, unburnt=False)
            assert not kept(text, netlist), (netlist, run)
    assert some
    assert alone or claim != ANYTHING
