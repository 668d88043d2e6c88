"""Where fuzzing begins: the demo circuits and the examples of the language reference, whole or in pieces."""

from __future__ import annotations

import re
from itertools import pairwise
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
FOLDER = ROOT / "circuits"
"""Where `use` lines of inputs look."""
LONGEST = 1600
"""How many bytes an input may have: an error is seldom in the length, and short inputs run faster."""

BLOCKS = ("check", "for", "define", "legend", "piece", "drawing", "layer")
ASKING = ("check", "for", "always", "never")


def seeds() -> list[str]:
    """Texts to begin with, none longer than `LONGEST`, the same in the same order on every machine."""
    files = [path.read_text(encoding="utf-8") for path in sorted(FOLDER.glob("*.circuit"))]
    reference = (ROOT / "grammar" / "README.md").read_text(encoding="utf-8")
    files += re.findall(r"^```circuit\S*\n(.*?)^```$", reference, re.MULTILINE | re.DOTALL)
    found = [seed for text in files for seed in (text, *pieces(text))]
    return [seed for seed in dict.fromkeys(found) if len(seed.encode()) <= LONGEST]


def pieces(text: str) -> list[str]:
    """A file's definitions one by one, and its own circuit with each thing that is asked of it."""
    parts = statements(text)
    definitions = [part for part in parts if part.startswith("define")]
    asked = [part for part in parts if part.startswith(ASKING)]
    head = "\n".join(part for part in parts if part not in definitions and part not in asked)
    needed = "\n".join([head, *definitions])
    return [f"language 1\n{part}\n" for part in definitions] + [f"{needed}\n{part}\n" for part in asked]


def statements(text: str) -> list[str]:
    """The statements of a good file, a block with all its lines as one; remarks and empty lines are dropped."""
    lines = [line for line in text.split("\n") if line.strip() and not line.lstrip().startswith("#")]
    depth, found, opened = 0, list[list[str]](), False
    for before, line in pairwise(["", *lines]):
        if depth == 0 and not before.rstrip().endswith(","):
            found.append([])
        found[-1].append(line)
        opened = line.split()[0] in BLOCKS
        depth += opened - (line.strip() == "end")
    return ["\n".join(each) for each in found]
