"""The table of what decides a response: one thing otherwise at a time, beside laws of waiting.

The laws are scipy's; the chances in them are common practice, no source: rules X1, X4 and X5.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from report.schemas import faults
from scipy import stats

from circuitcheck.chance.first_edge.response import Response
from circuitcheck.chance.first_edge.what_decides import _variations, what_decides
from circuitcheck.model.claims import Atom, Test

from .calling import Caller
from .laws import BY_NIGHT, OLDER, answer, circuit_of, of_any
from .plain import circuit_of as two_sides_circuit
from .two_sides import two_sides

DELAY = 1
SOURCES, CELLS = 4, 4
SHARED = (
    BY_NIGHT.format(length=1_200)
    + f"""rules older
place     bank    gets sky or standing_light
sensor    rim     cells {SOURCES}  at bank
sensor    bed     cells {CELLS}  at bank  grows from rim.*  starts off
detector  stir.*  watches bed.*  delay {DELAY}gt
junction  row     joins stir.*
lamp      bell    from row
"""
)
DUSK = """language 1
cycle 1200s day 500s, dusk {dusk}s, night {night}s, dawn 0s
place     bed     gets sky through leaf, water
sensor    turf    cells 2  at bed  fades
detector  stir.*  watches turf.*  delay 1gt
junction  row     joins stir.*
lamp      bell    from row
"""


def of_sources(drawn: float = OLDER, sources: int = SOURCES, reach: int = CELLS) -> float:
    """The chance of a gt in which any of some sources grows over any of the cells in its reach (X5)."""
    return of_any(drawn * (1 - ((45 - reach) / 45) ** 4), sources)


def turns(text: str, phase: str = "night") -> dict[tuple[str, str], Response | None]:
    asked = what_decides(circuit_of(text), phase, Atom("row", Test.RISES))
    return {(each.what, each.value): each.found for each in asked}


@pytest.fixture(name="shared", scope="module")
def _shared() -> dict[tuple[str, str], Response | None]:
    return turns(SHARED)


@pytest.mark.parametrize(
    ("what", "value", "chance"),
    [
        ("chance of a draw", "80/65536, half", of_sources(OLDER / 2)),
        ("chance of a draw", "160/32768, twice", of_sources(2 * OLDER)),
        ("cells of 'bed'", "1 of 4", of_sources(reach=1)),
        ("cells of 'bed'", "2 of 4", of_sources(reach=2)),
        ("sources of 'bed'", "1 of 4", of_sources(sources=1)),
        ("sources of 'bed'", "2 of 4", of_sources(sources=2)),
        ("sources of 'bed'", "8, twice", of_sources(sources=8)),
        ("cells of 'bed' that a source reaches", "1 of 4", of_sources(reach=1)),
        ("cells of 'bed' that a source reaches", "2 of 4", of_sources(reach=2)),
    ],
)
def test_with_one_thing_otherwise_the_first_cell_takes_as_long_as_its_law_says(
    shared: dict[tuple[str, str], Response | None], what: str, value: str, chance: float
) -> None:
    found = shared[what, value]
    assert found is not None
    assert found.exact
    for time in (10, 100, 1_000):
        assert found.distribution.within(time + DELAY) == pytest.approx(stats.geom.cdf(time, chance), abs=1e-7)
    assert found.distribution.quantile(0.5) == stats.geom.ppf(0.5, chance) + DELAY


def test_the_other_sets_of_rules_are_tried(shared: dict[tuple[str, str], Response | None]) -> None:
    assert [value for what, value in shared if what == "rules"] == ["newer", "newest"]


def test_dusk_all_at_once_and_twice_as_long_are_those_of_a_file_that_says_so() -> None:
    found = turns(DUSK.format(dusk=100, night=600), "dusk")
    for value, dusk, night in (("none, all at once", 0, 700), ("twice as long", 200, 500)):
        alike = answer(DUSK.format(dusk=dusk, night=night), "row", "dusk")
        turned = found["steps of dusk and dawn", value]
        assert turned is not None
        times = range(0, turned.distribution.until, 20)
        assert turned.distribution.until == alike.distribution.until
        assert [turned.distribution.within(at) for at in times] == [alike.distribution.within(at) for at in times]


def medians(text: str) -> list[int]:
    """The medians in the table, as gt after that of the file."""
    return [round(float(row.split()[-1].replace("−", "-").rstrip("s")) * 20) for row in text.splitlines()]


def test_the_command_gives_the_table_to_people_and_to_machines(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("bed.circuit").write_text(SHARED, encoding="utf-8")
    call = Caller(capsys)
    words = ("response", "bed.circuit", "night", "row", "--brief", "--decides")
    data = call.data(*words)
    assert faults("response", data) == []
    (found,) = data["responses"]
    rows: list[dict[str, Any]] = found["decides"]
    own = next(each["time"] for each in found["quantiles"] if each["share"] == 0.5)
    assert all(each["median_by"] == each["median"] - own for each in rows)
    said = call.good(*words)
    table = [row for row in said.splitlines() if any(row.strip().startswith(f"{each['what']}: ") for each in rows)]
    assert medians("\n".join(table)) == [each["median_by"] for each in rows]


def test_cells_that_only_pistons_hear_are_varied_as_well() -> None:
    circuit = two_sides_circuit(two_sides(10, 20, 40, 20, "1/40"))
    varied = {what for what, _, _ in _variations(circuit, "dark")}
    assert {"cells of 'dusk_turf'", "cells of 'dawn_turf'"} <= varied
