"""Mutation testing of the rules: the engine and the parts are changed in small ways, and the tests must notice.

    python tests/mutation/run.py              every mutant, about half an hour on one core
    python tests/mutation/run.py --short      a fixed sample, which CI runs; fails if under 90 % are caught
    python tests/mutation/run.py power torch  the mutants of these modules only

mutmut makes the mutants and runs the tests, in a copy in a temporary folder that also holds its configuration. The
sample is of the engine and the parts; the long form changes what strokes and water do in space as well. All
mutants meet the tests of the engine first; those that survive meet tests of what is built on it, but for the short
form. mutmut changes what stands in functions, a place at a time. It leaves constants of a module alone, and so does
this command the words for people: what a mistake says, why a part changed, what an option means.

A mutant counts as caught when a test fails or runs on for ever. `--survivors` shows what was changed in the others.
"""

from __future__ import annotations

import argparse
import importlib.util
import json
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterable, Iterator, Sequence
from fnmatch import fnmatch
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PACKAGES = ("circuitcheck/engine", "circuitcheck/model/parts", "circuitcheck/space")
MOVING = (
    "configuration",
    "flowing",
    "inputs",
    "occupied",
    "scene",
    "strokes",
    "unfelt",
    "water",
    "water_looks",
    "wirings",
)
"""The modules of the last package that are changed: what strokes and water do. What else is there reads drawings."""
SAMPLED = tuple(f"{package}/*.py" for package in PACKAGES[:2])
CHANGED = (*SAMPLED, *(f"{PACKAGES[2]}/{name}.py" for name in MOVING))
"""The files of which mutants are made, for the sample and for all."""
READ_BY_TESTS = ("circuits", "grammar")
FIRST_TESTS = (
    "tests/engine",
    "tests/model",
    "tests/engine_properties",
    "tests/moving/test_armed_by_its_own_block.py",
    "tests/moving/test_edges_of_runs.py",
    "tests/moving/test_engine_boxes.py",
    "tests/moving/test_engine_examples.py",
    "tests/moving/test_engine_turned.py",
    "tests/moving/test_engine_water.py",
    "tests/moving/test_explaining.py",
    "tests/moving/test_light_of_water.py",
    "tests/moving/test_orders_of_strokes.py",
    "tests/moving/test_own_block_in_text.py",
    "tests/moving/test_refusals.py",
    "tests/moving/test_rows.py",
    "tests/moving/test_runs_of_drawings.py",
    "tests/moving/test_shared_readers.py",
    "tests/moving/test_same_in_every_order.py",
    "tests/moving/test_short_strokes.py",
    "tests/moving/test_turned_strokes.py",
    "tests/moving/test_unfelt_water.py",
    "tests/moving/test_wards.py",
    "tests/moving/test_water_in_runs.py",
    "tests/moving/test_what_strokes_bring_about.py",
    "tests/moving/test_what_water_meets.py",
    "tests/moving/test_which_orders_are_asked_about.py",
    "tests/moving/test_which_strokes_collide.py",
    "tests/moving/test_who_is_told_of_strokes.py",
    "tests/moving/test_wirings.py",
    "tests/moving/test_wirings_rewired.py",
)
MORE_TESTS = (
    "tests/moving/test_wirings_read_afresh.py",
    "tests/checks",
    "tests/explain/test_why.py",
    "tests/prove/test_hard_cases.py",
    "tests/language/test_mistakes.py",
    "tests/chance/test_worked_values.py",
    "tests/chance/test_light_against_networkx.py",
    "tests/chance/test_against_plain.py",
)
"""Tests of what is built on the engine, as far as they are quick."""
LEAST_CAUGHT = 90
"""Percent."""
SAMPLE = "*__mutmut_21"
"""The sample: the 21st mutant of every function that has so many."""
LEFT_ALONE = (
    r"\.(fail|refuse)\(",
    r"Reason\(",
    r"words = ",
    r"raise TypeError",
    r"RunRefused\(",
    r"(why|hint) = f?\"",
    r"super\(\).__init__\(f",
    r"meaning: str",
    r"Option\(",
)
"""Lines, as patterns, on which no expression is changed: words for people, and options, which are made on import."""
SURVIVED = {0: "survived", 5: "no test reaches it", 33: "no test reaches it"}
"""mutmut's exit codes of a mutant that no test noticed."""

MUTMUT = (sys.executable, "-c", "from mutmut.__main__ import cli; cli()")
HEADS = ("+++", "---")
Codes = dict[str, int]
"""The exit code of each mutant, by its name."""


def main(arguments: Sequence[str]) -> int:
    """Runs what was asked for, prints the table, and returns the exit code."""
    asked = options().parse_args(arguments)
    if importlib.util.find_spec("mutmut") is None:
        print("mutmut is not installed: pip install -e '.[test]'", file=sys.stderr)
        return 2
    with tempfile.TemporaryDirectory(prefix="mutation-") as folder:
        copy = Path(asked.folder or folder).resolve()
        names = [SAMPLE] if asked.short else [f"circuitcheck.*.{module}.*" for module in asked.modules]
        codes = run(copy, SAMPLED if asked.short else CHANGED, names, () if asked.short else MORE_TESTS, asked.workers)
        print(table(codes))
        if asked.survivors:
            print(*shown(copy, codes), sep="\n")
    return int(percent(codes.values()) < LEAST_CAUGHT)


def options() -> argparse.ArgumentParser:
    """What may be asked for."""
    parser = argparse.ArgumentParser(description="Mutation testing of the rules of the engine.")
    parser.add_argument("modules", nargs="*", help="modules by their last name; all where none is named")
    parser.add_argument("--short", action="store_true", help="a fixed sample only")
    parser.add_argument("--survivors", action="store_true", help="show what was changed in each mutant not caught")
    parser.add_argument("--workers", type=int, default=os.cpu_count() or 1, help="how many processes run tests")
    parser.add_argument("--folder", help="a folder to work in that is kept, with mutmut's own results")
    return parser


def run(copy: Path, changed: Sequence[str], names: Sequence[str], more_tests: Sequence[str], workers: int) -> Codes:
    """Makes the mutants in a copy and runs them against the first tests, and those that survive against more."""
    make_copy(copy)
    configure(copy, changed, FIRST_TESTS)
    mutmut(copy, names, workers)
    codes = read_codes(copy, names)
    left = [name for name, code in codes.items() if code in SURVIVED]
    if left and more_tests:
        configure(copy, changed, more_tests)
        mutmut(copy, left, workers)
        codes.update(read_codes(copy, left))
    return codes


def make_copy(copy: Path) -> None:
    """Copies what the tests need. The grammar goes where an installed package has it as well."""
    for name in ("circuitcheck", "tests", *READ_BY_TESTS):
        shutil.copytree(ROOT / name, copy / name, ignore=shutil.ignore_patterns("__pycache__"), dirs_exist_ok=True)
    shutil.copytree(ROOT / "grammar", copy / "circuitcheck" / "grammar", dirs_exist_ok=True)


def configure(copy: Path, changed: Sequence[str], tests: Sequence[str]) -> None:
    """Writes mutmut's configuration, for mutants of some files to be run against some of the tests."""
    settings: dict[str, object] = {
        "source_paths": ["circuitcheck"],
        "only_mutate": list(changed),
        "do_not_mutate_patterns": list(LEFT_ALONE),
        "also_copy": list(READ_BY_TESTS),
        "pytest_add_cli_args_test_selection": list(tests),
        # A drawn example must not decide whether a mutant is caught today and not tomorrow.
        "pytest_add_cli_args": ["-p", "no:cacheprovider", "--hypothesis-seed=0", "-p", "mutation.quickest_first"],
        "use_git_change_detection": False,
        "track_dependencies": False,
        # The plugin stops a test that runs on for ever; this is for what is stuck between tests.
        "timeout_multiplier": 20.0,
        "timeout_constant": 20.0,
    }
    # Lists, strings, numbers and booleans are written alike in JSON and in TOML.
    lines = [f"{key} = {json.dumps(value)}" for key, value in settings.items()]
    (copy / "pyproject.toml").write_text("\n".join(["[tool.mutmut]", *lines, ""]), encoding="utf-8")


def mutmut(copy: Path, names: Sequence[str], workers: int) -> None:
    """Runs mutmut over some mutants, or over all; shows what it says only if it fails."""
    command = [*MUTMUT, "run", "--max-children", str(workers), *names]
    plugins = {**os.environ, "PYTHONPATH": str(copy / "tests")}
    done = subprocess.run(command, cwd=copy, capture_output=True, text=True, check=False, env=plugins)
    if done.returncode:
        raise SystemExit(f"mutmut failed:\n{done.stdout[-2000:]}\n{done.stderr[-2000:]}")


def read_codes(copy: Path, names: Sequence[str]) -> Codes:
    """What mutmut wrote down of the mutants that were run; all where none are named."""
    codes: Codes = {}
    for package in PACKAGES:
        for written in sorted((copy / "mutants" / package).glob("*.meta")):
            codes.update(json.loads(written.read_text(encoding="utf-8"))["exit_code_by_key"])
    asked = {name: code for name, code in codes.items() if not names or any(fnmatch(name, each) for each in names)}
    if not asked or None in asked.values():
        raise SystemExit("mutmut ended before every mutant was run")
    return asked


def percent(codes: Iterable[int]) -> float:
    """How many of these mutants were caught."""
    noticed = [code not in SURVIVED for code in codes]
    return 100 * sum(noticed) / len(noticed) if noticed else 0.0


def table(codes: Codes) -> str:
    """A row for each module and one for all of them."""
    modules: dict[str, list[int]] = {}
    for name, code in codes.items():
        modules.setdefault(name.removeprefix("circuitcheck.").rpartition(".")[0], []).append(code)
    lines = [f"{'module':<28}{'mutants':>9}{'caught':>9}{'survived':>10}{'percent':>9}"]
    for module, found in [*sorted(modules.items()), ("total", list(codes.values()))]:
        survived = sum(code in SURVIVED for code in found)
        counts = f"{len(found):>9}{len(found) - survived:>9}{survived:>10}{percent(found):>9.1f}"
        lines.append(f"{module:<28}{counts}")
    return "\n".join(lines)


def shown(copy: Path, codes: Codes) -> Iterator[str]:
    """What was changed in each mutant that was not caught."""
    for name, code in codes.items():
        if code in SURVIVED:
            command = [*MUTMUT, "show", name]
            change = subprocess.run(command, cwd=copy, capture_output=True, text=True, check=False).stdout
            lines = [
                line for line in change.splitlines() if line[:1] in ("+", "-") and line[3:] and line[:3] not in HEADS
            ]
            yield "\n".join(["", f"{name}: {SURVIVED[code]}", *lines])


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
