"""The README is true: its commands, its circuits, its output and its Python are run."""

from __future__ import annotations

import os
import re
import shlex
import shutil
import subprocess
from pathlib import Path

import pytest
from forked import forked
from junitparser import JUnitXml

import circuitcheck
from circuitcheck.commands import MODULES

ROOT = Path(__file__).resolve().parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def blocks(kind: str) -> list[str]:
    """The fenced blocks of one kind."""
    return re.findall(rf"^```{kind}\n(.*?)^```$", README, re.MULTILINE | re.DOTALL)


def verify(text: str, folder: Path, command_name: str = "verify") -> str:
    (folder / "mill.circuit").write_text(text, encoding="utf-8")
    return subprocess.run(
        [*forked(), command_name, "mill.circuit"], cwd=folder, capture_output=True, encoding="utf-8", check=False
    ).stdout


@pytest.mark.parametrize(("number", "delay"), [(0, "1t"), (1, "2t")])
def test_the_output_shown_is_what_the_program_prints(number: int, delay: str, tmp_path: Path) -> None:
    circuit = blocks("circuit")[0].replace("delay 1t", f"delay {delay}")
    shown = [block for block in blocks("text") if block.startswith("mill.circuit")]
    assert verify(circuit, tmp_path) == shown[number]


def test_the_cures_shown_are_what_the_program_finds(tmp_path: Path) -> None:
    shown = [block for block in blocks("text") if block.startswith("mill.circuit")]
    assert verify(blocks("circuit")[0], tmp_path, "cure") == shown[2]


def test_the_drawing_shown_is_proved() -> None:
    report = circuitcheck.verify_text(next(block for block in blocks("circuit") if "drawing" in block))
    assert [each.verdict.name for each in report.outcomes] == ["PROVED"]
    assert not report.findings


def test_the_claims_shown_can_be_put_into_the_circuit() -> None:
    claims = next(block for block in blocks("text") if "never  " in block)
    report = circuitcheck.verify_text(blocks("circuit")[0].replace("delay 1t", "delay 2t") + claims)
    assert len(report.outcomes) == 5
    assert report.exit == circuitcheck.Exit.HOLDS


def test_the_python_shown_runs(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    code, building = blocks("python")
    names: dict[str, object] = {}
    exec(compile(code, "README.md", "exec"), names)
    exec(compile(building, "README.md", "exec"), names)
    run = names["run"]
    assert isinstance(run, circuitcheck.Simulation)
    assert f"# {run.edges('open')}" in code
    other = names["other"]
    assert isinstance(other, circuitcheck.Simulation)
    assert f"# {other.pulses('open')}" in code


def test_what_is_tried_on_the_command_line_runs(tmp_path: Path) -> None:
    (tmp_path / "mill.circuit").write_text(blocks("circuit")[0], encoding="utf-8")
    line = next(block for block in blocks("sh") if "try" in block).strip()
    command = line.replace("circuitcheck", shlex.join(forked()), 1)
    assert subprocess.run(command, shell=True, cwd=tmp_path, check=False, capture_output=True).returncode == 0


SHOWN = (
    ["explain", "circuits/sluice.circuit", "shut", "--input", "pond.1"],
    ["response", "circuits/lampkeeper.circuit", "dusk", "dark", "--brief", "--over", "90s"],
)


@pytest.mark.parametrize("arguments", SHOWN, ids=lambda arguments: arguments[0])
def test_what_is_shown_of_a_command_is_what_the_program_prints(arguments: list[str]) -> None:
    ran = subprocess.run([*forked(), *arguments], cwd=ROOT, capture_output=True, encoding="utf-8", check=True)
    assert f"`circuitcheck {' '.join(arguments)}` says" in README
    assert ran.stdout.rstrip() in [block.rstrip() for block in blocks("text")]


def test_the_recipes_for_ci_run_in_a_clean_shell(tmp_path: Path) -> None:
    """As one script, with nothing of this environment but where things are."""
    recipes = re.findall(r"^```sh\n(.*?)^```$", README.split("## In CI", 1)[1], re.MULTILINE | re.DOTALL)[:3]
    home, checkout = tmp_path / "home", tmp_path / "mill"
    home.mkdir()
    # What the recipes do does not depend on how many circuits there are; CI verifies all of them apart.
    (checkout / "circuits").mkdir(parents=True)
    for name in ("gates.circuit", "latches.circuit"):
        shutil.copy(ROOT / "circuits" / name, checkout / "circuits")
    shutil.copy(ROOT / "pyproject.toml", checkout)
    # pip finds packages as it does around us, those that it has already at hand as well; the shell knows no more.
    kept = {name: value for name, value in os.environ.items() if name == "PATH" or name.startswith(("PIP_", "SSL_"))}
    kept.setdefault("PIP_CACHE_DIR", str(Path.home() / ".cache" / "pip"))
    # Nothing is compiled that isn't imported. pip takes "no" for a yes to options that begin with it.
    kept["PIP_NO_COMPILE"] = "no"
    script = "set -eu\n" + "\n".join(recipes)
    run = subprocess.run(
        ["bash", "-c", script],
        cwd=checkout,
        env={**kept, "HOME": str(home), "CIRCUITCHECK": str(ROOT)},
        capture_output=True,
        encoding="utf-8",
        check=False,
    )
    assert run.returncode == 0, run.stdout + run.stderr
    files = len(list((checkout / "circuits").glob("*.circuit")))
    assert f"{files} as they should be" in run.stdout
    assert "checks and claims hold" in run.stdout
    assert "passed" in run.stdout
    logs = [checkout / name for name in ("circuits.xml", "circuits.sarif", "tests.xml")]
    for log in (*logs, home / ".cache" / "mill" / "passed.json"):
        assert log.stat().st_size > 0
    for suites in ("circuits.xml", "tests.xml"):
        assert JUnitXml.fromfile(str(checkout / suites)).tests > 0


def test_every_command_is_shown() -> None:
    shown = set(re.findall(r"circuitcheck (\w+)", README))
    assert set(MODULES) <= shown


def test_every_file_linked_to_is_there() -> None:
    for link in re.findall(r"\]\(([^)#]+)\)", README):
        assert (ROOT / link).exists()
