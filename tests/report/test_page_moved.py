"""The layers on the page of `report` where pistons move things, water flows, and things come and go.

Where things stand and how deep the water is, is common practice, no source: M1, M3, M4, M6, M9, Z1 and Z6.
"""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from circuitcheck.language.load import load_file

from .cut_channel import cut_channel
from .test_page import shown, tree

ROOT = Path(__file__).resolve().parents[2]
POOL = """language 1
circuit pool

legend
  .  air
  S  block
  ~  water   when flap off
  p  piston  facing above  starts {start}  named flap
  i  lever   on north  starts {start}  named rope
end

drawing
  layer 1
    S~S
    SpS
    S.i
  end
  layer 2
    ..., 3 times
  end
end

check "it is worked"
  at 10gt  rope {to}
  until 20gt
end
"""


@cache
def cut(start: bool = False) -> Any:
    return tree(shown(cut_channel("   starts on" if start else "", "off" if start else "on")))


def drawn(read: Any, place: str) -> tuple[str, str]:
    """The letter and the number that the page has at a place without its script."""
    (group,) = read.xpath(f"//*[@data-at='{place}']")
    return group.xpath("*[@class='letter']")[0].text or "", group.xpath("*[@class='level']")[0].text or ""


def data_of(read: Any) -> Any:
    (script,) = read.xpath("//script[@id='levels-0']")
    return json.loads(script.text)


def moment_of(read: Any, told: str) -> int:
    """The number of the moment whose time is the one given."""
    moments = read.xpath("//div[@class='moments'][1]//option/@data-told")
    return next(number for number, each in enumerate(moments) if each.partition(":")[0] == told)


def seen(read: Any, told: str, place: str) -> tuple[str, str]:
    """The letter and the number that the data for the script gives a place at a moment, but for power."""
    known, moment = data_of(read), moment_of(read, told)
    run = known["runs"][0]
    levels = list(run["start"])
    for step in run["moments"][:moment]:
        for device, level in zip(step[::2], step[1::2], strict=True):
            levels[device] = level
    stand = known["stands"][run["stands"][moment] if "stands" in run else 0]
    kind = stand["things"].get(place, known["drawn"][place])
    if place not in stand["things"] and place in known["conditions"]:
        device, on = known["conditions"][place]
        kind = kind if (levels[device] > 0) is on else 0
    if kind == 0 and place in known["water"]:
        kind = known["waters"][levels[known["water"][place]]]
    letter, _, _, number = known["kinds"][kind]
    return letter, number


@pytest.mark.parametrize(("column", "level"), [(3, 7), (4, 6), (9, 1)])
def test_the_first_picture_shows_the_water_where_it_has_flowed_to(column: int, level: int) -> None:
    """Common practice, Z1: seven places beside the source, one level less each."""
    assert drawn(cut(), f"2,2,{column}") == ("≈", str(level))


def test_the_first_picture_shows_a_piston_that_starts_out_with_its_head_and_its_block_moved_and_the_water_cut() -> None:
    read = cut(start=True)
    assert drawn(read, "2,2,3")[0] == "┼"
    assert drawn(read, "2,2,4") == ("", "")
    assert [drawn(read, f"3,2,{column}")[0] for column in (6, 7)] == ["┤", "B"]


def test_a_stroke_shows_what_is_on_its_way_and_then_where_it_has_landed() -> None:
    """Common practice, M3: thrown in 10, under way from 11, landed in 13."""
    read = cut()
    assert [seen(read, "11gt", f"3,2,{column}")[0] for column in (6, 7)] == ["(┤)", "(B)"]
    assert [seen(read, "13gt", f"3,2,{column}")[0] for column in (6, 7)] == ["┤", "B"]


def test_water_that_is_cut_goes_from_moment_to_moment() -> None:
    """Common practice, Z7, Z6: the head takes the first place in 11; all is dry by 11 + 30."""
    read = cut()
    assert seen(read, "5t", "2,2,3") == ("≈", "7")
    assert seen(read, "11gt", "2,2,3")[0] == "(┼)"
    assert seen(read, "11gt", "2,2,4") == ("≈", "6")
    last = read.xpath("//div[@class='moments'][1]//option/@data-told")[-1].partition(":")[0]
    assert {seen(read, last, f"2,2,{column}") for column in range(4, 10)} == {("", "")}


@pytest.mark.parametrize(("start", "first", "then"), [("off", "~", ""), ("on", "", "~")])
def test_water_that_comes_and_goes_with_a_piston_is_shown_while_it_is_there(start: str, first: str, then: str) -> None:
    read = tree(shown(POOL.format(start=start, to="off" if start == "on" else "on")))
    assert drawn(read, "1,1,2")[0] == first
    assert seen(read, "13gt", "1,1,2")[0] == then


def test_what_a_moved_block_carries_is_shown_where_it_stands() -> None:
    """The bell's demo: the block at home stands on a torch that burns; out, there is no torch below it (M9, P3)."""
    text = (ROOT / "circuits" / "ripple.circuit").read_text(encoding="utf-8")
    read = tree(shown(text))
    assert drawn(read, "3,2,5") == ("B", "15")
    known = data_of(read)
    stand = known["stands"][known["runs"][0]["stands"][moment_of(read, "13gt")]]
    assert seen(read, "13gt", "3,2,5")[0] == "┤"
    assert stand["places"]["3,2,5"] is None
    assert stand["places"].get("3,2,6") in (None, [])


def test_a_drawing_in_which_nothing_moves_has_no_such_data() -> None:
    loaded = load_file(ROOT / "circuits" / "sluice.circuit")
    text = (ROOT / "circuits" / "sluice.circuit").read_text(encoding="utf-8")
    assert loaded.diagnostics == ()
    assert not {"stands", "drawn"} & set(data_of(tree(shown(text))))
