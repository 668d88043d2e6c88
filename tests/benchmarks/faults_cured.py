"""Is a fault undone among the first three cures? Each single fault of `sweep --faults` that a check or claim catches.

    python tests/benchmarks/faults_cured.py             # sluice, shelf, lamp keeper, each fault: hours of one core
    python tests/benchmarks/faults_cured.py --short     # some faults of the gates and latches: seconds
    python tests/benchmarks/faults_cured.py --every 5 sluice
    python tests/benchmarks/faults_cured.py --most 1 lampkeeper     # minutes: the first cure shows whether it is dearer
    python tests/benchmarks/faults_cured.py --most 1 --sample 10 --seconds 300 turfwatch    # at random, from a seed

A fault is written into the file's text, without its drawing, which would give it away, and with its rows line by line.
What gives nothing any more reads `dead`, a torch below one that always burns. A fault counts as cured if one of the
first three cures takes no more than its undoing; as undone if one is the undoing. Of a file that is only drawn, faults
are settings and ways to face in its legend.
"""

from __future__ import annotations

import argparse
import os
import re
import signal
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from random import Random
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
DRAWN = ("watchpair", "turfwatch")
"""Files that are only drawn."""
OPPOSITE = {"north": "south", "south": "north", "east": "west", "west": "east", "on": "off", "off": "on"}
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


def faults_of_legend(text: str) -> Iterator[Fault]:
    """Each setting of a part one step off, each start the other one, and each part turned to the opposite side."""
    lines = text.split("\n")
    first = lines.index("legend")
    for row in range(first + 1, lines.index("end", first)):
        found = list(re.finditer(r"\b(delay|pulse) (\d)t|\b(facing|on|starts) (\w+)", lines[row]))
        for each in found if lines[row].split()[1] in KINDS else ():
            others = [str(int(each[2]) + by) for by in (-1, 1) if 0 < int(each[2]) + by < 5] if each[2] else []
            others += [OPPOSITE[each[4]]] if each[4] in OPPOSITE else []
            for other in others:
                at = each.start(2 if each[2] else 4)
                changed = f"{lines[row][:at]}{other}{lines[row][at + len(each[2] or each[4]) :]}"
                undone = Cost(places=1) if each[3] in ("facing", "on") else Cost(steps=1)
                words = f"'{lines[row].split()[0]}' {lines[row].split()[1]}, {each[0]}: {other}"
                yield Fault(words, "\n".join([*lines[:row], changed, *lines[row + 1 :]]), undone)


class Came(NamedTuple):
    caught: bool
    cured: bool
    undone: bool
    seconds: float
    singles: int
    ended: str = ""
    """Why the search ended before it had found as many, or tried everything."""


def tried(fault: Fault, sound: str, most: int, seconds: int | None = None) -> Came:
    """What came of one fault; after so many cures no more are looked for, and no longer than so many seconds.

    Those are of the processor: on a busy machine no other faults stay open.
    """
    begun = time.process_time()
    source = source_of_text(fault.text, "mill", CIRCUITS)
    if not source.loaded.valid:
        return Came(False, False, False, 0.0, 0)
    signal.signal(signal.SIGPROF, signal.default_int_handler)
    search, ended = None, ""
    try:
        signal.setitimer(signal.ITIMER_PROF, seconds or 0)
        search = Search(source, Budget.of(), most)
        search.carry_out()
    except KeyboardInterrupt:
        ended = f"open after {seconds} s"
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
    if search is None or search.nothing_fails:
        return Came(False, False, False, time.process_time() - begun, 0, ended)
    found = search.found(ended)
    first = found.cures[:3]
    dearest = (max(1, fault.undone.places), fault.undone)
    cured = any((max(1, len(each.change.singles)), each.change.cost) <= dearest for each in first)
    plain = re.sub(r"\s+", " ", sound)
    undone = any(
        re.sub(r"\s+", " ", re.sub(r" *torch +(glows|dead)( +from glows)? +starts (on|off)\n", "", each.text)) == plain
        for each in first
    )
    return Came(True, cured, undone, time.process_time() - begun, found.tried, found.ended)


def outcomes_in(name: str, every: int, options: argparse.Namespace) -> Iterator[tuple[Came, str]]:
    """What came of the faults of a file that are caught, and what they are in words."""
    text = (CIRCUITS / f"{name}.circuit").read_text(encoding="utf-8")
    sound = text if name in DRAWN else unrolled(undrawn(text))
    all_ = list(faults_of_legend(text) if name in DRAWN else faults(sound))[::every]
    print(f"{name}: {len(all_)} faults can be written into it", flush=True)
    if options.sample:
        Random(options.seed).shuffle(all_)
    left = options.sample or len(all_)
    for fault in all_:
        came = tried(fault, sound, options.most, options.seconds)
        if came.caught:
            yield came, fault.words
            left -= 1
        elif came.ended:
            print(f"{name}: {fault.words}, not judged within {options.seconds} s", flush=True)
        if not left:
            return


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("files", nargs="*", default=[])
    parser.add_argument("--short", action="store_true")
    parser.add_argument("--every", type=int, default=1)
    parser.add_argument("--most", type=int, default=3, help="stop after so many cures: the first is no dearer, or none")
    parser.add_argument("--sample", type=int, default=0, help="faults in an order at random, until so many are caught")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--seconds", type=int, help="search no longer than so many seconds of the processor")
    options = parser.parse_args()
    named = [each for name in options.files or FILES for each in FILES.get(name, [name])]
    several = SHORT if options.short else [(each, options.every) for each in named]
    caught = cured = undone = 0
    for name, every in several:
        for came, words in outcomes_in(name, every, options):
            caught, cured, undone = caught + 1, cured + came.cured, undone + came.undone
            said = "undone" if came.undone else "cured" if came.cured else "open" if came.ended else "MISSED"
            print(
                f"{name:<12}{said:<8}{came.seconds:6.1f} s  {came.singles:5} tried  {words}  {came.ended}", flush=True
            )
    share = f"{100 * cured / caught:.0f} %" if caught else "none caught"
    print(
        f"{caught} faults caught: {cured} cured among the first three ({share}), {undone} of them undone; to reach 95 %"
    )
    sys.exit(0 if caught and cured >= 0.95 * caught else 1)


if __name__ == "__main__":
    main()
