"""What detectors and stuck pistons hear in each configuration in which a machine rests, where that is not as at home.

Common practice, no source: rules W10, D1, M1, M10. Worked by hand from where things stand.
"""

from __future__ import annotations

import json
from pathlib import Path

from report.calling import call

from circuitcheck.engine.program import Program
from circuitcheck.explain.function import TooLarge
from circuitcheck.explain.moving_function import survey
from circuitcheck.language.load import load_text
from circuitcheck.plans.hearing_as_moved import Otherwise, heard_as_moved

SLIDE = """language 1
circuit slide
rules newer
legend
  .  air
  S  block
  a  lever     named race
  b  lever     named pond
  d  detector  facing south  named ear
  P  piston    facing east   named arm
  i  lever     named rope
  Q  piston    facing east   named other
  j  lever     named line
end
drawing
  layer 1
    SSSS, 5 times
  end
  layer 2
    .ab.
    Pd..
    i...
    j...
    Q...
  end
end
"""
"""The arm pushes the ear from the race to the pond, and there it stays; the other piston has nothing to do with it."""


def heard(text: str) -> list[Otherwise]:
    loaded = load_text(text)
    assert not loaded.diagnostics, loaded.diagnostics
    circuit = loaded.studies[0].circuit
    rests = survey(Program(circuit), ["ear"], hurried=False)
    assert not isinstance(rests, TooLarge)
    return list(heard_as_moved(circuit, [rest.configuration for rest in rests.rests]))


def test_a_detector_that_was_pushed_hears_what_it_comes_to_watch_and_no_more_what_it_watched() -> None:
    first = heard(SLIDE)[0]
    assert (first.listener, first.place) == ("ear", (2, 2, 3))
    assert (first.more, first.fewer) == ((("pond", (2, 1, 3)),), (("race", (2, 1, 2)),))
    assert first.out == ("arm",)
    assert first.moved == (("ear", (2, 2, 3)),)


def test_configurations_in_which_it_hears_the_same_are_told_once() -> None:
    """With the arm out or home again, with the other piston out or home: the ear stays where it was pushed to."""
    (only,) = heard(SLIDE)
    assert only.configurations == 4


def test_where_nothing_near_a_listener_moves_it_hears_the_same_throughout() -> None:
    assert heard(SLIDE.replace("    Pd..", "    Sd..")) == []


def test_the_call_tells_it_in_lines_and_as_data(tmp_path: Path) -> None:
    path = tmp_path / "slide.circuit"
    path.write_text(SLIDE, encoding="utf-8")
    done = call("hears", str(path), "--json")
    told = json.loads(done.stdout)["configurations"]
    assert (done.returncode, told["reached"], told["ended"]) == (0, 6, "")
    assert [(each["listener"], each["configurations"]) for each in told["otherwise"]] == [("ear", 4)]
    done = call("hears", str(path))
    assert done.returncode == 0
    assert "'pond'" in done.stdout.partition("4 configurations")[2]
