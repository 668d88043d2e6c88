"""Every line that carries meaning stands out from what is behind it by 3:1: WCAG 2.2, 1.4.11 "Non-text Contrast".

The formula is that of WCAG 2.2, "relative luminance" and "contrast ratio". Grids are decoration, and so are not held.
"""

from __future__ import annotations

import re
from itertools import product
from pathlib import Path
from xml.etree import ElementTree

import pytest

import circuitcheck
from circuitcheck.language.load import load_file
from circuitcheck.report.exchange.graph_picture import graph_svg
from circuitcheck.report.exchange.svg import BLUE, GREY, GRID
from circuitcheck.report.sheet import FILLS, layer_picture
from circuitcheck.runs_on_drawings import plans_of
from circuitcheck.scenes import scene_of

ROOT = Path(__file__).resolve().parents[2]
CIRCUITS = sorted((ROOT / "circuits").glob("*.circuit"))
STYLE = (Path(circuitcheck.__file__).parent / "report" / "page" / "page.css").read_text(encoding="utf-8")


def luminance(colour: str) -> float:
    digits = colour.removeprefix("#")
    digits = "".join(2 * each for each in digits) if len(digits) == 3 else digits
    shares = (int(digits[at : at + 2], 16) / 255 for at in (0, 2, 4))
    red, green, blue = (each / 12.92 if each <= 0.04045 else ((each + 0.055) / 1.055) ** 2.4 for each in shares)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    dark, bright = sorted((luminance(one), luminance(other)))
    return (bright + 0.05) / (dark + 0.05)


def test_the_formula_gives_what_is_known_of_it() -> None:
    """WCAG 2.2: from 1:1 to 21:1; #767676 on white is the lightest grey above 4.5:1, a value from memory."""
    assert contrast("#000", "#fff") == pytest.approx(21)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)


@pytest.mark.parametrize("path", CIRCUITS, ids=[path.stem for path in CIRCUITS])
def test_the_lines_of_a_signal_graph_stand_out_from_its_sheet(path: Path) -> None:
    for study in load_file(str(path)).studies[:1]:
        strokes = {each.get("stroke") for each in ElementTree.fromstring(graph_svg(study.circuit)).iter()}
        assert all(contrast(stroke, "#ffffff") >= 3 for stroke in strokes if stroke)


@pytest.mark.parametrize("fill", sorted(set(FILLS.values())))
def test_held_strokes_and_bars_of_levels_stand_out_from_every_ground(fill: str) -> None:
    assert contrast(GREY, fill) >= 3
    assert contrast(BLUE, fill) >= 3


def test_all_that_is_drawn_on_a_layer_but_its_grid_stands_out() -> None:
    scene = scene_of(plans_of(load_file(str(ROOT / "circuits" / "sluice.circuit")).studies, [])[0])
    seen = set()
    for layer in range(1, scene.drawing.size[0] + 1):
        for group in layer_picture(scene.drawing, layer, scene.powered).findall("g"):
            fill = group[0].get("fill", "")
            seen |= {(each.get("stroke"), fill) for each in group if each.get("stroke") not in (None, GRID)}
    assert seen
    assert all(contrast(str(stroke), fill) >= 3 for stroke, fill in seen)


def test_the_colours_of_the_page_stand_out_light_and_dark() -> None:
    schemes = [dict(re.findall(r"--(\w+): (#\w+)", each)) for each in re.findall(r"\{ (--paper[^}]*)", STYLE)]
    assert len(schemes) == 2
    names = ("ink", "faint", "blue", "vermilion", "green", "orange")
    for scheme, name, ground in product(schemes, names, ("paper", "inset")):
        least = 4.5 if name in ("ink", "faint") else 3
        assert contrast(scheme[name], scheme[ground]) >= least, (name, ground)
