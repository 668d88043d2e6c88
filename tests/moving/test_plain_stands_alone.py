"""The plain stepper is worth something only while it owes the program nothing."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

HERE = Path(__file__).parent / "plain"


@pytest.mark.parametrize("file", sorted(HERE.glob("*.py")), ids=lambda file: file.stem)
def test_it_imports_nothing_of_the_program(file: Path) -> None:
    tree = ast.parse(file.read_text(encoding="utf-8"))
    names = {each.name for node in ast.walk(tree) if isinstance(node, ast.Import) for each in node.names}
    froms = {node.module or "" for node in ast.walk(tree) if isinstance(node, ast.ImportFrom) and node.level == 0}
    assert names | froms <= {"__future__", "collections.abc", "dataclasses", "random", "typing"}
    assert all(node.level <= 1 for node in ast.walk(tree) if isinstance(node, ast.ImportFrom))
