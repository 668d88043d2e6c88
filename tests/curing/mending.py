"""Files with something wrong in them, and what is found to cure them."""

from __future__ import annotations

from circuitcheck import verify_text
from circuitcheck.curing.search import MOST_CURES, Budget, Found, Search
from circuitcheck.curing.source_text import source_of_text
from circuitcheck.verify import Exit

WEIR = """\
language 1
circuit weir "A ripple opens the weir, one behind it shuts it."

lever     pond
lever     race
detector  ripple   watches pond  delay 1t       pulse 1t
detector  stir     watches race  delay 1t       pulse 1t
repeater  opening  from ripple   delay 2t       starts off
repeater  closing  from stir     delay 2t       starts off
latch     gate     set opening   reset closing  starts reset
lamp      open     from gate
lamp      shut     from gate.inverse

check "a ripple opens the weir"
  at 1s   pond on
  by 30t  expect open on and shut off
  at 40t  race on
  by 50t  expect shut on and open off
end

check "it opens 5t after the ripple"
  at 1s       pond on
  throughout  from pond rises to open rises takes 5t
end

"""
"""Sound: a ripple's pulse is made long enough for the torches of the latch (common practice, no source: T3)."""


def broken(old: str, new: str, text: str = WEIR) -> str:
    """A file with one thing in it written otherwise."""
    assert text.count(old) == 1
    return text.replace(old, new)


def searched(text: str, budget: Budget | None = None, most: int = MOST_CURES) -> tuple[Search, Found]:
    """A search that has come to its end, and what it came to."""
    search = Search(source_of_text(text, "weir.circuit", "."), budget or Budget(), most)
    search.carry_out()
    return search, search.found()


def cures(text: str) -> list[str]:
    """What cures a file, in words, cheapest first. Each cured text is verified by itself."""
    _, found = searched(text)
    for cure in found.cures:
        assert verify_text(cure.text).exit is Exit.HOLDS
    return [cure.change.words for cure in found.cures]
