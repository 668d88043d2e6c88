"""Names of files, outputs and phases stand before, between or behind the options of a call, and mean the same.

POSIX.1-2017, 12.2, has options first; GNU's getopt lets operands stand anywhere, which is what people type.
"""

from __future__ import annotations

import itertools
from pathlib import Path

import pytest

from circuitcheck.commands.parsers import options_of

from .calling import call, told

SLUICE = str(Path(__file__).parents[2] / "circuits" / "sluice.circuit")
LAMPKEEPER = str(Path(__file__).parents[2] / "circuits" / "lampkeeper.circuit")
CALLS = {
    "response": (["mill.circuit", "dusk", "dark"], ["--over", "90s"], ["--brief"]),
    "days": (["mill.circuit", "dusk", "dark"], ["--days", "40"], ["--seed", "7"]),
    "explain": (["mill.circuit", "open"], ["--input", "rope"], ["--width", "80"]),
    "diagnose": (["mill.circuit", "rope on", "open off"], ["--width", "80"], ["--root", "."]),
    "verify": (["mill.circuit", "weir.circuit"], ["--quiet"], ["--states", "9"]),
}


def orders(names: list[str], *options: list[str]) -> set[tuple[str, ...]]:
    """Every order of some names and options in which the names keep theirs."""
    found = set()
    for order in itertools.permutations([*([name] for name in names), *options]):
        if [each[0] for each in order if each[0] in names] == names:
            found.add(tuple(itertools.chain.from_iterable(order)))
    return found


@pytest.mark.parametrize("command", CALLS)
def test_a_call_means_the_same_in_any_order(command: str) -> None:
    names, *options = CALLS[command]
    read = [vars(options_of([command, *words])) for words in sorted(orders(names, *options))]
    assert len(read) >= 12
    assert all(each == read[0] for each in read)


@pytest.mark.parametrize(
    "words",
    [
        (["response", LAMPKEEPER], ["--over", "90s"], ["dusk", "dark"], ["--brief"]),
        (["days", LAMPKEEPER], ["--days", "10"], ["dusk", "dark"]),
        (["explain", SLUICE], ["--width", "80"], ["open"], ["--input", "pond.1"]),
    ],
    ids=["response", "days", "explain"],
)
def test_what_is_asked_for_may_stand_behind_an_option(words: tuple[list[str], ...]) -> None:
    head, *rest = words
    names_first = sorted(rest, key=lambda each: each[0].startswith("-"))
    usual, mixed = (call(*head, *(word for group in groups for word in group)) for groups in (names_first, rest))
    assert (mixed.returncode, mixed.stderr) == (0, "")
    assert told(mixed) == told(usual)


def test_behind_two_dashes_nothing_is_an_option(tmp_path: Path) -> None:
    (tmp_path / "--quiet").mkdir()
    run = call("verify", "--states", "9", "--", "--quiet", folder=tmp_path)
    assert (run.returncode, told(run)) == (2, "")
    assert "--quiet" in run.stderr


def test_what_is_not_understood_is_reported_with_the_usage_of_the_command() -> None:
    run = call("response", LAMPKEEPER, "--brief", "dusk", "dark", "noon")
    assert (run.returncode, told(run)) == (2, "")
    assert run.stderr.startswith("usage: circuitcheck response ")
    assert "noon" in run.stderr.splitlines()[-1]
