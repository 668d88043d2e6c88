"""Letters of any kind are read, and of what is bent out of a good drawing everything is read or told.

The language reference, "Drawings" and "Mistakes and how to fix them": no mistake is ever more than told.
"""

from __future__ import annotations

import random
import string

import pytest

from circuitcheck.checks.drawing.built import judged
from circuitcheck.engine.program import Program
from circuitcheck.language.load import load_text

from .texts import LEGEND, drawing

SIGNS = (set(string.punctuation) | set(string.ascii_letters) | set(string.digits) | set("§µ→äΩ—“…☀\u05d0")) - {"#", ","}


@pytest.mark.parametrize("sign", sorted(SIGNS))
def test_any_sign_but_two_can_be_a_letter(sign: str) -> None:
    """The language reference, "Drawings": `#` begins a remark and `,` ends the letters of a row."""
    air, lever = [each for each in "~:^" if each != sign][:2]
    text = f"legend\n  {sign}  block\n  {air} air\n  {lever}  lever  named rope\nend\n"
    text += f"drawing\nlayer 1\n{sign}{sign}{sign}\nend\nlayer 2\n{air}{lever}{air}\nend\nend\n"
    loaded = load_text(text)
    assert loaded.diagnostics == ()
    assert [part.name for part in loaded.studies[0].circuit.parts] == ["rope"]


def test_blanks_remarks_and_times_change_nothing_in_a_row() -> None:
    """The language reference, "Drawings": with blanks a row is a row even where it would read `end`."""
    legend = "legend\n  e  block\n  n  glass\n  d  half at top\n  # e  air\nend\n"
    plain, loose = (
        load_text(legend + text).studies[0].circuit.drawing
        for text in (drawing("dne/eee/eee/eee"), drawing("d n\te  # the north row/e  e e, 3 times # and more"))
    )
    assert plain is not None
    assert loose is not None
    assert (plain.things, plain.size) == (loose.things, loose.size) == (plain.things, (1, 4, 3))
    spelt = load_text(legend + drawing("e n d/eee")).studies[0].circuit.drawing
    assert spelt is not None
    assert [thing.word for thing in spelt.things.values()][:3] == ["block", "glass", "half"]


# Whatever is written, it is read or told

GOOD = f"""language 1
circuit mill "A drawn mill."
{LEGEND}
piece arch
  layer 1
    SSS
  end
  layer 2
    aSW
  end
  named hinge at layer 2 row 1 column 3
end

drawing
  layer 1
    SSSSSS, 3 times
    ......
  end
  layer 2
    a->-]S
    ..-...
    T.}}}}-O
    .m....
  end
  layer 3 to 4
    ......, 4 times
  end
  put arch named left at layer 3 row 4 column 1, mirrored
  put arch named right at layer 3 row 3 column 4, turned around
  named winch at layer 2 row 1 column 3 starts off
end

check "the rope"
  at 1t  rope on
  by 3t  expect winch
end
"""
WORDS = ["legend", "drawing", "piece", "layer", "end", "put", "named", "at", "row", "column", "turned", "right", "to"]
WORDS += [
    "1",
    "0",
    "7",
    "300",
    "S",
    ".",
    "a",
    "-",
    "facing",
    "on",
    "west",
    "above",
    "starts",
    "times",
    ",",
    "#",
    '"',
    "X",
]


def bent(source: random.Random, text: str) -> str:
    """A text with a few of its letters, words or lines taken out, doubled, exchanged or replaced."""
    for _ in range(source.randrange(1, 4)):
        unit = source.choice(["", "", " ", "\n"])
        pieces = list(text) if not unit else text.split(unit)
        one, other = source.randrange(len(pieces)), source.randrange(len(pieces))
        how = source.choice(["delete", "double", "swap", "replace"])
        if how == "delete":
            del pieces[one]
        elif how == "double":
            pieces.insert(other, pieces[one])
        elif how == "swap":
            pieces[one], pieces[other] = pieces[other], pieces[one]
        else:
            pieces[one] = source.choice("S.-a>]Xe \n#,") if not unit else source.choice(WORDS)
        text = unit.join(pieces) or " "
    return text


def test_the_good_file_is_good() -> None:
    """The file that is bent below has no mistake, and a drawing that is read."""
    loaded = load_text(GOOD)
    assert loaded.diagnostics == ()
    assert {"winch", "left.rope", "right.hinge", "paddle", "turf"} <= set(loaded.studies[0].circuit.by_name)


@pytest.mark.parametrize("seed", range(8))
def test_a_bent_drawing_is_read_or_told_and_what_is_read_can_be_worked(seed: int) -> None:
    """The language reference: a mistake is reported, and nothing else comes of it; what has none is a circuit."""
    source = random.Random(f"bent {seed}")
    good = 0
    for _ in range(100):
        text = bent(source, GOOD)
        loaded = load_text(text)
        assert loaded.valid is not bool(loaded.diagnostics)
        assert all(each.span.line >= 1 and each.message for each in loaded.diagnostics)
        for study in loaded.studies:
            good += 1
            Program(study.circuit)
            judged(study)
    assert 0 < good < 80
