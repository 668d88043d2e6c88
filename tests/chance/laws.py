"""Circuits whose cells change by chance, what is asked of them, and laws of waiting to hold the answers against."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from scipy import signal, stats

from circuitcheck.chance.first_edge.figures import Distribution
from circuitcheck.chance.first_edge.response import Response, respond
from circuitcheck.language.load import load_text
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.claims import Atom, Test

Law = list[float]
"""The chance of each number of gt, from 0 on."""

OLDER, NEWER = 80 / 32768, 3 / 4096
"""The chance of one cell to be drawn in one gt: common practice, no source; rule X1."""
GT_A_SECOND = 20
"""Rule C1."""
ROUNDING = 1e-11
"""What adding up some thousand numbers of 16 digits may cost, with room to spare."""

BY_NIGHT = """language 1
cycle {length}s day 0s, dusk 0s, night {length}s, dawn 0s
"""
"""A day that is night all through: what is asked of the night then begins with the machine."""

FADING = """language 1
rules {rules}
cycle 1200s day 600s, dusk 0s, night 600s, dawn 0s
place     bed     gets sky through leaf, water
sensor    turf    cells {cells}  at bed  fades
detector  stir.*  watches turf.*  delay {delay}gt
junction  row     joins stir.*
lamp      bell    from row
"""
"""Turf below water in the dark (rule X2); the row comes on `delay` gt after the first cell has faded (rule D1)."""
NIGHT = 600 * GT_A_SECOND


def circuit_of(text: str) -> Circuit:
    """The circuit that a text describes."""
    return load_text(text).studies[0].circuit


def answer(text: str, name: str = "row", phase: str = "night") -> Response:
    """How long it takes from a phase's beginning until a signal comes on; calculated, not sampled."""
    found = respond(circuit_of(text), phase, Atom(name, Test.RISES))
    assert found.exact
    assert found.left_out < 1e-5
    return found


def geometric(chance: float, length: int) -> Law:
    """The law of the first success, the first try being in gt 1."""
    return [float(each) for each in stats.geom.pmf(np.arange(length + 1), chance)]


def of_any(chance: float, cells: int) -> float:
    """The chance that at least one of some cells changes, each on its own."""
    return float(1 - (1 - chance) ** cells)


def later(law: Law, delay: int) -> Law:
    """The same law, so many gt later, and no longer than before."""
    return ([0.0] * delay + law)[: len(law)]


def one_after_the_other(*laws: Law) -> Law:
    """The law of the sum of independent waits."""
    whole = np.array(laws[0])
    for law in laws[1:]:
        whole = signal.fftconvolve(whole, law)[: len(law)]
    return [float(each) for each in whole]


def assert_law(found: Response, law: Sequence[float]) -> None:
    """Each gt, and all gt up to each, have the chance that the law gives, but for what the program says it left out."""
    distribution = found.distribution
    assert len(distribution.chances) == len(law)
    slack = found.left_out + ROUNDING
    assert np.abs(np.array(distribution.chances) - law).max() <= slack
    assert np.abs(np.array(distribution.reached) - np.cumsum(law)).max() <= slack
    assert abs(distribution.missed - (1 - sum(law))) <= slack


def seconds(distribution: Distribution, share: float, delay: int) -> float:
    """The time within which so large a share of all cases change, in s; the detector's delay taken off again."""
    gt = distribution.quantile(share)
    assert gt is not None
    return (gt - delay) / GT_A_SECOND
