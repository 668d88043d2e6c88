"""Waits of devices and what a piston is doing, each packed into a number."""

from __future__ import annotations

# The order classes of rule C3, first to act first; LOOKS, CALLED and LANDING are the later moments of rule C2 at which
# water looks, pistons start, and what they move lands.
STRAIGHT = 1
GOING_OFF = 2
GOING_ON = 3
ALL_ELSE = 4
LOOKS = 5
CALLED = 6
LANDING = 7
CLASS_BITS = 3
HOME, GOING_OUT, OUT, GOING_HOME = range(4)
"""The device state of a piston that moves things: what it is doing."""
IS_CALLED = 4
"""What is added to it while the piston is called to start."""
IS_CUT_SHORT = 8
"""What is added to it where its power went while it was going out, and a call home waits for the landing (rule O3)."""


def wait_of(delay: int, order_class: int) -> int:
    """A wait of `delay` gt in an order class, packed into one number that is never 0."""
    return delay << CLASS_BITS | order_class
