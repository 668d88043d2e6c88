"""The least circuits for small sets of claims, and that give out what others do: how long each takes, and excludes.

    python tests/benchmarks/least_parts.py              every case
    python tests/benchmarks/least_parts.py and latch    the cases whose names hold one of these words

Seconds are of processor time.
"""

from __future__ import annotations

import argparse
from time import process_time

from circuitcheck.designing.as_before import as_before
from circuitcheck.designing.fewest_parts import Search
from circuitcheck.designing.frame import Frame, frame_of
from circuitcheck.prove.meter import Limits

LIMITS = Limits(50_000)
ALL = 20_000_000


def asked(inputs: str, apart: str, *claims: str) -> str:
    """A file without parts: levers or buttons that power 'out', how far apart their changes are, and claims."""
    lines = [f'always "{number}"  {claim}' for number, claim in enumerate(claims, 1)]
    return "\n".join(
        ["language 1", *inputs.split(", "), "junction out", f"assume at most 1 changes within {apart}", *lines]
    )


def settles(inputs: str, on: str, off: str, within: str = "8t", apart: str = "20t") -> str:
    """The output comes to be as a function says; `on` and `off` are conditions, the one where the other is not."""
    return asked(
        inputs,
        apart,
        f"when {on} then out within {within} unless {off}",
        f"when {off} then out off within {within} unless {on}",
    )


ONE, TWO, THREE = "lever a", "lever a, lever b", "lever a, lever b, lever c"
LATCH = asked(
    TWO,
    "12t",
    "when a then out within 3t unless b or a off",
    "when b then out off within 3t unless a or b off",
    "when a falls and out then out until b",
    "when b falls and out off then out off until a",
)


def edge_pulse(length: str) -> str:
    """A pulse as an input comes on, and no other."""
    return asked(
        ONE,
        "20t",
        "when a rises then out within 8t",
        f"every pulse of out lasts {length}",
        "when out falls then out off until a rises",
    )


CASES: dict[str, tuple[str, int]] = {
    "inverter": (asked(ONE, "12t", "out inverts a, settled within 1t"), 4),
    "or": (settles(TWO, "a or b", "a off and b off"), 4),
    "nor": (settles(TWO, "a off and b off", "a or b"), 4),
    "and": (settles(TWO, "a and b", "a off or b off"), 4),
    "latch": (LATCH, 4),
    "edge pulse of 1t": (edge_pulse("1t"), 4),
    "edge pulse of 2t": (edge_pulse("2t"), 4),
    "edge pulse of 3t": (edge_pulse("3t"), 4),
    "longer pulse": (
        asked("button a short", "40t", "when a rises then out within 4t", "every pulse of out lasts 13t"),
        4,
    ),
    "delay of 2t": (asked(ONE, "12t", "from a rises to out rises takes 2t", "from a falls to out falls takes 2t"), 4),
    "xor": (settles(TWO, "(a and b off) or (b and a off)", "(a and b) or (a off and b off)"), 4),
    "xnor": (settles(TWO, "(a and b) or (a off and b off)", "(a and b off) or (b and a off)"), 4),
    "xnor that rests": (
        settles(TWO, "(a and b) or (a off and b off)", "(a and b off) or (b and a off)")
        + '\nalways "rests"  comes to rest',
        3,
    ),
    "nor of three": (settles(THREE, "a off and b off and c off", "a or b or c"), 3),
    "one and one of two": (settles(THREE, "a and (b or c)", "a off or (b off and c off)"), 3),
    "choice": (settles(THREE, "(a and b) or (a off and c)", "(a and b off) or (a off and c off)"), 3),
    "all three": (settles(THREE, "a and b and c", "a off or b off or c off"), 4),
}


def kept(*lines: str, inputs: str = TWO) -> str:
    """A circuit whose lamp is to be as it is at every gt, where one input is worked at a time."""
    return "\n".join(["language 1", *inputs.split(", "), "assume at most 1 changes within 12t", *lines])


XOR = ("torch x  from a", "torch y  from b", "torch m  from x, b", "torch n  from y, a")
SAME: dict[str, tuple[str, int]] = {
    "same: two inverters": (kept("torch x  from a", "torch y  from x", "lamp out  from y", inputs=ONE), 4),
    "same: two repeaters": (kept("repeater x  from a", "repeater y  from x", "lamp out  from y", inputs=ONE), 0),
    "same: or out of nots": (
        kept("torch x  from a", "torch y  from b", "torch m  from x", "torch n  from y", "lamp out  from m, n"),
        4,
    ),
    "same: edge pulse": (
        kept("torch x  from a", "repeater y  from x  delay 2t", "torch z  from x, y", "lamp out  from z", inputs=ONE),
        0,
    ),
    "same: and": (kept("torch x  from a", "torch y  from b", "torch z  from x, y", "lamp out  from z"), 0),
    "same: xor": (kept(*XOR, "lamp out  from m, n"), 0),
    "same: xnor": (kept(*XOR, "torch z  from m, n", "lamp out  from z"), 0),
    "same: choice": (
        kept(
            "torch x  from a",
            "torch y  from b",
            "torch z  from c",
            "torch m  from x, y",
            "torch n  from a, z",
            "lamp out  from m, n",
            inputs=THREE,
        ),
        0,
    ),
}
"""Circuits whose lamp is to be as it is, and by how many gt it may come earlier or later."""


def main() -> None:
    """Prints a line for each case."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("words", nargs="*")
    for name, (text, number) in (CASES | SAME).items():
        if not any(word in name for word in parser.parse_args().words or [""]):
            continue
        same = name in SAME
        frame = frame_of(text, "asked.circuit", "", same)
        assert isinstance(frame, Frame), frame
        before = process_time()
        was = as_before(frame, LIMITS, number) if same else None
        search = Search(frame, LIMITS, LIMITS._replace(states=ALL).meter(), before=was)
        found = search.run(frame.own.parts if same else number)
        seconds = process_time() - before
        size = "none" if found.netlist is None else f"{found.netlist.parts} parts, {found.netlist.ticks}t"
        least = "least" if found.is_least else found.ended.value
        without = ", ".join(f"{each.parts}: {each.judged}" for each in found.without)
        print(
            f"{name}: {size} ({least}), {found.undecided} open; judged {found.judged} [{without}], {seconds:.1f} s",
            flush=True,
        )


if __name__ == "__main__":
    main()
