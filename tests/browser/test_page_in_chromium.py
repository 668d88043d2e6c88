"""The page of `report` as it behaves in a browser: moments, covering, keyboard, paper, narrow windows, hostile text.

Buttons behave as the WAI-ARIA Authoring Practices say of toggle buttons (`aria-pressed`) and disclosures
(`aria-expanded`); that a window 320 CSS pixels wide needs no scrolling to the side is WCAG 2.2, 1.4.10 "Reflow". Levels
are held against the simulation, which knows nothing of pages (rules P2, T1, T2, R2, O2, W4, W8). The rest is common
practice, no source.
"""

from __future__ import annotations

import base64
from pathlib import Path

import pytest

pytest.importorskip("selenium", reason="selenium is not installed")

from report.cut_channel import cut_channel
from selenium.common.exceptions import NoAlertPresentException
from selenium.webdriver import ActionChains, Chrome
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.support.ui import Select

from .chromium import barriers, complaints, made, seen_as, visit
from .mill_page import HOSTILE, MILL, as_simulated, at_place, every, focus, moments, one

# Moments


def test_choosing_a_moment_shows_the_levels_of_that_moment(page: Chrome) -> None:
    choices = [option.text for option in moments(page).options]
    assert len(choices) == 8  # the start; lever, repeater, torch and lamp; and back, the lamp with the torch (O2)
    for choice in choices[1:]:
        moments(page).select_by_visible_text(choice)
        when = choice.partition(":")[0]
        as_simulated(page, "1t", "12t", when)
        assert f"at {when} of" in one(page, ".sheet figcaption").text
    moments(page).select_by_index(0)
    as_simulated(page, "1t", "12t", "0t")


def test_choosing_another_check_shows_its_own_moments(page: Chrome) -> None:
    Select(one(page, "#scene-0-run")).select_by_visible_text("it is shut at once")
    assert [option.text for option in moments(page).options][:2] == ["the start", "3t: pond on"]
    as_simulated(page, "3t", "999t", "0t")
    moments(page).select_by_visible_text("3t: pond on")
    as_simulated(page, "3t", "999t", "3t")
    assert "of “it is shut at once”" in one(page, ".status").text


def test_the_account_of_the_moment_says_why_and_what_changed_is_framed(page: Chrome) -> None:
    moments(page).select_by_visible_text("4t: gate off")
    (told,) = (each.text for each in every(page, ".happens .told") if each.is_displayed())
    assert told.startswith("gate off: its block is powered")
    assert "(T1)" in told
    framed = {each.get_attribute("data-at") for each in every(page, ".changed")}
    assert {"2,1,8", "2,1,9"} <= framed
    assert "2,1,5" not in framed


def test_earlier_and_later_step_through_the_moments(page: Chrome) -> None:
    earlier, later = one(page, ".earlier"), one(page, ".later")
    assert earlier.get_attribute("aria-disabled") == "true"
    earlier.click()
    as_simulated(page, "1t", "12t", "0t")
    later.click()
    later.click()
    as_simulated(page, "1t", "12t", "3t")
    earlier.click()
    as_simulated(page, "1t", "12t", "1t")
    assert earlier.get_attribute("aria-disabled") == "false"
    moments(page).select_by_index(7)
    assert later.get_attribute("aria-disabled") == "true"


def test_who_steps_to_the_last_moment_by_keyboard_keeps_his_place(page: Chrome) -> None:
    """WAI-ARIA 1.2, aria-disabled: such an element can still be focused, unlike one that is disabled in HTML."""
    button = focus(page, ".later")
    for _ in range(12):
        ActionChains(page).send_keys(Keys.ENTER).perform()
    assert page.switch_to.active_element == button
    assert moments(page).first_selected_option == moments(page).options[-1]


def test_the_list_of_moments_works_by_keyboard_alone(page: Chrome) -> None:
    focus(page, "select[size]")
    ActionChains(page).send_keys(Keys.ARROW_DOWN, Keys.ARROW_DOWN).perform()
    chosen = moments(page).first_selected_option.text
    assert chosen == "3t: winch on"
    as_simulated(page, "1t", "12t", "3t")


# Covering and revealing


def covered(driver: Chrome) -> dict[str, bool]:
    """For each answer, by what its button is called, whether it is covered; of a sheet, whether its levels are."""
    found = {}
    run_shown = one(driver, ".run:not(.waits)").get_attribute("data-run")
    for button in every(driver, ".reveal button"):
        answer = one(driver, f"#{button.get_attribute('aria-controls')}")
        name = str(button.get_attribute("textContent"))
        if name.startswith("Levels of layer"):
            numbers = {str(each.get_attribute("textContent")) for each in answer.find_elements(By.CLASS_NAME, "level")}
            words = [
                str(each.get_attribute("textContent")) for each in answer.find_elements(By.CSS_SELECTOR, "g > title")
            ]
            found[name] = numbers == {"?"} and not any("level" in each.partition(": ")[2] for each in words)
            heights = {each.get_attribute("height") for each in answer.find_elements(By.CLASS_NAME, "bar")}
            assert found[name] is (heights == {"0"})
        elif name.endswith("three dimensions"):
            found[name] = not answer.find_elements(By.CSS_SELECTOR, ".numbers text")
        elif name.startswith("Levels"):
            marked = answer.find_elements(By.CSS_SELECTOR, "[data-part] .level, td[data-of]")
            found[name] = {str(each.get_attribute("textContent")) for each in marked} == {"?"}
        elif name.startswith("Run") and answer.find_element(By.XPATH, "..").get_attribute("data-run") != run_shown:
            found[name] = answer.get_attribute("hidden") is not None
        else:
            found[name] = not answer.is_displayed()
        assert button.get_attribute("aria-expanded") == ("false" if found[name] else "true")
    return found


ANSWERS = (
    "Explanation",
    "Finding 1",
    "Finding 2",
    "What happens at this moment",
    "Run 1 over time",
    "Run 2 over time",
    "Levels of the build in three dimensions",
    "Levels of layer 1",
    "Levels of layer 2",
    "Levels of the signal graph",
)


def test_the_switch_covers_all_answers_and_reveals_them(page: Chrome) -> None:
    moments(page).select_by_visible_text("4t: gate off")
    switches = every(page, ".cover")
    assert covered(page) == dict.fromkeys(ANSWERS, False)
    assert not any(button.is_displayed() for button in every(page, ".reveal button"))
    switches[0].click()
    assert [each.get_attribute("aria-pressed") for each in switches] == ["true", "true"]
    assert covered(page) == dict.fromkeys(ANSWERS, True)
    switches[1].click()
    assert [each.get_attribute("aria-pressed") for each in switches] == ["false", "false"]
    assert covered(page) == dict.fromkeys(ANSWERS, False)
    as_simulated(page, "1t", "12t", "4t")


@pytest.mark.parametrize("name", ANSWERS)
def test_each_answer_is_revealed_by_its_own_button(page: Chrome, name: str) -> None:
    if name == "Run 2 over time":
        Select(one(page, "#scene-0-run")).select_by_index(1)
    moments(page).select_by_index(1)
    one(page, ".cover").click()
    (button,) = (each for each in every(page, ".reveal button") if each.text.endswith(name))
    button.click()
    assert covered(page) == {each: each != name for each in ANSWERS}
    button.click()
    assert covered(page) == dict.fromkeys(ANSWERS, True)


def test_what_is_covered_is_revealed_by_keyboard_alone(page: Chrome) -> None:
    focus(page, ".cover")
    ActionChains(page).send_keys(Keys.SPACE).perform()
    assert covered(page) == dict.fromkeys(ANSWERS, True)
    focus(page, ".reveal button")
    ActionChains(page).send_keys(Keys.ENTER).perform()
    assert covered(page) == {**dict.fromkeys(ANSWERS, True), "Explanation": False}


def test_while_answers_are_covered_the_list_says_only_what_hands_do(page: Chrome) -> None:
    one(page, ".cover").click()
    choices = [option.text for option in moments(page).options]
    assert choices[:4] == ["the start", "1t: pond on", "3t", "4t"]


def test_another_moment_is_covered_again(page: Chrome) -> None:
    one(page, ".cover").click()
    next(each for each in every(page, ".reveal button") if each.text.endswith("layer 2")).click()
    assert not covered(page)["Levels of layer 2"]
    as_far_as_shown = at_place(page, "2,1,8")[0]
    assert as_far_as_shown == "15"
    one(page, ".later").click()
    assert covered(page) == dict.fromkeys(ANSWERS, True)


def test_a_page_can_begin_covered(browser: Chrome, tmp_path: Path) -> None:
    visit(browser, made(tmp_path, MILL, "--covered"))
    assert covered(browser) == dict.fromkeys(ANSWERS, True)
    assert one(browser, ".cover").get_attribute("aria-pressed") == "true"
    assert complaints(browser) == []


# Hostile text


def test_hostile_text_is_shown_and_runs_nothing(browser: Chrome, tmp_path: Path) -> None:
    text = MILL.replace("A lever holds the sluice shut.", HOSTILE).replace("it is shut at once", HOSTILE)
    text = text.replace("  layer 2\n", f'  layer 2 "{HOSTILE}"\n')
    visit(browser, made(tmp_path, text))
    as_text = HOSTILE.replace("\u202e", "\ufffd").replace("\u2066", "\ufffd")
    assert one(browser, "h1").text == as_text
    assert one(browser, "blockquote").text == as_text
    assert browser.title.startswith(as_text)
    Select(one(browser, "#scene-0-run")).select_by_visible_text(as_text)
    assert one(browser, ".status").text == f"Shown at the start of “{as_text}”."
    assert browser.execute_script("return window.struck") is None
    assert browser.execute_script("return document.images.length") == 0
    with pytest.raises(NoAlertPresentException):
        _ = browser.switch_to.alert.text
    assert complaints(browser) == []


def test_a_script_that_came_in_all_the_same_would_not_run(browser: Chrome, tmp_path: Path) -> None:
    made_page = made(tmp_path, MILL)
    text = made_page.read_text(encoding="utf-8")
    made_page.write_text(text.replace("<main>", "<main><script>window.struck = 1</script>"), encoding="utf-8")
    visit(browser, made_page)
    assert browser.execute_script("return window.struck") is None
    assert any("Content Security Policy" in each for each in complaints(browser))


# Where there is no check, ways to start can be chosen

LATCH = """\
legend
  .  air
  S  block
  -  dust
  <  torch   on east
  >  torch   on west
  s  button  on north  short
  r  button  on south  short
end
drawing
  layer 1
    SSS, 5 times
  end
  layer 2
    r..
    S>-
    -.-
    -<S
    ..s
  end
  named gate at layer 2 row 2 column 2
  named gate.inverse at layer 2 row 4 column 2
end
"""


def test_without_a_check_each_way_to_start_can_be_chosen(browser: Chrome, tmp_path: Path) -> None:
    """Rules L1, C6: a latch that nothing sets or resets starts with either side on."""
    visit(browser, made(tmp_path, LATCH))
    choice = Select(one(browser, ".controls .choosing select"))
    assert [each.text for each in choice.options] == [
        "1 of 2: gate off, gate.inverse on",
        "2 of 2: gate on, gate.inverse off",
    ]
    gate, inverse, dust = "2,2,2", "2,4,2", "2,3,3"
    assert [at_place(browser, place)[0] for place in (gate, inverse, dust)] == ["", "15", ""]
    choice.select_by_index(1)
    assert [at_place(browser, place)[0] for place in (gate, inverse, dust)] == ["15", "", "14"]
    assert "start of “2 of 2: gate on, gate.inverse off”" in one(browser, ".status").text
    assert complaints(browser) == []


def test_the_run_of_a_check_can_be_seen_from_each_way_to_start(browser: Chrome, tmp_path: Path) -> None:
    """Rules L1, C6, T1: pressed or not, the side that is on keeps the other off until the button of that other acts."""
    check = 'check "nobody touches it"\n  until 5t\nend\n'
    visit(browser, made(tmp_path, LATCH + check))
    choice = Select(one(browser, ".controls .choosing select"))
    assert [each.text for each in choice.options] == [
        "nobody touches it – 1 of 2: gate off, gate.inverse on",
        "nobody touches it – 2 of 2: gate on, gate.inverse off",
    ]
    choice.select_by_index(1)
    assert at_place(browser, "2,2,2")[0] == "15"
    assert at_place(browser, "2,4,2")[0] == ""
    assert complaints(browser) == []


# Without scripts, on paper, in narrow windows


def test_the_build_is_turned_by_keyboard_alone_and_one_view_is_shown_at_a_time(page: Chrome) -> None:
    def shown() -> list[str | None]:
        return [each.get_attribute("data-view") for each in every(page, ".view") if each.is_displayed()]

    assert shown() == ["south-east"]
    one(page, '.ways input[value="south-east"]').send_keys(Keys.ARROW_RIGHT)
    assert shown() == ["south-west"]
    one(page, '.ways input[value="south-west"]').send_keys(Keys.ARROW_LEFT, Keys.ARROW_LEFT)
    assert shown() == ["layers apart"]
    assert (
        len(every(page, '.view[data-view="layers apart"] use')) > len(every(page, '[data-view="south-east"] use')) / 2
    )


def test_without_scripts_the_start_is_shown(browser: Chrome, mill: Path) -> None:
    browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": True})
    try:
        visit(browser, mill)
        assert not any(each.is_displayed() for each in every(browser, "button, select"))
        as_simulated(browser, "1t", "12t", "0t")
        assert one(browser, ".answer pre").is_displayed()
    finally:
        browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": False})
    assert complaints(browser) == []


def test_on_paper_there_are_no_buttons_and_pictures_fit(page: Chrome) -> None:
    one(page, ".cover").click()
    metrics = {"width": 680, "height": 1000, "deviceScaleFactor": 1, "mobile": False}
    page.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)
    page.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    try:
        assert not any(each.is_displayed() for each in every(page, "button, select"))
        assert not one(page, ".answer pre").is_displayed()
        shown = [each for each in every(page, ".picture svg") if each.is_displayed()]
        assert len(shown) == 4  # the build, two layers and the graph: the two runs are answers, and covered
        assert all(each.rect["width"] <= 680 for each in shown)
        assert all(each.rect["height"] <= 350 for each in shown)  # so that two or three stand on a page
        printed = page.execute_cdp_cmd("Page.printToPDF", {})["data"]
    finally:
        page.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})
        page.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})
    document = base64.b64decode(printed)
    assert document.startswith(b"%PDF-")
    assert len(document) > 20_000


@pytest.mark.parametrize("width", [320, 480, 1000])
def test_a_narrow_window_needs_no_scrolling_to_the_side(page: Chrome, width: int) -> None:
    metrics = {"width": width, "height": 800, "deviceScaleFactor": 1, "mobile": False}
    page.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)
    try:
        for script in ("return document.documentElement.scrollWidth", "return document.body.scrollWidth"):
            assert page.execute_script(script) <= width
        one(page, ".cover").click()
        assert page.execute_script("return document.documentElement.scrollWidth") <= width
    finally:
        page.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})


def as_seen(driver: Chrome, *places: str) -> list[str]:
    """The letters and numbers at some places."""
    shown = (
        "return arguments[0].querySelector('.letter').textContent + arguments[0].querySelector('.level').textContent"
    )
    return [str(driver.execute_script(shown, one(driver, f'[data-at="{place}"]'))) for place in places]


def test_the_layers_show_what_has_moved_and_the_water_of_the_moment(browser: Chrome, tmp_path: Path) -> None:
    """Common practice, M3, Z1, Z7: under way from gt 11, landed in 13; a head takes the water away at its start."""
    visit(browser, made(tmp_path, cut_channel()))
    places = ("3,2,6", "3,2,7", "2,2,3", "2,2,4")
    assert as_seen(browser, *places) == ["B", "", "≈7", "≈6"]
    found = {}
    for option in [each.text for each in moments(browser).options]:
        moments(browser).select_by_visible_text(option)
        found[option.partition(":")[0]] = as_seen(browser, *places)
    assert found["11gt"] == ["(┤)", "(B)", "(┼)", "≈6"]
    assert found["13gt"] == ["┤", "B", "┼", "≈6"]
    assert list(found.values())[-1] == ["┤", "B", "┼", ""]
    moments(browser).select_by_index(0)
    assert as_seen(browser, *places) == ["B", "", "≈7", "≈6"]
    assert complaints(browser) == []


@pytest.mark.parametrize("width", [390, 1280])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_nothing_bars_anyone_from_a_page(browser: Chrome, mill: Path, width: int, scheme: str) -> None:
    """What the Web Content Accessibility Guidelines ask and a program can check: axe-core."""
    visit(browser, mill)
    seen_as(browser, width, scheme)
    # axe-core takes what is folded away to lie over what stands below it.
    browser.execute_script("document.querySelectorAll('details').forEach(function (each) { each.open = true; })")
    assert barriers(browser) == []
    ground = browser.execute_script("return getComputedStyle(document.documentElement).backgroundColor")
    assert (ground == "rgb(255, 255, 255)") is (scheme == "light")


def test_on_a_phone_a_layer_scrolls_by_itself_and_names_stay_while_a_run_scrolls(page: Chrome) -> None:
    seen_as(page, 390, "light")
    layer = one(page, ".sheet .picture")
    assert layer.find_element(By.CSS_SELECTOR, "[data-at] rect").rect["width"] == pytest.approx(36, abs=0.1)
    run = one(page, ".over-time")
    name = run.find_element(By.CSS_SELECTOR, ".names text")
    for frame in (layer, run):
        page.execute_script("arguments[0].scrollLeft = 60", frame)
        assert page.execute_script("return arguments[0].scrollLeft", frame) == 60
    assert page.execute_script("return document.documentElement.scrollWidth") <= 390
    left = "return arguments[0].getBoundingClientRect().left"
    assert page.execute_script(left, name) > page.execute_script(left, run)
    assert name.is_displayed()
