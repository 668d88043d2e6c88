"""No module but the table of kinds knows a concrete kind of part: kinds are asked, and never told apart.

Source: none; this is how the program is built.
"""

from __future__ import annotations

import ast
import tomllib
from collections.abc import Iterator
from pathlib import Path

import circuitcheck
from circuitcheck.model import parts
from circuitcheck.model.parts.base import Part

PACKAGE = Path(circuitcheck.__file__).parent
PARTS = PACKAGE / "model" / "parts"
SAYS_RULES_AGAIN = {PACKAGE / "certificate" / f"{name}.py" for name in ("part_rules", "level_rules")}
"""What certificates are checked with says once more what each kind does: the one exception, as in the contract."""
PROJECT = PACKAGE.parent / "pyproject.toml"


def kind_modules() -> set[str]:
    """The modules that define a kind, or a sort of part that one makes."""
    found = set()
    for path in PARTS.glob("*.py"):
        module = getattr(__import__(f"circuitcheck.model.parts.{path.stem}", fromlist=["x"]), "__dict__", {})
        own = [value for value in module.values() if getattr(value, "__module__", "") == module.get("__name__")]
        if any(isinstance(value, type) and issubclass(value, Part) and value is not Part for value in own):
            found.add(path.stem)
    return found


def imported(path: Path) -> Iterator[str]:
    """Every module, or name of a module, that a file imports, anywhere in it."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (each.name for each in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            yield node.module
            yield from (f"{node.module}.{each.name}" for each in node.names)


def test_every_kind_of_the_table_stands_in_a_module_of_its_own_or_beside_its_like() -> None:
    assert {type(sample).__module__.rpartition(".")[2] for kind in parts.KINDS.values() for sample in kind.samples} <= (
        kind_modules()
    )
    assert len(kind_modules()) >= 15


def test_no_module_outside_the_kinds_imports_one() -> None:
    forbidden = {f"circuitcheck.model.parts.{name}" for name in kind_modules()}
    files = [path for path in PACKAGE.rglob("*.py") if path.parent != PARTS and path not in SAYS_RULES_AGAIN]
    assert len(files) > 200
    assert {(path.name, name) for path in files for name in imported(path) if name in forbidden} == set()


def test_the_contract_of_imports_names_every_kind_and_every_module() -> None:
    contracts = tomllib.loads(PROJECT.read_text(encoding="utf-8"))["tool"]["importlinter"]["contracts"]
    (fence,) = [each for each in contracts if "circuitcheck.model.parts.torch" in each.get("forbidden_modules", ())]
    assert set(fence["forbidden_modules"]) == {f"circuitcheck.model.parts.{name}" for name in kind_modules()}
    modules = {path.stem for path in (*PACKAGE.glob("*"), *(PACKAGE / "model").glob("*")) if _is_module(path)}
    sources = {name.rpartition(".")[2] for name in fence["source_modules"]}
    assert modules - sources == {"model", "parts"}


def _is_module(path: Path) -> bool:
    if path.stem.startswith("__"):
        return False
    return path.suffix == ".py" or (path / "__init__.py").exists()
