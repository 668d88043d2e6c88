"""The box of what is drawn, as `verify` and the page tell it."""

from __future__ import annotations

from pathlib import Path

import pytest

from .calling import write
from .logs import as_json, called

INVERTER = """define inverter (a) gives out
  torch  out  from a
end
legend
  S  block
  i  lever on east  named a
  !  torch on west  named out
  .  air
end
drawing of inverter
  layer 1
    iS!
  end
end
"""
WIDER = INVERTER.replace("    iS!\n", "    .iS!S\n    .....\n")
ALONE = """lever  rope
torch  slack  from rope
check "it is the other"
  at 1s   rope on
  by 2s   expect slack off
end
legend
  S  block
  i  lever on below  named rope
  !  torch on east  named slack
  .  air
end
drawing
  layer 1
    !S
  end
  layer 2
    .i
  end
end
"""
LEAST = "drawn 3 wide, 1 deep, 1 high: 3 places, the least that can hold its parts"
LARGER = "drawn 4 wide, 1 deep, 1 high: 4 places; no box of fewer than 3 can hold its parts"
BOTH = "drawn 2 wide, 1 deep, 2 high: 4 places; no box of fewer than 3 can hold its parts"


@pytest.fixture(autouse=True)
def _in_the_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    write(tmp_path, least=INVERTER, wider=WIDER, alone=ALONE, text="lever rope\nlamp bell from rope\n")


def said(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    assert called("verify", *words) == 0
    return capsys.readouterr().out


def test_a_definition_has_its_box_beside_its_name(capsys: pytest.CaptureFixture[str]) -> None:
    assert f"\n  inverter  {LEAST}\n" in said(capsys, "least.circuit")
    assert f"\n  inverter  {LARGER}\n" in said(capsys, "wider.circuit")


def test_the_own_circuit_has_it_below_the_head_once(capsys: pytest.CaptureFixture[str]) -> None:
    out = said(capsys, "alone.circuit")
    assert f"2 parts\n  {BOTH}\n" in out
    assert out.count("drawn ") == 1


def test_what_is_not_drawn_has_none_and_quiet_leaves_it_out(capsys: pytest.CaptureFixture[str]) -> None:
    assert "drawn" not in said(capsys, "text.circuit")
    assert "drawn" not in said(capsys, "--quiet", "least.circuit", "alone.circuit")


def test_a_narrow_terminal_breaks_the_line(capsys: pytest.CaptureFixture[str]) -> None:
    lines = said(capsys, "--width", "40", "least.circuit").splitlines()
    assert "  inverter" in lines
    begins = lines.index("  inverter") + 1
    assert " ".join(each.strip() for each in lines[begins : begins + 3]).startswith(LEAST)
    assert max(map(len, lines[begins : begins + 3])) <= 40


def test_as_data_it_has_its_sides_its_places_and_the_least(capsys: pytest.CaptureFixture[str]) -> None:
    document, _, _ = as_json(capsys, "wider.circuit", "text.circuit")
    drawn, text = (each["circuits"][0]["box"] for each in document["files"])
    assert drawn == {"layers": 1, "rows": 1, "columns": 4, "places": 4, "least": 3}
    assert text is None


def test_the_page_has_it_where_the_machine_stands() -> None:
    for name, words in (("least", LEAST), ("wider", LARGER), ("alone", BOTH)):
        assert called("report", f"{name}.circuit", "-o", f"{name}.html") == 0
        page = Path(f"{name}.html").read_text(encoding="utf-8")
        stage = page[page.index('class="scene"') :]
        assert stage.count(f"<p>D{words[1:]}.</p>") == page.count(words[1:]) == 1


def test_the_readme_says_of_its_drawing_what_is_said(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """By hand: two levers, two repeaters, a torch and a lamp; of two blocks below the repeaters the lamp may be one."""
    readme = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
    begins = readme.index("language 1\ncircuit gatehouse")
    write(tmp_path, gatehouse=readme[begins : readme.index("```", begins)])
    told = "drawn 8 wide, 3 deep, 2 high: 48 places; no box of fewer than 7 can hold its parts"
    assert told in said(capsys, "gatehouse.circuit")
    assert f"`{told}`" in " ".join(readme.split())
