"""What options of several commands share, and how the words of a call are read."""

from __future__ import annotations

import argparse
import os
import re
from collections.abc import Callable
from typing import Any

from circuitcheck.report.lines import NARROWEST, WIDEST

EXIT_CODES = """exit codes ('circuitcheck manual' says more):
  0 all hold, or nothing is judged; 1 something does not
  2 a file or the call is wrong; 3 undecided, nothing fails"""


def parser(commands: Any, name: str, does: str, example: str) -> Any:
    """A command's parser, with a worked line in its help."""
    made = commands.add_parser(
        name,
        help=does,
        description=f"{does[0].upper()}{does[1:]}.",
        epilog=f"for example:\n  {example}\n\n{EXIT_CODES}",
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    made.set_defaults(command=name)
    made.add_argument("--width", type=_width, metavar="COLUMNS", help="how wide to write")
    return made


def _width(text: str) -> int:
    return count(NARROWEST, WIDEST)(text)


def count(least: int, most: int) -> Callable[[str], int]:
    """Reads a whole number of a call between two bounds."""

    def read(text: str) -> int:
        if not text.isdecimal() or len(text) > 12 or not least <= int(text) <= most:
            raise argparse.ArgumentTypeError(f"a whole number from {least:,} to {most:,}")
        return int(text)

    return read


def box(text: str) -> tuple[int, int, int]:
    """Reads how large a box is: how many places wide, deep and high."""
    found = [int(each) for each in text.split("x") if each.isdecimal() and len(each) <= MOST_DIGITS]
    if len(found) != 3 or text.count("x") != 2 or not all(1 <= each <= LONGEST_SIDE for each in found):
        message = f"'{text}' is no box: write for example 5x4x3, each from 1 to {LONGEST_SIDE}"
        raise argparse.ArgumentTypeError(message)
    return found[0], found[1], found[2]


MOST_DIGITS, LONGEST_SIDE = 3, 100


def places(text: str) -> dict[str, int]:
    """Reads where something is cut: `layer 4`, `row 2`, `column 5`, or several of them behind one another."""
    words = text.split()
    found: dict[str, int] = {}
    for way, number in zip(words[::2], words[1::2], strict=False):
        if way not in ("layer", "row", "column") or way in found:
            break
        found[way] = count(1, 10**6)(number)
    if not words or len(found) * 2 != len(words):
        raise argparse.ArgumentTypeError(
            f"'{text}' is no 'layer 4', 'row 2', 'column 5', or several of these, each once"
        )
    return found


Counted = dict[str, tuple[int, int]]
"""From which to which layer, row and column, for each of them that is named."""
RANGE = re.compile(r"(layer|row|column) ([0-9]+)(?: to ([0-9]+))?(?: |$)")
MOST_COUNTED = 99


def at(text: str) -> tuple[str, list[str], Counted]:
    """Reads where something is to stand: `rope=north`, `rope=layer 2 row 1`, `rope=west above`."""
    name, _, where = text.partition("=")
    words = where.split()
    sides = [word for word in words if word in SIDES]
    counted = _counted([word for word in words if word not in SIDES])
    if not name or counted is None or not (sides or counted):
        raise argparse.ArgumentTypeError(
            f"'{text}' says no place: write for example rope=north, or 'rope=layer 2 row 1 to 3'; "
            f"sides are {', '.join(SIDES)}"
        )
    return name.strip(), sides, counted


def free(text: str) -> Counted:
    """Reads which places stay free: `layer 2 row 1 to 3`."""
    counted = _counted(text.split())
    if not counted:
        raise argparse.ArgumentTypeError(f"'{text}' says no places: write for example 'layer 2 row 1 to 3 column 4'")
    return counted


def stays(text: str) -> str | Counted:
    """Reads what stays as it is drawn: the name of a thing, or `layer 5 to 8`."""
    counted = _counted(text.split())
    if counted:
        return counted
    if len(text.split()) != 1:
        raise argparse.ArgumentTypeError(f"'{text}' names no thing and no places: write for example 'layer 5 to 8'")
    return text


SIDES = ("north", "east", "south", "west", "above", "below")


def _counted(words: list[str]) -> Counted | None:
    """Layers, rows and columns by their numbers; None for anything else. Raises ArgumentTypeError for odd numbers."""
    found: Counted = {}
    text = " ".join(words)
    while text:
        match = RANGE.match(text)
        if match is None:
            return None
        axis, low, high = match[1], int(match[2][:9]), int((match[3] or match[2])[:9])
        said = match[0].strip()
        if axis in found:
            raise argparse.ArgumentTypeError(f"'{said}' says {axis} a second time: say each once, as '{axis} 1 to 3'")
        if not 1 <= min(low, high) <= max(low, high) <= MOST_COUNTED:
            raise argparse.ArgumentTypeError(f"'{said}' is no place: a {axis} is a number from 1 to {MOST_COUNTED}")
        if low > high:
            raise argparse.ArgumentTypeError(f"'{said}' ends before it begins: write '{axis} {high} to {low}'")
        found[axis] = low, high
        text = text[match.end() :]
    return found


def path(text: str) -> str:
    """Reads the name of a file of a call; an empty one, as a variable without a value leaves it, names none."""
    if not text:
        raise argparse.ArgumentTypeError("the name of a file, which can't be empty")
    return text


def root_option(parser: Any) -> None:
    """Adds the option that says out of which folder `use` lines may take files."""
    help_ = "take used files from this folder and below, not from the file's own folder only"
    parser.add_argument("--root", type=_folder, default="", metavar="FOLDER", help=help_)


def _folder(text: str) -> str:
    if text and not os.path.isdir(text):  # the default, no folder, comes here too
        raise argparse.ArgumentTypeError(f"'{text}' is no folder")
    return text


def states_option(parser: Any, usual: int) -> None:
    """Adds the option that says how many states are looked at."""
    help_ = f"budget of states for one claim ({usual:,})"
    parser.add_argument("--states", type=count(1, 10**9), metavar="N", help=help_)


def quiet_option(parser: Any) -> None:
    """Adds the option that leaves out how far work has come."""
    parser.add_argument("--quiet", action="store_true", help="report no progress on standard error")


def seconds_option(parser: Any, help_: str) -> None:
    """Adds the option that bounds proving by time as well; what that ends may be another thing on another machine."""
    parser.add_argument("--seconds", type=count(1, 10**6), metavar="N", help=help_)
