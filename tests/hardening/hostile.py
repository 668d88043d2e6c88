"""Names and texts that mean harm to some reader, the program called with them, and what may be left of them."""

from __future__ import annotations

import gc
import os
import subprocess
import sys
import unicodedata
from pathlib import Path

import pytest
from lxml import etree

from circuitcheck.cli import main

TEXTS = [
    "[/foo] [torch] [x] :x: [bold]", "\x1b[31mred\x1b]0;title\x07", "\x01\x08\x7f\x9b31m",
    "a::b ::error::x", "\u202eback \u2066\u200f\u061c\u2069", "\ufffe\uffff\ufdd0\U0010ffff", "x" * 10_000,
    "50% %s %d %(x)s %n", "{} {0} {x.__class__} ${x} $end", "<script>alert(1)</script>", "&amp; &lt; &#0; &x;",
    "]]> <!-- --> <?x?> <![CDATA[", "e\u0301\u0489\u0489\u0489 Z\u0351\u0351", "水車 мельница טַחֲנָה \U0001d553",
    "it's `x` $(x) \\n \\", "\t \u2028 \u2029 \u00a0 \u200b\u200d\ufeff\u00ad", "../../etc", "-- --json", "= @x +x",
]  # fmt: skip
"""Titles and reasons."""
PARTS = [
    "öl", "e\u0301", "水門", "טַחֲנָה", "ﬁ", "ª", "\u3164", "_", "script", "None", "x" * 10_000, "\U0001d553", "node",
    "graph",
]  # fmt: skip
"""Names that the grammar allows for parts."""
FILES = [
    "a b", "$end", "$scope $end x", "[foo] [torch]", ":x:", "\x1b[31mred", 'a"b', "it's", "a::b", "\u202eback",
    "\ufffe", "x" * 240, "50%", "%s", "{}", "<script>", "&amp;", "]]>", "水車", "e\u0301", "a\nb", "a\tb", "-x", "~",
    "a\\b", os.fsdecode(b"m\xfchle"),
]  # fmt: skip
"""Names of files and folders."""

CIRCUIT = (
    'circuit sluice "{title}"\nlever {name}\ntorch idle from {name}\nlamp bell from {name}\n'
    'silence V1 for idle because "{title}"\n'
    'check "{title}"\n  at 1s {name} on\n  at 1s expect bell off\nend\n'
    'check "aside" skipped because "{title}"\n  at 1s {name} on\nend\n'
)
"""One that fails, with a title wherever one may stand."""


def called(*words: str) -> int:
    """The program called in this process. Returns its exit code; anything but ending it in order is an error."""
    before = gc.get_threshold()
    try:
        with pytest.raises(SystemExit) as end:
            main(words)
    finally:
        gc.set_threshold(*before)
    assert isinstance(end.value.code, int)
    return end.value.code


def outside(
    *words: str, folder: Path, before: str = "", after: str = "", **variables: str
) -> subprocess.CompletedProcess[str]:
    """The program called by a shell, with what stands before the call and behind it; the words are $1, $2 …"""
    script = f'{before} "$PYTHON" -m circuitcheck "$@" {after}'
    environment = {**os.environ, "PYTHON": sys.executable, "PYTHONIOENCODING": "utf-8", **variables}
    return subprocess.run(
        ["bash", "-c", script, "bash", *words],
        capture_output=True, text=True, cwd=folder, env=environment, timeout=60, check=False,
    )  # fmt: skip


def harmless(text: str) -> None:
    """No letter that a terminal obeys or hides: no control, no mark of direction, no end of a line but the one."""
    kinds = ("Cc", "Cf", "Cs", "Zl", "Zp")  # Unicode Standard, table 4-4
    found = {letter for letter in set(text) if unicodedata.category(letter) in kinds and letter != "\n"}
    assert not found
    assert "Traceback" not in text


def drawn(path: Path) -> list[str]:
    """The texts of an SVG picture, which holds nothing but shapes and texts."""
    root = etree.parse(str(path), etree.XMLParser(resolve_entities=False)).getroot()
    shapes = {"svg", "g", "title", "desc", "rect", "text", "line", "polyline", "path", "circle", "polygon"}
    for element in root.iter():
        assert isinstance(element.tag, str)
        assert element.tag.removeprefix("{http://www.w3.org/2000/svg}") in shapes
        assert not [name for name in element.attrib if name.startswith("on") or "href" in name]
    return [element.text or "" for element in root.iter()]
