"""What all pictures share: a self-contained SVG that says in words what it shows.

Colours are those of Okabe and Ito (Color Universal Design, 2008), distinguished by all kinds of colour vision; nothing
is said by colour alone. What carries meaning has a contrast of at least 3:1 with what is behind it (WCAG 2.2, 1.4.11);
only grids, which are decoration, have less. ElementTree escapes all text of users.
"""

from __future__ import annotations

from xml.etree import ElementTree

from circuitcheck.report.lines import safe

BLUE, VERMILION, GREY, INK = "#0072B2", "#D55E00", "#707070", "#000000"
GRID = "#bbbbbb"
MARGIN = 16
FONT = "font-family:sans-serif;font-size:12px"


def svg(width: float, height: float, title: str, description: str) -> ElementTree.Element:
    """An empty picture with its title and a description for those who can't see it."""
    root = ElementTree.Element(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "viewBox": f"0 0 {width:g} {height:g}",
            "width": f"{width:g}",
            "height": f"{height:g}",
            "role": "img",
            "style": FONT,
        },
    )
    ElementTree.SubElement(root, "title").text = safe(title)
    ElementTree.SubElement(root, "desc").text = safe(description)
    ElementTree.SubElement(root, "rect", {"width": "100%", "height": "100%", "fill": "#ffffff"})
    return root


def text(root: ElementTree.Element, x: float, y: float, words: str, **more: str) -> None:
    """Writes words at a place, made safe."""
    element = ElementTree.SubElement(root, "text", {"x": f"{x:g}", "y": f"{y:g}", "fill": INK, **more})
    element.text = safe(words)


def written(root: ElementTree.Element) -> str:
    """The picture as text."""
    ElementTree.indent(root)
    return ElementTree.tostring(root, encoding="unicode") + "\n"
