"""How small a box circuits are laid out in within a time: the table of layouts in DEVELOPERS.md.

    python tests/benchmarks/layouts.py --seconds 120

c17 is the netlist of the ISCAS 85 benchmarks (F. Brglez and H. Fujiwara, 1985): six NAND gates of two torches each.
"""

from __future__ import annotations

import argparse
from pathlib import Path
from sys import stderr
from time import monotonic, process_time

from circuitcheck.language.load import load_file, load_text
from circuitcheck.model.circuit import Circuit
from circuitcheck.placing.bounds import Bounds, places_of
from circuitcheck.placing.compiled import WORTH_IT, Fast, fast_for
from circuitcheck.placing.holding import Holding
from circuitcheck.placing.pieces.in_pieces import PieceSearch, begin_in_pieces, is_for_pieces
from circuitcheck.placing.pieces.tools import tools_for
from circuitcheck.placing.problem import Problem, problem_of
from circuitcheck.placing.smallest_box import Found, Search
from circuitcheck.placing.task import Task, drawn_task_of

CIRCUITS = Path(__file__).parents[2] / "circuits"
SHELF = {
    "gates.circuit": ("inverter", "or_gate", "nor_gate", "and_gate", "nand_gate", "xor_gate"),
    "latches.circuit": ("set_reset", "data_latch", "toggle"),
    "pulses.circuit": ("edge_pulse", "longer_pulse", "delay_line", "ring_clock"),
    "arithmetic.circuit": ("half_adder", "full_adder"),
    "sluice.circuit": ("",),
}
"""The circuits that are drawn by hand: the names of definitions, by their file."""
C17 = """\
lever n1
lever n2
lever n3
lever n6
lever n7
torch a10 from n1
torch b10 from n3
torch a11 from n3
torch b11 from n6
torch a16 from n2
torch b16 from a11, b11
torch a19 from a11, b11
torch b19 from n7
torch a22 from a10, b10
torch b22 from a16, b16
torch a23 from a16, b16
torch b23 from a19, b19
lamp n22 from a22, b22
lamp n23 from a23, b23
"""
ALL_MOVES = 10**10
ROOMS = ("lampkeeper", "watchpair")


def adder(bits: int) -> str:
    """Two wheels of the mill count their loads; the adder says how many there are in all. Its carry ripples."""
    lines = ["rules newer", 'use "arithmetic.circuit"']
    lines += [f"lever {side}{bit}" for bit in range(bits) for side in "ab"]
    lines += ["lever before"]
    for bit in range(bits):
        carry = f"wheel{bit - 1}.carry" if bit else "before"
        lines.append(f"full_adder wheel{bit} (a a{bit}, b b{bit}, carry_in {carry})")
    lines += [f"lamp sum{bit} from wheel{bit}.sum" for bit in range(bits)]
    return "\n".join([*lines, f"lamp over from wheel{bits - 1}.carry", ""])


def circuits(wanted: str) -> dict[str, tuple[Circuit, int]]:
    """The circuits, each with the places of its drawing by hand, or 0."""
    found: dict[str, tuple[Circuit, int]] = {}
    for file, labels in SHELF.items():
        for study in load_file(CIRCUITS / file).studies:
            if study.label in labels:
                drawing = None if study.drawn is None else study.drawn.drawing
                found[study.label or study.circuit.name] = study.circuit, places_of(drawing.size) if drawing else 0
    found["c17"] = load_text(C17).studies[0].circuit, 704
    for bits in (2, 4):
        text = load_text(adder(bits), str(CIRCUITS / "wheels"), str(CIRCUITS))
        found[f"adder of {bits} bits"] = text.studies[0].circuit, 0
    return {name: each for name, each in found.items() if wanted in ("", name)}


def rooms(wanted: str) -> dict[str, Task]:
    """Machines of which the beds stay as they are drawn, and all else is made smaller around them."""
    found: dict[str, Task] = {}
    for name in ROOMS:
        path = CIRCUITS / f"{name}.circuit"
        task = drawn_task_of(path.read_text(), str(path), str(CIRCUITS)) if wanted in ("", name) else None
        if isinstance(task, Task):
            found[name] = task
    return found


def row(name: str, parts: int, by_hand: int, found: Found, took: float) -> str:
    """One row of the table."""
    size = found.drawing.size if found.drawing is not None else (0, 0, 0)
    box = " x ".join(map(str, size))
    return f"| {name} | {parts} | {by_hand} | {places_of(size) or 'none'} | {box} | {found.moves:,} | {took:.0f} s |"


def searched(name: str, problem: Problem, options: argparse.Namespace, fast: Fast, until: float) -> Found:
    """Searches in one process, from the text or from the drawing by hand; each smaller box is told as it comes."""
    begun, best = process_time(), 0

    def tells(what: str) -> None:
        nonlocal best
        if search.best_places != best:
            best = search.best_places
            print(f"{name}: {best} places, {search.found.moves:,} moves, {process_time() - begun:.1f} s", file=stderr)

    file = next((file for file, labels in SHELF.items() if name in (*labels, file.removesuffix(".circuit"))), "")
    task = None
    if options.drawn and file:
        of = name if name in SHELF[file] else ""
        made = drawn_task_of((CIRCUITS / file).read_text(encoding="utf-8"), file, str(CIRCUITS), of=of)
        task = made if isinstance(made, Task) else None
    search = Search(
        problem if task is None else task.problem, Bounds(), fast, ALL_MOVES, options.seed, until, tells=tells
    )
    if task is not None and task.drawn is not None:
        search.begin_with(task.drawn, task.where)
    else:
        begin_in_pieces(search, problem, Bounds(), ALL_MOVES, options.seed, until, by_hand=True)
    return search.run()


def main() -> None:
    """Prints one row for each circuit."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=120, help="seconds for each circuit (120)")
    parser.add_argument("--only", default="", help="one circuit")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--drawn", action="store_true", help="begin with the drawing by hand where there is one")
    options = parser.parse_args()
    fast = fast_for(WORTH_IT)
    print("| circuit | parts | by hand | found | box | moves | processor time |")
    print("| --- | --- | --- | --- | --- | --- | --- |")
    for name, (circuit, by_hand) in circuits(options.only).items():
        problem, begun = problem_of(circuit), process_time()
        until = monotonic() + options.seconds
        if is_for_pieces(problem):
            found = PieceSearch(problem, Bounds(), tools_for(ALL_MOVES), ALL_MOVES, options.seed, until).run()
        else:
            found = searched(name, problem, options, fast, until)
        print(row(name, len(problem.names), by_hand, found, process_time() - begun), flush=True)
    for name, task in rooms(options.only).items():
        assert task.drawn is not None
        begun, until = process_time(), monotonic() + options.seconds
        search = Search(
            task.problem, Bounds(), fast, ALL_MOVES, options.seed, until, allows=Holding(task, until).allows
        )
        search.begin_with(task.drawn, task.where)
        by_hand, parts = places_of(task.drawn.extent), task.problem.parts
        print(row(name, parts, by_hand, search.run(), process_time() - begun), flush=True)


if __name__ == "__main__":
    main()
