"""The one door through which text comes into a page: made safe here, and escaped once, by ElementTree as it is written.

Nothing else makes markup. Scripts and styles are the program's own files, and data for scripts is JSON in which no
letter stands that could end its element.
"""

from __future__ import annotations

import base64
import hashlib
import json
from collections.abc import Iterable, Mapping
from importlib.resources import files
from xml.etree import ElementTree
from xml.etree.ElementTree import Element

from circuitcheck.report.lines import Line, plain, safe

Attributes = Mapping[str, str]
SCRIPTS = ("answers", "levels", "solids", "predicting", "stage", "begin")
"""The files of the page's script, each of which uses those before it."""
ENDS = str.maketrans({letter: f"\\u{ord(letter):04x}" for letter in "<>&\u2028\u2029"})
"""Letters that could end a script element, or a line of one."""


def add(parent: Element, tag: str, words: str = "", attributes: Attributes | None = None) -> Element:
    """A new element in another, with text."""
    named = {name: safe(value) for name, value in (attributes or {}).items()}
    element = ElementTree.SubElement(parent, tag, named)
    if words:
        element.text = safe(words)
    return element


def behind(element: Element, words: str) -> None:
    """Text right behind an element."""
    element.tail = safe(words)


def name_of(parent: Element, words: str) -> Element:
    """A name or title of an author; letters that run from right to left turn nothing around it."""
    return add(parent, "bdi", words)


def preformatted(parent: Element, lines: Iterable[Line], attributes: Attributes | None = None) -> Element:
    """Lines as they stand in a terminal."""
    element = add(parent, "pre", attributes={"tabindex": "0", **(attributes or {})})
    # A newline right behind the tag is dropped by whoever reads it, so a first empty line would be lost.
    element.text = "\n".join(safe(row.rstrip()) for row in plain(lines).strip("\n").split("\n"))
    return element


def picture(parent: Element, svg: str | Element, about: str) -> Element:
    """A picture that can be scrolled if it is wider than the page."""
    frame = add(parent, "div", attributes={"class": "picture", "tabindex": "0", "role": "group", "aria-label": about})
    root = ElementTree.fromstring(svg) if isinstance(svg, str) else svg
    for element in root.iter():
        element.tag = element.tag.rpartition("}")[2]
        element.tail = None
        if len(element) and not (element.text or "").strip():
            element.text = None
    frame.append(root)
    return frame


def data(parent: Element, known: object, number: int) -> None:
    """Data for the page's script."""
    text = json.dumps(known, separators=(",", ":")).translate(ENDS)
    ElementTree.SubElement(parent, "script", {"type": "application/json", "id": f"levels-{number}"}).text = text


def shipped(name: str) -> str:
    """A style or script that comes with the program."""
    text = files("circuitcheck.report.page").joinpath(name).read_text(encoding="utf-8")
    assert not any(end in text for end in ("</", "<!--")), f"{name} would end its element"
    return text.replace("\r\n", "\n")


def scripts() -> str:
    """The page's script: its files one after the other, in a scope of their own."""
    files_ = "".join(shipped(f"{name}.js") for name in SCRIPTS)
    return f'"use strict";\n(function () {{\n{files_}}})();\n'


def head(root: Element, title: str, script: str) -> None:
    """The head of a page: it may load nothing, and run this one script."""
    element = add(root, "head")
    add(element, "meta", attributes={"charset": "utf-8"})
    allowed = base64.b64encode(hashlib.sha256(script.encode("utf-8")).digest()).decode("ascii")
    policy = f"default-src 'none'; style-src 'unsafe-inline'; script-src 'sha256-{allowed}'; base-uri 'none'"
    add(
        element,
        "meta",
        attributes={"http-equiv": "Content-Security-Policy", "content": f"{policy}; form-action 'none'"},
    )
    add(element, "meta", attributes={"name": "viewport", "content": "width=device-width, initial-scale=1"})
    add(element, "title", title)
    ElementTree.SubElement(element, "style").text = shipped("page.css")


def written(root: Element) -> str:
    """The page as text."""
    return f"<!DOCTYPE html>\n{ElementTree.tostring(root, encoding='unicode', method='html')}\n"
