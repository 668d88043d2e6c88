"""Which devices have something in common downstream, for all of them at once.

Whatever is downstream of two devices leads on to an *end*: a strongly connected component of the devices that nothing
leads out of. So two devices have something in common downstream if and only if they have an end in common.
"""

from __future__ import annotations

from collections.abc import Sequence

MOST_ENDS = 8_192
"""How many ends have a bit of their own; of more, several share one, and more devices seem to meet than do."""


def ends(readers: Sequence[Sequence[int]]) -> list[int]:
    """For each device the ends that are downstream of it, as the bits of a number; `readers` are those of each."""
    found = [0] * len(readers)
    masks: dict[int, int] = {}
    """One object for each number."""
    count = 0
    for component in _components(readers):
        mask = 0
        for device in component:
            for reader in readers[device]:
                mask |= found[reader]
        if not mask:
            mask = 1 << count % MOST_ENDS
            count += 1
        mask = masks.setdefault(mask, mask)
        for device in component:
            found[device] = mask
    return found


def _components(readers: Sequence[Sequence[int]]) -> list[list[int]]:
    """The strongly connected components, each after all that are downstream of it (Tarjan)."""
    count = len(readers)
    visited, lowest, done = [-1] * count, [0] * count, [False] * count
    unfinished: list[int] = []
    components: list[list[int]] = []
    number = 0
    for start in range(count):
        path = [] if visited[start] >= 0 else [start]
        place = [0]
        while path:
            here = path[-1]
            if place[-1] == 0:
                visited[here] = lowest[here] = number
                number += 1
                unfinished.append(here)
            if place[-1] < len(readers[here]):
                reader = readers[here][place[-1]]
                place[-1] += 1
                if visited[reader] < 0:
                    path.append(reader)
                    place.append(0)
                elif not done[reader]:
                    lowest[here] = min(lowest[here], visited[reader])
                continue
            path.pop()
            place.pop()
            if path:
                lowest[path[-1]] = min(lowest[path[-1]], lowest[here])
            if lowest[here] == visited[here]:
                components.append(_taken_off(unfinished, here))
                for device in components[-1]:
                    done[device] = True
    return components


def _taken_off(unfinished: list[int], first: int) -> list[int]:
    """Takes off a stack all that was put there since a device, and the device."""
    taken = [unfinished.pop()]
    while taken[-1] != first:
        taken.append(unfinished.pop())
    return taken
