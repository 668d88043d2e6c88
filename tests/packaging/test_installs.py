"""The grammar reaches every kind of install, and the start imports nothing heavy."""

from __future__ import annotations

import os
import site
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
CIRCUIT = ROOT / "circuits" / "sluice.circuit"


def pip(*arguments: str) -> None:
    subprocess.run(
        [sys.executable, "-m", "pip", "--quiet", "--disable-pip-version-check", *arguments],
        check=True,
        capture_output=True,
        cwd=ROOT,
    )


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("wheel")
    pip("wheel", ".", "--no-deps", "--wheel-dir", str(folder))
    (built,) = folder.glob("*.whl")
    return built


def verifies(python: str, folder: Path, path: str) -> bool:
    """Whether the program found under `path` verifies the sluice, run from elsewhere."""
    environment = {**os.environ, "PYTHONPATH": path}
    command = [python, "-m", "circuitcheck", "verify", str(CIRCUIT)]
    return subprocess.run(command, cwd=folder, env=environment, check=False, capture_output=True).returncode == 0


def test_a_wheel_holds_the_grammar_its_pages_and_the_mark_of_types(wheel: Path) -> None:
    names = set(zipfile.ZipFile(wheel).namelist())
    wanted = {"grammar/circuit.lark", "grammar/README.md", "grammar/RULES.md", "grammar/PYTHON.md", "py.typed"}
    assert {f"circuitcheck/{name}" for name in wanted} <= names
    assert not any(name.startswith(("tests/", "circuits/")) for name in names)


def test_an_installed_wheel_works(wheel: Path, tmp_path: Path) -> None:
    target = tmp_path / "installed"
    pip("install", "--no-deps", "--no-compile", "--target", str(target), str(wheel))
    assert (target / "circuitcheck" / "grammar" / "circuit.lark").is_file()
    assert verifies(sys.executable, tmp_path, str(target))


def test_an_editable_install_works(tmp_path: Path) -> None:
    subprocess.run([sys.executable, "-m", "venv", "--without-pip", str(tmp_path / "venv")], check=True)
    python = str(tmp_path / "venv" / "bin" / "python")
    pip("--python", python, "install", "--no-deps", "--editable", str(ROOT))
    libraries = os.pathsep.join(path for path in site.getsitepackages() if path not in ("", str(ROOT)))
    shown = "import circuitcheck.grammar as g; print(g.__file__)"
    environment = {**os.environ, "PYTHONPATH": libraries}
    where = subprocess.run(
        [python, "-c", shown], cwd=tmp_path, env=environment, capture_output=True, text=True, check=True
    )
    assert Path(where.stdout.strip()) == ROOT / "grammar" / "__init__.py" or "site-packages" in where.stdout
    assert verifies(python, tmp_path, libraries)


def test_a_checkout_works_as_it_stands(tmp_path: Path) -> None:
    assert verifies(sys.executable, tmp_path, str(ROOT))


def test_a_plain_verify_imports_nothing_heavy(tmp_path: Path) -> None:
    code = (
        "import sys\n"
        "from circuitcheck.cli import main\n"
        "try:\n"
        f"    main(['verify', {str(CIRCUIT)!r}])\n"
        "except SystemExit as stop:\n"
        "    assert stop.code == 0\n"
        "print({'sympy', 'networkx', 'rich', 'pytest'} & set(sys.modules), file=sys.stderr)\n"
    )
    ran = subprocess.run([sys.executable, "-c", code], cwd=tmp_path, capture_output=True, text=True, check=True)
    assert ran.stderr.strip() == "set()"
