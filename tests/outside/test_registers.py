"""Shift registers with feedback: maximal-length sequences and a check sum, clocked by hand."""

from __future__ import annotations

import random
from collections.abc import Sequence

import pytest

from outside.building import Netlist, circuit_text, clock, gate, put, shelf_text, start

SETTLED = 40

# Source: the tables of maximal-length taps in S. W. Golomb, Shift Register Sequences, and in Xilinx application note
# XAPP 052 (P. Alfke, 1996), of which these are the first lines; cited from memory.
MAXIMAL_TAPS = {3: (3, 2), 4: (4, 3), 5: (5, 3)}


def stages(length: int) -> list[str]:
    """The names of a shift register's stages, first to last."""
    return [f"q{number}" for number in range(1, length + 1)]


def feedback_register(length: int, taps: Sequence[int]) -> str:
    """A register that shifts from q1 on; the XOR of its taps goes into q1. It starts with q1 alone on."""
    names = stages(length)
    gates: Netlist = {"back": gate("XOR", *(f"q{tap}" for tap in taps))}
    data = dict(zip(names, ["back", *names], strict=False))
    return circuit_text((), gates, data, started=("q1",))


@pytest.mark.parametrize("length", MAXIMAL_TAPS)
def test_published_taps_lead_through_every_state_but_nought(length: int) -> None:
    run = start(feedback_register(length, MAXIMAL_TAPS[length]))
    seen = []
    for _ in range(2**length - 1):
        seen.append(tuple(run.is_on(name) for name in stages(length)))
        clock(run)
    assert len(set(seen)) == 2**length - 1
    assert (False,) * length not in seen
    assert tuple(run.is_on(name) for name in stages(length)) == seen[0], "after the whole period it starts over"


def test_taps_out_of_no_table_fall_short() -> None:
    """x^4 + x^2 + 1 = (x^2 + x + 1)^2 is not even irreducible: its periods are 3 and 6, never 15."""
    run = start(feedback_register(4, (4, 2)))
    seen = []
    for _ in range(15):
        seen.append(tuple(run.is_on(name) for name in stages(4)))
        clock(run)
    assert len(set(seen)) == 6


# Source: the catalogue of parametrised CRC algorithms (G. Cook), entry CRC-8/SMBUS: width 8, polynomial 0x07, start 0,
# nothing reflected, no final XOR, check value 0xF4 for the nine characters "123456789".
POLYNOMIAL = 0x07
CHECK_INPUT = b"123456789"
CHECK_VALUE = 0xF4

CRC_STAGES = [f"c{number}" for number in range(8)]


def crc_register() -> str:
    """Eight stages, c0 the lowest bit: each takes the one below, XORed where the polynomial says."""
    gates = {"back": gate("XOR", "feed", "c7")}
    data = {"c0": "back"}
    for number in range(1, 8):
        if POLYNOMIAL >> number & 1:
            gates[f"sum{number}"] = gate("XOR", f"c{number - 1}", "back")
            data[f"c{number}"] = f"sum{number}"
        else:
            data[f"c{number}"] = f"c{number - 1}"
    return circuit_text(("feed",), gates, data)


def crc_by_hand(message: bytes) -> int:
    """The remainder of polynomial division over GF(2), done on one long number."""
    rest = int.from_bytes(message, "big") << 8
    divisor = 0x100 | POLYNOMIAL
    while rest.bit_length() > 8:
        rest ^= divisor << (rest.bit_length() - 9)
    return rest


def crc_by_circuit(message: bytes) -> int:
    """The register fed bit by bit, the highest bit of each byte first."""
    run = start(crc_register())
    for byte in message:
        for place in range(7, -1, -1):
            put(run, {"feed": bool(byte >> place & 1)})
            run.run(gt=SETTLED)
            clock(run)
    return sum(run.is_on(name) << number for number, name in enumerate(CRC_STAGES))


def test_the_register_gives_the_check_value_of_the_catalogue() -> None:
    assert crc_by_circuit(CHECK_INPUT) == CHECK_VALUE


def test_the_division_by_hand_gives_the_check_value_too() -> None:
    assert crc_by_hand(CHECK_INPUT) == CHECK_VALUE


def test_the_register_and_the_division_agree_on_drawn_messages() -> None:
    choose = random.Random(8)
    for length in (1, 2, 4):
        message = choose.randbytes(length)
        assert crc_by_circuit(message) == crc_by_hand(message), f"message {message.hex()}"


# Source: the characteristic table of the T flip-flop and the ripple counter made of it, in any digital design textbook,
# for example M. Morris Mano, Digital Design, chapter on registers and counters; cited from memory.
def test_three_toggles_in_a_row_count_presses_down() -> None:
    """Each takes the rise of the one before it as its press, so they count down from nought, modulo 8."""
    lines = ["toggle twos (press_in it.out)", "toggle fours (press_in twos.out)"]
    run = start(shelf_text(("knock",), "\n".join(["toggle it (press_in knock)", *lines]), ("out",)))
    for presses in range(1, 20):
        for value in (True, False):
            put(run, {"knock": value})
            run.run(gt=SETTLED)
        count = run.is_on("out") + 2 * run.is_on("twos.out") + 4 * run.is_on("fours.out")
        assert count == -presses % 8
