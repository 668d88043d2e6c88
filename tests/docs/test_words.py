"""One word a thing: the words that the list in `DEVELOPERS.md` retires come back neither on a page nor in the code."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
LIST = "## Words\n"
PAGES = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted((ROOT / "grammar").glob("*.md"))]
MODULES = sorted((ROOT / "circuitcheck").rglob("*.py"))


def listed() -> str:
    """The section of `DEVELOPERS.md` with the list of words."""
    return (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").split(LIST, 1)[1].split("\n## ", 1)[0]


def retired() -> list[str]:
    """The words in quotation marks in the last column of the list."""
    rows = [line.strip("| ").split("|") for line in listed().splitlines() if line.startswith("| ")]
    return sorted({word for row in rows if len(row) == 3 for word in re.findall(r'"([^"]+)"', row[2])})


RETIRED = re.compile(rf"(?i)\b(?:{'|'.join(map(re.escape, retired()))})\b")


def prose(page: Path) -> str:
    """A page without its examples and without the list itself; a line break is a blank."""
    text = page.read_text(encoding="utf-8")
    if page.name == "DEVELOPERS.md":
        text = text.replace(listed(), "")
    return " ".join(re.sub(r"^```.*?^```$", "", text, flags=re.MULTILINE | re.DOTALL).split())


def texts(module: Path) -> Iterator[str]:
    """What a module can say, and what its docstrings say: its texts with a blank in them."""
    for each in ast.walk(ast.parse(module.read_text(encoding="utf-8"))):
        if isinstance(each, ast.Constant) and isinstance(each.value, str) and " " in each.value:
            yield " ".join(each.value.split())


def test_the_list_of_words_retires_some() -> None:
    assert {"hangs on", "amiss", "anew"} <= set(retired())


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(ROOT)))
def test_no_page_uses_a_word_that_was_retired(page: Path) -> None:
    assert RETIRED.findall(prose(page)) == []


def test_no_message_and_no_docstring_uses_a_word_that_was_retired() -> None:
    found = [(module.name, text) for module in MODULES for text in texts(module) if RETIRED.search(text)]
    assert found == []
