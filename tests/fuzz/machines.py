"""Random drawings with pistons, what they move, water and growth, put through every command that takes a drawing.

    python tests/fuzz/machines.py --machines 1000 --seed 1

Each call must answer: with an exit code that the manual page knows, in words, without a traceback, and within
`MOST_SECONDS` of processor time. What does not is printed with its seed, and the exit code is 1.
"""

from __future__ import annotations

import argparse
import contextlib
import io
import sys
import tempfile
from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path
from random import Random

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from moving.plain.boxes import Sketcher
from moving.plain.printing import printed
from moving.plain.things import Action, Box

from circuitcheck import cli
from fuzz.checking import TooLong, limited

EXIT_CODES = (0, 1, 2, 3)
LAST = 60
"""The last gt in which something is done."""
STATES = "200"
RULES = ("older", "newer", "newer", "newest")
SETTINGS = (
    "outside_first yes",
    "sticky_lets_go no",
    "push_limit 2",
    "water_looks after_waits",
    "detector_feels landing",
)


def machine(seed: int) -> str:
    """A circuit file: a drawing, a check that works its levers and cells, and claims about what it has."""
    chance = Random(seed)
    made = Sketcher(chance, chance.random() < 0.4).box()
    while not names(made, "piston"):
        made = Sketcher(chance, chance.random() < 0.4).box()
    text = printed(made, actions(made, chance), LAST + 20)
    text = text.replace("rules newer", f"rules {chance.choice(RULES)}")
    if chance.random() < 0.3:
        text = text.replace("setting burn_out_window 0gt", f"setting {chance.choice(SETTINGS)}")
    text = text.replace("sensor  starts on", chance.choice(["sensor", "sensor  fades", "sensor  fades  grows"]))
    return text + "".join(f"{line}\n" for line in claims(made, chance))


def names(made: Box, *kinds: str) -> list[str]:
    """The names of what stands in a box, of some kinds."""
    return sorted(thing.name for thing in made.things.values() if thing.kind in kinds)


def actions(made: Box, chance: Random) -> list[Action]:
    """Levers are thrown, sometimes two in one gt; cells change only as the light has it."""
    levers, gt, done = names(made, "lever"), 3, list[Action]()
    levels = dict.fromkeys(levers, 0)
    while levers and gt < LAST:
        for name in chance.sample(levers, min(len(levers), chance.choice([1, 1, 2]))):
            levels[name] = 15 - levels[name]
            done.append(Action(gt, name, levels[name]))
        gt += chance.choice([1, 2, 3, 5, 13])
    return done


def claims(made: Box, chance: Random) -> Iterator[str]:
    """What is claimed of some of it, and what is shown of it outside."""
    shown = names(made, "lamp", "torch", "repeater", "piston", "detector")
    one = chance.choice(shown)
    yield f"output result from {one}" if not one.startswith("piston") else f"output result from {one}.block"
    yield f'never "it is out" {chance.choice(names(made, "piston"))}'
    yield f'always "it can end" possible {chance.choice(shown)} off'
    yield f'never "an order decides" {chance.choice(shown)} races'


def calls(path: str, text: str, chance: Random) -> list[list[str]]:
    """The calls that a file is put through."""
    seen = [word for word in text.replace(",", " ").split() if word.startswith(("lamp_", "torch_", "piston_"))]
    some = chance.choice(seen or ["nothing"])
    lever = next((word for word in text.split() if word.startswith("lever_")), "nothing")
    return [
        ["verify", path, "--states", STATES, *chance.choice([[], ["--json"]])],
        ["prove", path, "--states", STATES, "--quiet"],
        ["explain", path, "--quiet"],
        ["explain", path, "--why", some, "--at", f"{chance.randrange(1, LAST)}gt", "--quiet"],
        ["trace", path, "--check", "run", *chance.choice([[], ["--account"]])],
        ["diagnose", path, f"{lever} on", f"{some} {chance.choice(['on', 'off'])}", "--quiet"],
        ["sheets", path],
        ["light", path, "--layer", str(chance.choice([1, 2, 3]))],
        ["tile", path, "--east", str(chance.choice([4, 5, 6])), *chance.choice([[], ["--mirrored"]])],
        ["hears", path],
    ]


def wrong(words: Sequence[str], codes: Counter[str]) -> str:
    """What is wrong with the answer to one call; nothing if nothing is. Counts exit codes."""
    out, err = io.StringIO(), io.StringIO()
    code: object = None
    try:
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err), limited(words[0]):
            cli.main(list(words))
    except SystemExit as ended:
        code = ended.code
    except (Exception, TooLong) as failure:
        return f"{type(failure).__name__}: {failure}"
    codes[f"{words[0]} exits with {code}"] += 1
    if code not in EXIT_CODES:
        return f"the exit code is {code}"
    if not out.getvalue() and not err.getvalue():
        return "it says nothing"
    if code == 2 and not err.getvalue() and "CKT" not in out.getvalue():
        return "it refuses without a reason"
    return ""


def failures(seed: int, codes: Counter[str]) -> Iterator[tuple[str, str]]:
    """The calls about one machine that go wrong, each with what is wrong. Counts exit codes."""
    text, chance = machine(seed), Random(seed)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "machine.circuit")
        path.write_text(text, encoding="utf-8")
        for words in calls(str(path), text, chance):
            if found := wrong(words, codes):
                yield " ".join(words), found


def main() -> int:
    """Runs as many machines as asked for."""
    parser = argparse.ArgumentParser(description="Random machines that move, through every command.")
    parser.add_argument("--machines", type=int, default=1000, help="how many (%(default)s)")
    parser.add_argument("--seed", type=int, default=1, help="the first one's seed (%(default)s)")
    asked = parser.parse_args()
    codes: Counter[str] = Counter()
    failed = False
    for seed in range(asked.seed, asked.seed + asked.machines):
        for call, found in failures(seed, codes):
            failed = True
            print(f"seed {seed}: {call}\n  {found}", flush=True)
    print(*(f"{count:6} {what}" for what, count in sorted(codes.items())), sep="\n")
    return int(failed)


if __name__ == "__main__":
    sys.exit(main())
