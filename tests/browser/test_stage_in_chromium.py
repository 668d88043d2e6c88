"""A stage of the page of `report` in a browser: playing, all pictures together, building step by step, predicting.

Levels are held against the simulation, which knows nothing of pages. That nothing changes over three times a second
is S1, from WCAG 2.2, 2.3.1. The rest is common practice, no source.
"""

from __future__ import annotations

import itertools
import json
import time
from pathlib import Path

import pytest

pytest.importorskip("selenium", reason="selenium is not installed")

from report.cut_channel import cut_channel
from selenium.webdriver import ActionChains, Chrome
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.support.ui import Select

from circuitcheck import loads

from .chromium import barriers, complaints, made, visit
from .mill_page import MILL, NAMED, as_simulated, at_place, every, focus, moments, one

# Playing


def watched(driver: Chrome) -> None:
    """Has every change of the status noted with its time."""
    driver.execute_script(
        "window.seen = []; new MutationObserver(function () { window.seen.push(performance.now()); })"
        ".observe(document.querySelector('.status'), {childList: true});"
    )


def played(driver: Chrome, least: int) -> list[float]:
    """The times of changes, once there are so many."""
    end = time.monotonic() + 30
    while len(seen := driver.execute_script("return window.seen")) < least:
        assert time.monotonic() < end, "it does not play"
        time.sleep(0.05)
    return [float(each) for each in seen]


def test_playing_shows_every_moment_once_and_stops_at_the_last(page: Chrome) -> None:
    """S1, from WCAG 2.2, 2.3.1 "Three Flashes": never more than three changes a second, as fast as one may ask."""
    Select(one(page, ".speed")).select_by_index(4)
    watched(page)
    play = focus(page, ".play")
    ActionChains(page).send_keys(Keys.ENTER).perform()
    assert play.text == "Pause"
    seen = played(page, 7)
    assert all(later - earlier > 1000 / 3 for earlier, later in itertools.pairwise(seen))
    assert moments(page).first_selected_option == moments(page).options[-1]
    assert play.text == "Play"
    as_simulated(page, "1t", "12t", moments(page).first_selected_option.text.partition(":")[0])
    play.click()
    played(page, 8)
    ActionChains(page).send_keys(Keys.ENTER).perform()
    assert moments(page).first_selected_option.text == "1t: pond on"  # again from where something happens
    assert play.text == "Play"


def test_no_speed_is_faster_than_three_a_second_and_the_caution_stands_beside_it(page: Chrome) -> None:
    waits = [int(str(each.get_attribute("value"))) for each in Select(one(page, ".speed")).options]
    assert min(waits) > 1000 / 3
    assert "Caution" in one(page, ".controls > .screen-only").text


@pytest.mark.parametrize("motion", ["reduce", "no-preference"])
def test_nothing_plays_by_itself(browser: Chrome, mill: Path, motion: str) -> None:
    features = [{"name": "prefers-reduced-motion", "value": motion}]
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": features})
    visit(browser, mill)
    watched(browser)
    time.sleep(0.5)
    assert browser.execute_script("return window.seen") == []
    assert browser.execute_script("return document.getAnimations().length") == 0
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": []})


def test_a_step_by_hand_ends_playing_and_first_and_last_lead_to_the_ends(page: Chrome) -> None:
    one(page, ".play").click()
    one(page, ".last").click()
    assert one(page, ".play").text == "Play"
    assert moments(page).first_selected_option == moments(page).options[-1]
    assert one(page, ".last").get_attribute("aria-disabled") == "true"
    one(page, ".first").click()
    as_simulated(page, "1t", "12t", "0t")


# All pictures of a run together


def graph_level(driver: Chrome, part: str) -> str:
    return str(one(driver, f'[data-part="{part}"] .level').get_attribute("textContent"))


def cursor(driver: Chrome) -> float:
    """How far along the picture of the run the cursor stands."""
    moved = one(driver, ".run:not(.waits) .cursor").get_attribute("transform") or ""
    return float(moved.removeprefix("translate(").removesuffix(")"))


def slide(driver: Chrome, to: int) -> None:
    """Goes along the slider by its keys, from its beginning; held keys change no faster than playing does."""
    one(driver, ".time").send_keys(Keys.HOME, *[Keys.ARROW_RIGHT] * to)


def test_one_step_moves_layers_run_and_graph_together(page: Chrome) -> None:
    """Rules R2, T2, O2, as the simulation has them."""
    before = cursor(page)
    for when, shown in {"1t": ("15", "", "15"), "3t": ("15", "15", "15"), "4t": ("15", "15", "")}.items():
        one(page, ".later").click()
        as_simulated(page, "1t", "12t", when)
        assert tuple(graph_level(page, part) for part in ("pond", "winch", "gate")) == shown
        assert cursor(page) > before
        before = cursor(page)
    changed = [each.get_attribute("data-part") for each in every(page, ".graph .changed")]
    assert "gate" in changed
    assert "winch" not in changed
    assert [each.get_attribute("data-from") for each in every(page, ".graph .live")].count("gate") == 0
    rows = {row.find_element(By.TAG_NAME, "th").get_attribute("textContent"): row for row in every(page, "tbody tr")}
    assert rows["winch"].find_elements(By.TAG_NAME, "td")[-1].get_attribute("textContent") == "15"


def test_the_slider_goes_through_every_gt_and_a_quiet_one_changes_nothing(page: Chrome) -> None:
    slide(page, 5)
    as_simulated(page, "1t", "12t", "5gt")
    assert one(page, ".time").get_attribute("aria-valuetext") == "5gt"
    assert one(page, ".status").text.startswith("Shown at 5gt of")
    assert moments(page).first_selected_option.text == "1t: pond on"
    assert not every(page, ".changed")
    at_five = cursor(page)
    one(page, ".earlier").click()
    assert moments(page).first_selected_option.text == "1t: pond on"
    assert cursor(page) < at_five


def solids_seen(driver: Chrome) -> dict[str, str]:
    """What the view that is shown says of places that may change, each with what is there."""
    shown = (
        "const every = Array.from(document.querySelectorAll('[data-view=\"south-east\"] use[data-place]'));"
        "return every.filter(function (each) {"
        "  return getComputedStyle(each).display !== 'none' && each.querySelector('title');"
        "}).map(function (each) {"
        "  return [each.getAttribute('data-place'), each.querySelector('title').textContent];"
        "});"
    )
    return {str(at): str(words).partition(":")[0] for at, words in driver.execute_script(shown)}


def test_what_moves_stands_in_three_dimensions_where_it_is_at_the_moment(browser: Chrome, tmp_path: Path) -> None:
    """Common practice, M1, M3, Z7: the block is one place further once it has landed; the head takes the water."""
    visit(browser, made(tmp_path, cut_channel()))
    start = solids_seen(browser)
    assert "block" in start["3,2,6"]
    assert "water" in start["2,2,3"]
    assert "3,2,7" not in start
    moments(browser).select_by_index(len(moments(browser).options) - 1)
    end = solids_seen(browser)
    assert "head" in end["3,2,6"]
    assert "block" in end["3,2,7"]
    assert "head" in end["2,2,3"]
    assert complaints(browser) == []


def test_what_has_power_says_its_level_in_three_dimensions(page: Chrome) -> None:
    one(page, ".later").click()
    numbers = every(page, '[data-view="south-east"] .numbers text')
    run = loads(MILL).start()
    run.set("pond", True)
    run.run(gt=1)
    named = [run.level(name) for name in NAMED.values()]
    shown = sorted(int(each.text) for each in numbers)
    assert shown == sorted(level for level in named if level)
    assert len(every(page, '[data-view="south-east"] .lit')) == len(numbers)
    one(page, '.ways input[value="north-west"]').click()
    turned = every(page, '[data-view="north-west"] .numbers text')
    assert sorted(int(each.text) for each in turned) == shown


def test_another_run_shows_its_own_picture_over_time(page: Chrome) -> None:
    Select(one(page, "#scene-0-run")).select_by_index(1)
    assert [each.get_attribute("data-run") for each in every(page, ".run") if each.is_displayed()] == ["1"]


# Building step by step


def test_building_goes_through_the_layers_with_the_same_row_of_controls(page: Chrome) -> None:
    one(page, 'input[value="build"]').click()
    assert [each.get_attribute("data-layer") for each in every(page, ".sheet") if each.is_displayed()] == ["1"]
    assert not one(page, ".graph").is_displayed()
    assert not any(at.startswith("2,") for at in solids_seen(page))
    assert one(page, ".earlier").get_attribute("aria-disabled") == "true"
    one(page, ".later").click()
    assert [each.get_attribute("data-layer") for each in every(page, ".sheet") if each.is_displayed()] == ["2"]
    assert "step 2 of 2" in one(page, ".status").text
    assert any(at.startswith("2,") for at in solids_seen(page))
    lit = {at: at_place(page, at)[0] for at in ("2,1,1", "2,1,8", "2,1,10")}
    assert lit == {"2,1,1": "", "2,1,8": "15", "2,1,10": "15"}  # T1: gate, and the lamp
    one(page, 'input[value="run"]').click()
    assert len([each for each in every(page, ".sheet") if each.is_displayed()]) == 2
    as_simulated(page, "1t", "12t", "0t")
    assert barriers(page) == []


# Predicting


def guess(driver: Chrome, way: str) -> None:
    one(driver, f'.guess[data-way="{way}"]').click()


def said(driver: Chrome) -> list[list[str]]:
    """The rows of what has been said: the time, the signal, and whether it was so."""
    rows = [
        [cell.text for cell in row.find_elements(By.CSS_SELECTOR, "th, td")] for row in every(driver, ".said tbody tr")
    ]
    return [[row[0], row[1], row[-1]] for row in rows]


def test_before_each_event_somebody_is_asked_and_what_was_said_is_compared(page: Chrome) -> None:
    """Rules R2, T2: the repeater comes on at 3t and the torch goes off at 4t; the lever is worked by hand at 1t."""
    one(page, ".ask").click()
    one(page, ".later").click()
    assert not one(page, ".question").is_displayed()
    assert moments(page).first_selected_option.text == "1t: pond on"
    assert moments(page).options[2].text == "3t"
    one(page, ".later").click()
    assert one(page, ".question").is_displayed()
    assert one(page, ".question p").text == "At 3t, what will happen to winch? Its level is 0 now."
    assert moments(page).first_selected_option.text == "1t: pond on"
    guess(page, "up")
    assert moments(page).first_selected_option.text == "3t: winch on"
    as_simulated(page, "1t", "12t", "3t")
    one(page, ".later").click()
    guess(page, "up")
    assert said(page) == [["3t", "winch", "as you said"], ["4t", "gate", "otherwise"]]
    assert one(page, ".score").text == "1 of 2 as you said"
    assert page.switch_to.active_element == one(page, ".later")
    one(page, ".earlier").click()
    one(page, ".later").click()
    assert not one(page, ".question").is_displayed()  # it has been answered
    assert barriers(page) == []


def test_playing_waits_for_an_answer_and_the_time_to_come_is_covered(page: Chrome) -> None:
    assert not one(page, ".run:not(.waits) .to-come").is_displayed()
    one(page, ".ask").click()
    cover = one(page, ".run:not(.waits) .to-come")
    assert cover.is_displayed()
    picture = one(page, ".run:not(.waits) .picture svg").rect
    assert cover.rect["x"] + cover.rect["width"] >= picture["x"] + picture["width"] - 20
    Select(one(page, ".speed")).select_by_index(4)
    one(page, ".play").click()
    end = time.monotonic() + 20
    while not one(page, ".question").is_displayed():
        assert time.monotonic() < end
        time.sleep(0.05)
    assert one(page, ".play").text == "Play"
    time.sleep(0.5)
    assert moments(page).first_selected_option.text == "1t: pond on"


def test_a_hostile_name_in_a_question_is_text(browser: Chrome, tmp_path: Path) -> None:
    """No name in the language can hold markup, so a page is made whose data do."""
    made_page = made(tmp_path, MILL)
    name = json.dumps("<img src=x onerror=window.struck=1>").replace("<", "\\u003c").replace(">", "\\u003e")
    text = made_page.read_text(encoding="utf-8")
    made_page.write_text(text.replace('"questions":[[6,"winch",', f'"questions":[[6,{name},'), encoding="utf-8")
    visit(browser, made_page)
    one(browser, ".ask").click()
    one(browser, ".later").click()
    one(browser, ".later").click()
    assert one(browser, ".who").text.startswith("<img")
    guess(browser, "same")
    assert said(browser)[0][1].startswith("<img")
    assert browser.execute_script("return window.struck") is None
    assert browser.execute_script("return document.images.length") == 0
    assert complaints(browser) == []
