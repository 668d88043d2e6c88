"""Verdicts on random circuits: the program beside the one before the engine of `tests/oracle` was replaced.

    python tests/benchmarks/verdicts.py                   10,000 circuits, an hour or so
    python tests/benchmarks/verdicts.py --circuits 500    fewer

Every circuit has a check in which somebody works what can be worked, and claims, of which few states are looked at.
Both programs verify it as whole processes; their verdicts, failures, races, counterexamples' lengths, findings and
mistakes are compared as data, not their words. Exits with 1 if something differs.
"""

from __future__ import annotations

import argparse
import json
import random
import re
import subprocess
import sys
import tempfile
from collections import Counter
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from earlier import NotThere, both
from oracle.random_circuits import random_text
from prove.random_circuits import MIDDLING, sluice

AT_ONCE = 250
"""How many circuits one call verifies."""
STATES = 150
"""How many states are looked at for each claim."""
MOST_PARTS = 6
"""How many parts a circuit of every kind of part has besides its inputs."""
LENGTH = 48
"""How many gt a check runs."""
BURNS_OUT = "burns out"
"""The title of a claim that no run can show."""
INPUT = re.compile(r"^(lever|button|plate|analogue) (\w+)(?:\.1 to \w+\.(\d+))?", re.MULTILINE)
PART = re.compile(r"^(?:torch|repeater|comparator|lamp|dust|detector|piston|latch) (\w+) ", re.MULTILINE)
Plain = dict[str, Any]


def asked(seed: int) -> str:
    """A random circuit with what is asked of it: of every kind of part, or built so that proofs can be cut."""
    chosen = random.Random(seed)
    if seed % 2:
        drawn = sluice(seed, MIDDLING)
        return "\n".join([drawn.text, *_check(chosen, drawn.text, drawn.signals)])
    text = _without_self_loops(random_text(seed, MOST_PARTS))
    names = PART.findall(text) or list(_hands(text))
    return "\n".join([text, *_check(chosen, text, names), *_claims(chosen, names)])


def _without_self_loops(text: str) -> str:
    """The same with an input in place of each part that reads itself.

    Several of those flutter in more orders than can be followed, and one such check takes as long as hundreds of other
    circuits.
    """
    lines = []
    for line in text.split("\n"):
        word, name, sources = [*line.split(" ", 2), "", ""][:3]
        lines.append(" ".join([word, name, re.sub(rf"\b{re.escape(name)}\b(?!\.)", "rope_0", sources)]).rstrip())
    return "\n".join(lines)


def _hands(text: str) -> dict[str, str]:
    """What can be worked, each with its kind."""
    found: dict[str, str] = {}
    for line in INPUT.finditer(text):
        word, name, last = line.groups()
        names = [f"{name}.{number}" for number in range(1, int(last) + 1)] if last else [name]
        found |= dict.fromkeys(names, word)
    return found


def _act(chosen: random.Random, name: str, word: str) -> str:
    if word == "button":
        return f"press {name}"
    if word == "analogue":
        return f"{name} is {chosen.choice([0, 3, 15])}"
    return chosen.choice([f"{name} on", f"{name} off", *([f"throw {name}"] if word == "lever" else [])])


def _check(chosen: random.Random, text: str, signals: Sequence[str]) -> list[str]:
    hands, lines = _hands(text), ['check "worked"']
    for at in sorted(chosen.sample(range(1, LENGTH // 2), chosen.randint(1, 5))):
        worked = chosen.sample(sorted(hands), chosen.randint(1, min(2, len(hands))))
        lines.append(f"  at {at}gt {', '.join(_act(chosen, name, hands[name]) for name in worked)}")
    one, other, third = (chosen.choice(signals) for _ in range(3))
    lines.append(f"  at {chosen.randint(2, LENGTH)}gt expect {one} {chosen.choice(['on', 'off'])}")
    lines.append(f"  from {LENGTH - 12}gt to {LENGTH - 4}gt expect {other} {chosen.choice(['on', 'off'])}")
    if chosen.random() < 0.5:
        lines.append(f"  throughout not ({other} and {third})")
    return [*lines, f"  until {LENGTH}gt", "end"]


def _claims(chosen: random.Random, names: Sequence[str]) -> list[str]:
    one, other = chosen.choice(names), chosen.choice(names)
    forms = [
        f"when {one} rises then {other} within 6gt",
        f"when {one} falls then {one} stable for 3gt",
        f"not ({one} and {other})",
        f"every pulse of {one} lasts at least 4gt",
        f"every gap of {other} lasts at least 4gt",
        f"{one} follows {other}, settled within 8gt",
        f"when {one} changes then {other} changes within 9gt unless {one} falls",
    ]
    claims = [f'always "as asked" {chosen.choice(forms)}']
    return [*claims, f'never "{BURNS_OUT}" {one} burnt'] if one.startswith("torch") else claims


def verified(python: str, folder: Path) -> dict[str, Plain]:
    """What a program says of all circuits of a folder, by their names."""
    call = [python, "-m", "circuitcheck", "verify", "--json", "--states", str(STATES), str(folder)]
    said = subprocess.run(call, capture_output=True, text=True, cwd=folder)
    return {Path(file["path"]).stem: plain(file) for file in json.loads(said.stdout)["files"]}


def plain(file: Mapping[str, Any]) -> Plain:
    """What must be the same of a file's report in both programs."""
    return {
        "result": file["result"],
        "mistakes": [(each["code"], each["place"]["line"], each["place"]["column"]) for each in file["diagnostics"]],
        "outcomes": [_outcome(each) for circuit in file["circuits"] for each in circuit["outcomes"]],
        "findings": sorted((each["rule"], each["part"], each["silenced"]) for each in file["findings"]),
    }


def _outcome(each: Mapping[str, Any]) -> Plain:
    failure, race, proof = each["failure"], each["race"], each["proof"]
    return {
        "title": each["title"],
        # A verdict that depends on a rule that is not certain says so today; it is the same verdict under our rules.
        "verdict": each["verdict"].removesuffix("_if"),
        "starts": each["starts"],
        "failed": failure and (failure["at"], failure["place"]["line"]),
        "race": race and (race["at"], {race["first"], race["second"]}, race["by_hand"]),
        "proof": proof and (proof["complete"], proof["depth"], len(proof["way"])),
    }


def _known(file: Plain) -> Plain:
    """The same without what differs since it was put right.

    That a torch never burns out is undecided if exploring ended at its budget, since no run can show it. Before, it was
    not met, as if a check's run had looked for it.
    """
    outcomes = [
        {**each, "verdict": "undecided"}
        if each["title"] == BURNS_OUT and each["verdict"] == "not_met" and each["proof"] and not each["proof"][0]
        else each
        for each in file["outcomes"]
    ]
    return {**file, "outcomes": outcomes}


def main() -> None:
    """Compares so many circuits, and prints each that differs and what the verdicts were."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--circuits", type=int, default=10_000, metavar="N", help="how many (10,000)")
    parser.add_argument("--first", type=int, default=0, metavar="SEED", help="the first one's seed (0)")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        try:
            now, before = both(Path(folder))
        except NotThere as why:
            sys.exit(f"verdicts.py: {why}")
        differ = compared(now, before, Path(folder), range(options.first, options.first + options.circuits))
    sys.exit(1 if differ else 0)


def compared(now: str, before: str, folder: Path, seeds: range) -> int:
    """Compares the circuits of some seeds. Returns how many differ."""
    verdicts: Counter[str] = Counter()
    differ = known = 0
    for first in seeds[::AT_ONCE]:
        batch = folder / str(first)
        batch.mkdir()
        for seed in range(first, min(first + AT_ONCE, seeds.stop)):
            (batch / f"{seed}.circuit").write_text(asked(seed), encoding="utf-8")
        mine, theirs = verified(now, batch), verified(before, batch)
        for name in sorted(mine | theirs, key=int):
            one, other = mine[name], theirs[name]
            verdicts.update([outcome["verdict"] for outcome in one["outcomes"]] or [one["result"]])
            if one != other and _known(one) == _known(other):
                known += 1
            elif one != other:
                differ += 1
                for key in one:
                    if one[key] != other[key]:
                        print(f"{name} {key}:\n  now    {one[key]}\n  before {other[key]}", flush=True)
        done = min(first + AT_ONCE, seeds.stop) - seeds.start
        print(f"{done:,} circuits, {differ} differ, {known} as they should; {dict(verdicts.most_common())}", flush=True)
    return differ


if __name__ == "__main__":
    main()
