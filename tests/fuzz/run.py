"""Fuzzing guided by coverage, with atheris: parse, build, judge and report inputs without end.

    python tests/fuzz/run.py --inputs 1000000      the full run, more than an hour
    python tests/fuzz/run.py --short               the short form that CI runs

What must be so of each input stands in `checking.py`. A failure is made smaller and written to a file, once for each
place that it comes from, and the run goes on; the exit code is 1 if there was any. One seed makes the same inputs each
time. Needs what the extra `test` installs, on Linux.
"""

from __future__ import annotations

import argparse
import contextlib
import json
import os
import pkgutil
import re
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Sequence
from importlib import import_module
from pathlib import Path
from typing import TextIO

SHORT = 2000
"""How many inputs the short form runs. They reach 97 % of the edges that twice as many reach."""
PACKAGES = ("checks", "engine", "explain", "judging", "language", "model", "prove", "report", "sweeps")
"""What an input goes through."""
NOT_LOADED = "circuitcheck.sweeps.executors"
"""Needs a cluster."""
NOT_COUNTED = "circuitcheck.report.lines"
"""Looks at each letter of each report: counting that would take more time than all the rest."""
STATES = 400
"""How many states unknown orders may lead to at one time, in place of thousands: a few inputs took all the time."""
MEMORY = 3000
"""In MB; more counts as a failure."""


def main(words: Sequence[str] | None = None) -> int:
    """Runs the command; returns its exit code."""
    asked = arguments(words)
    folder = Path(asked.findings or tempfile.mkdtemp(prefix="circuitcheck-fuzz-"))
    folder.mkdir(parents=True, exist_ok=True)
    log = folder / "fuzzer.log"
    print(f"findings go to {folder}", flush=True)
    # The fuzzer ends its process and does not come back, so it has one of its own.
    process = os.fork()
    if process == 0:
        _fuzz(asked, folder, log)
    _, status = os.waitpid(process, 0)
    return _tell(os.waitstatus_to_exitcode(status), folder, log)


def arguments(words: Sequence[str] | None) -> argparse.Namespace:
    """The command line, read."""
    parser = argparse.ArgumentParser(description="fuzz parsing, building, judging and reporting, guided by coverage")
    parser.add_argument("--inputs", type=int, default=1_000_000, help="how many inputs are run (%(default)s)")
    parser.add_argument("--seed", type=int, default=1, help="1 or more; one seed makes the same inputs (%(default)s)")
    parser.add_argument("--seconds", type=int, default=0, help="stop after so many, whatever has been run by then")
    parser.add_argument("--short", action="store_true", help=f"run {SHORT} inputs")
    parser.add_argument("--findings", help="the folder for inputs that fail (a new temporary one)")
    asked = parser.parse_args(words)
    if asked.short:
        asked.inputs = SHORT
    if asked.seed < 1 or asked.inputs < 1:
        parser.error("--seed and --inputs are 1 or more")
    return asked


def _fuzz(asked: argparse.Namespace, folder: Path, log: Path) -> None:
    """Runs in a process of its own, and ends it."""
    import atheris
    from atheris.import_hook import instrument_imports

    with log.open("w", encoding="utf-8") as stream:
        with contextlib.redirect_stderr(stream), instrument_imports(include=["circuitcheck"], exclude=[NOT_COUNTED]):
            _load_program()
        os.dup2(stream.fileno(), 2)
    sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
    from fuzz.seeds import LONGEST, seeds

    session = Session(asked, folder)
    (folder / "seeds").mkdir(exist_ok=True)
    paths = [folder / "seeds" / f"{number:03}.circuit" for number, _ in enumerate(seeds())]
    for path, text in zip(paths, seeds(), strict=True):
        path.write_text(text, encoding="utf-8")
    atheris.Setup(
        [
            # Without the schedule by entropy, which does not always make the same of one seed.
            *("circuitcheck", "-entropic=0", f"-seed={asked.seed}", f"-max_len={LONGEST}", f"-rss_limit_mb={MEMORY}"),
            *("-timeout=600", f"-artifact_prefix={folder}/died-", f"-seed_inputs={','.join(map(str, paths))}"),
        ],
        session.run,
        custom_mutator=session.mutator.mutate,
        custom_crossover=session.mutator.cross,
    )
    atheris.Fuzz()


def _load_program() -> None:
    """Loads what inputs go through, all at once and before the first of them, so that its coverage is counted."""
    from circuitcheck.engine import step

    step.MOST_STATES = min(step.MOST_STATES, STATES)  # before others take it over
    for name in PACKAGES:
        package = import_module(f"circuitcheck.{name}")
        for module in pkgutil.walk_packages(package.__path__, f"{package.__name__}."):
            if module.name != NOT_LOADED:
                import_module(module.name)


class Session:
    """One run: what has been counted so far, and when it ends."""

    def __init__(self, asked: argparse.Namespace, folder: Path) -> None:
        from fuzz import checking, findings, mutating

        self.mutator = mutating.Mutator()
        self._text: Callable[[bytes], str] = mutating.as_text
        self._check = checking.check
        self._failures = (Exception, checking.TooLong)
        self._findings = findings.Findings(folder)
        self._asked = asked
        self._folder = folder
        self._begun = time.monotonic()
        self._counts: Counter[str] = Counter()
        self._met: set[tuple[str, ...]] = set()

    def run(self, data: bytes) -> None:
        """One input. Ends the process when all have been run."""
        text = self._text(data)
        try:
            seen = self._check(text)
        except self._failures as failure:
            self._findings.add(text, failure)
        else:
            self._counts["valid"] += seen.valid
            self._counts["verified"] += seen.verified
            if seen.verified and seen.came_to not in self._met:
                self.mutator.keep(text)
            self._met.add(seen.came_to)
        self._counts["inputs"] += 1
        seconds = time.monotonic() - self._begun
        if self._counts["inputs"] % 10_000 == 0:
            print(f"{self._counts['inputs']:,} inputs in {seconds:,.0f} s", flush=True)
        if self._counts["inputs"] >= self._asked.inputs or 0 < self._asked.seconds <= seconds:
            self._end(seconds)

    def _end(self, seconds: float) -> None:
        told = {**self._counts, "seconds": round(seconds), "combinations": len(self._met), "found": self._findings.met}
        (self._folder / "result.json").write_text(json.dumps(told), encoding="utf-8")
        sys.stdout.flush()
        os._exit(0)


def _tell(code: int, folder: Path, log: Path, to: TextIO = sys.stdout) -> int:
    """Prints what came of the run; returns the exit code."""
    written = log.read_text(encoding="utf-8", errors="replace") if log.exists() else ""
    result = folder / "result.json"
    if code != 0 or not result.exists():
        print(f"the fuzzer died with {code}; the end of {log}:\n{written[-3000:]}", file=to)
        return 1
    told = json.loads(result.read_text(encoding="utf-8"))
    rate = told["inputs"] / max(told["seconds"], 1)
    print(f"{told['inputs']:,} inputs in {told['seconds']:,} s, {rate:.0f} a second", file=to)
    print(f"{told['valid']:,} valid, {told['verified']:,} verified", file=to)
    print(f"{told['combinations']:,} different sets of mistakes, or of verdicts and findings", file=to)
    if coverage := re.findall(r"cov: (\d+) ft: (\d+) corp: (\d+)", written):
        edges, features, kept = map(int, coverage[-1])
        print(f"{edges:,} edges covered, {features:,} features, {kept:,} inputs kept for them", file=to)
    for where, times in told["found"].items():
        print(f"FOUND {times} times: {where}", file=to)
    print("nothing found" if not told["found"] else f"{len(told['found'])} found", file=to)
    return 1 if told["found"] else 0


if __name__ == "__main__":
    if os.environ.get("PYTHONHASHSEED") != "0":
        # Sets of texts are walked in the same order each time, so that one seed makes the same inputs each time.
        os.execve(sys.executable, [sys.executable, *sys.argv], {**os.environ, "PYTHONHASHSEED": "0"})
    sys.exit(main())
