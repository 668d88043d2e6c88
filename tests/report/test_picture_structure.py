"""One picture of each kind on a page, by its structure: which elements, called what, standing where.

No source: the pictures are ours. Places follow from what is drawn: 8 for each gt of a run, 30 for a place of a layer,
180 from column to column of a graph, and for the build the projection that `tests/plans/test_solid_picture.py` tests.
"""

from __future__ import annotations

from functools import cache
from typing import Any

from .test_page import DRAWN, shown, texts, tree

LOCKED = """language 1
lever rope
repeater catch from rope delay 2t
lever hold
repeater hook from hold
repeater gate from catch locked by hook
torch calm from gate
check "it is pulled"
  at 5t rope on
  until 10t
end
"""


@cache
def page_of(text: str) -> Any:
    return tree(shown(text))


def picture(text: str, way: str) -> Any:
    """The first picture that is no overlay."""
    return page_of(text).xpath(f"{way}//*[local-name()='svg'][@role]")[0]


def places(elements: list[Any], *names: str) -> list[tuple[float, ...]]:
    return [tuple(float(each.get(name)) for name in names) for each in elements]


def test_a_run_over_time_has_a_line_for_each_signal_that_steps_where_it_changes() -> None:
    """R2, T2: the lever in 10, 4 gt later the first repeater, 2 gt later the second, 2 gt later the torch."""
    drawn = picture(LOCKED, "//figure[@class='run']")
    names = ["rope", "hold", "catch", "hook", "gate", "calm"]
    words = [each for each in drawn.xpath("*[local-name()='text']") if each.text in names]
    assert [each.text for each in words] == names
    assert places(words, "x", "y") == [(16, 49 + 34 * row) for row in range(6)]
    left, end = 69.5, 69.5 + 8 * 21
    steps = {"rope": 10, "catch": 14, "gate": 16, "calm": 18}
    for row, (name, line) in enumerate(zip(names, drawn.xpath("*[local-name()='polyline']"), strict=True)):
        off, on = 54 + 34 * row, 32 + 34 * row
        before, after = (on, off) if name == "calm" else (off, on)
        wanted = [(left, before), (end, before)]
        if name in steps:
            x = left + 8 * steps[name]
            wanted = [(left, before), (x, before), (x, after), (end, after)]
        assert line.get("points") == " ".join(f"{a:g},{b:g}" for a, b in wanted), name
    assert [each.get("transform") for each in drawn.xpath("*[@class='cursor']")] == ["translate(69.5)"]


def test_a_signal_graph_has_a_box_for_each_part_in_columns_and_an_end_for_each_line() -> None:
    drawn = picture(LOCKED, "//figure[@class='graph']")
    boxes = {each.get("data-part"): each for each in drawn.xpath(".//*[@data-part]")}
    corners = {name: places([each[0]], "x", "y")[0] for name, each in boxes.items()}
    assert corners == {
        "rope": (16, 32),
        "hold": (16, 84),
        "catch": (196, 32),
        "hook": (196, 84),
        "gate": (376, 32),
        "calm": (556, 32),
    }
    assert {name: texts(each, "title") for name, each in boxes.items()}["catch"] == ["catch, repeater, 2t"]
    assert [each.get("data-from") for each in drawn.xpath("*[@data-from]")] == ["rope", "catch", "hold", "hook", "gate"]
    assert len(drawn.xpath("*[local-name()='polygon']")) == 3
    (lock,) = drawn.xpath("*[@class='locks']")
    (inversion,) = drawn.xpath("*[@class='inverts']")
    assert places([lock[1]], "cx", "cy") == [(372, 46)]  # at the left of the box of the gate
    assert places([inversion[1]], "cx", "cy") == [(552, 49)]  # and of the torch


def test_a_layer_has_a_letter_at_each_place_with_its_title_and_level() -> None:
    drawn = picture(DRAWN, "//figure[@data-layer='2']")
    groups = drawn.xpath("*[@data-at]")
    assert [each.get("data-at") for each in groups] == [f"2,1,{column}" for column in range(1, 8)]
    letters = [each.xpath("*[@class='letter']")[0] for each in groups]
    assert "".join(each.text for each in letters) == "a->-S/O"
    assert places(letters, "x", "y") == [(57 + 30 * column, 62) for column in range(7)]
    assert [texts(each, "title")[0].rpartition(": level ")[2] for each in groups] == ["0"] * 5 + ["15"] * 2
    assert [each.xpath("*[@class='level']")[0].text or "" for each in groups] == [""] * 5 + ["15"] * 2
    assert texts(groups[2], "title")[0].startswith("layer 2, row 1, column 3: repeater, facing east, delay 2t, winch")
    assert len(drawn.xpath(".//*[local-name()='polygon']")) == 1  # the repeater points; a torch is held by a stroke
    assert len(drawn.xpath(".//*[local-name()='line']")) == 1


def test_the_build_stands_in_the_order_of_painting_with_a_title_for_each_part() -> None:
    """From the south-east columns grow to the right on the sheet, and layers upward: sqrt(3)/2 and 1/2 of 24."""
    view = page_of(DRAWN).xpath("//*[@class='view'][@data-view='south-east']")[0]
    shapes = [each for each in view.xpath(".//*[local-name()='use']") if "gone" not in each.get("class", "")]
    x, y = (list(each) for each in zip(*places(shapes, "x", "y"), strict=True))
    floor, above = slice(0, 7), slice(7, 14)
    for part in (floor, above):
        assert all(abs(b - a - 20.8) <= 0.15 for a, b in zip(x[part], x[part][1:], strict=False))
        assert all(abs(b - a - 12) <= 0.15 for a, b in zip(y[part], y[part][1:], strict=False))
    assert [round(a - b, 1) for a, b in zip(y[floor], y[above], strict=True)] == [24] * 7
    titles = [texts(each, "title") for each in shapes[above]]
    assert [bool(each) for each in titles] == [True, True, True, True, False, True, True]
    assert "gate: layer 2, row 1, column 6" in titles[5][0]


def test_each_kind_of_picture_is_made_of_shapes_and_text_only() -> None:
    kinds = {
        f"{each.tag.rpartition('}')[2]}"
        for text in (DRAWN, LOCKED)
        for each in page_of(text).xpath("//*[local-name()='svg']//*")
    }
    assert kinds <= {
        "title",
        "desc",
        "rect",
        "line",
        "text",
        "polyline",
        "path",
        "circle",
        "polygon",
        "g",
        "defs",
        "use",
    }
