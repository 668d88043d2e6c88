"""The published circuit c17 drawn as it would be built, in four layers, its circuit read out of the drawing.

Sources: c17 out of the ISCAS '85 set (F. Brglez and H. Fujiwara, "A neutral netlist of 10 combinational benchmark
circuits", ISCAS 1985), its netlist written down from memory in test_published_circuits.py and evaluated here in plain
Python. How power runs in a build: common practice, no source; rules W1 to W5, T1 and P5.
"""

from __future__ import annotations

import itertools
import random
from collections.abc import Mapping
from pathlib import Path

import pytest

import circuitcheck
from circuitcheck.checks.drawing.built import TITLE, matched
from circuitcheck.checks.outcome import Outcome, Verdict
from circuitcheck.language.load import load_text

from .building import circuit_text, put, start
from .test_published_circuits import C17, C17_INPUTS, SETTLED

DRAWN = Path(__file__).with_name("drawn_c17.circuit").read_text(encoding="utf-8")
HEAD, BUILD = DRAWN[: DRAWN.index("legend\n")], DRAWN[DRAWN.index("legend\n") :]
LAMPS = "lamp upper from n22\nlamp lower from n23\n"
ROWS = list(itertools.product((False, True), repeat=len(C17_INPUTS)))
random.Random(85).shuffle(ROWS)

BRIDGE = ((2, 4, 2), (2, 6, 2), (3, 4, 2), (3, 5, 2), (3, 6, 2), (4, 5, 2))
"""The places of the bridge on which the line of n3 leads over that of n2: layer, row, column."""


def netlist_values(inputs: Mapping[str, bool]) -> dict[str, bool]:
    """What each line of the published netlist is; a gate stands behind what it reads."""
    values = dict(inputs)
    for name, gate in C17.items():
        assert gate.kind == "NAND"
        values[name] = not all(values[each] for each in gate.inputs)
    return values


def row_of(levels: tuple[bool, ...]) -> dict[str, bool]:
    """The inputs of one row of the truth table."""
    return dict(zip(C17_INPUTS, levels, strict=True))


def layers_of(build: str) -> list[list[str]]:
    """The rows of each layer of a build, written out."""
    layers = []
    for block in build[build.index("drawing\n") :].split("  layer ")[1:]:
        rows: list[str] = []
        for line in block[: block.index("  end\n")].splitlines()[1:]:
            letters, _, times = line.strip().partition(", ")
            rows += [letters] * (int(times.split()[0]) if times else 1)
        layers.append(rows)
    return layers


def build_of(layers: list[list[str]]) -> str:
    """The lines of a build with these layers, under the legend of the file."""
    lines = [BUILD[: BUILD.index("drawing\n")], "drawing"]
    for number, rows in enumerate(layers, 1):
        lines += [f"  layer {number}", *(f"    {row}" for row in rows), "  end"]
    return "\n".join([*lines, "end", ""])


def changed(letters: Mapping[tuple[int, int, int], str]) -> str:
    """The build with other letters at some places."""
    layers = layers_of(BUILD)
    for (layer, row, column), letter in letters.items():
        line = layers[layer - 1][row - 1]
        layers[layer - 1][row - 1] = f"{line[: column - 1]}{letter}{line[column:]}"
    return build_of(layers)


FLAT = changed({place: "-" if place[0] == 2 else "." for place in BRIDGE} | {(1, 4, 2): "S", (1, 6, 2): "S"})
"""The build with the bridge laid flat, so that two lines cross in one layer."""


def compared(build: str, rules: str = "newer") -> Outcome | None:
    """The verdict on whether a build is the circuit of the text; None if something in it can't stand (W1)."""
    text = circuit_text(C17_INPUTS, C17).replace("rules newer", f"rules {rules}") + LAMPS + build
    report = circuitcheck.verify_text(text)
    if report.diagnostics:
        assert {each.code for each in report.diagnostics} == {"CKT601"}
        return None
    (outcome,) = (each for each in report.outcomes if each.title == TITLE)
    return outcome


def is_matched(build: str) -> bool:
    """Whether a build has a part for each of the text, fed by the same; not if something in it can't stand (W1)."""
    loaded = load_text(circuit_text(C17_INPUTS, C17) + LAMPS + build)
    if loaded.diagnostics:
        assert {each.code for each in loaded.diagnostics} == {"CKT601"}
        return False
    (study,) = loaded.studies
    assert study.drawn is not None
    return matched(study.circuit, study.drawn) is not None


def things() -> list[tuple[int, int, int]]:
    """The places of the build that are not air."""
    return [
        (layer, row, column)
        for layer, rows in enumerate(layers_of(BUILD), 1)
        for row, letters in enumerate(rows, 1)
        for column, letter in enumerate(letters, 1)
        if letter != "."
    ]


# The drawing alone


def test_the_build_gives_the_truth_table_of_the_published_netlist_in_all_32_rows() -> None:
    run = start(DRAWN)
    for row in ROWS:
        expected = netlist_values(row_of(row))
        put(run, row_of(row))
        run.run(gt=SETTLED)
        for line, lamp in (("n22", "upper"), ("n23", "lower")):
            assert run.is_on(line) is expected[line], f"{line} in row {row}"
            assert run.is_on(lamp) is expected[line], f"the lamp of {line} in row {row}"


def test_the_build_starts_settled_in_the_row_of_all_off() -> None:
    run = start(DRAWN)
    expected = netlist_values(row_of((False,) * 5))
    assert (run.is_on("n22"), run.is_on("n23")) == (expected["n22"], expected["n23"])


def test_lines_that_cross_without_a_bridge_are_one_and_carry_either_signal() -> None:
    """W2, W3, P5: the netlist with n2 and n3 both on as soon as one of them is."""
    run = start(HEAD + FLAT)
    wrong = 0
    for row in ROWS:
        inputs = row_of(row)
        either = inputs["n2"] or inputs["n3"]
        expected = netlist_values({**inputs, "n2": either, "n3": either})
        put(run, inputs)
        run.run(gt=SETTLED)
        assert (run.is_on("n22"), run.is_on("n23")) == (expected["n22"], expected["n23"]), f"row {row}"
        wrong += (expected["n22"], expected["n23"]) != tuple(netlist_values(inputs)[each] for each in ("n22", "n23"))
    assert wrong > 0


# The drawing beside the text


@pytest.mark.parametrize("rules", ["older", "newer", "newest"])
def test_the_build_is_the_circuit_of_the_netlist_under_every_set_of_rules(rules: str) -> None:
    outcome = compared(BUILD, rules)
    assert outcome is not None
    assert is_matched(BUILD)
    assert outcome.differences == ()
    assert outcome.verdict is Verdict.HOLDS


def test_a_build_without_the_bridge_is_not_the_circuit() -> None:
    outcome = compared(FLAT)
    assert outcome is not None
    assert outcome.verdict is Verdict.FAILS
    assert any("'n2'" in each for each in outcome.differences)


def test_nothing_of_the_build_can_be_left_out() -> None:
    """W1 to W5: without any one thing another circuit is read, or something has nothing to lie on or to be held by."""
    places = things()
    assert len(places) > 100
    for place in places:
        assert not is_matched(changed({place: "."})), f"without what is at {place}"
    # The verdict also says what is missing, which takes far longer than to see that something is.
    for place in places[::10]:
        outcome = compared(changed({place: "."}))
        assert outcome is None or outcome.verdict is Verdict.FAILS, f"without what is at {place}"
