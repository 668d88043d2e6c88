"""Water that strokes can change is asked for by the name that every account of a run calls it by.

Common practice, no source: rules Z1 (falling water is of level 8), Z2 and Z6 (15 gt from stroke to foot).
"""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import pytest
from vcdvcd import VCDVCD

from circuitcheck.cli import main

PADDLES = str(Path(__file__).parents[2] / "circuits" / "paddles.circuit")
LINES = ["--line", "at 10gt gear on", "--line", "at 50gt gear off", "--line", "until 80gt"]
FOOT = "water_2_2_4"


class Ran(NamedTuple):
    code: object
    text: str


Caller = Callable[..., Ran]


@pytest.fixture(name="call")
def _call(capsys: pytest.CaptureFixture[str]) -> Caller:
    def called(*words: str) -> Ran:
        with pytest.raises(SystemExit) as end:
            main(words)
        return Ran(end.value.code, "".join(capsys.readouterr()))

    return called


def shown(call: Caller, *words: str) -> str:
    ran = call(*words)
    assert ran.code == 0, ran.text
    return ran.text


def test_it_is_drawn_with_its_level_and_written_as_a_dump(call: Caller, tmp_path: Path) -> None:
    """The strokes start in gt 11, and three looks later the foot is dry. In 50 the dust above each spring updates it
    (W10); so it looks in 55, when the head is gone, and the water comes to the foot three looks later.
    """
    file = tmp_path / "run.vcd"
    assert f"{FOOT} 888" in shown(call, "trace", PADDLES, *LINES, "--show", FOOT)
    shown(call, "trace", PADDLES, *LINES, "--show", FOOT, "--vcd", str(file))
    (signal,) = VCDVCD(str(file)).data.values()
    assert [(time, int(value, 2)) for time, value in signal.tv] == [(0, 8), (26 * 50, 0), (70 * 50, 8)]


def test_it_is_explained_and_no_level_is_above_eight(call: Caller) -> None:
    asked = ["explain", PADDLES, *LINES, "--why", FOOT, "--at"]
    assert f"'{FOOT}' is at 8" in shown(call, *asked, "5gt")
    dry = shown(call, *asked, "26gt")
    assert 0 < dry.index("paddle.1") < dry.index("water_4_2_4") < dry.index("water_3_2_4")
    account = shown(call, "trace", PADDLES, *LINES, "--account")
    assert re.search(rf"{FOOT} +at 8 ", account)
    assert "at 9" not in "".join(line for line in account.splitlines() if "water" in line)


def test_it_is_drawn_by_try_as_well(call: Caller) -> None:
    assert f"{FOOT} 888" in shown(call, "try", PADDLES, "at 10gt gear on", "until 40gt", "--show", FOOT)


@pytest.mark.parametrize("name", ["water_2_2_5", "water_9_9_9", "water_2_2_4.full"])
def test_where_no_stroke_changes_water_nothing_is_called_so(call: Caller, name: str) -> None:
    for words in (
        ["trace", PADDLES, *LINES, "--show", name],
        ["explain", PADDLES, *LINES, "--why", name, "--at", "5gt"],
    ):
        run = call(*words)
        assert run.code == 2
        assert "nothing is called" in run.text


def test_a_function_is_asked_of_parts_only(call: Caller) -> None:
    assert call("explain", PADDLES, FOOT).code == 2


def test_a_check_that_asks_for_it_is_told_what_can_be_asked_for(call: Caller) -> None:
    ran = call("try", PADDLES, "at 10gt gear on", f"at 40gt expect {FOOT} off")
    assert ran.code == 2
    assert "CKT201" in ran.text
    assert "ask for what feels it" in " ".join(ran.text.split())
