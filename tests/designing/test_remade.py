"""Known networks have the numbers of torches that counting NORs gives, and what is remade by them settles as before."""

from __future__ import annotations

import itertools
import os
import random
import re
from pathlib import Path

import pytest

from circuitcheck import verify_text
from circuitcheck.curing.names import Names
from circuitcheck.curing.search import Budget
from circuitcheck.curing.source_text import source_of_text
from circuitcheck.designing.known_networks import Network, known_networks
from circuitcheck.designing.remade import remade
from circuitcheck.designing.step_by_step import Steps, begun, made_smaller
from circuitcheck.errors import OpenOrder
from circuitcheck.simulation import Simulation

from .test_least_nors import least_nors

ROOT = Path(__file__).resolve().parents[2]
SEEDS = 300 if os.environ.get("CIRCUITCHECK_LEAST") else 20
LEVERS = ("rope", "cord", "chain")


@pytest.mark.parametrize(("signals", "most"), [(2, 4), (3, 3)])
def test_each_function_takes_as_many_torches_as_its_inverse_takes_nors_less_one(signals: int, most: int) -> None:
    """As `test_least_nors` derives it, and counts NORs another way."""
    nors = least_nors(signals, most + 1)
    known, every = known_networks(signals), (1 << (1 << signals)) - 1
    counts = {rows: len(networks[0].torches) for rows, networks in known.items()}
    for rows in range(every):
        expected = nors.get(every & ~rows)
        if rows and expected is not None and expected <= most + 1:
            assert counts[rows] == expected - 1, bin(rows)
    assert sum(count <= most for count in counts.values()) == len([rows for rows in nors if rows != every])


def test_each_network_gives_its_function() -> None:
    def on(network: Network, row: tuple[int, ...]) -> bool:
        levels = [bool(each) for each in row]
        for sources in network.torches:
            levels.append(not any(levels[each] for each in sources))
        return any(levels[each] for each in network.read)

    for rows, networks in known_networks(3).items():
        for network in networks:
            table = [on(network, row[::-1]) for row in itertools.product((0, 1), repeat=3)]
            assert sum(each << place for place, each in enumerate(table)) == rows
            assert len(network.torches) == len(networks[0].torches)


def drawn(seed: int) -> str:
    """Torches, repeaters and junctions by lot, none of which is behind itself; lamps on the last few."""
    chance = random.Random(seed)
    lines, names = ["language 1", *(f"lever {name}" for name in LEVERS)], list(LEVERS)
    for number in range(chance.randint(3, 8)):
        sources = ", ".join(chance.sample(names[-5:], chance.randint(1, 2)))
        kind = chance.choice(("torch {} from {}", "torch {} from {}", "repeater {} from {}", "junction {} joins {}"))
        lines.append(kind.format(f"own{number}", sources))
        names.append(f"own{number}")
    return "\n".join([*lines, f"lamp bell  from {names[-1]}", f"lamp light  from {chance.choice(names[-3:])}"]) + "\n"


def settled(text: str) -> list[tuple[bool, bool]]:
    """What the lamps show for every setting of the levers that a mill may start with, by the engine."""
    rows = []
    for setting in itertools.product((False, True), repeat=len(LEVERS)):
        own = text
        for name in itertools.compress(LEVERS, setting):
            own = re.sub(rf"^lever +{name}$", f"lever {name} starts on", own, flags=re.MULTILINE)
        run = Simulation(source_of_text(own, "mill.circuit", ".").loaded.studies[0].circuit)
        rows.append((run.is_on("bell"), run.is_on("light")))
    return rows


def test_what_is_remade_settles_as_before_with_fewer_parts() -> None:
    changes = 0
    for seed in range(SEEDS):
        source = source_of_text(drawn(seed), "mill.circuit", ".")
        try:
            before = settled(source.text)
        except OpenOrder:
            continue  # wires that are joined to and fro, which may hold themselves on
        for change in itertools.islice(remade(source, Names(source)), 3):
            after = source.changed_text(change)
            own, new = (source_of_text(text, "mill.circuit", ".").loaded for text in (source.text, after))
            assert new.valid, (change.words, new.diagnostics)
            assert settled(after) == before, change.words
            words = [[part.word for part in loaded.studies[0].circuit.parts] for loaded in (own, new)]
            counts = [sum(each in ("torch", "repeater") for each in kinds) for kinds in words]
            assert counts[1] - counts[0] == change.more_parts < 0
            changes += 1
    assert changes > 10


def test_what_else_is_read_stays_and_a_round_is_not_looked_through() -> None:
    text = (
        "language 1\nlever rope\nlever cord\ntorch slack  from rope\ntorch taut  from slack\n"
        "torch loose  from taut, late\nrepeater late  from loose\nlamp bell  from loose\nlamp light  from slack\n"
    )
    source = source_of_text(text, "mill.circuit", ".")
    for change in remade(source, Names(source)):
        after = source.changed_text(change)
        assert "torch     slack  from rope" in after or "torch slack  from rope" in after
        assert "late" in after


def smaller(text: str) -> Steps:
    source = source_of_text(text, "mill.circuit", str(ROOT / "circuits"))
    steps = begun(source)
    made_smaller(source, Budget(10_000), steps)
    assert verify_text(steps.text, folder=ROOT / "circuits").exit.name == "HOLDS"
    return steps


def test_an_xor_of_five_torches_is_made_of_three() -> None:
    """The least that a search of all netlists finds; no single part of the five can go."""
    gates = (ROOT / "circuits" / "gates.circuit").read_text()
    own = gates[gates.index("define xor_gate") :]
    xor = own[: own.index("\nend\n") + len("\nend\n")]
    steps = smaller(f"language 1\n{xor}")
    assert (steps.before.parts, steps.after.parts) == (5, 3)
    assert any("made by 2 of 4 parts" in words or "made by 3 of 5 parts" in words for words in steps.steps)


def test_what_a_lamp_reads_together_is_remade_as_well_and_as_it_was_at_every_gt() -> None:
    """An XOR of four torches, one input worked at a time: proved of it beside what it was."""
    text = (
        "language 1\nlever rope\nlever cord\nassume at most 1 changes within 12t\ntorch x  from rope\n"
        "torch y  from cord\ntorch m  from x, cord\ntorch n  from y, rope\nlamp bell  from m, n\n"
    )
    source = source_of_text(text, "mill.circuit", ".")
    steps = begun(source, same=True)
    made_smaller(source, Budget(10_000), steps)
    assert (steps.before.parts, steps.after.parts, steps.shift) == (4, 3, 0)


@pytest.mark.parametrize(
    ("lines", "least"),
    [
        (("repeater x  from rope", "repeater y  from x  delay 2t", "lamp bell  from y"), "delay 3t"),
        (
            ("torch x  from rope", "torch y  from cord", "torch m  from x", "torch n  from y", "lamp bell  from m, n"),
            "2t",
        ),
    ],
)
def test_what_comes_to_an_or_is_one_repeater_as_late(lines: tuple[str, ...], least: str) -> None:
    """Where pulses are longer than its delay (rule R3), as is assumed here, it is as before at every gt."""
    assumed = "assume at most 1 changes within 12t"
    source = source_of_text("\n".join(["language 1", "lever rope", "lever cord", assumed, *lines]), "mill.circuit", ".")
    steps = begun(source, same=True)
    made_smaller(source, Budget(10_000), steps)
    assert (steps.after.parts, steps.shift) == (1, 0)
    assert least in steps.text


def test_a_wasteful_choice_is_made_of_four() -> None:
    """One rope says which of two others rings the bell; each change is waited for."""
    acts = (("chain on", True), ("rope on", False), ("cord on", True), ("chain off", True), ("rope off", False))
    lines = [
        line
        for number, (act, on) in enumerate(acts, 1)
        for line in (
            f"  at {number}s  {act}",
            f"  at {number * 10 + 9}t  expect bell {'on' if on else 'off'}",
        )
    ]
    check = "\n".join(['check "the table"', *lines, "end"])
    steps = smaller(
        "language 1\nlever rope\nlever cord\nlever chain\ntorch norope  from rope\ntorch nocord  from cord\n"
        "torch nochain  from chain\ntorch first  from norope, nocord\ntorch second  from rope, nochain\n"
        f"torch neither  from first, second\ntorch either  from neither\nlamp bell  from either\n{check}\n"
    )
    assert steps.before.parts == 7
    assert steps.after.parts <= 4
