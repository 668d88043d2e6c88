"""Larger circuits made smaller one change at a time, each as an edit of the file, until no single one helps."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from circuitcheck import verify_file, verify_text
from circuitcheck.cli import main
from circuitcheck.curing.search import Budget
from circuitcheck.curing.source_text import source_of, source_of_text
from circuitcheck.designing.like_parts import Alike, unread
from circuitcheck.designing.step_by_step import Steps, Unsuited, begun, made_smaller
from circuitcheck.designing.step_by_step import smaller as every_smaller
from circuitcheck.report.lines import plain
from circuitcheck.report.terminal.step_lines import step_lines
from circuitcheck.verify import report_on

ROOT = Path(__file__).resolve().parents[2]
WASTEFUL = """language 1
circuit weir "Two torches that undo each other, one that is there twice, a latch that must stay."
lever     pond
lever     race
torch     calm     from pond
torch     stirred  from calm
torch     calmer   from pond
latch     gate     set stirred  reset race  starts reset
lamp      open     from gate
lamp      still    from calm
lamp      stiller  from calmer

check "a ripple opens it, the race shuts it"
  at 1s   pond on
  by 40t  expect open on
  at 50t           pond off
  from 50t to 60t  expect open
  at 60t           race on
  from 70t to 80t  expect open off
end

check "it is told where the pond is calm"
  from 0t to 9t    expect still and stiller
  at 1s            pond on
  from 14t to 20t  expect still off and stiller off
  at 30t           pond off
  from 34t to 40t  expect still and stiller
end
"""


def smaller(text: str) -> Steps:
    source = source_of_text(text, "weir.circuit", ".")
    steps = begun(source)
    made_smaller(source, Budget(10_000), steps)
    return steps


def test_what_undoes_itself_and_what_is_there_twice_goes() -> None:
    steps = smaller(WASTEFUL)
    assert steps.before.parts - steps.after.parts == 2
    assert steps.before.ticks - steps.after.ticks == 2
    assert not steps.ended
    assert len(steps.steps) == 2
    assert verify_text(steps.text).exit.name == "HOLDS"
    assert "stirred" not in steps.text
    assert "latch" in steps.text


def test_a_delay_that_nothing_needs_is_shortened() -> None:
    steps = smaller(
        "language 1\nlever rope\nrepeater late  from rope  delay 4t\nlamp bell  from late\n"
        'check "it rings, but not at once"\n  at 10t  rope on\n  from 10t to 12t  expect bell off\n'
        "  by 15t  expect bell on\nend\n"
    )
    assert (steps.before.ticks, steps.after.ticks) == (4, 2)
    assert steps.before.parts == steps.after.parts


def test_of_what_is_least_already_nothing_goes() -> None:
    """The table of the latch alone holds both of its sides (rule L1)."""
    source = source_of(ROOT / "circuits" / "latches.circuit")
    steps = begun(source)
    made_smaller(source, Budget(10_000), steps)
    assert steps.undrawn
    assert "drawing" not in steps.text
    assert steps.steps == []
    assert not steps.ended
    assert steps.tried > 20


def test_what_fails_or_asks_nothing_or_is_too_large_is_refused() -> None:
    with pytest.raises(Unsuited, match="cure it first"):
        smaller(WASTEFUL.replace("expect open off", "expect open"))
    with pytest.raises(Unsuited, match="nothing is asked"):
        smaller(WASTEFUL.partition("check")[0])
    rows = 'language 1\nlever rope.1 to rope.400\ntorch calm.*  from rope.*\nnever "x"  calm.1 and rope.1 and rope.2\n'
    with pytest.raises(Unsuited, match="400 parts"):
        smaller(rows)


def test_the_command_writes_what_it_came_to(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    weir, new = tmp_path / "weir.circuit", tmp_path / "new.circuit"
    weir.write_text(WASTEFUL)
    with pytest.raises(SystemExit) as ended:
        main(["least", str(weir), "--by-steps", "--json", "--quiet", "--write", str(new)])
    assert ended.value.code == 0
    told = json.loads(capsys.readouterr().out)["by_steps"]
    assert told["before"]["parts"] - told["after"]["parts"] == len(told["steps"]) == 2
    assert verify_text(new.read_text()).exit.name == "HOLDS"
    with pytest.raises(SystemExit) as ended:
        main(["least", str(new), "--by-steps", "--quiet"])
    assert ended.value.code == 1


def test_what_uses_other_files_is_written_beside_them_only(tmp_path: Path) -> None:
    (tmp_path / "far").mkdir()
    (tmp_path / "pieces.circuit").write_text("define hold (a) gives b\n  repeater  b  from a  delay 1t\nend\n")
    mill, far, near = tmp_path / "mill.circuit", tmp_path / "far" / "new.circuit", tmp_path / "new.circuit"
    mill.write_text(
        'use "pieces.circuit"\nlever rope\ntorch x from rope\ntorch y from x\nhold h (a y)\nlamp open from h.b\n'
        'check "it follows"\n  at 10t rope on\n  from 20t to 30t expect open\nend\n'
    )
    for new, code in ((far, 2), (near, 0)):
        with pytest.raises(SystemExit) as ended:
            main(["least", str(mill), "--by-steps", "--quiet", "--write", str(new)])
        assert ended.value.code == code
        assert new.exists() is (code == 0)
    assert verify_file(near).exit.name == "HOLDS"


def test_the_sluice_is_made_with_a_part_and_ticks_less() -> None:
    source = source_of(ROOT / "circuits" / "sluice.circuit")
    steps = begun(source)
    made_smaller(source, Budget(10_000), steps)
    assert steps.after.parts < steps.before.parts
    assert steps.after.ticks < steps.before.ticks
    assert verify_text(steps.text).exit.name == "HOLDS"


HALF = """language 1
use "gates.circuit"
define half_adder (a, b) gives sum, carry
  xor_gate  one (a a, b b)
  and_gate  two (a a, b b)
  output    sum    from one.out
  output    carry  from two.out

  check "the table of the half adder"
    from 0t to 9t    expect sum off and carry off
    at 10t           a on
    from 14t to 19t  expect sum on and carry off
    at 20t           b on
    from 24t to 29t  expect sum off and carry on
    at 30t           a off
    from 34t to 39t  expect sum on and carry off
    at 40t           b off
    from 44t to 49t  expect sum off and carry off
  end
end
"""


def test_instances_are_written_out_and_share_what_they_have_twice() -> None:
    """A half adder takes five NORs, as in any textbook: an XOR has five, and the AND of three is among them."""
    source = source_of_text(HALF, "half.circuit", str(ROOT / "circuits"))
    steps = begun(source)
    made_smaller(source, Budget(10_000), steps)
    assert (steps.instances, steps.before.parts, steps.after.parts) == (2, 8, 5)
    assert not steps.ended
    assert len(steps.steps) == 3
    after = source_of_text(steps.text, "half.circuit", str(ROOT / "circuits"))
    assert report_on(after.loaded).exit.name == "HOLDS"
    told = " ".join(" ".join(plain(step_lines("half.circuit", steps, 80)).split()).split())
    assert "2 instances written out part by part" in told


def test_what_was_alike_in_the_runs_looked_at_is_not_made_one_for_that() -> None:
    """A repeater of 2t stretches a pulse of 1 gt (rule R3) that two torches swallow (rule T3); no run has one."""
    text = (
        "language 1\nlever rope\nrepeater late  from rope  delay 2t\ntorch slack  from rope\n"
        "torch taut   from slack\nlamp bell  from late\nlamp light  from taut\n"
    )
    source = source_of_text(text, "mill.circuit", ".")
    assert Alike(source)("", "late", "taut")
    assert not Alike(source)("", "late", "slack")
    steps = begun(source, same=True)
    made_smaller(source, Budget(10_000), steps)
    assert steps.steps == []
    held = text.replace("lever rope\n", "lever rope\nassume rope stable for 10t\n")
    steps = begun(source_of_text(held, "mill.circuit", "."), same=True)
    made_smaller(source, Budget(10_000), steps)
    assert steps.after.parts == 1


def test_what_nothing_reads_goes_first() -> None:
    text = f"{WASTEFUL}torch idle  from pond\n"
    source = source_of_text(text, "weir.circuit", ".")
    assert unread(source.loaded.studies[0].circuit) == {"idle"}
    words = [change.words for change in every_smaller(source)]
    assert len(words) == len(set(words))
    assert words.index("torch 'idle' taken out, 'pond' read in its place") < len(words) / 4
