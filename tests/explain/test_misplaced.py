"""A block that a piston moves, forgotten by the builder or put beside its place: `diagnose` and `sweep --faults`.

Common practice, no source: rules M1, M9, P4. What is seen of each build is simulated from a drawing changed by hand.
"""

from __future__ import annotations

import pytest

from circuitcheck.diagnostics import Diagnostic
from circuitcheck.examine import opened_with
from circuitcheck.explain.misplaced import beside, left_out, rebuilt
from circuitcheck.explain.mistakes import Diagnosis, diagnose
from circuitcheck.language.load import load_text
from circuitcheck.model.claims import Study
from circuitcheck.sweeps.faults import Faults, Noticed

HATCH = """language 1
circuit hatch
legend
  .  air
  S  block
  b  block
  i  lever     named rope
  j  lever     named sun
  r  repeater  facing south  delay 1t  named ray
  P  piston    facing east   sticky    named arm
  o  lamp      named bell
end
drawing
  layer 1
    SSS
    SSS
    SSS
    SSS
  end
  layer 2
    ..j
    ..r
    Pb.
    i.o
  end
end
"""
MEANT = "Pb."
CHECKS = """check "the bell waits for the block"
  at 10gt            sun on
  at 30gt            rope on
  from 1gt to 29gt   expect bell off
  from 34gt to 50gt  expect bell
end
"""
DONE = ("at 10gt sun on", "at 30gt rope on")
AT_HOME = "at layer 2, row 3, column 2, which 'arm' moves,"


def study(text: str) -> Study:
    loaded = load_text(text)
    assert not loaded.diagnostics, loaded.diagnostics
    return loaded.studies[0]


def diagnosed(tmp_path_factory: pytest.TempPathFactory, *seen: str) -> Diagnosis:
    path = tmp_path_factory.mktemp("hatch") / "hatch.circuit"
    path.write_text(HATCH, encoding="utf-8")
    opened = opened_with(str(path), [*DONE, *seen])
    assert opened.study is not None
    return diagnose(opened.study.circuit, opened.study.checks[0])


def words(diagnosis: Diagnosis) -> list[str]:
    return [each.words for each in diagnosis.fitting]


def faults(text: str) -> dict[str, Noticed]:
    found = Faults(study(text), 20_000)
    found.carry_out(None, lambda done, of: None)
    return {each.fault.words: each for each in found.found()}


def test_a_block_that_was_forgotten_fits_a_bell_that_stays_dark(tmp_path_factory: pytest.TempPathFactory) -> None:
    found = diagnosed(tmp_path_factory, "at 40gt expect bell off", "at 40gt expect arm", "at 40gt expect ray")
    assert any(AT_HOME in each and each.endswith("missing") for each in words(found))


def test_a_block_that_stands_where_it_should_only_come_to_fits_a_bell_that_is_lit_at_once(
    tmp_path_factory: pytest.TempPathFactory,
) -> None:
    found = words(diagnosed(tmp_path_factory, "at 25gt expect bell"))
    assert any(AT_HOME in each and "layer 2, row 3, column 3 instead" in each for each in found)
    assert not any(each.endswith("missing") for each in found if AT_HOME in each)


def test_checks_that_look_at_the_bell_notice_each_block_that_is_not_in_its_place() -> None:
    found = faults(HATCH + CHECKS)
    moved = {each: noticed.verdicts.holds for each, noticed in found.items() if AT_HOME in each}
    assert len(moved) == 4  # not there at all, and three free places beside its own
    assert set(moved.values()) == {False}


def test_dust_that_only_a_moved_block_powers_is_missed_when_it_is_taken_out() -> None:
    """M9, P4: the lamp hangs on dust beside the place that the block comes to, which nothing powers before."""
    longer = HATCH.replace("  b  block\n", "  b  block\n  -  dust      named wire\n")
    longer = longer.replace("    SSS\n  end", "    SSS\n    SSS\n  end").replace("    i.o", "    i.-\n    ..o")
    (taken_out,) = [each for words, each in faults(longer + CHECKS).items() if words == "the dust 'wire' is taken out"]
    assert taken_out.detected
    assert taken_out.verdicts.title == "the bell waits for the block"


def test_a_fault_that_no_check_notices_is_shown_by_a_stimulus() -> None:
    found = faults(
        HATCH
        + CHECKS.replace("  at 30gt            rope on\n", "").replace(
            "from 34gt to 50gt  expect bell", "from 40gt to 50gt  expect ray"
        )
    )
    missing = next(noticed for each, noticed in found.items() if AT_HOME in each and each.endswith("missing"))
    assert missing.verdicts.holds is not False
    assert missing.shown_by is not None
    assert "rope" in {act.name for act in missing.shown_by}


def test_what_was_asked_of_the_block_can_be_asked_of_the_build_without_it() -> None:
    """A block that passes power is known by its place; where it is gone it has none."""
    circuit = study(HATCH.replace("b  block\n", "b  block     named plank\n")).circuit
    (missing,) = left_out(circuit)
    built = rebuilt(circuit, missing.drawing)
    assert not isinstance(built, Diagnostic)
    assert set(built.by_name) == set(circuit.by_name)
    for each in beside(circuit):
        other = rebuilt(circuit, each.drawing)
        assert not isinstance(other, Diagnostic)
        assert each.to is not None
        assert other.where["plank"] == each.to


def test_a_drawing_in_which_nothing_moves_has_none_of_these() -> None:
    still = study(HATCH.replace("P  piston    facing east   sticky    named arm", "P  block")).circuit
    assert not [*left_out(still), *beside(still)]
