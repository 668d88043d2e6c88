"""Numbers at random, the same wherever a seed is the same.

They are those of S. Park and K. Miller, "Random Number Generators: Good Ones Are Hard to Find" (CACM 31, 1988).
"""

from __future__ import annotations

from circuitcheck.placing.grid import Row

MODULUS, MULTIPLIER = 2147483647, 48271


def random(rng: Row, below: int) -> int:
    """A whole number at random, from 0."""
    rng[0] = rng[0] * MULTIPLIER % MODULUS
    return rng[0] // 7 % below
