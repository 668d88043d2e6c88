"""What detectors and stuck pistons hear where a machine rests, and on the way there, where that is not as at home.

Common practice, no source: rules W10, D1, M1, M4, M10. Worked by hand from where things stand.
"""

from __future__ import annotations

import json
from pathlib import Path

from report.calling import call

from circuitcheck.engine.program import Program
from circuitcheck.explain.function import TooLarge
from circuitcheck.explain.moving_function import survey
from circuitcheck.language.load import load_text
from circuitcheck.plans.hearing_as_moved import AsMoved, Otherwise, as_moved
from circuitcheck.space.configuration import Configuration

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


WATCHER = """language 1
circuit watcher
rules newer
legend
  .  air
  S  block
  i  lever     named rope
  k  lever     named line
  r  repeater  facing south  named hint
  P  piston    facing east   named arm
  O  lamp      named bell
end
drawing
  layer 1
    SSSSS, 3 times
  end
  layer 2
    S....
    S....
    P.Ok.
  end
  layer 3
    i....
    r....
    .....
  end
end
"""
"""The lamp stands beside the place that the arm's head comes to, and two steps from the arm."""


def moved(text: str, listener: str) -> AsMoved:
    loaded = load_text(text)
    assert not loaded.diagnostics, loaded.diagnostics
    circuit = loaded.studies[0].circuit
    program, passed = Program(circuit), list[Configuration]()
    assert program.motion is not None
    program.motion.look = passed.append
    rests = survey(program, [listener], hurried=False)
    assert not isinstance(rests, TooLarge)
    return as_moved(circuit, [rest.configuration for rest in rests.rests], passed, rests.ended)


def heard(text: str) -> tuple[Otherwise, ...]:
    return moved(text, "ear").otherwise


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
    assert heard(SLIDE.replace("    Pd..", "    Sd..")) == ()


def test_a_detector_hears_nothing_while_it_is_pushed() -> None:
    """M10: while it moves it watches no place. What it hears so at rest as well is not told again."""
    (only,) = moved(SLIDE, "ear").otherwise_on_the_way
    assert (only.more, only.fewer) == ((), (("race", (2, 1, 2)),))
    assert (only.going_out, only.going_home) == (("arm",), ())


def test_a_piston_that_is_out_hears_what_its_head_hears_too() -> None:
    """M4: once its head has landed. On its way out it hears as at home."""
    found = moved(WATCHER, "arm")
    (out,) = found.otherwise
    assert (out.listener, out.out) == ("arm", ("arm",))
    assert ("bell", (2, 3, 3)) in out.more
    assert out.fewer == ()
    assert not any(each.going_out for each in found.otherwise_on_the_way)


def test_a_piston_on_its_way_home_is_deaf() -> None:
    """M4: it looks at its power as it lands."""
    (home,) = moved(WATCHER, "arm").otherwise_on_the_way
    assert home.going_home == ("arm",)
    assert [name for name, _ in home.fewer] == ["hint"]


def test_the_call_tells_it_in_lines_and_as_data(tmp_path: Path) -> None:
    path = tmp_path / "slide.circuit"
    path.write_text(SLIDE, encoding="utf-8")
    done = call("hears", str(path), "--json")
    told = json.loads(done.stdout)["configurations"]
    assert (done.returncode, told["reached"], told["ended"]) == (0, 6, "")
    assert [(each["listener"], each["configurations"]) for each in told["otherwise"]] == [("ear", 4)]
    under_way = told["under_way"]
    assert under_way["reached"] > len(under_way["otherwise"]) == 1
    assert under_way["otherwise"][0]["going_out"] == ["arm"]
    done = call("hears", str(path))
    assert done.returncode == 0
    assert "'pond'" in done.stdout.partition("4 configurations")[2]
    assert "first while 'arm' moves out" in done.stdout
