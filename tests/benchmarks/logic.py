"""Benchmarks of ordinary logic before the prover: each case a whole `verify`, beside the seconds it should take.

    python tests/benchmarks/logic.py               every case, some minutes
    python tests/benchmarks/logic.py lock adder    the cases whose names hold one of these words
    python tests/benchmarks/logic.py --short       the short form that CI runs: a few quick ones, and their verdicts
    python tests/benchmarks/logic.py --text NAME   the circuit of one case

Seconds are of processor time, of processes of their own; beside them stands `python -c "import lark"` in the same run.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import resource
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).resolve().parents[2]
SHORT = ("comparator", "line of 8", "rings")
LONGEST = 400
"""After so many seconds of processor time a case is given up."""


class Case(NamedTuple):
    """A circuit with claims; `verdicts` are what should come of them, in order, and `seconds` how soon."""

    text: Callable[[], str]
    verdicts: tuple[str, ...]
    seconds: float


def _lines(*lines: str) -> str:
    return "\n".join(["language 1", 'circuit case "One of the mill\'s machines."', *lines, ""])


def _joined(template: str, count: int, by: str = ", ") -> str:
    return by.join(template.format(each) for each in range(1, count + 1))


# Without memory


def comparator() -> str:
    """Two water levels of three bits: which is higher, and are they equal."""
    return _lines(
        "lever pond.1 to pond.3",
        "lever race.1 to race.3",
        "torch low.* from pond.*",
        "torch dry.* from race.*",
        "torch above.* from low.*, race.*",
        "torch below.* from pond.*, dry.*",
        "torch same.* from above.*, below.*",
        "torch d3 from same.3",
        "torch d2 from same.2",
        "torch d1 from same.1",
        "torch n2 from above.2",
        "torch n1 from above.1",
        "torch hi2 from n2, d3",
        "torch hi1 from n1, d3, d2",
        "junction line joins above.3, hi2, hi1",
        "torch eq from d3, d2, d1",
        "lamp higher from line",
        "lamp level from eq",
        "assume at most 1 changes within 20t",
        'always "the top bit decides" when pond.3 and race.3 off then higher within 5t unless pond.3 off or race.3',
        'always "both dry is level" when pond.* off and race.* off then level within 8t unless not'
        " (pond.* off and race.* off)",
    )


def multiplexer() -> str:
    """One of eight ponds is shown, which three ropes choose."""
    legs = []
    for leg in range(8):
        against = [f"rope.{bit + 1}" if not leg >> bit & 1 else f"slack.{bit + 1}" for bit in range(3)]
        legs.append(f"torch leg.{leg + 1} from low.{leg + 1}, {', '.join(against)}")
    claims = []
    for leg in (0, 1, 3, 5, 7):
        chosen = [f"pond.{leg + 1}", *(f"rope.{bit + 1}{'' if leg >> bit & 1 else ' off'}" for bit in range(3))]
        condition = " and ".join(chosen)
        claims.append(f'always "leg {leg + 1}" when {condition} then shown within 6t unless not ({condition})')
    return _lines(
        "lever pond.1 to pond.8",
        "lever rope.1 to rope.3",
        "torch slack.* from rope.*",
        "torch low.* from pond.*",
        *legs,
        f"junction line joins {_joined('leg.{}', 8)}",
        "lamp shown from line",
        "assume at most 1 changes within 20t",
        *claims,
    )


def adder(bits: int) -> str:
    """The sum of two numbers of sacks, out of torches: of each bit, that it comes on and goes off as it should."""
    lines = [f"lever corn.1 to corn.{bits}", f"lever rye.1 to rye.{bits}"]
    lines += ["torch nc.* from corn.*", "torch nr.* from rye.*", "torch both.* from nc.*, nr.*"]
    lines += ["torch none.* from corn.*, rye.*", "torch one.* from both.*, none.*"]
    claims = []
    carry, carried = "", ""
    for bit in range(1, bits + 1):
        one = f"((corn.{bit} and rye.{bit} off) or (corn.{bit} off and rye.{bit}))"
        if not carry:
            lines.append(f"lamp sum{bit} from one.{bit}")
            right, carry, carried = one, f"both.{bit}", f"(corn.{bit} and rye.{bit})"
        else:
            lines += [f"torch even{bit} from one.{bit}", f"torch bare{bit} from {carry}"]
            lines += [f"torch on{bit} from even{bit}, bare{bit}", f"torch off{bit} from one.{bit}, {carry}"]
            lines += [f"torch sum{bit} from on{bit}, off{bit}", f"junction carry{bit} joins both.{bit}, on{bit}"]
            right = f"(({one} and not {carried}) or (not {one} and {carried}))"
            carried = f"((corn.{bit} and rye.{bit}) or ((corn.{bit} or rye.{bit}) and {carried}))"
            carry = f"carry{bit}"
        claims.append(f'always "bit {bit} comes on" when {right} then sum{bit} within 20t unless not {right}')
        claims.append(f'always "bit {bit} goes off" when not {right} then sum{bit} off within 20t unless {right}')
    return _lines(*lines, "assume at most 1 changes within 24t", *claims)


def gates(wide: int = 16, deep: int = 10) -> str:
    """160 torches at random, of 36 ropes, and a line that waits for as long as the net is deep, or for less."""
    chance = random.Random(160)
    before = [f"rope.{each}" for each in range(1, 37)]
    lines = ["lever rope.1 to rope.36", "detector felt.* watches rope.*", "junction touched joins felt.*"]
    for layer in range(1, deep + 1):
        here = [f"g{layer}x{each}" for each in range(wide)]
        unread = chance.sample(before, len(before))
        for name in here:
            feeds = {unread.pop() if unread else chance.choice(before) for _ in range(chance.choice((2, 2, 3)))}
            lines.append(f"torch {name} from {', '.join(sorted(feeds))}")
        before = here
    waits = ["repeater wait1 from touched delay 4t", "repeater wait2 from wait1 delay 4t"]
    waits += ["repeater soon from wait1 delay 1t", "repeater late from wait2 delay 3t"]
    pace = "assume at most 1 changes within 24t"
    claims = [f'always "settled" when late rises then g{deep}x0 stable for 8t']
    claims += [f'always "too soon" when soon rises then g{deep}x0 stable for 8t']
    return _lines(*lines, *waits, pace, *claims)


# With memory


def counter(bits: int, claim: str) -> str:
    """Turns of the wheel counted by toggles, each of two locked repeaters."""
    lines = ["lever rope"]
    clock = "rope"
    for bit in range(1, bits + 1):
        lines += [f"torch turned{bit} from bit{bit}", f"torch up{bit} from {clock}"]
        lines += [f"latch inner{bit} data turned{bit} locked by {clock} starts {'on' if bit == 1 else 'off'}"]
        lines += [f"latch bit{bit} data inner{bit} locked by up{bit} starts off", f"torch carry{bit} from bit{bit}"]
        clock = f"carry{bit}"
    return _lines(*lines, "assume at most 1 changes within 60t", claim)


def line(repeaters: int) -> str:
    """A pull that goes along the mill's race, one repeater of 4t after the other."""
    rest = [f"repeater far{each} from far{each - 1} delay 4t" for each in range(2, repeaters + 1)]
    pulse = f'always "a pulse comes through whole" every pulse of far{repeaters} lasts at least 4t'
    return _lines("lever rope", "repeater far1 from rope delay 4t", *rest, pulse)


def lock(digits: int = 4) -> str:
    """The granary's lock: so many buttons in the right order open it, and a wrong one shuts it."""
    lines = ["button wrong long"]
    for digit in range(1, digits + 1):
        lines += [f"button key{digit} long", f"torch idle{digit} from key{digit}"]
        if digit == 1:
            lines.append("torch hit1 from idle1, wrong")
        else:
            lines += [f"torch yet{digit} from step{digit - 1}", f"torch hit{digit} from idle{digit}, yet{digit}"]
        lines.append(f"latch step{digit} set hit{digit} reset wrong starts reset")
    order = [
        f'always "step {digit} behind step {digit - 1}" when step{digit} rises then step{digit - 1} set'
        for digit in range(2, digits + 1)
    ]
    return _lines(
        *lines,
        "lamp open from step4",
        "assume at most 1 changes within 20t",
        *order,
        'always "a wrong key shuts it" when wrong rises then step4 reset within 6t unless hit4',
        'always "none without the first" when step4 rises then step1 set',
    )


def arbiter(sides: int) -> str:
    """One of so many hands has the sluice; locks keep what was heard while one has it."""
    lines = [f"lever ask.1 to ask.{sides}", f"junction held joins {_joined('grant.{}', sides)}"]
    lines += ["repeater busy from held delay 1t", "torch quiet.* from ask.*"]
    lines += ["repeater heard.* from ask.* locked by busy delay 1t starts off", "torch unheard.* from heard.*"]
    for side in range(1, sides + 1):
        lines.append(f"torch wins.{side} from {', '.join([f'unheard.{side}', *_before(side)])}")
    lines += ["torch loses.* from wins.*", "torch grant.* from loses.*, quiet.*"]
    pairs = [(one, other) for one in range(1, sides + 1) for other in range(one + 1, sides + 1)]
    claims = [f'never "not both {one} and {other}" grant.{one} and grant.{other}' for one, other in pairs]
    given = ", ".join(f"ask.{side} off again and again" for side in range(2, sides + 1))
    fair = f'always "the first has its turn" when ask.1 then eventually (grant.1 or ask.1 off) if {given}'
    return _lines(*lines, "assume at most 1 changes within 12t", *claims, fair)


def _before(side: int) -> Iterator[str]:
    for other in range(1, side):
        yield f"heard.{other}"


def register(bits: int) -> str:
    """What the ponds show is kept while the rope of the clock is off."""
    return _lines(
        "lever rope",
        f"lever pond.1 to pond.{bits}",
        "repeater gate from rope delay 1t",
        "torch hold from gate",
        "repeater lock from hold delay 1t",
        "repeater kept.* from pond.* locked by lock delay 1t starts off",
        "assume at most 1 changes within 10t",
        'always "held" when lock then kept.1 stable for 1gt',
        'always "taken" when pond.1 rises then kept.1 within 4t unless (hold or pond.1 off)',
    )


def shift(stages: int) -> str:
    """What comes in goes one stage on with each pull: a pair of locked repeaters a stage."""
    lines = ["lever rope", "lever pond", "torch slack from rope"]
    before = "pond"
    for stage in range(1, stages + 1):
        lines += [f"latch in{stage} data {before} locked by rope starts off"]
        lines += [f"latch out{stage} data in{stage} locked by slack starts off"]
        before = f"out{stage}"
    claim = f'always "the last stage" when out{stages} changes then in{stages} stable for 1t'
    return _lines(*lines, "assume at most 1 changes within 10t", claim)


def detectors(n: int, claims: str) -> str:
    """So many detectors a side on one line, a repeater of 2t a side, a latch."""
    return _lines(
        f"lever pond.1 to pond.{n}",
        f"lever race.1 to race.{n}",
        "detector rise.* watches pond.*",
        "detector fall.* watches race.*",
        "junction up joins rise.*",
        "junction down joins fall.*",
        "repeater opening from up delay 2t",
        "repeater closing from down delay 2t",
        "latch gate set opening reset closing starts reset",
        "assume at most 1 changes within 8t",
        *(claims.split("\n")),
    )


def rings(*lengths: int) -> str:
    """Wheels of so many torches each, that all ring one bell."""
    lines = []
    for length in lengths:
        for place in range(length):
            start = "on" if place % 2 == 0 else "off"
            lines.append(f"torch w{length}x{place} from w{length}x{(place - 1) % length} starts {start}")
    lines.append(f"junction line joins {', '.join(f'w{length}x0' for length in lengths)}")
    bell = 'always "it rings again" from bell falls to bell rises takes at most 30t'
    claims = [bell, f'never "three at once" {" and ".join(f"w{lengths[0]}x{place}" for place in range(3))}']
    return _lines(*lines, "lamp bell from line", *claims)


def _demo(name: str) -> str:
    return (ROOT / "circuits" / f"{name}.circuit").read_text(encoding="utf-8")


ONE = 'always "one is answered" when pond.1 changes and gate reset then gate set within 8t unless down'
ALL = 'never "both" gate and gate.inverse\nalways "whole pulses" every pulse of opening lasts at least 2t'
BELOW = 'always "not without all below" when bit8 rises then (' + _joined("bit{} off", 7, " and ") + ")"
BOTH = 'never "both sides of the last" bit8 and turned8 and inner8 and up8 and bit1 and carry1'
FALSE_ONE = 'never "never three turns" bit1 and bit2 and bit3 off and rope'


def cases() -> dict[str, Case]:
    """Every case by its name."""
    found = {
        "comparator of 3 bits": Case(comparator, ("proved",) * 2, 3),
        "8:1 multiplexer, five legs": Case(multiplexer, ("proved",) * 5, 30),
        "adder of 4 bits": Case(lambda: adder(4), ("proved",) * 8, 60),
        "adder of 8 bits": Case(lambda: adder(8), ("proved",) * 16, 0),
        "counter of 8, none without all below": Case(lambda: counter(8, BELOW), ("proved",), 10),
        "counter of 8, never both": Case(lambda: counter(8, BOTH), ("proved",), 10),
        "counter of 8, a false one": Case(lambda: counter(8, FALSE_ONE), ("fails",), 10),
        "line of 8 repeaters": Case(lambda: line(8), ("proved",), 2),
        "line of 16 repeaters": Case(lambda: line(16), ("proved",), 5),
        "lock of 4 digits": Case(lock, ("proved",) * 5, 10),
        "arbiter of 4": Case(lambda: arbiter(4), ("proved",) * 7, 60),
        "arbiter of 8": Case(lambda: arbiter(8), ("proved",) * 29, 60),
        "register of 14": Case(lambda: register(14), ("proved",) * 2, 10),
        "register of 64": Case(lambda: register(64), ("proved",) * 2, 60),
        "shift register of 16": Case(lambda: shift(16), ("proved",), 60),
        "rings of 3, 5 and 7": Case(lambda: rings(3, 5, 7), ("proved",) * 2, 10),
        "160 gates of 36 inputs": Case(gates, ("proved", "fails"), 60),
        "the lamp keeper": Case(lambda: _demo("lampkeeper"), ("proved",) * 7, 2),
        "the sluice": Case(lambda: _demo("sluice"), ("proved",) * 7, 0.7),
    }
    for n, seconds in ((7, 2), (12, 4), (20, 10), (32, 60)):
        for what, text, count in (("one", ONE, 1), ("all", ALL, 2)):
            made = Case(lambda n=n, text=text: detectors(n, text), ("proved",) * count, seconds)  # type: ignore[misc]
            found[f"{n} detectors a side, {what}"] = made
    return found


class Measured(NamedTuple):
    """What a case came to; without verdicts it was given up, or `verify` printed none and said why."""

    verdicts: tuple[str, ...]
    seconds: float
    said: str = ""


def measured(case: Case) -> Measured:
    """Verifies a case in a process of its own."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "case.circuit"
        file.write_text(case.text(), encoding="utf-8")
        verify = [sys.executable, "-m", "circuitcheck", "verify", "--json", str(file)]
        command = ["sh", "-c", f'ulimit -t {LONGEST}; exec "$@"', "sh", *verify]
        before = _spent()
        run = subprocess.run(command, capture_output=True, text=True, check=False, cwd=folder, env=_usual())
        seconds = _spent() - before
    if run.returncode < 0:  # by the signal that ends who has spent that much
        return Measured((), seconds, f"given up after {LONGEST} s")
    return Measured(verdicts_in(run.stdout), seconds, last_line(run.stderr))


def verdicts_in(printed: str) -> tuple[str, ...]:
    """The verdicts on claims in what `verify --json` printed, in order; none where it printed none."""
    try:
        files = json.loads(printed)["files"]
    except (json.JSONDecodeError, KeyError):
        return ()
    outcomes = [outcome for file in files for circuit in file["circuits"] for outcome in circuit["outcomes"]]
    return tuple(each["verdict"] for each in outcomes if each["proof"] is not None)


def last_line(printed: str) -> str:
    """What a process said last."""
    return printed.strip().rpartition("\n")[2]


def _usual() -> dict[str, str]:
    """The environment, but that modules are compiled once and kept, as on a user's machine, and not in each process."""
    return {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}


def _spent() -> float:
    return resource.getrusage(resource.RUSAGE_CHILDREN).ru_utime


def _library() -> float:
    """The seconds of `import lark`, the least of a few."""
    found = []
    for _ in range(5):
        before = _spent()
        subprocess.run([sys.executable, "-c", "import lark"], check=True)
        found.append(_spent() - before)
    return min(found)


def main() -> None:
    """Runs what is asked for."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("words", nargs="*", help="cases whose names hold one of these")
    parser.add_argument("--short", action="store_true", help="a few quick cases; fails if a verdict is another")
    parser.add_argument("--text", metavar="NAME", help="the circuit of one case")
    options = parser.parse_args()
    if options.text:
        print(cases()[options.text].text(), end="")
        return
    words = SHORT if options.short else tuple(options.words)
    chosen = {name: each for name, each in cases().items() if not words or any(word in name for word in words)}
    subprocess.run([sys.executable, "-m", "circuitcheck", "--help"], check=True, capture_output=True, env=_usual())
    library = _library()
    print(f"import lark: {library:.2f} s")
    wrong = 0
    for name, case in chosen.items():
        found = measured(case)
        right = sum(one == other for one, other in zip(found.verdicts, case.verdicts, strict=False))
        wrong += right < len(case.verdicts)
        print(f"{name}: {right} of {len(case.verdicts)} decided, {found.seconds:.1f} s ({case.seconds} s to reach), "
              f"{found.seconds / library:.0f} times", flush=True)  # fmt: skip
        if not found.verdicts:
            print(f"  no verdicts: {found.said}", flush=True)
    if options.short and wrong:
        sys.exit(f"{wrong} of the cases came to other verdicts")


if __name__ == "__main__":
    main()
