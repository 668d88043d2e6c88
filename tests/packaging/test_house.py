"""How the house stands: no circle between files, no two files of one name, one class for places and one for edges.

Which way packages may import is held by the contracts in `pyproject.toml`.
"""

from __future__ import annotations

import ast
from collections import Counter
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import networkx
import pytest

PACKAGE = Path(__file__).resolve().parents[2] / "circuitcheck"
FILES = {
    ".".join(path.relative_to(PACKAGE.parent).with_suffix("").parts).removesuffix(".__init__"): path
    for path in sorted(PACKAGE.rglob("*.py"))
}
CIRCLES = [{"circuitcheck.model.parts.base", "circuitcheck.model.parts.cells"}]
"""Circles that are still there, of types alone."""
ALIKE = {
    "circuit.py": {"model", "space"},
    "claims.py": {"language", "model"},
    "daylight.py": {"language", "space"},
    "dust.py": {"parts", "space"},
    "light.py": {"engine", "model", "space"},
}
"""Files that are still of one name: what one room says, holds or works out of the same thing."""
LATE = {
    "bench": {"circuitcheck.bench.serving", "circuitcheck.bench.workbench", "circuitcheck.bench.worked"},
    "certified": {"circuitcheck.commands.certified_least"},
    "chance_options": {"circuitcheck.chance.days.calendar"},
    "common": {
        "circuitcheck.report.exchange.data",
        "circuitcheck.report.terminal.places",
        "circuitcheck.report.terminal.verdict_lines",
    },
    "editor": {"circuitcheck.editor.server"},
    "printing": {"circuitcheck.report.exchange.data", "circuitcheck.report.terminal.progress", "json"},
    "prove": {"circuitcheck.report.exchange.data"},
    "sheets": {"circuitcheck.report.solid.gltf"},
    "trace": {"circuitcheck.report.exchange.run_picture"},
    "verify_files": {"circuitcheck.commands.verifying", "circuitcheck.commands.watching", "circuitcheck.passed"},
    "verifying": {
        "circuitcheck.report.exchange.data",
        "circuitcheck.report.exchange.junit",
        "circuitcheck.report.exchange.sarif",
    },
}
"""What commands import inside functions, because most calls of the same command do without it."""


def tree(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"))


@cache
def classes() -> list[tuple[str, str]]:
    """Every class with the file that it stands in."""
    found = []
    for path in FILES.values():
        named = [node.name for node in ast.walk(tree(path)) if isinstance(node, ast.ClassDef)]
        found += [(name, path.relative_to(PACKAGE).as_posix()) for name in named]
    return found


def outside_functions(node: ast.AST) -> Iterator[ast.AST]:
    """All that runs as a file is imported, and what is imported for types."""
    for child in ast.iter_child_nodes(node):
        if not isinstance(child, (ast.FunctionDef, ast.AsyncFunctionDef)):
            yield child
            yield from outside_functions(child)


def imported(path: Path) -> Iterator[str]:
    for node in outside_functions(tree(path)):
        if isinstance(node, ast.Import):
            yield from (each.name for each in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module is not None:
            for each in node.names:
                whole = f"{node.module}.{each.name}"
                yield whole if whole in FILES else node.module


def test_no_files_import_each_other_in_a_circle() -> None:
    graph: networkx.DiGraph[str] = networkx.DiGraph()
    for name, path in FILES.items():
        graph.add_edges_from((name, other) for other in imported(path) if other in FILES and other != name)
    assert graph.number_of_edges() > len(FILES)
    found = [each for each in networkx.strongly_connected_components(graph) if len(each) > 1]
    assert sorted(map(sorted, found)) == sorted(map(sorted, CIRCLES))


def imported_inside_functions(path: Path) -> set[str]:
    functions = (node for node in ast.walk(tree(path)) if isinstance(node, ast.FunctionDef))
    found = [node for function in functions for node in ast.walk(function)]
    modules = {node.module for node in found if isinstance(node, ast.ImportFrom) and node.module is not None}
    return modules | {each.name for node in found if isinstance(node, ast.Import) for each in node.names}


def test_a_command_imports_what_it_calls_at_the_head_of_its_file() -> None:
    """Only the command that is called is imported, so that its file need not wait with its imports."""
    late = {path.stem: imported_inside_functions(path) for path in sorted((PACKAGE / "commands").glob("*.py"))}
    assert {name: modules for name, modules in late.items() if modules} == LATE


def test_no_two_files_have_one_name() -> None:
    names = Counter(path.name for path in FILES.values() if path.name != "__init__.py")
    alike = {name for name, count in names.items() if count > 1}
    found = {name: {path.parent.name for path in FILES.values() if path.name == name} for name in alike}
    assert found == ALIKE


@pytest.mark.parametrize(("name", "file"), [("Span", "diagnostics.py"), ("Edge", "signals.py")])
def test_one_class_has_the_name(name: str, file: str) -> None:
    assert [where for each, where in classes() if each == name] == [file]
