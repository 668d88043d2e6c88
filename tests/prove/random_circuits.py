"""Random circuits of a mill's sluice, each with one claim and what is assumed of the world, from a seed.

They are built so that a cut finds something: rows of inputs, a feeler behind each, a junction that joins the feelers of
a row, perhaps a repeater behind it, and a heart in which the rows meet. `family` is the text of one such circuit with
as many twins as one likes.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from circuitcheck.language.load import load_text
from circuitcheck.model.claims import Study

ROWS = ("pond", "race", "spill")
FEW_STATES = ("lever",) * 14 + ("button short", "plate")
"""Kinds of inputs where every state of the circuit must be looked at: a hold of 20 gt makes very many."""
ALL_INPUTS = ("lever",) * 6 + ("button short", "button long", "plate", "plate", "analogue")
HEARTS = ("latch", "latch", "open latch", "torch", "comparator", "ring", "lock", "lamp")
WAITS = ("1gt", "2gt", "3gt", "2t", "3t", "4t", "6t", "8t")


@dataclass(frozen=True)
class Drawn:
    """A circuit with its claim, as text."""

    seed: int
    text: str
    inputs: tuple[str, ...]
    signals: tuple[str, ...]

    def study(self) -> Study:
        """The circuit and all that is asked of it."""
        return study_of(self.text)


def study_of(text: str) -> Study:
    """The one study of a text that is known to be valid."""
    loaded = load_text(text)
    assert loaded.valid, (text, [each.message for each in loaded.diagnostics])
    return loaded.studies[0]


class Size(NamedTuple):
    """How large a circuit may become, and which inputs it may have."""

    rows: int
    across: int
    """How many inputs stand in one row at most."""
    inputs: Sequence[str]


SMALL = Size(2, 2, FEW_STATES)
MIDDLING = Size(2, 2, ALL_INPUTS)
LARGE = Size(3, 3, ALL_INPUTS)


def sluice(seed: int, size: Size) -> Drawn:
    """A random circuit."""
    return _Mason(seed, size).build()


class _Mason:
    """Writes one circuit, line by line."""

    def __init__(self, seed: int, size: Size) -> None:
        self._seed = seed
        self._size = size
        self._random = random.Random(seed)
        self._lines: list[str] = []
        self._inputs: list[str] = []
        self._signals: list[str] = []

    def build(self) -> Drawn:
        count = self._random.randint(1, self._size.rows)
        mirrored, drawn = self._chance(0.4), self._random.random()
        ends = []
        for row in ROWS[:count]:
            # Rows that are alike come to the heart at the same moments: that is where orders are unknown.
            self._random.seed(drawn if mirrored else self._random.random())
            ends.append(self._row(row))
        self._heart(ends)
        if self._chance(0.2):
            self._lines.append("setting outside_first yes")
        self._claim()
        self._assume()
        return Drawn(self._seed, "\n".join(self._lines), tuple(self._inputs), tuple(self._signals))

    def _chance(self, share: float) -> bool:
        return self._random.random() < share

    def _one(self, *of: str) -> str:
        return self._random.choice(of)

    def _write(self, name: str, line: str) -> str:
        """Adds a line that makes a part or a junction which a claim may refer to."""
        self._lines.append(line)
        self._signals.append(name)
        return name

    # Rows

    def _row(self, row: str) -> str:
        """Inputs, their feelers, and what joins those; the name of its end."""
        across = self._random.randint(1, self._size.across)
        kind = self._random.choice(self._size.inputs)
        if not kind.startswith("lever"):
            across = 1
        word, _, hold = kind.partition(" ")
        self._lines.append(f"{word} {row}.1 to {row}.{across} {hold}".strip())
        own = [f"{row}.{number}" for number in range(1, across + 1)]
        self._inputs += own
        feelers = self._alike(row, own) if self._chance(0.5) else self._unlike(row, own)
        if self._chance(0.15):
            feelers.append(self._wheel(f"wheel_{row}"))
        end = self._write(f"joint_{row}", f"junction joint_{row} joins {', '.join(feelers)}")
        if self._chance(0.6):
            end = self._write(f"slow_{row}", f"repeater slow_{row} from {end} delay {self._random.randint(1, 3)}t")
        return end

    def _alike(self, row: str, own: Sequence[str]) -> list[str]:
        """A feeler of one kind behind each input of a row: twins."""
        self._lines.append(self._feeler(f"feel_{row}.*", f"{row}.*", starts=False))
        feelers = [f"feel_{row}.{number}" for number in range(1, len(own) + 1)]
        self._lines[-1] = self._lines[-1].replace(".*", ".1", 2) if len(own) == 1 else self._lines[-1]
        self._signals.append(feelers[0])
        return feelers

    def _unlike(self, row: str, own: Sequence[str]) -> list[str]:
        """A feeler of its own kind behind each input: other delays, other pulses, and so ties between what differs."""
        return [
            self._write(name, self._feeler(name, source))
            for name, source in ((f"{row}_feeler_{place}", source) for place, source in enumerate(own))
        ]

    def _feeler(self, name: str, source: str, starts: bool = True) -> str:
        kind = self._one(*("detector",) * 6, "torch", "torch", "repeater", "comparator")
        if kind == "detector":
            rearm = self._one("", "", "", " rearm 1t")
            return f"detector {name} watches {source} delay {self._one('1t', '1t', '2t', '3gt')}{self._pulse()}{rearm}"
        if kind == "repeater":
            return f"repeater {name} from {source} delay {self._random.randint(1, 2)}t"
        start = self._one("", "", " starts on", " starts off") if starts and kind == "torch" else ""
        return f"{kind} {name} from {source}{start}"

    def _pulse(self) -> str:
        return f" pulse {self._one('1t', '1t', '2t', '3gt')}"

    def _wheel(self, name: str) -> str:
        """A clock: a ring that never rests."""
        if self._chance(0.5):
            self._lines.append(f"repeater {name}_paddle from {name} delay {self._random.randint(1, 2)}t starts off")
            return self._write(name, f"torch {name} from {name}_paddle starts on")
        self._lines.append(f"torch {name}_a from {name} starts on\ntorch {name}_b from {name}_a starts off")
        return self._write(name, f"torch {name} from {name}_b starts off")

    # The heart

    def _heart(self, ends: Sequence[str]) -> None:
        kind = self._random.choice(HEARTS)
        first, last = ends[0], ends[-1]
        if kind in ("latch", "open latch"):
            self._latch(first, last, "" if kind == "open latch" else f" starts {self._one('set', 'reset')}")
        elif kind == "torch":
            self._write("lid", f"torch lid from {', '.join(ends)}")
            if self._chance(0.5):
                self._write("plug", f"repeater plug from lid, {first} delay {self._random.randint(1, 3)}t")
        elif kind == "comparator":
            line = f"comparator scale from {first} side {last} {self._one('subtract', 'compare')}"
            self._write("scale", line)
            if self._chance(0.4):
                self._write("scum", "dust scum from scale length 3")
        elif kind == "ring":
            self._lines.append("repeater sweep from stir delay 1t starts off")
            self._write("stir", f"torch stir from {first}, sweep starts on")
        elif kind == "lock":
            keeper = self._write("keeper", f"repeater keeper from {last} delay 1t")
            self._write("kept", f"repeater kept from {first} delay {self._random.randint(1, 2)}t locked by {keeper}")
        else:
            self._write("lantern", f"lamp lantern from {', '.join(ends)}")
            self._write("watchman", f"detector watchman watches lantern{self._pulse()}")

    def _latch(self, first: str, last: str, start: str) -> None:
        reset = last
        if first == last:
            self._lines.append("lever bolt")
            self._inputs.append("bolt")
            reset = "bolt"
        self._write("gate", f"latch gate set {first} reset {reset}{start}")
        self._signals.append("gate.inverse")
        if self._chance(0.4):
            self._write("sill", f"repeater sill from gate delay {self._random.randint(1, 2)}t")

    # What is asked

    def _claim(self) -> None:
        one, other = (self._random.choice([*self._signals, *self._inputs[:1]]) for _ in range(2))
        wait = self._one(*WAITS)
        claims = [
            f"when {one} rises then {other} within {wait}",
            f"when {one} changes then {other} changes within {wait}",
            f"when {one} rises then {other} within {wait} unless {other} changes",
            f"every pulse of {one} lasts at least {self._one('1gt', '2gt', '1t', '3gt')}",
            f"every gap of {one} lasts at least {self._one('1gt', '2gt', '3gt')}",
            f"every pulse of {one} lasts at most 5t",
            f"{one} follows {other}, settled within {wait}",
            f"{one} inverts {other}, settled within {wait}",
            f"when {one} rises then {one} or {other} until {one} falls",
            f"not ({one} rises and {other} falls)",
            f"when {one} rises then {one} stable for {self._one('1gt', '2gt')}",
            f"not ({one} and {other})",
            f"from {one} rises to {other} rises takes at most 6t",
            f"when {one} falls then {other} stable for {wait}",
            f"when {one} then {other} off until {one} falls",
            f"not ({one} at least 9 and {other} changes)",
        ]
        self._lines.append(f'always "as asked" {self._one(*claims)}')

    def _assume(self) -> None:
        if self._chance(0.4):
            held = ", ".join(self._inputs[: self._random.randint(1, len(self._inputs))])
            self._lines.append(f"assume {held} stable for {self._random.randint(1, 9)}gt")
        if self._chance(0.3):
            bound = f"{self._random.randint(1, 2)} changes within {self._random.randint(1, 6)}gt"
            self._lines.append(f"assume at most {bound}")


def family(twins: int, wait: str = "2t") -> str:
    """A gate with as many levers as one likes to open it and to shut it; at 1t between them its claims break."""
    return f"""
lever pond.1 to pond.{twins}
lever race.1 to race.{twins}
detector rise.* watches pond.*
detector fall.* watches race.*
junction up joins rise.*
junction down joins fall.*
repeater opening from up delay {wait}
repeater closing from down delay {wait}
latch gate set opening reset closing starts reset
output water from gate
output dry from gate.inverse
never "both" gate and gate.inverse
always "opens" when up rises then gate within 5t unless down or closing
always "shuts" when down rises then gate.inverse within 5t unless up or opening
always "opens for long" every pulse of opening lasts at least 2t
"""
