"""What other projects take from here: installs that leave nothing behind, and the hooks for commits."""

from __future__ import annotations

import importlib
import re
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[2]
IN_CHECKOUT = ("circuitcheck", "grammar", "pyproject.toml", "README.md")
"""What is installed from."""


@pytest.fixture
def checkout(tmp_path: Path) -> Path:
    """A copy of what the checkout holds, without what has been built or cached in it."""
    made = tmp_path / "checkout"
    made.mkdir()
    for name in IN_CHECKOUT:
        if (ROOT / name).is_dir():
            shutil.copytree(ROOT / name, made / name, ignore=shutil.ignore_patterns("__pycache__"))
        else:
            shutil.copy(ROOT / name, made / name)
    return made


def test_an_install_leaves_no_build_folder_and_takes_nothing_from_one(checkout: Path, tmp_path: Path) -> None:
    stale = checkout / "build" / "lib" / "circuitcheck" / "stale.py"
    stale.parent.mkdir(parents=True)
    stale.write_text("")
    target = tmp_path / "installed"
    install = [sys.executable, "-m", "pip", "install", "--quiet", "--no-deps", "--no-compile"]
    for _ in range(2):
        subprocess.run([*install, "--target", str(target), "."], cwd=checkout, check=True, capture_output=True)
        assert (target / "circuitcheck" / "cli.py").is_file()
        assert not (target / "circuitcheck" / "stale.py").exists()
        shutil.rmtree(target)
        shutil.rmtree(checkout / "build", ignore_errors=True)
    left = {each.name for each in checkout.iterdir()} - set(IN_CHECKOUT)
    assert left <= {"circuitcheck.egg-info"}


HOOKS: list[dict[str, Any]] = importlib.import_module("yaml").safe_load((ROOT / ".pre-commit-hooks.yaml").read_text())


def hook(name: str, folder: Path, *files: str) -> int:
    """The exit code of a hook that is given the files which its pattern finds."""
    (made,) = [each for each in HOOKS if each["id"] == f"circuitcheck-{name}"]
    program, *words = made["entry"].split()
    assert program == "circuitcheck"
    found = [each for each in files if re.search(made["files"], each)]
    call = [sys.executable, "-m", "circuitcheck", *words, *made.get("args", []), *found]
    return subprocess.run(call, cwd=folder, capture_output=True, check=False).returncode


def test_the_hooks_offer_verify_and_format_and_install_the_program() -> None:
    assert [each["id"] for each in HOOKS] == ["circuitcheck-verify", "circuitcheck-format"]
    assert all(each["language"] == "python" and each["name"] for each in HOOKS)


def test_the_hook_verify_fails_where_a_committed_file_does_not_hold(tmp_path: Path) -> None:
    good = 'lever rope\nlamp bell from rope\n\ncheck "pull"\n  at 1s rope on\n  at 1s expect bell{}\nend\n'
    (tmp_path / "a.circuit").write_text(good.format(""))
    (tmp_path / "b.circuit").write_text(good.format(" off"))
    (tmp_path / "notes.md").write_text("no circuit\n")
    assert hook("verify", tmp_path, "a.circuit", "notes.md") == 0
    assert hook("verify", tmp_path, "a.circuit", "b.circuit", "notes.md") == 1


def test_the_hook_format_changes_files_which_stops_the_commit(tmp_path: Path) -> None:
    (tmp_path / "a.circuit").write_text("lever     rope\nlamp bell from   rope\n")
    before = (tmp_path / "a.circuit").read_text()
    assert hook("format", tmp_path, "a.circuit") == 0
    once = (tmp_path / "a.circuit").read_text()
    assert once != before
    assert hook("format", tmp_path, "a.circuit") == 0
    assert (tmp_path / "a.circuit").read_text() == once
