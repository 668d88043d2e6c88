"""Which torches could burn out on the ways that a chain has met (rule T4), though it is followed as if none did."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator, Sequence

from circuitcheck.chance.machine.chain import Chain

OFFS = 8
"""So many offs within the window burn a torch out (rule T4)."""


def could_burn_out(chain: Chain, window: int) -> Iterator[str]:
    """The torches of which eight offs could lie within a window in gt, going by how close two offs come at the least.

    That two come so close does not say that eight do: a torch that is not named can't burn out, one that is, perhaps.
    """
    torches = [device.index for device in chain.program.devices if device.part.burns_out]
    if window <= 0 or not torches:
        return
    following, levels = chain.met(), [state.levels for state in chain.states]
    for torch in torches:
        closest = _closest(levels, following, torch)
        if closest is not None and closest * (OFFS - 1) <= window:
            yield chain.program.names[torch]


def _closest(levels: Sequence[bytes], following: dict[int, set[int]], torch: int) -> int | None:
    """How many gt lie between two offs at the least; None if no off follows another."""
    lit = [each[torch] > 0 for each in levels]
    ends = {after for state, more in following.items() if lit[state] for after in more if not lit[after]}
    later = dict.fromkeys(ends, 0)
    queue = deque(ends)
    while queue:
        state = queue.popleft()
        for after in following.get(state, ()):
            if lit[state] and not lit[after]:
                return later[state] + 1
            if after not in later:
                later[after] = later[state] + 1
                queue.append(after)
    return None
