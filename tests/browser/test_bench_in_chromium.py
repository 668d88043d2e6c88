"""The bench as it behaves in a browser: worked by pointer and by keyboard, seen in layers and over time.

That what is worked in the browser gives the edges that `try` gives is held against `Simulation`, which knows nothing of
browsers. Every control can be reached and named without a pointer: WCAG 2.2, 2.1.1 "Keyboard" and 4.1.2 "Name, Role,
Value"; what changes is told in a status: 4.1.3 "Status Messages"; a window 320 CSS pixels wide needs no scrolling to
the side: 1.4.10 "Reflow". What else the guidelines ask is checked by axe-core, where it can be checked by a program.
"""

from __future__ import annotations

import os
import random
import re
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

pytest.importorskip("selenium", reason="selenium is not installed")

from selenium.webdriver import Chrome
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys

from circuitcheck import load, verify_text
from circuitcheck.verify import attempt

from .chromium import barriers, logged, opened, seen_as

MILL = """language 1
circuit mill "<b>A mill</b> [bold]"
legend
  .  air
  S  block
  a  lever     named pond
  b  button    short  named bell_push
  >  repeater  facing east  delay 2t  named winch
  <  repeater  facing west  delay 1t  named wire
  O  lamp      named open
end
drawing
  layer 1
    SSSSS
  end
  layer 2
    a>O<b
  end
end
"""


@pytest.fixture(scope="module")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Chrome]:
    """A browser for all tests."""
    with opened(tmp_path_factory.mktemp("browser")) as driver:
        yield driver


@pytest.fixture
def mill(tmp_path: Path) -> Path:
    """The file that stands on the bench."""
    path = tmp_path / "mill.circuit"
    path.write_text(MILL, encoding="utf-8")
    return path


@pytest.fixture
def bench_process(mill: Path) -> Iterator[subprocess.Popen[str]]:
    """The process that serves the bench."""
    command = [sys.executable, "-u", "-m", "circuitcheck", "bench", str(mill), "--no-browser"]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
    yield process
    process.kill()
    process.communicate()


@pytest.fixture
def bench(browser: Chrome, bench_process: subprocess.Popen[str]) -> Chrome:
    """The bench, opened in the browser."""
    assert bench_process.stdout is not None
    found = re.search(r"http://\S+", bench_process.stdout.readline())
    assert found
    browser.get("about:blank")
    logged(browser, "browser")
    browser.get(found[0])
    until(lambda: browser.find_elements(By.CSS_SELECTOR, "#timing svg"))
    until(lambda: browser.find_elements(By.CSS_SELECTOR, '[data-at="2,1,3"] title'))
    return browser


def until(holds: Callable[[], object]) -> None:
    """Waits for something."""
    end = time.monotonic() + 60
    while not holds():
        assert time.monotonic() < end, "it does not come"
        time.sleep(0.02)


def text(bench: Chrome, name: str) -> str:
    """The words of an element."""
    return str(bench.find_element(By.ID, name).get_property("textContent"))


def key(bench: Chrome, letter: str, game_tick: int) -> None:
    """Presses a key, and waits until the run stands at the end of a gt."""
    bench.find_element(By.TAG_NAME, "body").send_keys(letter)
    until(lambda: text(bench, "gt") == f"{game_tick}gt")


def level(bench: Chrome, at: str) -> str:
    """The title of what is seen at a place, which ends with its level."""
    title = bench.find_element(By.CSS_SELECTOR, f'[data-at="{at}"] title')
    return str(title.get_property("textContent")).rpartition(": ")[2]


def work(bench: Chrome, name: str, verb: str) -> None:
    """Works an input by its button, out from under the row that stays at the top."""
    button = bench.find_element(By.CSS_SELECTOR, f'[data-input="{name}"][data-verb="{verb}"]')
    bench.execute_script("arguments[0].scrollIntoView({block: 'center'})", button)
    button.click()
    until(lambda: text(bench, "queued"))


def test_a_lever_is_worked_and_the_lamp_seen_to_light_by_keyboard_alone(bench: Chrome) -> None:
    """Rules R2 and W4, common practice, no source: the lever goes on in gt 1, the lamp with the repeater 4gt later."""
    lever = bench.find_element(By.CSS_SELECTOR, '[data-input="pond"][data-verb="on"]')
    lever.send_keys(Keys.ENTER)
    until(lambda: text(bench, "queued") == "In the next gt: pond on")
    for game_tick in range(1, 6):
        assert level(bench, "2,1,3") == "level 0"
        key(bench, ".", game_tick)
    until(lambda: level(bench, "2,1,3") == "level 15")
    assert bar(bench, "#pictures .holder:nth-child(2) svg", "2,1,3") > 25
    assert "open on" in text(bench, "told")
    key(bench, ",", 4)
    until(lambda: level(bench, "2,1,3") == "level 0")
    key(bench, Keys.END, 5)
    key(bench, Keys.HOME, 0)
    assert logged(bench, "browser") == []


def test_what_is_worked_by_chance_gives_the_edges_that_the_engine_gives(bench: Chrome, mill: Path) -> None:
    chance = random.Random(20261129)
    run = load(mill).start()
    now = 0
    for _ in range(12):
        name, verb = chance.choice([("pond", "on"), ("pond", "off"), ("bell_push", "press")])
        work(bench, name, verb)
        run.press(name) if verb == "press" else run.set(name, verb == "on")
        for _ in range(chance.randint(1, 4)):
            now += 2
            key(bench, "t", now)
        run.run(gt=now - run.now)
        until(lambda: level(bench, "2,1,3") == f"level {run.level('open')}")
    bench.find_element(By.ID, "title").send_keys(Keys.ENTER)
    until(lambda: text(bench, "check"))
    written = text(bench, "check")
    edges = re.findall(r"at (\d+)(gt|t) +expect open (on|off)", written)
    found = {(int(at) * (2 if unit == "t" else 1), 15 if state == "on" else 0) for at, unit, state in edges}
    assert set(run.edges("open")) <= found
    assert verify_text(f"{MILL}\n{written}\n").exit.name == "HOLDS"


WORKED = """
    const [moves, done] = arguments;
    const shows = (id) => document.getElementById(id).textContent;
    const when = (holds) => new Promise(function (resolve) {
      const look = () => holds() ? resolve() : requestAnimationFrame(look);
      look();
    });
    (async function () {
      document.querySelector('#starts button').click();
      await when(() => shows('gt') === '0gt');
      for (const [input, verb, count] of moves) {
        document.querySelector(`[data-input="${input}"][data-verb="${verb}"]`).click();
        await when(() => shows('queued'));
        for (let each = 0; each < count; each += 1) {
          const before = shows('gt');
          document.getElementById('step').click();
          await when(() => shows('gt') !== before);
        }
      }
      done(Array.from(document.querySelectorAll('#timing [data-signal]'), function (path) {
        const base = path.previousElementSibling.getAttribute('y');
        return [path.getAttribute('data-signal'), base, path.getAttribute('d')];
      }));
    })();
"""
"""Works inputs by their buttons, from the start; then reads the picture of the signals over time."""
STIMULI = int(os.environ.get("CIRCUITCHECK_STIMULI", "4"))


def drawn_levels(base: str, path: str, end: int) -> list[int]:
    """The level in each gt, as the line of a signal is drawn: 4 pixels to the right a gt, one upward a level."""
    points = [tuple(map(float, each.split())) for each in re.split("[ML]", path)[1:]]
    return [round(float(base) - [y for x, y in points if x <= 130 + 4 * at][-1]) for at in range(end + 1)]


def test_random_stimuli_worked_in_the_browser_give_the_edges_that_try_gives(bench: Chrome, mill: Path) -> None:
    chance = random.Random(20261130)
    for _ in range(STIMULI):
        moves = [
            (*chance.choice([("pond", "on"), ("pond", "off"), ("bell_push", "press")]), chance.randint(1, 6))
            for _ in range(5)
        ]
        times = [1 + sum(count for *_, count in moves[:place]) for place in range(len(moves))]
        words = [f"press {name}" if verb == "press" else f"{name} {verb}" for name, verb, _ in moves]
        end = sum(count for *_, count in moves)
        lines = [f"at {at}gt {word}" for at, word in zip(times, words, strict=True)]
        tried = attempt(mill, [*lines, f"until {end}gt"])
        assert tried.trial is not None
        recording = tried.trial.shown
        assert recording is not None
        drawn = bench.execute_async_script(WORKED, moves)
        assert {name for name, *_ in drawn} >= {"pond", "bell_push"}
        for name, base, path in drawn:
            assert drawn_levels(base, path, end) == recording.levels_of(name, 0, end), (name, moves)


def test_it_runs_until_a_condition_and_says_what_made_it_so(bench: Chrome) -> None:
    work(bench, "pond", "on")
    bench.find_element(By.ID, "condition").send_keys("open on", Keys.ENTER)
    until(lambda: text(bench, "gt") == "5gt")
    bench.find_element(By.CSS_SELECTOR, "#layers button:nth-child(2)").click()
    bench.find_element(By.CSS_SELECTOR, '[data-at="2,1,3"] .letter').click()
    until(lambda: re.search(r"pond +on: the lever", text(bench, "why")))
    bench.find_element(By.ID, "condition").clear()
    bench.find_element(By.ID, "condition").send_keys("opens on", Keys.ENTER)
    until(lambda: text(bench, "stopped"))
    assert text(bench, "gt") == "5gt"


def test_a_saved_file_is_read_again_and_its_mistakes_stand_at_their_lines(bench: Chrome, mill: Path) -> None:
    work(bench, "pond", "on")
    key(bench, ".", 1)
    mill.write_text(MILL.replace("delay 2t", "delay 4t"), encoding="utf-8")
    until(lambda: "winch" in text(bench, "news"))
    assert text(bench, "gt") == "1gt"
    mill.write_text(MILL + "lamp x from nowhere\n", encoding="utf-8")
    until(lambda: "mill.circuit:" in text(bench, "mistakes"))
    mill.write_text(MILL, encoding="utf-8")
    until(lambda: not text(bench, "mistakes"))


PISTON = """language 1
circuit board
legend
  .  air
  S  block
  a  lever     named pond
  P  piston    facing east  sticky  named ram
  m  detector  facing west  delay 1t  named ear
  u  lamp      named bell
end
drawing
  layer 1
    SSSSSS
  end
  layer 2
    aPS.mu
  end
end
"""


def solid(bench: Chrome, at: str) -> str:
    """What is seen at a place of the build in three dimensions: its title."""
    words = "return document.querySelector('#build [data-at=\"' + arguments[0] + '\"] title')?.textContent || '';"
    return str(bench.execute_script(words, at))


def bar(bench: Chrome, view: str, at: str) -> int:
    """How high the bar is that is drawn for the level at a place, in pixels of the bar's blue."""
    look = """
        const frame = document.querySelector(arguments[0]).closest('.picture');
        const group = frame.querySelector('[data-at="' + arguments[1] + '"]');
        const canvas = frame.nextElementSibling;
        const box = (group.querySelector('rect') || group).getBoundingClientRect();
        const corner = canvas.getBoundingClientRect();
        const copy = document.createElement('canvas');
        copy.width = Math.ceil(box.width) + 8;
        copy.height = Math.ceil(box.height) + 8;
        const paper = copy.getContext('2d', { willReadFrequently: true });
        paper.drawImage(canvas, corner.left - box.left + 4, corner.top - box.top + 4, corner.width, corner.height);
        const dots = paper.getImageData(0, 0, copy.width, copy.height).data;
        const rows = new Set();
        for (let dot = 0; dot < dots.length; dot += 4) {
          if (dots[dot] < 60 && dots[dot + 2] > 150 && dots[dot + 3] > 200) {
            rows.add(Math.floor(dot / 4 / copy.width));
          }
        }
        return rows.size;
    """
    return int(bench.execute_script(look, view, at))


def test_the_build_in_three_dimensions_is_seen_to_move_by_keyboard_alone(bench: Chrome, mill: Path) -> None:
    """Rules M1, M6, W4, common practice, no source: what is pushed moves a place, and is on its way for a while."""
    mill.write_text(PISTON, encoding="utf-8")
    until(lambda: "ram" in text(bench, "news"))
    bench.find_element(By.TAG_NAME, "body").send_keys("d")
    until(lambda: "piston" in solid(bench, "2,1,2"))
    assert bench.find_element(By.ID, "pictures").text == ""
    work(bench, "pond", "on")
    key(bench, ".", 1)
    until(lambda: bar(bench, "#build", "2,1,1") > 9)
    assert bar(bench, "#build", "2,1,3") == 0
    key(bench, ".", 2)
    until(lambda: "on its way" in solid(bench, "2,1,4"))
    assert "head" in solid(bench, "2,1,3")
    for game_tick in range(3, 6):
        key(bench, ".", game_tick)
    until(lambda: "block" in solid(bench, "2,1,4") and "way" not in solid(bench, "2,1,4"))
    key(bench, Keys.HOME, 0)
    until(lambda: not solid(bench, "2,1,4"))
    assert "block" in solid(bench, "2,1,3")
    assert logged(bench, "browser") == []


def test_the_build_is_turned_put_apart_cut_and_lettered_by_keys(bench: Chrome) -> None:
    body = bench.find_element(By.TAG_NAME, "body")
    body.send_keys("d")
    until(lambda: solid(bench, "2,1,3"))
    body.send_keys("(")
    until(lambda: "south-west" in text(bench, "corner"))
    titled = "return document.querySelector('#build title').textContent"
    until(lambda: "south-west" in str(bench.execute_script(titled)))
    body.send_keys("l")
    until(
        lambda: bench.execute_script(
            "return document.querySelector('#build [data-at=\"2,1,3\"] text')?.textContent == 'O'"
        )
    )
    high = "return document.querySelector('#build svg').getAttribute('height')"
    before = float(bench.execute_script(high))
    body.send_keys("x")
    until(lambda: float(bench.execute_script(high)) > before)
    field = bench.find_element(By.ID, "cut-layer")
    field.clear()
    field.send_keys("1", Keys.TAB)
    until(lambda: not solid(bench, "2,1,3"))
    field.send_keys("7", Keys.TAB)
    until(lambda: "outside" in text(bench, "build"))


def test_light_and_what_a_detector_hears_are_seen(bench: Chrome, mill: Path) -> None:
    mill.write_text(PISTON.replace("aPS.mu", "aP.Smu"), encoding="utf-8")
    until(lambda: "ear" in text(bench, "news"))
    bench.find_element(By.ID, "signal").send_keys("ear", Keys.ENTER)
    until(lambda: "hears" in text(bench, "hears"))
    bench.find_element(By.TAG_NAME, "body").send_keys("g")
    until(lambda: len(bench.find_elements(By.CSS_SELECTOR, "#light-table td")) == 7)
    assert "15" in text(bench, "light-table")


def without_network(bench: Chrome, is_off: bool) -> None:
    """Takes the browser off the network, or puts it back, and sees that it is so, told again where it has to be."""
    asked = {"offline": is_off, "latency": 0, "downloadThroughput": -1, "uploadThroughput": -1}
    reached = "fetch(location.href, {cache: 'no-store'}).then(() => arguments[0](true), () => arguments[0](false))"

    def is_so() -> bool:
        bench.execute_cdp_cmd("Network.enable", {})
        bench.execute_cdp_cmd("Network.emulateNetworkConditions", asked)
        return bench.execute_async_script(reached) is not is_off

    until(is_so)


def test_a_connection_that_is_lost_is_told_and_the_page_goes_on_where_the_bench_stands(bench: Chrome) -> None:
    """WHATWG HTML, 9.2: a stream of events that breaks off is asked for again."""
    key(bench, ".", 1)
    without_network(bench, True)
    try:
        bench.find_element(By.ID, "step").click()
        until(lambda: bench.find_element(By.ID, "lost").is_displayed())
        assert text(bench, "gt") == "1gt"
    finally:
        without_network(bench, False)
    work(bench, "pond", "on")
    until(lambda: not bench.find_element(By.ID, "lost").is_displayed())
    key(bench, ".", 2)
    until(lambda: level(bench, "2,1,1") == "level 15")


@pytest.mark.parametrize(
    ("pressed", "seen"),
    [("[", '#pictures [data-at="1,1,1"]'), ("d", '#build [data-at="2,1,3"]'), ("g", "#light-table td")],
)
def test_a_view_that_was_asked_for_without_a_connection_comes_with_it(bench: Chrome, pressed: str, seen: str) -> None:
    without_network(bench, True)
    try:
        bench.find_element(By.TAG_NAME, "body").send_keys(pressed)
        bench.find_element(By.ID, "step").click()
        until(lambda: bench.find_element(By.ID, "lost").is_displayed())
        assert not bench.find_elements(By.CSS_SELECTOR, seen)
    finally:
        without_network(bench, False)
    until(lambda: bench.find_elements(By.CSS_SELECTOR, seen))


@pytest.mark.skipif(sys.platform == "win32", reason="a process is held by a signal")
def test_a_bench_that_is_silent_for_long_is_told_and_heard_again(
    bench: Chrome, bench_process: subprocess.Popen[str]
) -> None:
    bench_process.send_signal(signal.SIGSTOP)
    bench.execute_script("const now = Date.now; Date.now = function () { return now() + 20000; };")
    try:
        until(lambda: bench.find_element(By.ID, "lost").is_displayed())
    finally:
        bench_process.send_signal(signal.SIGCONT)
    until(lambda: not bench.find_element(By.ID, "lost").is_displayed())
    key(bench, ".", 1)


def test_two_pages_see_the_same_whoever_acts(bench: Chrome) -> None:
    first = bench.current_window_handle
    address = bench.current_url
    bench.switch_to.new_window("tab")
    try:
        bench.get(address)
        until(lambda: text(bench, "gt") == "0gt" and text(bench, "starts"))
        key(bench, ".", 1)
        work(bench, "pond", "on")
        key(bench, ".", 2)
    finally:
        bench.close()
        bench.switch_to.window(first)
    until(lambda: text(bench, "gt") == "2gt" and level(bench, "2,1,1") == "level 15")


def test_single_keys_can_be_turned_off(bench: Chrome) -> None:
    """WCAG 2.2, 2.1.4 "Character Key Shortcuts"."""
    bench.find_element(By.ID, "keys").click()
    bench.find_element(By.TAG_NAME, "body").send_keys(".d")
    bench.find_element(By.ID, "step").click()
    until(lambda: text(bench, "gt") == "1gt")
    assert not bench.find_element(By.ID, "build").is_displayed()


def test_names_are_no_markup_and_a_narrow_window_needs_no_scrolling_to_the_side(bench: Chrome) -> None:
    assert text(bench, "name") == "<b>A mill</b> [bold]"
    assert not bench.find_elements(By.CSS_SELECTOR, "h1 b")
    for width in (390, 1280):
        seen_as(bench, width, "light")
        until(lambda: bench.execute_script("return document.documentElement.scrollWidth <= window.innerWidth"))


@pytest.mark.parametrize("width", [390, 1280])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_nothing_bars_anyone_from_it(bench: Chrome, width: int, scheme: str) -> None:
    work(bench, "pond", "on")
    key(bench, "t", 2)
    seen_as(bench, width, scheme)
    assert barriers(bench) == []
    bench.find_element(By.TAG_NAME, "body").send_keys("dgl")
    bench.find_element(By.ID, "signal").send_keys("open", Keys.ENTER)
    until(lambda: solid(bench, "2,1,3") and text(bench, "light-table") and text(bench, "why"))
    assert barriers(bench) == []
    assert bench.execute_script("return document.documentElement.scrollWidth <= window.innerWidth")


def test_a_smaller_drawing_is_searched_for_seen_and_written(bench: Chrome, mill: Path) -> None:
    seconds = bench.find_element(By.ID, "search-seconds")
    seconds.clear()
    seconds.send_keys("2")
    begin = bench.find_element(By.ID, "search-begin")
    assert text(bench, "search-begin") == "Make the drawing smaller"
    begin.send_keys(Keys.ENTER)
    until(lambda: bench.find_element(By.ID, "search-stop").is_displayed())
    until(lambda: text(bench, "search-told").startswith("The search has ended: ") and text(bench, "search-lines"))
    assert "checks and claims hold" in text(bench, "search-lines")
    assert text(bench, "search-heading").startswith("Found: ")
    until(lambda: pictured(bench) == "The layout from the south-east")
    bench.find_element(By.ID, "search-turn-left").send_keys(Keys.ENTER)
    until(lambda: pictured(bench) == "The layout from the south-west")
    bench.find_element(By.CSS_SELECTOR, "#search-views button:nth-child(2)").send_keys(Keys.ENTER)
    until(lambda: pictured(bench) == "Layer 1 of the layout")
    for width in (390, 1280):
        seen_as(bench, width, "dark")
        assert barriers(bench) == []
        assert bench.execute_script("return document.documentElement.scrollWidth <= window.innerWidth")
    assert logged(bench, "browser") == []
    bench.find_element(By.ID, "search-file").send_keys(Keys.ENTER)
    made = mill.with_name("mill_drawn.circuit")
    until(lambda: text(bench, "search-written") == f"written to {made}")
    assert verify_text(made.read_text(encoding="utf-8")).exit.name == "HOLDS"
    bench.find_element(By.ID, "search-file").send_keys(Keys.ENTER)
    until(lambda: "is there already: name a new file" in text(bench, "stopped"))


def pictured(bench: Chrome) -> str:
    """What the picture of the layout says that it is: asked in one go, as the next one may take its place."""
    asked = "return document.querySelector('#search-picture svg')?.getAttribute('aria-label') ?? ''"
    return str(bench.execute_script(asked))


HOSTILE = """language 1
circuit constructor "</script></title><img src=x onerror=window.struck=1> \u202eturned"
legend
  .  air
  S  block
  a  lever     named __proto__
  b  lever     named valueOf
  P  piston    facing east  sticky  named constructor
  m  detector  facing west  delay 1t  named toString
  u  lamp      named hasOwnProperty
  O  lamp      named prototype
end
drawing
  layer 1
    SSSSSS
  end
  layer 2
    aP.Smu
  end
end
"""
"""Names that a script's own objects have (ECMA-262, 20.1.3, "Properties of the Object Prototype Object")."""
HOSTILE_TEXT = """language 1
circuit constructor
lever __proto__
lamp constructor from __proto__
detector toString watches constructor
lamp valueOf from toString
"""


@pytest.mark.parametrize("file", [HOSTILE, HOSTILE_TEXT])
def test_names_that_a_script_knows_otherwise_are_names_in_every_view(bench: Chrome, mill: Path, file: str) -> None:
    mill.write_text(file, encoding="utf-8")
    until(lambda: "toString" in text(bench, "news"))
    until(lambda: bench.find_elements(By.CSS_SELECTOR, '[data-input="__proto__"]'))
    if file == HOSTILE:
        bench.find_element(By.TAG_NAME, "body").send_keys("dgl")
        until(lambda: "constructor" in solid(bench, "2,1,2") and text(bench, "light-table"))
    bench.find_element(By.ID, "signal").send_keys("toString", Keys.ENTER)
    until(lambda: "hears" in text(bench, "hears"))
    work(bench, "__proto__", "on")
    key(bench, ".", 1)
    until(lambda: "__proto__ on" in text(bench, "inputs"))
    for game_tick in range(2, 9):
        key(bench, ".", game_tick)
    rows = bench.find_elements(By.CSS_SELECTOR, "#timing [data-signal]")
    assert {row.get_attribute("data-signal") for row in rows} >= {"__proto__", "constructor"}
    assert bench.execute_script("return [window.struck, document.querySelectorAll('img').length]") == [None, 0]
    assert logged(bench, "browser") == []


def test_every_control_has_a_name_and_changes_are_told_in_a_status(bench: Chrome) -> None:
    nameless = bench.execute_script(
        "return Array.from(document.querySelectorAll('button, input')).filter(function (each) {"
        "  return !(each.textContent.trim() || each.getAttribute('aria-label') || (each.labels && each.labels.length));"
        "}).map(function (each) { return each.outerHTML; });"
    )
    assert nameless == []
    assert bench.find_element(By.ID, "told").get_attribute("role") == "status"
