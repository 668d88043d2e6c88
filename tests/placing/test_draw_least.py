"""`draw --least`: the least box, with what was excluded and what is open."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from circuitcheck.cli import main
from circuitcheck.verify import verify_file

NOR = "language 1\nlever rope\nlever bell\ntorch shut from rope, bell\n"
NAND = (
    "language 1\nlever a\nlever b\ntorch no.1 from a\ntorch no.2 from b\njunction out joins no.*\noutput y from out\n"
)
AND = NAND.replace("junction out joins no.*\noutput y from out", "torch both from no.1, no.2")
DRAWN = """\
language 1
legend
  .  air
  S  block
  y  dust   named y
  a  lever  on east  named a
  b  lever  on east  named b
  t  torch  named no.1
  u  torch  named no.2
end
drawing
  layer 1
    aS
    .S
    bS
  end
  layer 2
    .t
    .y
    .u
  end
end
"""
HEARD = "language 1\nlever pond\ndetector ripple watches pond\nlamp bell from ripple\n"


def _called(
    folder: Path, capsys: pytest.CaptureFixture[str], text: str, *words: str, command: str = "draw"
) -> tuple[int, str]:
    (folder / "x.circuit").write_text(text)
    with pytest.raises(SystemExit) as ended:
        main([command, str(folder / "x.circuit"), "--least", "--quiet", *words])
    return int(str(ended.value.code)), capsys.readouterr().out


def _data(out: str) -> dict[str, Any]:
    found = json.loads(out)["draw"]
    assert isinstance(found, dict)
    return found


def test_what_it_writes_verifies_and_no_smaller_box_is_left(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    written = tmp_path / "drawn.circuit"
    code, out = _called(tmp_path, capsys, NAND, "--json", "--write", str(written))
    assert code == 0
    found = _data(out)
    assert found["found"]["places"] == 8
    assert found["least"]["is_least"]
    assert found["least"]["open"] == []
    assert found["least"]["places_at_least"] == 7
    assert {"7x1x1", "1x1x7"} <= set(found["least"]["excluded"])
    assert verify_file(written).exit == 0


def test_it_says_that_it_is_the_least_and_names_what_is_excluded(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out = _called(tmp_path, capsys, NOR)
    assert code == 0
    assert "least:" in out
    assert "excluded:" in out
    assert "2x2x1" in out


def test_what_the_budget_leaves_open_is_named_and_what_is_found_is_not_called_the_least(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ("--conflicts", "1", "--box", "3x2x3", "--moves", "20000")
    code, out = _called(tmp_path, capsys, NOR, *words)
    assert code == 3
    assert "best found:" in out
    assert "open:" in out
    again, data = _called(tmp_path, capsys, NOR, *words, "--json")
    assert again == 3
    least = _data(data)["least"]
    assert not least["is_least"]
    assert least["open"]


def test_of_bounded_boxes_it_says_that_no_others_were_asked(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for words, within in ((("--layers", "1"), "within 1 layer"), (("--box", "3x2x2", "--layers", "2"), "within 3x2x2")):
        code, out = _called(tmp_path, capsys, NOR, *words)
        assert code == 0
        assert within in next(line for line in out.splitlines() if "least:" in line)
    assert "within" not in _called(tmp_path, capsys, NOR)[1]
    bounded = _data(_called(tmp_path, capsys, NOR, "--layers", "1", "--json")[1])["least"]
    assert bounded["within"] == "1 layer"
    assert "1x1x5" not in bounded["excluded"]


def test_layers_bound_a_box_that_is_bounded_as_well(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, out = _called(tmp_path, capsys, NOR, "--box", "3x2x3", "--layers", "1", "--json")
    found = _data(out)
    assert code == 0
    assert found["found"]["layers"] == 1
    assert not [box for box in found["least"]["excluded"] if not box.endswith("x1")]


def test_boxes_of_any_length_are_asked_where_none_is_bounded(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("circuitcheck.commands.laying.LONGEST", 3)
    assert "1x1x5" in _data(_called(tmp_path, capsys, NOR, "--json")[1])["least"]["excluded"]


def test_a_box_that_is_too_small_for_any_drawing_is_said_to_be_excluded(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out = _called(tmp_path, capsys, AND, "--box", "9x1x1", "--moves", "2000", "--json")
    found = _data(out)
    assert code == 1
    assert found["found"] is None
    assert found["least"]["excluded"] == ["8x1x1", "9x1x1"]
    assert not found["least"]["is_least"]


def test_where_every_box_that_is_allowed_is_excluded_no_longer_search_is_proposed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out = _called(tmp_path, capsys, AND, "--box", "9x1x1")
    assert code == 1
    assert "every box that is allowed is excluded" in out
    assert "--moves" not in out
    assert "a larger --box" in out


def test_a_drawing_that_is_larger_than_allowed_is_not_told_as_found(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    drawn = tmp_path / "drawn.circuit"
    code, out = _called(tmp_path, capsys, NOR, "--box", "2x3x1", "--write", str(drawn))
    assert code == 0
    narrow, out = _called(tmp_path, capsys, drawn.read_text(), "--box", "9x1x1", "--json", command="compact")
    found = _data(out)
    assert narrow == 1
    assert found["found"] is None
    assert found["ended"] == "excluded"
    assert found["before"]["rows"] * found["before"]["layers"] > 1


def test_a_drawing_is_replaced_by_the_least_or_is_the_least_itself(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for file, name, before, least in (("gates", "and_gate", 18, 9), ("latches", "data_latch", 12, 12)):
        written = tmp_path / f"{name}.circuit"
        words = ("--define", name, "--least", "--quiet", "--json", "--write", str(written))
        with pytest.raises(SystemExit) as ended:
            main(["compact", f"circuits/{file}.circuit", *words])
        found = _data(capsys.readouterr().out)
        assert ended.value.code == 0
        assert found["before"]["places"] == before
        assert found["found"]["places"] == least
        assert found["least"]["is_least"]
        assert verify_file(written).exit == 0


def test_a_drawing_without_parts_in_text_keeps_the_dust_that_it_names(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out = _called(tmp_path, capsys, DRAWN, "--json", command="compact")
    found = _data(out)
    assert code == 0
    assert found["found"]["places"] == 8
    assert "named y" in found["text"]


def test_a_part_that_is_not_searched_is_refused_with_a_way_out(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "x.circuit").write_text(HEARD)
    with pytest.raises(SystemExit) as ended:
        main(["draw", str(tmp_path / "x.circuit"), "--least", "--quiet"])
    assert ended.value.code == 2
    told = capsys.readouterr().err
    assert "'ripple' is a detector" in told
    assert "--least" in told


def test_least_is_not_proposed_where_it_would_be_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for text, proposed in ((NOR, True), (HEARD, False)):
        (tmp_path / "x.circuit").write_text(text)
        with pytest.raises(SystemExit):
            main(["draw", str(tmp_path / "x.circuit"), "--quiet", "--moves", "2000"])
        assert ("--least" in capsys.readouterr().out) is proposed
