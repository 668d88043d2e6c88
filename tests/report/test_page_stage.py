"""The stage of a page: the run over time folded, the graph with its levels, and both in words, before any script runs.

No source: what a stage shows is ours. Levels are held against the recording of the same run.
"""

from __future__ import annotations

import json
from itertools import pairwise

import pytest

from circuitcheck import loads
from circuitcheck.language.load import load_text
from circuitcheck.pages import contents
from circuitcheck.report.exchange.run_picture import COLUMN, Axis
from circuitcheck.report.page.document import Told, page
from circuitcheck.verify import report_on

from .calling import GOOD
from .test_page import DRAWN, shown, texts, tree

LONG = """language 1
lever rope
lamp bell from rope
check "long and quiet"
  at 3s   rope on
  at 30s  rope off
  until 40s
end
"""
BROKEN_CLAIM = """language 1
lever rope
torch calm from rope
never "it is dark" calm off
"""


def test_a_quiet_stretch_is_folded_and_time_still_grows_along_the_picture() -> None:
    axis = Axis(800, 50, [(4, 56), (64, 596)])
    places = [axis.x(at) for at in range(801)]
    assert all(earlier < later for earlier, later in pairwise(places))
    assert axis.x(60) - axis.x(56) == 4 * COLUMN
    assert axis.x(56) - axis.x(4) == axis.x(596) - axis.x(64) < 10 * COLUMN
    assert axis.columns == 801 - 48 - 528


def test_a_run_of_forty_seconds_with_two_changes_takes_little_room_and_says_what_is_folded() -> None:
    read = tree(shown(LONG))
    (drawn,) = read.xpath("//figure[@class='run']//*[local-name()='svg'][@role='img']")
    assert float(drawn.get("width")) < 600
    assert texts(drawn, ".//*[@class='fold']/title") == [
        "quiet for 26t, folded",
        "quiet for 266t, folded",
        "quiet for 94t, folded",  # O2: the lamp goes out 2t after its power
    ]


def test_the_script_is_told_where_each_gt_is_drawn() -> None:
    (known,) = tree(shown(LONG)).xpath("//script[@type='application/json']/text()")
    (run,) = json.loads(known)["runs"]
    assert (run["at"], run["until"]) == ([0, 60, 600, 604], 800)
    assert [at for at, _ in run["knots"]] == [0, 4, 56, 64, 596, 608, 796, 801]


def test_the_whole_run_stands_in_words_beside_its_picture() -> None:
    read = tree(shown(DRAWN))
    assert texts(read, "//details[@class='account']/ol/li/b") == ["1t", "3t", "4t", "6t"]
    assert texts(read, "//details[@class='account']//bdi")[1].startswith("winch on: ")


def test_every_part_of_the_graph_has_its_level_in_its_box_and_in_a_table() -> None:
    read = tree(shown(DRAWN))
    start = loads(DRAWN).start()
    boxes = {each.get("data-part"): each for each in read.xpath("//figure[@class='graph']//*[@data-part]")}
    rows = {texts(row, "th")[0]: texts(row, "td") for row in read.xpath("//figure[@class='graph']//table/tbody/tr")}
    assert boxes.keys() == rows.keys() >= {"pond", "winch", "gate", "open"}
    for name in ("pond", "winch", "gate", "open"):
        (number,) = boxes[name].xpath("*[@class='level']")
        assert (number.text or "") == str(start.level(name) or "")
        assert rows[name][1] == str(start.level(name))
    assert rows["gate"][0] == "layer 2, row 1, column 6"


def test_a_row_of_units_says_how_many_are_on() -> None:
    text = GOOD.replace("lever rope\n", "lever rope\ntorch calm.1 to calm.3 from rope\n")
    assert text != GOOD
    (box,) = tree(shown(text)).xpath("//*[@data-part='calm.* ×3']")
    assert box.xpath("*[@class='level']/text()") == ["3 of 3"]


def test_a_run_that_breaks_a_claim_is_played_as_runs_of_checks_are() -> None:
    loaded = load_text(BROKEN_CLAIM, "mill.circuit", ".")
    report = report_on(loaded, states=10_000)
    read = tree(page(Told(loaded, report, 10_000, contents(loaded.studies, report.results))))
    assert texts(read, "//figure[@class='run']/figcaption") == ["FAILS it is dark – a run that breaks it"]
    assert len(read.xpath("//*[@class='broken']")) == 1
    assert texts(read, "//details[@class='account']//bdi")[-1].startswith("calm off: ")


def test_a_circuit_of_very_many_parts_is_played_without_a_graph_and_its_page_stays_small() -> None:
    text = "".join(f"torch calm_{number} from rope\n" for number in range(2_100))
    written = shown(GOOD.replace("lever rope\n", f"lever rope\n{text}"))
    read = tree(written)
    assert not read.xpath("//figure[@class='graph']")
    assert any("graph --dot" in each for each in texts(read, "//section[@id='timing']//p"))
    assert len(read.xpath("//figure[@class='run']")) == 1
    assert len(written) < 600_000


@pytest.mark.parametrize("text", [DRAWN, GOOD], ids=["drawn", "in text"])
def test_a_circuit_stands_on_one_stage_and_its_graph_once(text: str) -> None:
    read = tree(shown(text))
    assert len(read.xpath("//div[@class='stage']")) == 1
    assert len(read.xpath("//*[@data-part='rope' or @data-part='pond']")) == 1
