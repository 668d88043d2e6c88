"""A headless Chromium, and what the tests do with it."""

from __future__ import annotations

import json
import shutil
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from forked import forked
from selenium.webdriver import Chrome
from selenium.webdriver.chrome.options import Options
from selenium.webdriver.chrome.service import Service

NAMES = ("chromium", "chromium-browser", "google-chrome")
FLAGS = (
    "--headless=new",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-dev-shm-usage",
    "--disable-background-timer-throttling",
    "--disable-backgrounding-occluded-windows",
    "--disable-renderer-backgrounding",
    "--window-size=1200,1000",
)


@contextmanager
def opened(folder: Path) -> Iterator[Chrome]:
    """A browser with a profile of its own in a folder; the test is skipped where there is none."""
    browser = next((found for name in NAMES if (found := shutil.which(name))), None)
    chauffeur = shutil.which("chromedriver")
    if browser is None or chauffeur is None:
        missing = "chromedriver" if browser is not None else "Chromium"
        pytest.skip(f"there is no {missing} on PATH to open pages with")
    options = Options()
    options.binary_location = browser
    for flag in (*FLAGS, f"--user-data-dir={folder / 'profile'}"):
        options.add_argument(flag)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    driver = Chrome(options=options, service=Service(chauffeur))
    try:
        driver.set_page_load_timeout(60)
        yield driver
    finally:
        driver.quit()


def made(folder: Path, text: str, *options: str) -> Path:
    """The page that the program makes of a circuit."""
    (folder / "mill.circuit").write_text(text, encoding="utf-8")
    words = ("report", "mill.circuit", "-o", "page.html", "--states", "0", *options)
    command = [*forked(), *words]
    run = subprocess.run(command, cwd=folder, capture_output=True, encoding="utf-8", timeout=120, check=False)
    assert "Traceback" not in run.stderr
    assert (folder / "page.html").is_file(), run.stdout + run.stderr
    return folder / "page.html"


def visit(driver: Chrome, path: Path) -> None:
    """Opens a page, with what was logged before forgotten."""
    driver.get("about:blank")
    logged(driver, "browser")
    logged(driver, "performance")
    driver.get(path.as_uri())


def seen_as(driver: Chrome, width: int, scheme: str) -> None:
    """Has the page shown in a window of a width in CSS pixels, light or dark."""
    size = {"width": width, "height": 800, "deviceScaleFactor": 1, "mobile": False}
    driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)
    features = [{"name": "prefers-color-scheme", "value": scheme}]
    driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": features})


def barriers(driver: Chrome) -> list[str]:
    """What axe-core, an open checker of the Web Content Accessibility Guidelines, finds wrong with the page."""
    checker = files("axe_core_python").joinpath("axe.min.js").read_text(encoding="utf-8")
    driver.execute_cdp_cmd("Runtime.evaluate", {"expression": checker})
    found = driver.execute_async_script(
        "const done = arguments[0]; axe.run(document, {resultTypes: ['violations']}).then(function (result) {"
        "  done(result.violations.flatMap(function (each) {"
        "    return each.nodes.map(function (node) { return each.id + ': ' + node.html.slice(0, 200); });"
        "  }));"
        "});"
    )
    return [str(each) for each in found]


def logged(driver: Any, kind: str) -> list[dict[str, Any]]:
    """What was logged since it was asked for last."""
    return list(driver.get_log(kind))


def complaints(driver: Chrome) -> list[str]:
    """What the console has been told, and every request that went anywhere but to files.

    What the browser's own first page asks for may still be logged when a test begins; it is no fault of ours.
    """
    said = [str(entry["message"]) for entry in logged(driver, "browser")]
    for entry in logged(driver, "performance"):
        message = json.loads(entry["message"])["message"]
        if message["method"] == "Network.requestWillBeSent":
            asked = message["params"]
            url = str(asked["request"]["url"])
            of_the_browser = str(asked["documentURL"]).startswith("chrome:")
            said += [] if of_the_browser or url.startswith(("file:", "data:")) else [url]
    return said
