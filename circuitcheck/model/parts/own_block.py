"""The options of a detector that say how it arms itself again through its own block (rule M12).

The parts that it then is are in `self_arming`, which is imported only for a circuit that has one.
"""

from __future__ import annotations

from circuitcheck.model.parts.kinds import Option, Takes
from circuitcheck.model.parts.repeater import LONGEST_DELAY

OWN_BLOCK, HEARS_ITSELF, HEAD_HEARS = "own_block", "hears_itself", "head_hears"


def own_block_options() -> tuple[Option, ...]:
    """The options of a detector that say how it arms itself again."""
    return (
        Option(
            OWN_BLOCK,
            Takes.DURATION,
            "its arming comes through its own block: how much later it notices the block, 0gt, or 1t to 4t",
            least=0,
            most=LONGEST_DELAY,
        ),
        Option(HEARS_ITSELF, Takes.FLAG, "what it notices of its own block is an update to it"),
        Option(HEAD_HEARS, Takes.FLAG, "what it notices of its own block is an update to it while its head is out"),
    )


def own_block_members(words: frozenset[str]) -> tuple[str, ...]:
    """What a detector with these options makes beside itself."""
    return ("block", "line", "above") if OWN_BLOCK in words else ()
