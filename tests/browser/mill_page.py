"""A page about a small mill, and what is seen on it: places, levels, moments, held against the simulation."""

from __future__ import annotations

import pytest

pytest.importorskip("selenium", reason="selenium is not installed")

from selenium.webdriver import ActionChains, Chrome
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.remote.webelement import WebElement
from selenium.webdriver.support.ui import Select

from circuitcheck import loads

NAMED = {
    "2,1,1": "pond",
    "2,1,2": "first",
    "2,1,3": "second",
    "2,1,4": "third",
    "2,1,5": "winch",
    "2,1,6": "wire",
    "2,1,7": "stone",
    "2,1,8": "gate",
    "2,1,9": "glow",
    "2,1,10": "open",
    "1,1,2": "floor",
}
"""A name for each thing that the simulation is asked about, by its place."""
MILL = """language 1
circuit drawn_gate "A lever holds the sluice shut."

legend
  .  air
  S  block
  -  dust
  a  lever     named pond
  >  repeater  facing east  delay 2t  named winch
  /  torch     on west      named gate
  O  lamp      named open
end

drawing
  layer 1
    SSSSSSSSSS
    SSSSSSSSSS
  end
  layer 2
    a--->-S/-O
    ..........
  end
  named first at layer 2 row 1 column 2
  named second at layer 2 row 1 column 3
  named third at layer 2 row 1 column 4
  named wire at layer 2 row 1 column 6
  named stone at layer 2 row 1 column 7
  named glow at layer 2 row 1 column 9
  named floor at layer 1 row 1 column 2
end

check "a lever shuts the sluice"
  at 1t   pond on
  by 10t  expect open off
  at 12t  pond off
  by 20t  expect open
end

check "it is shut at once"
  at 3t  pond on
  at 3t  expect open off
end
"""
SIDE = 30.0
"""How high the bar of level 15 is: the side of a place."""
HOSTILE = "</script></title><img src=x onerror=window.struck=1> ' ` & &amp; \u202eturned\u2066"


def one(driver: Chrome, selector: str) -> WebElement:
    return driver.find_element(By.CSS_SELECTOR, selector)


def every(driver: Chrome, selector: str) -> list[WebElement]:
    return driver.find_elements(By.CSS_SELECTOR, selector)


def moments(driver: Chrome) -> Select:
    """The list of moments of the check that is shown."""
    (shown,) = (each for each in every(driver, ".moments select") if each.is_displayed())
    return Select(shown)


def at_place(driver: Chrome, place: str) -> tuple[str, float, str]:
    """What a place says of its level: the number in it, the height of its bar, and its words."""
    group = f'[data-at="{place}"]'
    number = str(driver.execute_script("return arguments[0].textContent", one(driver, f"{group} .level")))
    words = str(driver.execute_script("return arguments[0].textContent", one(driver, f"{group} title")))
    return number, float(one(driver, f"{group} .bar").get_attribute("height") or "nan"), words.rpartition(": ")[2]


def as_simulated(driver: Chrome, lever_on: str, lever_off: str, at: str) -> None:
    """Holds every named place against a simulation that is worked by hand to the same moment."""
    run = loads(MILL).start()
    worked = {_gt(lever_on): True, _gt(lever_off): False}
    for gt in range(1, _gt(at) + 1):
        if gt in worked:
            run.set("pond", worked[gt])
        run.run(gt=1)
    for place, name in NAMED.items():
        level = run.level(name)
        number, height, words = at_place(driver, place)
        assert (number, words) == (str(level or ""), f"level {level}"), (at, name)
        assert height == pytest.approx(SIDE * level / 15), (at, name)


def _gt(at: str) -> int:
    return int(at.removesuffix("t")) * 2 if at.removesuffix("t").isdecimal() else int(at.removesuffix("gt"))


def focus(driver: Chrome, selector: str) -> WebElement:
    """Goes by the tab key alone to the first element that matches."""
    for _ in range(80):
        ActionChains(driver).send_keys(Keys.TAB).perform()
        active = driver.switch_to.active_element
        if driver.execute_script("return arguments[0].matches(arguments[1])", active, selector):
            return active
    raise AssertionError(f"the tab key does not lead to {selector}")
