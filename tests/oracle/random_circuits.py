"""Random circuits out of every kind of part, from a seed, and hands that work what can be worked."""

from __future__ import annotations

import random
from collections.abc import Sequence

from circuitcheck.language.load import load_text
from circuitcheck.model.circuit import Circuit

INPUTS = (
    "lever {} starts on",
    "lever {} starts off",
    "button {} short",
    "button {} long",
    "plate {}",
    "analogue {} starts 7",
)
SETTINGS = ("", "", "rules older", "rules newest", "setting outside_first yes", "setting sticky_lets_go no")
MOST_PARTS = 12


def random_text(seed: int, most_parts: int = MOST_PARTS) -> str:
    """A circuit in text, of so many parts besides its inputs at most; now and then one that is refused."""
    return _Writer(random.Random(seed), most_parts).text()


def random_circuit(seed: int) -> Circuit | None:
    """The circuit of that text; None where the text is refused."""
    loaded = load_text(random_text(seed))
    return loaded.studies[0].circuit if loaded.valid else None


class _Writer:
    """Writes one circuit, line by line; parts read one another in rings as often as not."""

    def __init__(self, chosen: random.Random, most_parts: int) -> None:
        self._random = chosen
        self._inputs = [f"rope_{number}" for number in range(chosen.randint(1, 3))]
        self._parts = [
            (kind, f"{kind}_{number}")
            for number, kind in enumerate(chosen.choices(list(KINDS), k=chosen.randint(2, most_parts)))
        ]
        names = [name for _, name in self._parts]
        self._giving = [*self._inputs, *(name for name in names if not name.startswith(("piston", "stuck")))]
        self._solid = [name for name in self._giving if not name.startswith(("lamp", "block"))]
        self._lockers = [name for name in names if name.startswith(("repeater", "comparator"))]
        blocks = [f"{name}.block" for name in names if name.startswith("piston")]
        self._seen = [*self._inputs, "bed.1", *(name for name in names if not name.startswith("block")), *blocks]

    def text(self) -> str:
        lines = [self._random.choice(INPUTS).format(name) for name in self._inputs]
        lines.append("sensor bed cells 2 becomes on chance 1/3")
        lines += [KINDS[kind](self, name) for kind, name in self._parts]
        return "\n".join([*lines, self._random.choice(SETTINGS)])

    def some(self, names: Sequence[str], most: int = 3) -> str:
        """One of these names or more, in any order."""
        few = self._random.randint(1, min(most, len(names)))
        return ", ".join(self._random.sample(names, few))

    def one(self, *of: str) -> str:
        return self._random.choice(of)

    def torch(self, name: str) -> str:
        return f"torch {name} from {self.some(self._giving)} starts {self.one('on', 'off')}"

    def repeater(self, name: str) -> str:
        locks = f" locked by {self.some(self._lockers, 2)}" if self._random.random() < 0.3 else ""
        delay = f"delay {self._random.randint(1, 4)}t"
        return f"repeater {name} from {self.some(self._giving)} {delay}{locks} starts {self.one('on', 'off')}"

    def comparator(self, name: str) -> str:
        side = f" side {self.some(self._giving, 2)}" if self._random.random() < 0.6 else ""
        start = self._random.choice([0, 4, 15])
        return (
            f"comparator {name} from {self.some(self._giving)}{side} {self.one('compare', 'subtract')} starts {start}"
        )

    def lamp(self, name: str) -> str:
        return f"lamp {name} from {self.some([*self._solid, *self._blocks(name)])}"

    def block(self, name: str) -> str:
        return f"block {name} from {self.some(self._solid)}"

    def dust(self, name: str) -> str:
        return f"dust {name} from {self.some(self._giving)} length {self._random.randint(1, 5)}"

    def detector(self, name: str) -> str:
        times = f"delay {self.one('1t', '2t', '3gt')} pulse {self.one('1t', '2t', '3gt')}{self.one('', ' rearm 1t')}"
        return f"detector {name} watches {self._random.choice(self._seen)} {times}"

    def stuck(self, name: str) -> str:
        return f"detector {name} arming {self.some(self._giving)} hears {self.some(self._seen)} starts off"

    def piston(self, name: str) -> str:
        return f"piston {name} from {self.some(self._giving)}{self.one('', ' sticky')} starts {self.one('on', 'off')}"

    def latch(self, name: str) -> str:
        if self._random.random() < 0.3:
            return f"latch {name} data {self.some(self._giving)} locked by {self.some(self._giving)} starts off"
        start = self.one("set", "reset")
        return f"latch {name} set {self.some(self._giving)} reset {self.some(self._giving)} starts {start}"

    def _blocks(self, name: str) -> list[str]:
        return [other for other in self._giving if other.startswith("block") and other != name]


KINDS = {
    "torch": _Writer.torch,
    "repeater": _Writer.repeater,
    "comparator": _Writer.comparator,
    "lamp": _Writer.lamp,
    "block": _Writer.block,
    "dust": _Writer.dust,
    "detector": _Writer.detector,
    "stuck": _Writer.stuck,
    "piston": _Writer.piston,
    "latch": _Writer.latch,
}
