"""Two circuits that were published for testing circuits, built out of torches and locked repeaters.

Sources: c17 out of the ISCAS '85 set (F. Brglez and H. Fujiwara, "A neutral netlist of 10 combinational benchmark
circuits", ISCAS 1985); s27 out of the ISCAS '89 set (F. Brglez, D. Bryan and K. Kozminski, "Combinational profiles of
sequential benchmark circuits", ISCAS 1989). Both netlists are written down from memory.
"""

from __future__ import annotations

import itertools
import random
from collections import Counter

from outside.building import Netlist, circuit_text, clock, gate, put, start

SETTLED = 40

C17_INPUTS = ("n1", "n2", "n3", "n6", "n7")
C17: Netlist = {
    "n10": gate("NAND", "n1", "n3"),
    "n11": gate("NAND", "n3", "n6"),
    "n16": gate("NAND", "n2", "n11"),
    "n19": gate("NAND", "n11", "n7"),
    "n22": gate("NAND", "n10", "n16"),
    "n23": gate("NAND", "n16", "n19"),
}


def c17_model(n1: bool, n2: bool, n3: bool, n6: bool, n7: bool) -> tuple[bool, bool]:
    """Outputs 22 and 23 as sums of products, the NANDs calculated by hand (De Morgan)."""
    return (n1 and n3) or (n2 and not (n3 and n6)), (n2 or n7) and not (n3 and n6)


def test_c17_gives_its_function_in_all_32_rows() -> None:
    run = start(circuit_text(C17_INPUTS, C17))
    rows = list(itertools.product((False, True), repeat=5))
    random.Random(17).shuffle(rows)
    for row in rows:
        put(run, dict(zip(C17_INPUTS, row, strict=True)))
        run.run(gt=SETTLED)
        assert (run.is_on("n22"), run.is_on("n23")) == c17_model(*row), f"row {row}"


def test_c17_starts_settled_in_the_row_of_all_off() -> None:
    run = start(circuit_text(C17_INPUTS, C17))
    assert (run.is_on("n22"), run.is_on("n23")) == c17_model(False, False, False, False, False)


S27_INPUTS = ("G0", "G1", "G2", "G3")
S27_FLIP_FLOPS = {"G5": "G10", "G6": "G11", "G7": "G13"}
S27: Netlist = {
    "G14": gate("NOT", "G0"),
    "G17": gate("NOT", "G11"),
    "G8": gate("AND", "G14", "G6"),
    "G15": gate("OR", "G12", "G8"),
    "G16": gate("OR", "G3", "G8"),
    "G9": gate("NAND", "G16", "G15"),
    "G10": gate("NOR", "G14", "G11"),
    "G11": gate("NOR", "G5", "G9"),
    "G12": gate("NOR", "G1", "G7"),
    "G13": gate("NOR", "G2", "G12"),
}


def s27_model(
    state: tuple[bool, bool, bool], g0: bool, g1: bool, g2: bool, g3: bool
) -> tuple[bool, tuple[bool, bool, bool]]:
    """Output G17 and the next state of the flip-flops G5, G6, G7."""
    g5, g6, g7 = state
    g8 = not g0 and g6
    g12 = not (g1 or g7)
    g9 = not ((g3 or g8) and (g12 or g8))
    g11 = not (g5 or g9)
    return not g11, (g0 and not g11, g11, not (g2 or g12))


def test_s27_has_the_gates_that_are_published_for_it() -> None:
    """2 inverters, 1 AND, 1 NAND, 2 ORs, 4 NORs, 3 flip-flops: the head of the published netlist."""
    assert Counter(made.kind for made in S27.values()) == {"NOT": 2, "AND": 1, "NAND": 1, "OR": 2, "NOR": 4}
    assert len(S27_FLIP_FLOPS) == 3


def test_s27_walks_through_the_states_of_its_model() -> None:
    choose = random.Random(27)
    run = start(circuit_text(S27_INPUTS, S27, S27_FLIP_FLOPS))
    state = (False, False, False)
    seen = set()
    for turn in range(80):
        row = [choose.random() < 0.5 for _ in S27_INPUTS]
        put(run, dict(zip(S27_INPUTS, row, strict=True)))
        run.run(gt=SETTLED)
        output, following = s27_model(state, *row)
        assert run.is_on("G17") is output, f"turn {turn}"
        clock(run)
        assert tuple(run.is_on(name) for name in S27_FLIP_FLOPS) == following, f"turn {turn}"
        state = following
        seen.add(state)
    assert len(seen) >= 5, "the inputs drawn should lead through most states"
