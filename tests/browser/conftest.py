"""A browser for a file of tests, and the mill's page in it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from selenium.webdriver import Chrome

# What needs selenium is imported by fixtures only: files of tests say themselves that they are skipped without it.


@pytest.fixture(scope="module")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Chrome]:
    from .chromium import opened

    with opened(tmp_path_factory.mktemp("chromium")) as driver:
        yield driver


@pytest.fixture(scope="module")
def mill(tmp_path_factory: pytest.TempPathFactory) -> Path:
    from .chromium import made
    from .mill_page import MILL

    return made(tmp_path_factory.mktemp("mill"), MILL)


@pytest.fixture
def page(browser: Chrome, mill: Path) -> Iterator[Chrome]:
    """The mill's page, freshly opened; in the end nobody has complained of it."""
    from .chromium import complaints, visit

    visit(browser, mill)
    yield browser
    assert complaints(browser) == []
