"""The build in three dimensions on the page of `report`: five views, of which the page's style shows one.

No source: what a page needs is held by `test_page.py`, and what a view shows by `tests/plans/test_solid_picture.py`.
"""

from __future__ import annotations

import re
from xml.etree.ElementTree import Element, tostring

import pytest

from circuitcheck.language.load import load_file
from circuitcheck.report.page import build_views
from circuitcheck.report.page.first_sections import Covers
from circuitcheck.runs_on_drawings import plans_of
from circuitcheck.scenes import scene_of

from .test_page import DRAWN, ROOT, shown, texts, tree

VIEWS = ["south-east", "south-west", "north-west", "north-east", "layers apart"]


def test_each_view_has_a_button_and_the_first_is_chosen() -> None:
    read = tree(shown(DRAWN))
    assert read.xpath("//figure[@class='build']//input[@type='radio']/@value") == VIEWS
    assert read.xpath("//fieldset//input[@checked][starts-with(@name, 'view')]/@value") == VIEWS[:1]
    assert read.xpath("//*[@class='view']/@data-view") == VIEWS
    assert len(set(read.xpath("//fieldset//input[starts-with(@name, 'view')]/@name"))) == 1


def test_the_view_of_each_button_is_named_in_the_style() -> None:
    style = (ROOT / "circuitcheck" / "report" / "page" / "page.css").read_text(encoding="utf-8")
    assert re.findall(r'\[value="([^"]*)"\]:checked\) \[data-view="\1"\]', style) == VIEWS


def test_the_views_stand_before_the_layers_of_their_drawing() -> None:
    captions = texts(tree(shown(DRAWN)), "//section[@id='sheets']//figcaption")
    assert ["three dimensions" in each for each in captions] == [False, True, False, False, False]


def test_every_view_shows_all_that_is_seen_each_with_its_own_shape() -> None:
    read = tree(shown(DRAWN))
    ids = read.xpath("//*[@id]/@id")
    assert len(ids) == len(set(ids))
    for view in read.xpath("//*[@class='view']"):
        shapes = {f"#{each}" for each in view.xpath(".//defs/*/@id")}
        used = view.xpath(".//use/@href")
        assert set(used) <= shapes
        now = [each for each in view.xpath(".//use") if "gone" not in each.get("class", "")]
        assert len(now) == 14  # seven blocks below seven things; what is seen while it is built only is gone


def test_parts_say_what_they_are_and_where() -> None:
    (view, *_) = tree(shown(DRAWN)).xpath("//*[@class='view']")
    titles = [each.text for each in view.xpath(".//use/title")]
    assert len(titles) == 6  # all of layer 2 but its block, which is plain and has no name
    assert any("winch" in each and "layer 2, row 1, column 3" in each for each in titles)


def test_a_build_that_is_too_large_says_how_it_is_drawn(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(build_views, "MOST_SOLIDS", 12)
    read = tree(shown(DRAWN))
    assert not read.xpath("//*[@class='view']")
    assert any("sheets --solid" in each for each in texts(read, "//figure[@class='build']//p"))


def test_two_drawings_of_a_file_turn_each_by_itself() -> None:
    read = tree(shown((ROOT / "circuits" / "gates.circuit").read_text(encoding="utf-8")))
    figures = read.xpath("//figure[@class='build']")
    assert len(figures) > 1
    assert len(set(read.xpath("//fieldset//input[starts-with(@name, 'view')]/@name"))) == len(figures)


def test_the_views_of_a_sensor_machine_leave_room_on_its_page() -> None:
    studies = load_file(str(ROOT / "circuits" / "lampkeeper.circuit")).studies
    parent = Element("div")
    build_views.build_views(parent, scene_of(plans_of(studies, [])[0]), 0, " at the start", Covers())
    assert len(parent.findall(".//figure/div/div")) == 5
    assert len(tostring(parent)) < 600_000  # what is seen after each of eight steps of building is in it
