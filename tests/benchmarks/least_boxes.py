"""The least boxes of the shelf's blocks beside their drawings by hand: found by SAT, smaller boxes excluded or open.

    python tests/benchmarks/least_boxes.py             every block, some minutes
    python tests/benchmarks/least_boxes.py and nor     the blocks whose names hold one of these words

Seconds are of processor time.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from pathlib import Path
from time import process_time

from circuitcheck.language.load import load_file
from circuitcheck.model.claims import Study
from circuitcheck.placing.exact import least_box
from circuitcheck.placing.exact_wanted import wanted
from circuitcheck.placing.task import cost_of

CIRCUITS = Path(__file__).resolve().parents[2] / "circuits"
FILES = ("gates", "latches", "pulses")
MOST = 40
"""Larger boxes are not asked."""


def blocks(words: list[str]) -> Iterator[Study]:
    """The drawn definitions of the shelf, each once."""
    seen: set[str] = set()
    for file in FILES:
        for study in load_file(CIRCUITS / f"{file}.circuit").studies:
            name = study.circuit.name
            if study.drawn is not None and name not in seen and any(word in name for word in words or [""]):
                seen.add(name)
                yield study


def main() -> None:
    """Prints a line for each block."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("words", nargs="*")
    for study in blocks(parser.parse_args().words):
        before = process_time()
        found = least_box(wanted(study.circuit), MOST)
        seconds = process_time() - before
        hand = study.drawn.drawing if study.drawn is not None else None
        by_hand = cost_of(hand).places if hand is not None else 0
        if found.found is None:
            told = f"nothing found, {len(found.excluded)} boxes excluded"
        else:
            box = found.found.box
            word = "least" if found.is_least else f"best found, {len(found.open_below(box.volume))} open"
            told = f"{box.volume} ({box}), {word}, {len(found.excluded)} boxes excluded"
        print(f"{study.circuit.name}: by hand {by_hand}, {told}, {found.work:,} of work, {seconds:.1f} s", flush=True)


if __name__ == "__main__":
    main()
