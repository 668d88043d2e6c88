"""The commands `light`, `response` and `days`, as users meet them.

Levels and chances are common practice, no source: rules G1, G2, X2 and X4 of `grammar/RULES.md`, calculated
here by hand. What the commands take and how they end stands in `grammar/README.md`.
"""

from __future__ import annotations

import os
import pty
import re
import subprocess
import sys
from pathlib import Path

import pytest
from lxml import etree
from vcdvcd import VCDVCD

from .calling import ALREADY, FAILS, HOLDS, TURF, X4_MEDIAN, Caller, outside, write_all

LAMPKEEPER = str(Path(__file__).parents[2] / "circuits" / "lampkeeper.circuit")


@pytest.fixture(autouse=True)
def _folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    write_all(tmp_path)


@pytest.fixture(name="call")
def _call(capsys: pytest.CaptureFixture[str]) -> Caller:
    return Caller(capsys)


def levels(text: str) -> list[tuple[str, list[int]]]:
    """The rows of blocks in a table of light."""
    rows = re.findall(r"^ +(\S+(?: \S+)*?) +(\d+) +(\d+) +(\d+) +(\d+)$", text, re.MULTILINE)
    return [(name, [int(each) for each in numbers]) for name, *numbers in rows]


# light


def test_light_shows_each_block_by_day_in_rain_in_a_storm_and_at_night(call: Caller) -> None:
    # G1, G2: 15, less a leaf 1, less water 3; rain takes 3, a storm 5, night 11, all at the end of the way.
    found = levels(call.good("light", LAMPKEEPER, "--place", "bed"))
    assert found[:3] == [("sky", [15, 12, 10, 4]), ("leaf", [14, 11, 9, 3]), ("water", [11, 8, 6, 0])]
    # With the flap out there is air in place of the water, which takes 1 once the light is below 15.
    assert found[3:6] == [("sky", [15, 12, 10, 4]), ("leaf", [14, 11, 9, 3]), ("air", [13, 10, 8, 2])]


def test_light_says_how_many_levels_there_are_to_spare_or_lacking(call: Caller) -> None:
    # X2: fading takes 3 or less; there are 11, 8, 6 and 0.
    assert re.search(r"'turf' can fade +−8 +−5 +−3 +\+3\n", call.good("light", "turf.circuit"))


def test_light_of_one_place_leaves_the_other_out(call: Caller) -> None:
    text = call.good("light", LAMPKEEPER, "--place", "bank")
    assert "bank\n" in text
    assert "\nbed\n" not in text
    assert ("9 aside", [6, 6, 6, 6]) in levels(text)  # G1, G2: a lit lamp's 15 less nine to the side


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ([LAMPKEEPER, "--place", "bad"], "did you mean 'bed'?"),
        ([LAMPKEEPER, "--place", "zzzzzz"], "there are bed, bank"),
        (["bare.circuit"], "names no place"),
        (["none.circuit"], "none.circuit"),
    ],
)
def test_light_refuses_what_is_not_there(call: Caller, words: list[str], says: str) -> None:
    Path("bare.circuit").write_text("lever rope\nlamp bell from rope\n")
    run = call("light", *words)
    assert run.code == 2
    assert says in run.out + run.err


@pytest.mark.parametrize("width", range(40, 121, 5))
def test_light_keeps_to_the_width(call: Caller, width: int) -> None:
    lines = call.good("light", LAMPKEEPER, "--width", str(width)).splitlines()
    assert [line for line in lines if len(line) > width and " " in line.strip()] == []


def test_light_in_json_says_what_the_table_says(call: Caller) -> None:
    for path in (LAMPKEEPER, "turf.circuit"):
        places = call.data("light", path)["places"]
        told = levels(call.good("light", path))
        setups = [setup for each in places for setup in each["setups"]]
        for setup in setups:
            # Of a source that gives nothing the table leaves out the way.
            rays = [way["blocks"] for way in setup["ways"]]
            rows = [
                (block["thing"], block["light"]) for ray in rays for block in (ray if any(ray[0]["light"]) else ray[:1])
            ]
            rows += [("the brightest", setup["light"])] if len(rays) > 1 else []
            while rows:
                name, light = told.pop(0)
                # Many of a kind, one after the other, are reported as one, with the light behind the last of them.
                number, _, thing = name.partition(" ") if name[0].isdecimal() else ("1", "", name)
                assert {each for each, _ in rows[: int(number)]} == {thing}
                assert rows[int(number) - 1][1] == light
                del rows[: int(number)]
        assert told == []


# response


def test_a_response_is_as_long_as_two_cells_take(call: Caller) -> None:
    (found,) = call.data("response", "turf.circuit", "night", "row", "--brief")["responses"]
    # X4, and no more than some gt behind it for the detector's wait.
    assert X4_MEDIAN <= found["quantiles"][0]["time"] <= X4_MEDIAN + 5
    assert found["missed"] == pytest.approx((1 - 3 / 4096) ** (2 * 1200), abs=0.002)
    assert (found["exact"], found["quantiles"][-1]["time"], found["due_until_end_of"]) == (True, None, "night")


def test_responses_without_a_phase_are_those_that_the_file_claims(call: Caller) -> None:
    text = call.good("response", LAMPKEEPER, "--brief")
    assert re.findall(r"^from .*$", text, re.MULTILINE) == ["from dusk to 'dark' on", "from dawn to 'bright' on"]
    assert "with other numbers of cells" not in text


def test_the_tables_tell_of_fewer_and_more_cells_and_of_each_set_of_rules(call: Caller) -> None:
    text = call.good("response", "turf.circuit", "night", "row")
    quick = {int(cells): float(times) for cells, times in re.findall(r"^ +(\d+)[* ].* ([\d.]+) times$", text, re.M)}
    # X4: of n cells, n times as quick; a gt is a large part of none of these.
    assert quick.keys() >= {1, 2, 3, 5, 7, 4}
    assert quick == {cells: pytest.approx(cells, rel=0.03) for cells in quick}
    assert [name for name in ("older", "newer*", "newest") if name in text] == ["older", "newer*", "newest"]
    assert "'row' on" in text


def test_a_response_of_another_edge_is_another_response(call: Caller) -> None:
    words = ("response", "turf.circuit", "night", "row", "--brief")
    rises, falls = (call.data(*words, "--edge", edge)["responses"][0] for edge in ("rises", "changes"))
    assert (rises["edge"], falls["edge"]) == ("rises", "changes")
    assert "to 'row' changed" in call.good(*words, "--edge", "changes")
    assert "is off already when night begins" in call.good(*words[:3], "bell", "--edge", "falls")


def test_over_adds_the_chance_of_taking_longer_than_that(call: Caller) -> None:
    words = ("response", "turf.circuit", "night", "row", "--brief", "--over", "10s", "--over", "60s")
    over = call.data(*words)["responses"][0]["more_than"]
    assert [each["time"] for each in over] == [200, 1200]
    # X4: nothing within 200 gt; the detector's wait lets a little more of it pass.
    none = (1 - 3 / 4096) ** 400
    assert none <= over[0]["chance"] <= (1 - 3 / 4096) ** (400 - 10)
    text = call.good(*words)
    assert re.search(r"more than 10s +7\d\.\d%", text)
    assert call("response", "turf.circuit", "night", "row", "--over", "soon").code == 2


def test_what_is_so_already_under_other_rules_is_not_said_never_to_come(call: Caller) -> None:
    """X2 (common practice, no source): under newest cells fade in any light, so that by night all have."""
    text = "place bed gets sky through leaf, water\nsensor turf cells 3 at bed fades\ndetector stir.* watches turf.*\n"
    text += "junction row joins stir.*\nrepeater slow from row delay 2t\nlever rope\n"
    text += "latch gate set slow reset rope starts reset\nlamp open from gate\n"
    Path("kept.circuit").write_text(text, encoding="utf-8")
    (found,) = call.data("response", "kept.circuit", "dusk", "open")["responses"]
    already = {each["rules"]: each["already"] for each in found["by_rules"]}
    assert (already["older"] < 0.5, already["newest"]) == (True, 1.0)
    rows = [row.split() for row in call.good("response", "kept.circuit", "dusk", "open").splitlines()]
    assert ["newest", "so", "already", "–", "–"] in rows


def test_a_response_that_never_comes_says_so_and_why(call: Caller) -> None:
    text = call.good("response", "never.circuit", "night", "bell", "--svg", "never.svg")
    # G1, G2: 14 - 1 - 3 = 10.
    light = "the light at 'bed' is 10 or more, and it takes 3 or less"
    why = f"'turf' does not change then: it can't fade (X2): {light}"
    assert f"never {why}" in " ".join(text.split())
    (found,) = call.data("response", "never.circuit", "night", "bell")["responses"]
    assert (found["mean"], [each["time"] for each in found["quantiles"]]) == (None, [None] * 4)
    assert (found["missed"], found["never_because"]) == (1.0, [why])
    assert {each["median"] for each in found["by_cells"]["turf"]} == {None}
    assert "never" in etree.parse("never.svg").findtext("{*}desc")


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["turf.circuit", "nihgt", "row"], "did you mean 'night'?"),
        (["turf.circuit", "night", "raw"], "did you mean 'row'?"),
        (["turf.circuit", "night"], "a PHASE needs the SIGNAL"),
        (["turf.circuit"], "claims no response"),
        (["starts.circuit", "night", "gate"], "say how these start: gate, gate.inverse (C6)"),
        (["bare.circuit", "night", "bell"], "has no sensor"),
        (["claims.circuit", "--svg", "claims.circuit"], "would be written over"),
    ],
)
def test_a_response_that_can_not_be_calculated_is_refused_in_one_line(
    call: Caller, words: list[str], says: str
) -> None:
    Path("bare.circuit").write_text("lever rope\nlamp bell from rope\n")
    run = call("response", *words)
    assert (run.code, run.out, run.err.count("\n")) == (2, "", 1)
    assert says in run.err


@pytest.mark.parametrize(
    ("claim", "code"),
    [(HOLDS, 0), (FAILS, 1), (ALREADY, 3), (ALREADY + FAILS, 1), (HOLDS + "sensor fern cells 0\n", 2)],
)
def test_the_exit_code_is_the_verdict_on_the_claims_of_the_file(call: Caller, claim: str, code: int) -> None:
    assert call.judged(claim, "response", "--brief").code == code
    assert call.judged(claim).code == code


def test_a_hostile_name_is_no_markup_in_the_picture(call: Caller) -> None:
    name = '<b onload="x">&amp;]]>'
    Path(f"{name}.circuit").write_text('circuit turf "<script>x</script>"\n' + TURF + HOLDS)
    Path(f"{name} 2.circuit").write_text(TURF + HOLDS)
    for file in (f"{name}.circuit", f"{name} 2.circuit"):
        call.good("response", file, "--brief", "--svg", "turf.svg")
        root = etree.parse("turf.svg").getroot()
        tags = {str(element.tag).removeprefix("{http://www.w3.org/2000/svg}") for element in root.iter()}
        assert tags == {"svg", "title", "desc", "rect", "line", "polyline", "text"}
        assert not [key for element in root.iter() for key in element.attrib if key.startswith("on") or "href" in key]
        assert [str(child.tag).rpartition("}")[2] for child in root][:2] == ["title", "desc"]
        assert "from night to 'row' on" in (root.findtext("{*}desc") or "")
        assert (root.findtext("{*}title") or "").startswith("Responses of ")


# days


def test_days_show_sampled_figures_beside_exact_ones_and_day_by_day(call: Caller) -> None:
    found = call.data("days", "turf.circuit", "night", "row", "--days", "12", "--on-end", "3")
    assert (found["days"], found["runs"], found["days_on_end"], found["case"]) == (12, 4, 3, "fair")
    (response,) = found["responses"]
    assert [(each["day"], each["asked"] + each["already"]) for each in response["days"]] == [(1, 4), (2, 4), (3, 4)]
    assert X4_MEDIAN <= response["exact"]["quantiles"][0]["time"] <= X4_MEDIAN + 5
    text = call.good("days", "turf.circuit", "night", "row", "--days", "12", "--on-end", "3")
    assert text.startswith("12 days: 4 runs of 3 consecutive days, seed 1; ")
    missed = sum(each["what"].startswith("'row' was missed") for each in found["odd"])
    assert f"{missed} days of 12" in text or (missed == 1 and "1 day of 12" in text)


@pytest.mark.parametrize(
    ("old", "new"), [("clear", "fair"), ("rain", "wet"), ("storm", "stormy"), ("withered", "faded")]
)
def test_a_case_that_was_called_otherwise_before_is_reported_by_its_name_of_today(
    call: Caller, old: str, new: str
) -> None:
    run = call("days", "turf.circuit", "night", "row", "--case", old)
    assert (run.code, f"'{old}'" in run.err, f"'{new}'" in run.err) == (2, True, True)


@pytest.mark.parametrize("case", ["fair", "wet", "stormy", "slept", "away", "faded"])
def test_every_case_can_be_lived_through(call: Caller, case: str) -> None:
    found = call.data("days", "turf.circuit", "night", "row", "--days", "20", "--on-end", "2", "--case", case)
    assert found["case"] == case
    (response,) = found["responses"]
    assert (response["exact"] is not None) is (case != "faded")
    if case == "faded":  # nothing is left that could fade, and nothing grows it over again
        assert response["days"][0]["quantiles"][0]["value"] is None


def test_the_seed_alone_decides_and_not_how_many_work_at_it(call: Caller) -> None:
    words = ("days", "turf.circuit", "night", "row", "--days", "40", "--seed")
    one = call.good(*words, "5", "--jobs", "1")
    assert call.good(*words, "5", "--jobs", "2") == one
    assert call.good(*words, "6", "--jobs", "1").replace("seed 6", "seed 5") != one


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--days", "10", "--on-end", "3"], "choose a multiple of 3"),
        (["--days", "10", "--replay", "soon"], "write RUN:DAY"),
        (["--days", "10", "--replay", "0"], "write RUN:DAY"),
        (["--days", "10", "--replay", "1:1"], "runs are 0 to 0, days 1 to 10"),
        (["--days", "10", "--replay", "0:0"], "runs are 0 to 0, days 1 to 10"),
        (["--days", "10", "--replay", "0:12"], "runs are 0 to 0, days 1 to 10"),
        (["--account"], "they go with --replay"),
        (["--vcd", "x.vcd"], "they go with --replay"),
        (["--replay", "0:1", "--json"], "do not go together"),
        (["--case", "fog"], "fog"),
        (["--days", "0"], "from 1 to"),
    ],
)
def test_days_that_can_not_be_are_refused(call: Caller, words: list[str], says: str) -> None:
    run = call("days", "turf.circuit", "night", "row", *words)
    assert (run.code, run.out) == (2, "")
    assert says in run.err


def test_a_day_is_replayed_as_picture_account_and_value_change_dump(call: Caller) -> None:
    words = ("days", "turf.circuit", "night", "row", "--days", "10", "--on-end", "1", "--replay")
    pages = [call.good(*words, f"{run}:1") for run in range(10)]
    run = next(run for run, page in enumerate(pages) if "drawn in it: 0" not in page)
    assert call.good(*words, f"{run}:1") == pages[run]
    account = call.good(*words, f"{run}:1", "--account", "--vcd", "day.vcd")
    assert "X2" in account
    assert re.search(r"turf\.[12]", account)
    dump = VCDVCD("day.vcd")
    (row,) = (name for name in dump.references_to_ids if "row" in name)
    turf = [name for name in dump.references_to_ids if re.search(r"turf\.\d$", name)]
    # One game tick is 50 ms; the night of this day begins with gt 1201 (C6), and the row feels the cell soon after.
    began = min(at for name in turf for at, value in dump[name].tv if int(value, 2) == 0)
    felt = min(at for at, value in dump[row].tv if int(value, 2))
    assert 1_201 * 50 <= began < felt <= began + 500


# Streams


@pytest.mark.parametrize(
    "words", ["light turf.circuit", "response turf.circuit night row", "days turf.circuit night row"]
)
def test_a_reader_that_goes_away_and_one_of_few_letters_are_no_mistake(words: str) -> None:
    gone = outside(f"$CC {words} --json | head -1; exit ${{PIPESTATUS[0]}}")
    assert (gone.returncode, gone.stderr) == (0, b"")
    plain = outside(f"$CC {words}", PYTHONIOENCODING="ascii")
    assert (plain.returncode, plain.stderr) == (0, b"")
    assert plain.stdout.decode("ascii")
    assert b"\x1b" not in plain.stdout


@pytest.mark.parametrize(("no_colour", "coloured"), [("1", False), ("", True)])
def test_colour_is_for_terminals_and_for_those_who_want_it(no_colour: str, coloured: bool) -> None:
    parent, child = pty.openpty()
    environment = {**os.environ, "NO_COLOR": no_colour, "TERM": "xterm", "PYTHONPATH": str(Path(__file__).parents[2])}
    words = [sys.executable, "-m", "circuitcheck", "light", "turf.circuit"]
    with subprocess.Popen(words, stdout=child, stderr=child, env=environment) as process:
        os.close(child)
        written = b""
        try:
            while more := os.read(parent, 65536):
                written += more
        except OSError:  # the other end is closed
            pass
    os.close(parent)
    assert (process.returncode, b"'turf' can fade" in written, b"\x1b" in written) == (0, True, coloured)
