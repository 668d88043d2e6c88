"""A kind that somebody adds (`ember.py`) is right in drawings and in an editor, with no line anywhere else.

Source: rules O2, P4, W3, W8, W10, M1 and G1 of grammar/RULES.md, which an ember shares with the lamp but for its times
and its light.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest

import circuitcheck
from circuitcheck.checks.outcome import Verdict
from circuitcheck.cli import main
from circuitcheck.editor.analysis import analyse
from circuitcheck.editor.completion import offers
from circuitcheck.editor.hover import hover
from circuitcheck.engine.program import Program
from circuitcheck.language.layout import laid_out
from circuitcheck.model.drawing import MATTERS, At, Drawing
from circuitcheck.plans.staging import bill, stages
from circuitcheck.report.sheet import FILLS, described, layer_picture
from circuitcheck.space.circuit import read
from circuitcheck.space.light import shining
from circuitcheck.space.occupied import is_movable
from circuitcheck.space.room import Room
from circuitcheck.space.strokes import Strokes
from circuitcheck.space.telling import update_targets
from circuitcheck.verify import verify_text

from .ember import KIND, Ember

pytestmark = pytest.mark.usefixtures("ember")

BUILD = """\
language 1
circuit  hearth  "the hearth of the mill"

legend
  .  air
  S  block
  -  dust
  a  lever
  e  ember     glows 4t
  >  repeater  facing east
  D  detector  facing south
  E  torch     on west
  l  lamp
end

drawing
  layer 1
    SSSSSS
    SSSSSS
  end
  layer 2
    a>e-l.
    ..D...
  end
  named rope at layer 2 row 1 column 1
  named coal at layer 2 row 1 column 3
  named path at layer 2 row 1 column 4
  named bell at layer 2 row 1 column 5
  named ripple at layer 2 row 2 column 3
end

check "the coal glows on, and what it passed on is gone at once"
  at 0t   rope on
  at 10t  rope off
  at 9t   expect coal and path and bell
  at 12t  expect coal and path off
  at 16t  expect coal off
end

always "no light without power" when rope rises then coal within 2t
"""
COAL: At = (2, 1, 3)


def drawn() -> tuple[circuitcheck.LoadedCircuit, Drawing]:
    """The build, as it is read."""
    loaded = circuitcheck.loads(BUILD)
    assert loaded.circuit.drawing is not None
    return loaded, loaded.circuit.drawing


@pytest.fixture
def hearth(tmp_path: Path) -> str:
    """A file in which embers are drawn."""
    path = tmp_path / "hearth.circuit"
    path.write_text(BUILD, encoding="utf-8")
    return str(path)


def told(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    """What a command prints that comes to an end."""
    with pytest.raises(SystemExit) as ended:
        main(list(arguments))
    printed = capsys.readouterr()
    assert ended.value.code in (0, 1), printed.out + printed.err
    assert "Traceback" not in printed.err
    return printed.out


def test_it_is_read_from_a_drawing_with_its_own_option() -> None:
    part = drawn()[0].circuit.by_name["coal"]
    assert isinstance(part, Ember)
    assert part.glows == 8
    assert part.heated_by == ("repeater_2_1_2", "path")  # the dust points back into it (W3)


def test_what_it_passes_on_in_a_drawing_is_its_power_and_not_its_light() -> None:
    program = Program(drawn()[0].circuit)
    assert program.power.feeds(("path",)) == {"repeater_2_1_2": 0}


def test_a_detector_behind_which_it_stands_watches_it() -> None:
    (port,) = drawn()[0].circuit.by_name["ripple"].ports()
    assert port.sources == ("coal",)


def test_a_torch_is_attached_to_it_as_to_a_block() -> None:
    hung = BUILD.replace("..D...", "......").replace("a>e-l.", "a>eE..")
    for name in ("path at layer 2 row 1 column 4", "bell at layer 2 row 1 column 5"):
        hung = hung.replace(f"  named {name}\n", "")
    hung = hung.replace("  named ripple at layer 2 row 2 column 3\n", "").partition("\ncheck")[0]
    torch = circuitcheck.loads(hung).circuit.by_name["torch_2_1_4"]
    (block,) = torch.powers
    assert Program(circuitcheck.loads(hung).circuit).power.feeds((block,)) == {"repeater_2_1_2": 0}


def test_its_check_and_its_claim_hold_as_it_is_drawn() -> None:
    outcomes = verify_text(BUILD, "hearth.circuit").outcomes
    assert [each.verdict for each in outcomes] == [Verdict.HOLDS, Verdict.PROVED]


def test_its_change_tells_the_six_places_beside_it() -> None:
    loaded, drawing = drawn()
    assert len(update_targets(Room(drawing, loaded.circuit.rules), COAL)) == 6


def test_it_shines_where_it_is_drawn() -> None:
    loaded, drawing = drawn()
    assert dict(shining(Room(drawing, loaded.circuit.rules)))[COAL] == 12


def test_a_piston_moves_it() -> None:
    pushed = BUILD.replace("D  detector  facing south", "D  piston    facing north").partition("\ncheck")[0]
    circuit = circuitcheck.loads(pushed.replace("ripple", "ram")).circuit
    assert circuit.drawing is not None
    (stroke,) = Strokes(circuit.drawing, circuit.rules).one_at_a_time()
    ((home, _),) = stroke.moves
    assert circuit.drawing.things[home].word == "ember"
    assert is_movable(circuit.drawing.things[home])


def test_it_is_placed_by_itself_and_brought_under_its_own_name() -> None:
    loaded, drawing = drawn()
    (second,) = (each for each in stages(drawing, loaded.circuit.rules, {}) if each.layer == 2)
    assert set(second.places[:3]) == {COAL, (2, 1, 5), (2, 2, 3)}  # the ember, the lamp and the detector
    assert bill(drawing, second.places)["ember"] == 1


def test_it_is_drawn_in_a_sheet_as_the_block_that_it_is() -> None:
    _, drawing = drawn()
    picture = layer_picture(drawing, 2)
    (group,) = (each for each in picture.iter("g") if each.get("data-at") == "2,1,3")
    (ground,) = (each for each in group if each.tag == "rect")
    assert ground.get("fill") == FILLS[MATTERS["block"].ground]
    assert described(drawing.things[COAL]) == "ember, glows 4t"


def test_a_word_that_one_may_reach_for_is_met_with_its_own() -> None:
    with pytest.raises(circuitcheck.InvalidCircuit) as refused:
        circuitcheck.loads(BUILD.replace("ember     glows 4t", "coal"))
    first = refused.value.diagnostics[0]
    assert (first.code, first.hint) == ("CKT604", "say 'ember'")


def test_an_option_that_it_has_not_is_refused_at_its_letter() -> None:
    with pytest.raises(circuitcheck.InvalidCircuit) as refused:
        circuitcheck.loads(BUILD.replace("ember     glows 4t", "ember     delay 4t"))
    assert refused.value.diagnostics[0].span.line == 9


@pytest.mark.parametrize(
    "command",
    [
        ("sheets",),
        ("sheets", "--json"),
        ("hears",),
        ("tile", "--east", "9"),
        ("light", "--layer", "2"),
        ("explain",),
        ("graph",),
        ("sweep",),
        ("prove",),
        ("verify",),
        ("diagnose", "rope on", "coal off"),
    ],
)
def test_every_command_takes_it_as_it_is_drawn(
    command: tuple[str, ...], hearth: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert told(capsys, command[0], hearth, *command[1:])


def test_a_detector_is_said_to_hear_it(hearth: str, capsys: pytest.CaptureFixture[str]) -> None:
    (listener,) = json.loads(told(capsys, "hears", hearth, "--json"))["listeners"]
    assert [each["what"] for each in listener["heard"]] == ["coal"]


def test_a_page_shows_it_powered(hearth: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "hearth.html"
    told(capsys, "report", hearth, "-o", str(path))
    assert "coal" in path.read_text(encoding="utf-8")


def test_a_piston_that_would_move_it_is_reported() -> None:
    assert "V5" in {each.rule for each in verify_text(moved_by_a_piston(), "hearth.circuit").findings}


def moved_by_a_piston() -> str:
    """The build with a piston before the ember, and nothing asked."""
    pushed = BUILD.replace("D  detector  facing south", "D  piston    facing north").partition("\ncheck")[0]
    return pushed.replace("ripple", "ram")


def test_a_file_in_which_it_is_drawn_is_laid_out_and_stays_so() -> None:
    text, mistakes = laid_out(BUILD, "hearth.circuit")
    assert not mistakes
    assert laid_out(text, "hearth.circuit") == (text, [])


def offered(text: str) -> dict[str, str]:
    """What an editor offers behind a text, with what it says of it."""
    line, column = text.count("\n") + 1, len(text.rpartition("\n")[2]) + 1
    return {each.text: each.meaning for each in offers(analyse(text, "/mill/hearth.circuit"), line, column)}


def test_an_editor_offers_its_word_and_its_options() -> None:
    head = "language 1\ncircuit c\nlever a\n"
    assert offered(head)["ember"] == KIND.summary
    assert offered(f"{head}ember e from a ")["glows"] == "how long it glows on"


def test_an_editor_says_what_it_is_and_how_late() -> None:
    text = "language 1\ncircuit c\nlever a\nember e from a glows 4t\n"
    analysis = analyse(text, "/mill/hearth.circuit")
    mention = analysis.at(4, 7)
    assert mention is not None
    said = hover(analysis, mention)
    assert KIND.summary in said
    assert "delay: 0t to 4t" in said
    assert "settled: a" in said


def test_a_drawing_of_the_circuit_in_text_is_that_circuit() -> None:
    text = "language 1\ncircuit c\nlever a\nrepeater r from a\nember e from r\n"
    legend = "legend\n  S  block\n  a  lever\n  >  repeater  facing east\n  e  ember\nend\n"
    rows = "drawing\n  layer 1\n    SSS\n  end\n  layer 2\n    a>e\n  end\nend\n"
    findings = verify_text(text + legend + rows, "hearth.circuit").findings
    assert "CKT610" not in {each.rule for each in findings}


def test_it_is_read_again_under_other_rules() -> None:
    loaded, drawing = drawn()
    assert not read(drawing, loaded.circuit.rules).mistakes


def test_in_three_dimensions_it_has_a_plain_shape_that_its_other_answers_lead_to(
    hearth: str, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    assert KIND.block_type is not None
    assert (KIND.block_type.form, KIND.block_type.drawn_as) == (None, MATTERS["lamp"].drawn_as)
    told(capsys, "sheets", hearth, "--solid", str(tmp_path / "hearth.svg"))
    assert "ember" in (tmp_path / "hearth.svg").read_text(encoding="utf-8")
