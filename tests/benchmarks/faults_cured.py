"""Is a fault undone among the first three cures? Each single fault of `sweep --faults` that a check or claim catches.

    python tests/benchmarks/faults_cured.py             # sluice, shelf, lamp keeper, each fault: hours of one core
    python tests/benchmarks/faults_cured.py --short     # some faults of the gates and latches: seconds
    python tests/benchmarks/faults_cured.py --every 5 sluice
    python tests/benchmarks/faults_cured.py --most 1 lampkeeper     # minutes: the first cure shows whether it is dearer

A fault is written into the file's text, without its drawing, which would give it away, and with its rows line by line.
What gives nothing any more reads `dead`, a torch below one that always burns. A fault counts as cured if one of the
first three cures takes no more than its undoing; as undone if one is the undoing.
"""

from __future__ import annotations

import argparse
import os
import re
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

sys.path.insert(0, os.fspath(Path(__file__).parents[2]))

from circuitcheck.curing.edits import Cost
from circuitcheck.curing.search import Budget, Search
from circuitcheck.curing.source_text import Source, extent, source_of_text
from circuitcheck.curing.wires import sources_of
from circuitcheck.language import tree
from circuitcheck.model.parts import KINDS

CIRCUITS = Path(__file__).parents[2] / "circuits"
FILES = {
    "sluice": ["sluice"],
    "shelf": ["gates", "latches", "pulses", "arithmetic"],
    "lampkeeper": ["lampkeeper"],
}
SHORT = [("gates", 5), ("latches", 6)]
CONSTANTS = "torch  glows  starts on\ntorch  dead  from glows  starts off\n"
MOST_CHANGED = 2
"""What undoing a fault may take: a fault that takes three changes is not put in."""


class Fault(NamedTuple):
    """A fault written into a text, and what undoing it takes at least."""

    words: str
    text: str
    undone: Cost


def undrawn(text: str) -> str:
    """A text without what is drawn in it."""
    kept, depth = [], 0
    for line in text.split("\n"):
        first = line.split(" ")[0]
        if not depth and first in ("legend", "piece", "drawing"):
            depth = 1
        elif depth:
            words = line.split()
            depth += bool(words) and words[0] == "layer"
            depth -= words == ["end"]
        else:
            kept.append(line)
    return "\n".join(kept)


def unrolled(text: str) -> str:
    """A text in which each part of a row that reads something has a line of its own."""
    source = source_of_text(text, "mill", CIRCUITS)
    lines = list(source.lines)
    for _, definition, each in reversed(list(source.statements())):
        if not isinstance(each, tree.PartLine) or KINDS[each.kind.text].is_input:
            continue
        first, last = extent(each)
        study = source.study_of(definition)
        base = each.first.text.partition(".")[0]
        if "." not in each.first.text or first != last or study is None or each.kind.text == "sensor":
            continue
        if each.last is None and not each.first.text.endswith(".*"):
            continue
        own = [name.rpartition(".")[2] for name in study.circuit.by_name if re.fullmatch(rf"{base}\.\d+", name)]
        head = lines[first - 1]
        row = f"{each.first.text} to {each.last.text}" if each.last is not None else each.first.text
        lines[first - 1 : last] = [
            re.sub(r"\.\*", f".{number}", re.sub(re.escape(row), f"{base}.{number}", head, count=1)) for number in own
        ]
    return "\n".join(lines)


def faults(text: str) -> Iterator[Fault]:
    """Every single fault that can be written into a text."""
    source = source_of_text(text, "mill", CIRCUITS)
    for _, definition, line in source.statements():
        if (
            isinstance(line, tree.PartLine)
            and not KINDS[line.kind.text].is_input
            and extent(line)[0] == extent(line)[1]
        ):
            yield from _faults_of(source, definition, line)


def _faults_of(source: Source, definition: str, line: tree.PartLine) -> Iterator[Fault]:
    row = extent(line)[0]
    own = source.lines[row - 1]
    kind, name = line.kind.text, line.first.text

    def fault(words: str, changed: str, undone: Cost, constants: bool = False) -> Fault:
        lines = [*source.lines[: row - 1], changed, *source.lines[row:]]
        if constants:
            indent = "  " if definition else ""
            lines[row:row] = [indent + each for each in CONSTANTS.strip().split("\n")]
        return Fault(f"{kind} '{name}' {words}", "\n".join(lines), undone)

    if kind == "repeater":
        found = re.search(r"delay (\S+)", own)
        given = dict(re.findall(r"^given +(\w+) +(\dt)", source.text, re.MULTILINE))
        set_to = str(given.get(found[1], found[1])) if found else ""
        ticks = int(set_to[0]) if re.fullmatch(r"\dt", set_to) else 0
        for delay in range(1, 5):
            if found and ticks and found[1] != f"{delay}t" and abs(delay - ticks) < 2:
                undone = Cost(steps=max(1, abs(delay - ticks)))
                yield fault(f"at {delay}t", own.replace(found[0], f"delay {delay}t"), undone)
    for option in sources_of(line):
        first, last = option.names[0].span, option.names[-1].span
        before, after = own[: first.column - 1], own[last.end_column - 1 :]
        if option.word.text in ("from", "joins", "watches") and not own.strip().startswith("latch"):
            if len(option.names) <= MOST_CHANGED:
                words = "stuck on" if kind == "torch" else "gives nothing"
                yield fault(words, f"{before}dead{after}", Cost(places=len(option.names)), True)
            if kind == "torch":
                yield fault("stuck off", f"{own[: last.end_column - 1]}, glows{after}", Cost(places=1), True)
            break
    for one, other in (("on", "off"), ("off", "on"), ("set", "reset"), ("reset", "set")):
        if own.rstrip().endswith(f"starts {one}"):
            yield fault(f"starts {other}", re.sub(rf"starts {one}\s*$", f"starts {other}", own), Cost(steps=1))
    sides = re.search(r"set (\S+)( +)reset (\S+)", own)
    if kind == "latch" and sides:
        crossed = own.replace(sides[0], f"set {sides[3]}{sides[2]}reset {sides[1]}")
        yield fault("crossed", crossed, Cost(places=2))


class Came(NamedTuple):
    caught: bool
    cured: bool
    undone: bool
    seconds: float
    singles: int


def tried(fault: Fault, sound: str, most: int) -> Came:
    """What came of one fault; after so many cures no more are looked for."""
    begun = time.process_time()
    search = Search(source_of_text(fault.text, "mill", CIRCUITS), Budget(), most)
    if not search.source.loaded.valid or search.nothing_fails:
        return Came(False, False, False, 0.0, 0)
    search.carry_out()
    found = search.found()
    first = found.cures[:3]
    dearest = (max(1, fault.undone.places), fault.undone)
    cured = any((max(1, len(each.change.singles)), each.change.cost) <= dearest for each in first)
    plain = re.sub(r"\s+", " ", sound)
    undone = any(
        re.sub(r"\s+", " ", re.sub(r" *torch +(glows|dead)( +from glows)? +starts (on|off)\n", "", each.text)) == plain
        for each in first
    )
    return Came(True, cured, undone, time.process_time() - begun, found.tried)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("files", nargs="*", default=[])
    parser.add_argument("--short", action="store_true")
    parser.add_argument("--every", type=int, default=1)
    parser.add_argument("--most", type=int, default=3, help="stop after so many cures: the first is no dearer, or none")
    options = parser.parse_args()
    named = [each for name in options.files or FILES for each in FILES.get(name, [name])]
    several = SHORT if options.short else [(each, options.every) for each in named]
    caught = cured = undone = 0
    for name, every in several:
        sound = unrolled(undrawn((CIRCUITS / f"{name}.circuit").read_text(encoding="utf-8")))
        for fault in list(faults(sound))[::every]:
            came = tried(fault, sound, options.most)
            if not came.caught:
                continue
            caught, cured, undone = caught + 1, cured + came.cured, undone + came.undone
            said = "undone" if came.undone else "cured" if came.cured else "MISSED"
            print(f"{name:<12}{said:<8}{came.seconds:6.1f} s  {came.singles:5} tried  {fault.words}", flush=True)
    share = f"{100 * cured / caught:.0f} %" if caught else "none caught"
    print(
        f"{caught} faults caught: {cured} cured among the first three ({share}), {undone} of them undone; to reach 95 %"
    )
    sys.exit(0 if caught and cured >= 0.95 * caught else 1)


if __name__ == "__main__":
    main()
