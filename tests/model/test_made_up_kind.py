"""A kind that somebody adds (`ember.py`) is right wherever circuits in text are looked at, with no line anywhere else.

Source: rules O2, P4 and G1 of grammar/RULES.md, which an ember shares with the lamp but for its times and its light.
"""

from __future__ import annotations

from pathlib import Path

import pytest

import circuitcheck
from circuitcheck.checks.flashing import lamps_of
from circuitcheck.checks.outcome import Verdict
from circuitcheck.cli import main
from circuitcheck.engine.program import Program
from circuitcheck.explain.circuit_reading import outputs_of
from circuitcheck.language import parse
from circuitcheck.language.layout import laid_out
from circuitcheck.model.claims import Study
from circuitcheck.sweeps.faults import faults
from circuitcheck.sweeps.tolerance import settings
from circuitcheck.verify import verify_text

from .ember import Ember

HEARTH = """\
language 1
circuit  hearth  "the hearth of the mill"

lever    rope
ember    coal     from rope     glows 4t
dust     path     from coal
repeater echo     from path
lever    sill
ember    slow     from echo
output   call     from slow
place    floor    gets sky or coal through air
sensor   moss     cells 1       at floor       fades
detector ripple   watches moss.1
output   heard    from ripple

check "the coal glows on, and what it passed on is gone at once"
  at 0t         rope on
  at 10t        rope off
  at 9t         expect coal and path
  from 21gt to 27gt expect coal and path off
  at 14t        expect coal off
end

always "no light without power" when rope rises then coal within 1t
"""


pytestmark = pytest.mark.usefixtures("ember")


@pytest.fixture
def hearth(tmp_path: Path) -> str:
    """A file in which embers stand."""
    path = tmp_path / "hearth.circuit"
    path.write_text(HEARTH, encoding="utf-8")
    return str(path)


def told(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    """What a command prints that comes to an end."""
    with pytest.raises(SystemExit) as ended:
        main(list(arguments))
    printed = capsys.readouterr()
    assert ended.value.code in (0, 1), printed.out + printed.err
    assert "Traceback" not in printed.err
    return printed.out


def test_it_is_read_from_text_with_its_own_option() -> None:
    part = circuitcheck.loads(HEARTH).circuit.by_name["coal"]
    assert isinstance(part, Ember)
    assert part.glows == 8


def test_its_words_are_reserved_and_laid_out_as_others_are() -> None:
    assert {"EMBER", "GLOWS"} <= set(parse.keywords())
    text, mistakes = laid_out(HEARTH, "hearth.circuit")
    assert not mistakes
    assert laid_out(text, "hearth.circuit") == (text, [])


def test_what_stands_behind_it_goes_dark_with_its_power_and_not_with_its_light() -> None:
    program = Program(circuitcheck.loads(HEARTH).circuit)
    assert program.power.feeds(("path",)) == {"rope": 0}
    assert program.power.watched(("coal",)) == {"coal": 0}


def test_it_is_a_block_that_powers_no_other_block() -> None:
    lines = "language 1\ncircuit c\nlever a\nember e from a\nblock b from e\nlamp l from b\n"
    with pytest.raises(circuitcheck.InvalidCircuit) as refused:
        circuitcheck.loads(lines)
    assert [each.code for each in refused.value.diagnostics] == ["CKT310"]


def test_its_check_and_its_claim_hold() -> None:
    assert [each.verdict for each in verify_text(HEARTH, "hearth.circuit").outcomes] == [Verdict.HOLDS, Verdict.PROVED]


def test_it_is_proved_as_it_is_run(hearth: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert "proved" in told(capsys, "prove", hearth)


def test_it_has_the_faults_and_the_settings_that_it_says() -> None:
    loaded = circuitcheck.loads(HEARTH)
    wrong = [each.words for each in faults(loaded.circuit)]
    assert "the ember 'coal' glows twice as long" in wrong
    assert "the ember 'coal' is taken out" not in wrong  # what is a block conducts wherever it stands
    (glows,) = [each for each in settings(Study(loaded.circuit, (), ())) if each.name == "coal"]
    assert (glows.what, glows.chosen, glows.values) == ("glows", 8, (4, 8, 12))


def test_its_faults_are_looked_for(hearth: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert "single faults" in told(capsys, "sweep", "--faults", hearth)


@pytest.mark.parametrize(
    "command",
    [
        ("explain",),
        ("graph",),
        ("sweep",),
        ("light",),
        ("rules",),
        ("try", "at 2t rope on", "--show", "coal"),
    ],
)
def test_every_command_takes_it(command: tuple[str, ...], hearth: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert "coal" in told(capsys, command[0], hearth, *command[1:])


def test_it_shines_as_brightly_as_it_says(hearth: str, capsys: pytest.CaptureFixture[str]) -> None:
    """12 at the ember, and 11 a block of air away (rule G2)."""
    assert "11" in told(capsys, "light", hearth)


def test_it_is_what_people_look_at() -> None:
    lines = "language 1\ncircuit c\nlever a\nember e from a\n"
    circuit = circuitcheck.loads(lines).circuit
    assert outputs_of(circuit) == ["e"]
    assert {Program(circuit).names[each] for each in lamps_of(Program(circuit))} == {"e"}
