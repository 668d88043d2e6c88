"""What a smaller drawing brings with it is said: what stands elsewhere, is heard, tiles, is lit, and how it is built.

Held against the commands that look at one drawing alone (`tile`, `sheets`, `verify`), and against levels and updates
that the rules named give (grammar/RULES.md; common practice, no source).
"""

from __future__ import annotations

import io
import json
from contextlib import redirect_stdout
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from circuitcheck.cli import main
from circuitcheck.commands.looking import look
from circuitcheck.placing.task import Task, drawn_task_of
from circuitcheck.placing.written import KEPT
from circuitcheck.plans.looking_after import Laid, looked_at
from circuitcheck.report.lines import columns_of, plain
from circuitcheck.report.terminal.looked_at_lines import looked_at_lines
from circuitcheck.report.terminal.two_drawings import two_drawings

from .drawings import drawn_of

AND = """\
legend
  .  air
  S  block
  -  dust
  A  lever  on east   named a
  B  lever  on east   named b
  !  torch  named no
  /  torch  on west   named out
end

define and_gate (a, b) gives out
  torch  no.1  from a
  torch  no.2  from b
  torch  out   from no.*

  check "both"
    at 1t   a on, b on
    by 10t  expect out on
  end
end

drawing of and_gate
  layer 1
    AS.
    .S/
    BS.
  end
  layer 2
    .!.
    .-.
    .!.
  end
end
"""
COMPACT = ("compact", "--define", "and_gate", "--least")


def exit_of(*words: str) -> int:
    with pytest.raises(SystemExit) as ended:
        main(words)
    return int(str(ended.value.code))


def laid(*layers: str, names: str) -> Laid:
    circuit, drawing = drawn_of(*layers, names=names)
    return Laid(drawing, circuit, None, {name: at for at, name in drawing.names.items()})


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, Any], str]:
    """The gate's least drawing: where the file is, what was told as data, and in lines."""
    folder = tmp_path_factory.mktemp("mill")
    (folder / "gate.circuit").write_text(AND)
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        out, data = io.StringIO(), io.StringIO()
        with redirect_stdout(out):
            assert (
                exit_of(*COMPACT, "--quiet", "gate.circuit", "--keep", "--write", "less.circuit", "--width", "100") == 0
            )
        with redirect_stdout(data):
            assert exit_of(*COMPACT, "--quiet", "gate.circuit", "--json") == 0
    return folder / "less.circuit", json.loads(data.getvalue())["draw"], out.getvalue()


def test_copies_stand_as_tile_says(made: tuple[Path, dict[str, Any], str]) -> None:
    path, data, told = made
    found = {each["side"]: each for each in data["looked_at"]["copies"]}
    assert set(found) == {"above", "south", "east"}
    sizes = {"above": ("--up", "layers"), "south": ("--south", "rows"), "east": ("--east", "columns")}
    for definition, when, box in (("and_gate", "now", "found"), (f"and_gate{KEPT}", "before", "before")):
        for side, (option, size) in sizes.items():
            apart = found[side][when]
            for more in range(4 if apart is None else apart + 1):
                call = ("tile", str(path), "--define", definition, option, str(data[box][size] + more))
                assert exit_of(*call) == int(more != apart)
    assert found["east"] == {"side": "east", "before": 0, "now": 1}
    assert "(before: south at once; east at once)" in " ".join(told.split())


def test_what_needs_a_helper_block_is_what_the_sheets_say(
    made: tuple[Path, dict[str, Any], str], capsys: pytest.CaptureFixture[str]
) -> None:
    path, data, _ = made
    assert exit_of("sheets", str(path), "--define", "and_gate", "--json") == 0
    sheets = json.loads(capsys.readouterr().out)
    checked = [{each: stage[each] for each in ("layer", "lit", "dark")} for stage in sheets["stages"]]
    assert data["looked_at"]["checkpoints"] == checked
    assert {each: data["looked_at"][each] for each in ("helpers", "shut_in", "out_of_reach", "astray")} == {
        each: sheets[each] for each in ("helpers", "shut_in", "out_of_reach", "astray")
    }


def test_both_drawings_are_written_and_hold(
    made: tuple[Path, dict[str, Any], str], capsys: pytest.CaptureFixture[str]
) -> None:
    path, data, told = made
    assert exit_of("verify", str(path)) == 0
    assert exit_of("verify", str(path), "--json") == 0
    assert capsys.readouterr().out.count('"the drawing is the circuit"') >= 2
    text = path.read_text()
    kept = text[text.index(f"drawing of and_gate{KEPT}") :]
    assert AND[AND.index("  layer 1") :] in kept
    assert "9 places saved" in told
    assert data["found"]["places"] == 9
    assert data["before"]["places"] == 18


def test_both_stand_side_by_side_and_below_one_another_where_the_width_is_small(
    made: tuple[Path, dict[str, Any], str],
) -> None:
    _, _, told = made
    rows = told.splitlines()
    heading = next(row for row in rows if row.startswith("before "))
    assert heading.split() == ["before", "|", "now"]
    beside = rows[rows.index(heading) :]
    beside = beside[: next(number for number, row in enumerate(beside) if row.startswith("  verified"))]
    assert {row[heading.index("|")] for row in beside} == {"|"}
    one, other = (drawn_of(*layers)[1] for layers in (("SSS", "a-O"), ("SSSS", "a--O", "...-")))
    small = plain(two_drawings(one, other, 60)).splitlines()
    assert small.index("before") < small.index("now")
    for drawing in (one, other):
        for width in (60, 100):
            shown = plain(two_drawings(one, other, width))
            assert all(columns_of(row) <= width for row in shown.splitlines())
            layers, rows_, _ = drawing.size
            assert shown.count("layer 1") == 2
            assert layers + rows_ > 1


@pytest.mark.parametrize(
    ("text", "definition", "why"),
    [
        (AND, "", "one circuit of its own, of which two drawings can't be kept"),
        (f"{AND}\ndefine and_gate{KEPT} (a) gives out\n  torch out from a\nend\n", "and_gate", "defined already"),
    ],
    ids=["own circuit", "name taken"],
)
def test_what_can_not_be_kept_is_said_before_anything_is_searched(
    text: str, definition: str, why: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    if not definition:
        text = AND.partition("define")[0] + "drawing" + AND.partition("drawing of and_gate")[2]
    path = tmp_path / "gate.circuit"
    path.write_text(text)
    words = ("--define", definition) if definition else ()
    assert exit_of("compact", str(path), *words, "--keep", "--moves", "1000000000", "--write", str(tmp_path / "x")) == 2
    assert why in capsys.readouterr().err
    assert not (tmp_path / "x").exists()


def test_parts_that_were_moved_otherwise_than_most_are_named() -> None:
    """Everything two places east but for the lever, which stays, and a torch that is held on another side."""
    before = laid("SSSSSS", "aSW...", names="rope 2 1 1, gate 2 1 3")
    now = laid("SSSSSS", "...SW.", names="gate 2 1 5")._replace(where={"gate": (2, 1, 5)})
    assert looked_at(now, before).shift == (0, 0, 2)
    assert looked_at(now, before).elsewhere == ()
    several = laid("SSSSSSSS", "aSWSW...", names="rope 2 1 1, gate 2 1 3, high 2 1 5")
    moved = laid("SSSSSSSS", "a..SW.ES", names="rope 2 1 1, gate 2 1 5, high 2 1 7")
    found = looked_at(moved, several)
    assert found.shift == (0, 0, 2)
    assert [each.name for each in found.elsewhere] == ["rope", "high"]


def armed(plan: str, rope: int) -> Laid:
    """A piston that a lever two places above it arms (W9), and a torch in its row."""
    rows = ["......."] * 3
    layers = ("/".join(["SSSSSSS"] * 7), "/".join([*rows, plan, *rows]), "/".join(["......."] * 7))
    lever, holder = ("/".join([*rows, f"...{each}...", *rows]) for each in "uS")
    return laid(*layers, lever, holder, names=f"wedge 2 4 4, race 4 4 4, rope 2 4 {rope}")


def test_a_change_that_a_stuck_piston_hears_now_is_told() -> None:
    """Rule W10: a torch tells all within two steps, and nothing three steps away."""
    far, near, nearest = armed("T..P...", 1), armed(".T.P...", 2), armed("..TP...", 3)
    assert looked_at(nearest, near).hears == ()
    at_home = "hearing: what is heard is as before, with everything at home"
    assert at_home in plain(looked_at_lines(looked_at(nearest, near), 200))
    (new,) = {(each.listener, each.what) for each in looked_at(near, far).hears}
    assert new == ("wedge", "rope")
    assert [(each.listener, each.what) for each in looked_at(far, near).hears_no_more] == [("wedge", "rope")]
    assert "heard now, and not before: 'rope' by 'wedge'" in plain(looked_at_lines(looked_at(near, far), 100))


def test_light_that_lets_another_thing_happen_on_a_cell_is_told() -> None:
    """Rules G1, X2: a cell under water fades below light 4: beside a lamp it does not, eighteen places away it does."""
    floor, cover, way = "S" * 20, "~" + "." * 19, "." * 17
    before = laid(floor, f"m{way}aO", cover, names="pond 2 1 1, rope 2 1 19, bell 2 1 20")
    now = laid(floor, f"mOa{way}", cover, names="pond 2 1 1, rope 2 1 3, bell 2 1 2")
    assert looked_at(before, before).light == ()
    (told,) = looked_at(now, before).light
    assert "'pond'" in told
    assert "light: the light on 'pond'" in " ".join(plain(looked_at_lines(looked_at(now, before), 300)).split())


def test_a_lever_out_of_reach_is_told() -> None:
    walls = ("SSS/SSS/SSS", "SSS/SaS/SSS", "SSS/SSS/SSS")
    found = looked_at(laid(*walls, names="rope 2 2 2"), None)
    assert "work: no hand comes from outside (W1): layer 2, row 2, column 2" in plain(looked_at_lines(found, 100))


def test_what_was_said_of_layers_and_is_said_no_more_is_told() -> None:
    before, now = laid("SSS", "a-O", names="rope 2 1 1"), laid("SSS", "a-O", names="rope 2 1 1")
    assert looked_at(now, before).unsaid == ()
    said = before._replace(drawing=replace(before.drawing, words={2: ("Lay the dust last.",), 1: ("Level it.",)}))
    found = looked_at(now, said)
    assert found.unsaid == ("Level it.", "Lay the dust last.")
    assert "“Level it.”, “Lay the dust last.”" in plain(looked_at_lines(found, 200))


def test_a_file_is_looked_at_in_the_definition_that_is_drawn() -> None:
    task = drawn_task_of(AND, "gate.circuit", ".", of="and_gate")
    assert isinstance(task, Task)
    assert task.drawn is not None
    found = look(task, AND)
    assert found.elsewhere == ()
    assert found.before == found.now
