"""When torches went off of late, which may burn them out (rule T4): as states and simulators hold it."""

from __future__ import annotations

from bisect import bisect_left
from operator import itemgetter

Offs = tuple[tuple[tuple[int, ...], int], ...]
"""Torches that went off in one gt, and how many gt later the next ones did, oldest first; of the last, how many gt ago
they did. So only the last grows older while nothing happens."""

_LATER = itemgetter(1)


def aged(offs: Offs, by: int, window: int) -> Offs:
    """The same offs so many gt later, without those that the window has left behind; one a window old still counts."""
    if not offs:
        return offs
    torches, ago = offs[-1]
    return within((*offs[:-1], (torches, ago + by)), window)


def within(offs: Offs, window: int) -> Offs:
    """These offs without those older than the window."""
    oldest, first = sum(map(_LATER, offs)), 0
    while oldest > window and first < len(offs):
        oldest -= offs[first][1]
        first += 1
    return offs[first:] if first else offs


def offs_of_one(torch: int, now: int, offs: Offs) -> list[int]:
    """The gt of one torch's offs, oldest first, at the gt `now`."""
    found: list[int] = []
    for torches, later in reversed(offs):
        now -= later
        if torch in torches:
            found.insert(0, now)
    return found


def offs_by_torch(now: int, offs: Offs) -> dict[int, list[int]]:
    """The gt of each torch's offs, oldest first, at the gt `now`."""
    found: dict[int, list[int]] = {}
    at = now - sum(map(_LATER, offs))
    for torches, later in offs:
        for torch in torches:
            if torch in found:
                found[torch].append(at)
            else:
                found[torch] = [at]
        at += later
    return found


MOST_OFFS_KEPT = 1_000
"""How many offs are kept one by one at least, before those that the window has left behind are dropped."""
MOST_READ_ALONE = 8
"""Of how many torches the offs are looked up one by one in a state, before those of all are."""


class LatestOffs:
    """The latest offs of one simulator's torches, in absolute time; which torch burns out is the torch's to say."""

    __slots__ = ("_before", "_by_torch", "_most", "_unread", "_went_off", "_when", "_window")

    def __init__(self, window: int, now: int = 0, offs: Offs = ()) -> None:
        self._window = window
        self._most = MOST_OFFS_KEPT
        self._by_torch: dict[int, list[int]] = {}
        """The offs of those torches that were asked for."""
        self._before = (now, offs)
        """All offs up to a gt, as a state has them; those since are in `_went_off`."""
        self._went_off: list[int] = []
        self._when: list[int] = []
        """Which torch went off, and in which gt: tuples of both would keep the garbage collector busy (measured)."""
        self._unread = self._before if offs else None
        """All offs up to a gt, where they still are to be read into `_by_torch`."""

    def copy(self, now: int) -> LatestOffs:
        """The same, to be changed apart. It reads them again where it needs them: few torches go off before it ends."""
        return LatestOffs(self._window, now, self.frozen(now))

    def of(self, torch: int) -> list[int]:
        """The gt of a torch's latest offs, oldest first."""
        offs = self._by_torch.get(torch)
        return self._read(torch) if offs is None else offs

    def add(self, torch: int, now: int) -> list[int]:
        """Keeps that a torch goes off now, and gives its latest offs, oldest first."""
        offs = self._by_torch.get(torch)
        if offs is None:
            offs = self._read(torch)
        offs.append(now)
        self._went_off.append(torch)
        when = self._when
        when.append(now)
        if len(when) > self._most:
            self._drop_old(now)
        return offs

    def _drop_old(self, now: int) -> None:
        """Drops what the window has left behind; next time when there are twice as many as are left."""
        first = bisect_left(self._when, now - self._window)
        if first:
            del self._went_off[:first], self._when[:first]
            self._before = (now, ())  # all before is older still
        self._most = MOST_OFFS_KEPT + 2 * len(self._when)

    def _read(self, torch: int) -> list[int]:
        """The offs of a torch that was not asked for since the simulator was restored, out of its state."""
        offs: list[int] = []
        if self._unread is not None:
            if len(self._by_torch) < MOST_READ_ALONE:
                offs = offs_of_one(torch, *self._unread)
            else:
                self._by_torch = offs_by_torch(*self._unread) | self._by_torch
                self._unread = None
                offs = self._by_torch.get(torch, offs)
        self._by_torch[torch] = offs
        return offs

    def frozen(self, now: int) -> Offs:
        """All offs within the window, as a state has them; from then on they are kept so."""
        before, offs = self._before
        if not self._went_off:
            return aged(offs, now - before, self._window) if offs else offs
        found = list(offs)
        together: dict[int, list[int]] = {}
        for torch, at in zip(self._went_off, self._when, strict=True):
            together.setdefault(at, []).append(torch)
        for at, torches in together.items():
            if found:
                latest, ago = found[-1]
                if at == before - ago:
                    torches += latest
                    found.pop()
                else:
                    found[-1] = (latest, at - (before - ago))
            found.append((tuple(sorted(torches)), 0))
            before = at
        if before < now:
            found[-1] = (found[-1][0], now - before)
        self._went_off.clear()
        self._when.clear()
        offs = within(tuple(found), self._window)
        self._before = (now, offs)
        return offs
