"""Whether a check does only what is assumed of the world."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from circuitcheck.model.claims import Assumption, Check, Holding


def allowed(check: Check, assumptions: Iterable[Assumption]) -> bool:
    """Whether the actions of a check keep to the assumptions. Every action counts as a change."""
    times = sorted(act.at for act in check.acts)
    for each in assumptions:
        if isinstance(each, Holding):
            own = ([act.at for act in check.acts if act.name == name] for name in each.names)
            if any(_crowded(sorted(at), 1, each.at_least) for at in own):
                return False
        elif _crowded(times, each.most, each.within):
            return False
    return True


def _crowded(times: Sequence[int], most: int, within: int) -> bool:
    """Whether more than `most` of some times, in order, lie within so many gt in a row."""
    return any(later - earlier < within for earlier, later in zip(times, times[most:], strict=False))
