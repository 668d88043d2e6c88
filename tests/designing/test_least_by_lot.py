"""What a netlist drawn by lot does is asked for: then the search finds it, or one as small, and excludes neither.

This holds the search, its clauses and its exclusions against the engine and the prover on netlists that nobody chose.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from itertools import groupby
from random import Random

import pytest

from circuitcheck.checks.run import GivenUp, Notebook, replay, run_check
from circuitcheck.designing.fewest_parts import is_kept
from circuitcheck.designing.frame import Frame
from circuitcheck.designing.netlist import DELAYS, Kind, Netlist
from circuitcheck.engine.program import Program
from circuitcheck.engine.start import starts
from circuitcheck.judging.door import judged_as_asked
from circuitcheck.model.claims import Study

from .test_least import LIMITS, asked, framed, searched

INPUTS, PARTS = ("a", "b"), ("part1", "part2")
KINDS = (*[Kind("torch")] * len(DELAYS), *(Kind("repeater", delay) for delay in DELAYS))
CLAIMS = (
    'always "c1"  every pulse of out lasts at least 2t',
    'always "c2"  every gap of out lasts at least 3t',
    'always "c3"  when a rises then out within 3t',
    'always "c4"  when b falls then out off within 4t unless b',
    'always "c5"  when out falls then out off until a rises',
    'always "c6"  out inverts a, settled within 4t',
)
LOTS = 60 if "CIRCUITCHECK_LEAST" in os.environ else 3


def netlist_of(lot: Random) -> Netlist:
    sources = [(reader, tuple(lot.sample([*INPUTS, *PARTS], lot.randint(1, 2)))) for reader in (*PARTS, "out")]
    return Netlist(tuple((part, lot.choice(KINDS)) for part in PARTS), tuple(sources))


def text_with(*lines: str) -> str:
    return asked(*lines, inputs="lever a, lever b")


def worked(lot: Random) -> Iterator[tuple[int, str]]:
    at, on = 10, set[str]()
    for name in lot.choices(INPUTS, k=3):
        yield at, f"  at {at}gt  {name} {'off' if name in on else 'on'}"
        on ^= {name}
        at += lot.choice((2, 3, 5, 8, 20))


def shown_by(study: Study) -> list[bool] | None:
    """Whether 'out' is on at the end of each gt of the one check; None where several runs are possible, or too much."""
    (check,) = study.checks
    program = Program(study.circuit)
    try:
        run = run_check(program, starts(program), check, (), Notebook(), most=20_000).to_its_end()
    except GivenUp:
        return None
    if len(run.tracks) != 1:
        return None
    return list(map(bool, replay(run, run.tracks[0], check.until).levels_of("out", 0, check.until)))


def check_of(lot: Random, netlist: Netlist, title: str) -> list[str]:
    """A check that asks for what a netlist does in a run; without lines where more than one run is possible."""
    acts = list(worked(lot))
    head, until = [f'check "{title}"', *(line for _, line in acts)], acts[-1][0] + 14
    alone = framed(text_with(*head, f"  until {until}gt", "end"))
    levels = shown_by(alone.study_with(netlist))
    lines: list[str] = []
    for on, several in groupby(enumerate(levels or ()), key=lambda each: each[1]):
        gts = [gt for gt, _ in several]
        span = f"from {gts[0]}gt to {gts[-1]}gt" if len(gts) > 1 else f"at {gts[0]}gt"
        lines.append(f"  {span}  expect out {'on' if on else 'off'}")
    return [*head, *lines, "end"] if lines else []


def kept_by(netlist: Netlist, frame: Frame) -> bool:
    return all(map(is_kept, judged_as_asked(frame.study_with(netlist), LIMITS).outcomes))


def asked_of(lot: Random) -> tuple[Netlist, str]:
    """A netlist, and a file that asks for what it does in two runs and for each claim that it keeps."""
    while True:
        netlist = netlist_of(lot)
        checks = [check_of(lot, netlist, title) for title in ("one", "two")]
        lines = [line for check in checks for line in check]
        if not all(checks) or not kept_by(netlist, framed(text_with(*lines))):
            continue
        kept = [claim for claim in CLAIMS if kept_by(netlist, framed(text_with(*lines, claim)))]
        return netlist, text_with(*lines, *kept)


@pytest.mark.parametrize("number", range(LOTS))
def test_what_a_netlist_does_takes_no_more_than_that_netlist(number: int) -> None:
    netlist, text = asked_of(Random(number))
    found = searched(text, netlist.parts)
    assert not found.undecided
    assert found.netlist is not None
    assert (found.netlist.parts, found.netlist.ticks) <= (netlist.parts, netlist.ticks)
    assert kept_by(found.netlist, framed(text))
