"""What is drawn is cured where it is drawn: in the legend, or at one place. Faults are put in by hand."""

from __future__ import annotations

from pathlib import Path

import pytest

from circuitcheck import verify_text
from circuitcheck.curing.search import Budget, Search
from circuitcheck.curing.source_text import source_of_text
from circuitcheck.verify import Exit

ROW = """\
legend
  S  block
  i  lever     named rope
  r  repeater  facing east  delay 2t  named winch
  l  lamp      named bell
end

drawing
  layer 1
    SSS
  end
  layer 2
    irl
  end
end

check "the bell rings 2t after the pull"
  at 1s       rope on
  throughout  from rope rises to bell rises takes 2t
end
"""
WIRED = "lever     rope\nrepeater  winch  from rope  delay 2t\nlamp      bell   from winch\n\n"


def cures(text: str, tries: int = 200) -> list[str]:
    """What cures a file, in words, cheapest first; each cured text is verified."""
    search = Search(source_of_text(text, "row.circuit"), Budget(tries=tries))
    search.carry_out()
    found = search.found().cures
    assert all(verify_text(each.text).exit is Exit.HOLDS for each in found)
    return [each.change.words for each in found]


def test_the_drawings_are_sound() -> None:
    assert verify_text(ROW).exit is verify_text(WIRED + ROW).exit is Exit.HOLDS


@pytest.mark.parametrize(
    ("old", "new", "cure"),
    [
        ("delay 2t", "delay 3t", "drawn repeater 'winch' delay 3t → 2t"),
        ("facing east", "facing west", "drawn repeater 'winch' facing west → east"),
    ],
)
def test_a_letters_thing_is_set_or_turned_in_the_legend(old: str, new: str, cure: str) -> None:
    assert cures(ROW.replace(old, new))[0] == cure


def test_one_place_gets_the_letter_of_another_thing_of_its_kind() -> None:
    letters = ROW.replace("  r  repeater  facing east  delay 2t  named winch\n", "").replace(
        "legend\n", "legend\n  >  repeater  facing east  delay 2t\n  <  repeater  facing west  delay 2t\n"
    )
    assert "drawn repeater in line 14: '<' → '>'" in cures(letters.replace("irl", "i<l"))


def test_a_part_that_is_drawn_as_well_is_changed_in_both() -> None:
    found = cures((WIRED + ROW).replace("delay 2t", "delay 3t"))
    assert found[0] == "repeater 'winch' delay 3t → 2t, as drawn too"


def test_a_fault_of_the_text_alone_is_undone_there() -> None:
    assert cures(WIRED.replace("2t", "3t") + ROW)[0] == "repeater 'winch' delay 3t → 2t"


LINE = """\
legend
  .  air
  S  block
  -  dust
  i  lever     named rope
  l  lamp      named bell
end

drawing
  layer 1
    SSSS
  end
  layer 2
    i--l
  end
end

check "the bell rings with the pull"
  at 1s  rope on
  by 2s  expect bell
end
"""


def test_what_is_missing_at_a_place_is_put_there() -> None:
    assert verify_text(LINE).exit is Exit.HOLDS
    assert "dust put in the drawing in line 14 at column 3: '.' → '-'" in cures(LINE.replace("i--l", "i-.l"))


def test_what_stands_in_the_way_at_a_place_is_taken_out() -> None:
    dark = LINE.replace("expect bell", "expect bell off")
    assert "drawn dust in line 14 at column 2 taken out: '-' → '.'" in cures(dark.replace("at 1s", "at 1t"))


def test_a_drawn_machine_that_moves_is_cured() -> None:
    hopper = (Path(__file__).parents[2] / "circuits" / "hopper.circuit").read_text(encoding="utf-8")
    wrong = hopper.replace("facing east   sticky    named bolt", "facing east             named bolt")
    assert wrong != hopper
    assert "drawn piston 'bolt' as it is → sticky" in cures(wrong)
