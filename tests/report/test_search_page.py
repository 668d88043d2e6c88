"""The page of a search: the best layout so far in three dimensions and as sheets, read again until the search ends.

The refresh pragma: WHATWG, HTML, 4.2.5.3; what a page may load: Content Security Policy Level 3 (W3C).
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from lxml import html

from circuitcheck.cli import main
from circuitcheck.commands import search_shown
from circuitcheck.commands.search_shown import Watched
from circuitcheck.report.files import CannotWrite

NAND = "lever a\nlever b\ntorch no.1 from a\ntorch no.2 from b\njunction out joins no.*\noutput sign from out\n"


def draw(folder: Path, *words: str) -> int:
    (folder / "mill.circuit").write_text(NAND)
    with pytest.raises(SystemExit) as ended:
        main(["draw", str(folder / "mill.circuit"), "--quiet", *words])
    return int(str(ended.value.code))


@pytest.fixture
def pages(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Every page that a search writes, however quickly one follows the other."""
    found: list[str] = []
    monkeypatch.setattr(search_shown, "APART", 0.0)
    monkeypatch.setattr(search_shown, "write_whole", lambda path, text: found.append(text))
    return found


def text_of(page: str) -> str:
    return " ".join(html.fromstring(page).text_content().split())


def refreshes(page: str) -> list[str]:
    return list(map(str, html.fromstring(page).xpath("//meta[@http-equiv='refresh']/@content")))


def test_a_page_is_read_again_until_the_search_ends(tmp_path: Path, pages: list[str]) -> None:
    assert draw(tmp_path, "--moves", "20000", "--page", str(tmp_path / "p.html")) == 0
    assert len(pages) > 3
    assert [refreshes(page) for page in pages] == [*[["2"]] * (len(pages) - 1), []]
    assert "Nothing is laid out yet." in text_of(pages[0])
    boxes = [
        int(each.replace(",", "")) for page in pages for each in re.findall(r"Best so far: .*?: (\d+) places", page)
    ]
    assert boxes == sorted(boxes, reverse=True)
    assert "The search has ended: the moves ran out" in text_of(pages[-1])
    found = re.findall(r"Found: .*?: (\d+) places", text_of(pages[-1]))
    assert len(found) == 1
    assert int(found[0]) <= boxes[-1]


def test_it_has_what_stands_in_three_dimensions_and_a_sheet_for_each_layer(tmp_path: Path, pages: list[str]) -> None:
    draw(tmp_path, "--moves", "20000", "--page", str(tmp_path / "p.html"))
    last = html.fromstring(pages[-1])
    assert len(last.xpath("//*[local-name()='svg']")) == 1
    (high,) = re.findall(r"(\d+) high", text_of(pages[-1]))
    assert len(last.xpath("//pre")) == int(high)
    for name in ("a", "b", "no.1", "no.2", "out"):
        assert re.search(rf": (\S+, )*{re.escape(name)}\b", " ".join(last.xpath("//pre/text()")))


def test_what_is_not_the_circuit_is_said_not_to_be(tmp_path: Path, pages: list[str]) -> None:
    column = ("--box", "1x1x7")  # the exact search excludes it
    assert draw(tmp_path, "--moves", "300", *column, "--page", str(tmp_path / "p.html")) == 1
    told = text_of(pages[-1])
    assert "No layout was found; the nearest" in told
    assert "NOT the circuit" in told
    assert "is still to be fed by" in told


def test_it_loads_nothing_and_runs_nothing(tmp_path: Path, pages: list[str]) -> None:
    draw(tmp_path, "--moves", "300", "--page", str(tmp_path / "p.html"))
    for page in pages:
        made = html.fromstring(page)
        (policy,) = made.xpath("//meta[@http-equiv='Content-Security-Policy']/@content")
        assert "default-src 'none'" in policy
        assert made.xpath("//script | //link | //img | //@src") == []


def test_a_page_that_can_not_be_written_any_more_ends_no_search(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    written: list[str] = []

    def once(path: str, text: str) -> None:
        if written:
            raise CannotWrite("the disk is full")
        written.append(text)

    monkeypatch.setattr(search_shown, "APART", 0.0)
    monkeypatch.setattr(search_shown, "write_whole", once)
    drawn = tmp_path / "drawn.circuit"
    assert draw(tmp_path, "--moves", "20000", "--page", str(tmp_path / "p.html"), "--write", str(drawn)) == 0
    assert "drawing" in drawn.read_text()
    assert len(written) == 1


def test_a_page_is_not_written_over_what_is_read(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert draw(tmp_path, "--page", str(tmp_path / "mill.circuit")) == 2
    assert (tmp_path / "mill.circuit").read_text() == NAND
    assert draw(tmp_path, "--page", str(tmp_path / "nowhere" / "p.html"), "--moves", "300") == 2
    assert "can't be written" in capsys.readouterr().err


def test_without_a_page_nothing_is_written() -> None:
    told: list[str] = []
    page = Watched(None, told.append)  # type: ignore[arg-type]
    page.tell("a box")
    assert told == ["a box"]
