"""The fuzzing command finds nothing in the program as it is, and does find what is broken on purpose.

It takes a fuzzer, an extra of contributors, so no plain run of the tests comes here: CI calls this file by its name.
"""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path

COMMAND = Path(__file__).parent / "run.py"


def run(folder: Path, *words: str, before: str = "") -> subprocess.CompletedProcess[str]:
    """Runs the command in a process of its own, with some lines of Python before it."""
    code = f"import sys, runpy\nsys.path.insert(0, {str(COMMAND.parents[1])!r})\n{before}\n"
    code += f"sys.argv[0] = {str(COMMAND)!r}\nfrom fuzz.run import main\nsys.exit(main())"
    call = [sys.executable, "-c", code, "--findings", str(folder), *words]
    return subprocess.run(call, capture_output=True, text=True, timeout=600)


def test_a_tiny_run_finds_nothing_and_is_guided_by_coverage(tmp_path: Path) -> None:
    done = run(tmp_path, "--inputs", "200", "--seed", "1")
    assert done.returncode == 0, done.stdout + done.stderr
    assert "200 inputs" in done.stdout
    assert json.loads((tmp_path / "result.json").read_text())["found"] == {}
    assert not list(tmp_path.glob("finding-*"))
    edges = next(line for line in done.stdout.splitlines() if "edges covered" in line)
    assert int(edges.split()[0].replace(",", "")) > 1000, edges


def test_one_seed_makes_the_same_run_each_time(tmp_path: Path) -> None:
    results = []
    for name in ("one", "other"):
        words = [sys.executable, str(COMMAND), "--inputs", "300", "--seed", "7", "--findings", str(tmp_path / name)]
        subprocess.run(words, check=True, capture_output=True, timeout=600)
        results.append(json.loads((tmp_path / name / "result.json").read_text()) | {"seconds": 0})
    assert results[0] == results[1]


def test_the_command_finds_a_loader_that_raises(tmp_path: Path) -> None:
    broken = "import fuzz.checking as c, fuzz.test_fuzz_command as t\nc.load_text = t.broken_load"
    done = run(tmp_path, "--inputs", "300", "--seed", "1", before=broken)
    assert done.returncode == 1, done.stdout + done.stderr
    assert "KeyError outside of the program" in done.stdout
    least = (tmp_path / "finding-1.circuit").read_text()
    assert sorted(re.findall("lamp|rope", least)) == ["lamp", "rope"]
    assert len(least.split()) <= 2
    assert "broken on purpose" in (tmp_path / "finding-1.txt").read_text()
