"""Each mistake that a legend, a drawing or a piece can hold: its code, the very letter, the gist, and what to do.

Common practice, no source; rules W1, W3 and X3 for what can't stand, else the language reference, "Drawings" and
"Mistakes and how to fix them". In each text a `¶` stands before the word or letter that is to be pointed at.
"""

from __future__ import annotations

from typing import NamedTuple

import pytest

from circuitcheck.diagnostics import Diagnostic
from circuitcheck.language.load import load_text

from .texts import LEGEND, arch, built, drawing, entry

MARK = "¶"


class Mistake(NamedTuple):
    """A text with a mark, and the mistake that is to be told of it there. `says` and `mend` are parts of the words."""

    code: str
    text: str
    says: str
    hint: str


SOLID = "put a solid block"
PUT = "put arch at layer 1 row 1 column"
STANDING = [
    Mistake("CKT601", built("S.", "a¶-"), "dust lies on air (layer 2, row 1, column 2; W1)", SOLID),
    Mistake("CKT601", built("¶-S"), "dust lies on air", SOLID),
    Mistake("CKT601", built("_", "¶-"), "dust lies on a half block at bottom", SOLID),
    Mistake("CKT601", built("]", "¶>"), "a repeater lies on a piston", SOLID),
    Mistake("CKT601", built("S", "T", "¶}"), "a comparator lies on a torch", SOLID),
    Mistake("CKT601", built("S", "-", "¶-"), "dust lies on dust", SOLID),
    Mistake("CKT601", built("G", "¶-", head="rules older\n"), "can't lie on a clear block under these rules", SOLID),
    Mistake("CKT601", built("G", "¶-", head="setting dust_on_clear no\n"), "can't lie on a clear block", SOLID),
    Mistake("CKT601", built("S", "¶o", head="rules older\n"), "dust can't be set to a dot", "leave out 'dot'"),
    Mistake("CKT601", built("S.", ".¶T"), "a torch has nothing to hold it: air is below it", "'on west'"),
    Mistake("CKT601", built("SS", "-¶W"), "a torch has nothing to hold it: dust is to its west", SOLID),
    Mistake("CKT601", built("G", "¶T"), "a torch has nothing to hold it: a clear block is below it", SOLID),
    Mistake("CKT601", built("^", "¶a"), "a lever has nothing to hold it: a half block at top is below it", SOLID),
    Mistake("CKT601", built("¶v", "G"), "a lever has nothing to hold it: a clear block is above it", SOLID),
    Mistake("CKT601", built("]", "¶*"), "a standing light has nothing to hold it: a piston is below it", SOLID),
    Mistake(
        "CKT601",
        built("SSS", "...", rest="put arch at layer 2 row 1 column 1", pieces="piece arch\nlayer 1\n..¶W\nend\nend\n"),
        "(layer 2, row 1, column 3; W1)",
        SOLID,
    ),
]

LETTERS = [
    Mistake("CKT603", entry("  S  block\n  ¶S  glass"), "the letter 'S' stands twice", "keep one"),
    Mistake("CKT603", f"{LEGEND}legend\n  ¶S  glass\nend\n{drawing('S')}", "the letter 'S' stands twice", "keep one"),
    Mistake("CKT603", entry("  ¶,  block"), "',' can't be a letter", "choose another"),
    Mistake("CKT101", entry("  T  torch  ¶from pond"), "'from' says nothing of what is drawn", "leave it out"),
    Mistake("CKT101", entry("  m  sensor  grows ¶from pond"), "'from' says nothing of what is drawn", "leave it out"),
    Mistake("CKT604", entry("  S  ¶blok"), "nothing that can be drawn is called 'blok'", "did you mean 'block'?"),
    Mistake("CKT604", entry("  S  ¶plate"), "nothing that can be drawn is called 'plate'", ""),
    Mistake("CKT604", entry("  S  ¶qqqq"), "nothing that can be drawn is called 'qqqq'", "there are air, "),
    Mistake("CKT605", entry("  >  ¶repeater"), "which way does a repeater face?", "facing east"),
    Mistake("CKT605", entry("  >  ¶comparator  subtract"), "which way does a comparator face?", "facing east"),
    Mistake("CKT605", entry("  >  ¶piston  sticky"), "which way does a piston face?", "facing east"),
    Mistake("CKT605", entry("  >  ¶detector"), "which way does a detector face?", "facing east"),
    Mistake("CKT605", entry("  >  repeater  facing ¶above"), "can't be 'above'", "north, east, south or west"),
    Mistake("CKT605", entry("  >  comparator  facing ¶nort"), "can't be 'nort'", "did you mean 'north'?"),
    Mistake("CKT605", entry("  T  torch  on ¶above"), "can't be 'above'", "below, north, east, south or west"),
    Mistake("CKT605", entry("  S  block  facing ¶east"), "a solid block faces no way", "leave out 'facing'"),
    Mistake("CKT605", entry("  a  lever  facing ¶east"), "a lever faces no way", "as in 'on west'"),
    Mistake("CKT605", entry("  S  block  on ¶west"), "nothing holds a solid block", "leave out 'on'"),
    Mistake("CKT605", entry("  >  repeater  facing east  on ¶west"), "nothing holds a repeater", "leave out 'on'"),
    Mistake("CKT605", entry("  h  ¶half"), "where in its place", "'at top' or 'at bottom'"),
    Mistake("CKT605", entry("  h  half  at ¶west"), "can't be at 'west'", "'at top' or 'at bottom'"),
    Mistake("CKT605", entry("  -  dust  at ¶top"), "dust can't be at 'top'", "leave it out"),
    Mistake("CKT605", entry("  a  air  at ¶top"), "'top' says nothing here", "leave it out"),
    Mistake("CKT302", entry("  h  half  at top at ¶bottom"), "already stands in this line", "keep one of them"),
    Mistake("CKT107", entry("  h  half  ¶upper"), "'upper'", "'at top'"),
    Mistake("CKT107", entry("  h  half  ¶lower"), "'lower'", "'at bottom'"),
    Mistake("CKT107", entry("  s  sensor  ¶withers  grows"), "'withers'", "'fades'"),
    Mistake("CKT605", entry("  -  dust  ¶upper"), "'upper' says nothing of dust", "it can be dot"),
    Mistake("CKT605", entry("  -  dust  ¶dott"), "'dott' says nothing of dust", "did you mean 'dot'?"),
    Mistake("CKT605", entry("  S  block  ¶dot"), "'dot' says nothing of block", "it can be fixed"),
    Mistake("CKT605", entry("  G  glass  named ¶pane"), "a clear block has no signal to be named", "leave out 'named'"),
    Mistake("CKT605", entry("  ~  water  named ¶pool"), "water has no signal to be named", "leave out 'named'"),
    Mistake("CKT605", entry("  *  light  named ¶lit"), "light has no signal to be named", "leave out 'named'"),
    Mistake("CKT605", entry("  :  air  named ¶gust"), "'gust' says nothing here: air is only air", "leave it out"),
    Mistake("CKT605", entry("  S  block  when ¶rope"), "block can't come and go", "only leaf or water can"),
    Mistake("CKT605", entry("  a  lever  ¶delay 2t"), "'delay' says nothing of a lever", "leave it out"),
    Mistake("CKT605", entry("  O  lamp  ¶sticky"), "'sticky' says nothing of a lamp", "leave it out"),
    Mistake("CKT605", entry("  O  lamp  ¶starts on"), "'starts' says nothing of a lamp", "leave it out"),
    Mistake("CKT605", entry("  m  sensor  ¶cells 4"), "'cells' says nothing of a soil cell here", "leave it out"),
    Mistake("CKT605", entry("  S  block  ¶short"), "'short' says nothing of a solid block", "leave it out"),
    Mistake("CKT302", entry("  >  repeater  facing east  facing ¶west"), "'west' already stands", "keep one"),
    Mistake("CKT302", entry("  >  repeater  facing east  delay 2t  ¶delay 3t"), "'delay' stands twice", "keep one"),
    Mistake("CKT303", entry("  B  ¶button"), "a button is either short or long", "write 'short'"),
    Mistake("CKT305", entry("  >  repeater  facing east  delay ¶5t"), "delay 5t is out of range", "from 1t to 4t"),
    Mistake("CKT306", entry("  >  repeater  facing east  delay ¶2"), "'2' needs a unit", "write 2t"),
    Mistake("CKT309", entry("  a  lever  starts ¶7"), "a lever can't start 7", "on or off"),
    Mistake("CKT101", entry("  ¶SS  block"), "'SS' can't stand here", "a letter"),
]

ROWS = [
    Mistake("CKT606", built("S¶XS"), "no legend says what 'X' is", "its letters are . S -"),
    Mistake("CKT606", drawing("¶S"), "no legend says what 'S' is", "say in a 'legend'"),
    Mistake("CKT606", built("SSS", "¶X.."), "no legend says what 'X' is", "its letters"),
    Mistake("CKT606", built("¶XSS, 3 times"), "no legend says what 'X' is", "its letters are"),
    Mistake(
        "CKT606", built("..", pieces=arch().replace("SS", "S¶X"), rest=f"{PUT} 1"), "what 'X' is", "its letters are"
    ),
    Mistake("CKT607", built("SSS/S¶S"), "this row has 2 letters, and others have 3", "equally long"),
    Mistake("CKT607", built("SSS/¶S"), "this row has 1 letter, and others have 3", "equally long"),
    Mistake("CKT607", built("SSS/SSS¶S"), "this row has 4 letters, and others have 3", "equally long"),
    Mistake("CKT607", built("SSS/S S S ¶S S"), "this row has 5 letters, and others have 3", "equally long"),
    Mistake("CKT607", built("SSS", ".¶."), "this row has 2 letters, and others have 3", "equally long"),
    Mistake("CKT607", built("SSS, 4 times/S¶S"), "this row has 2 letters", "equally long"),
    Mistake("CKT607", built("SS/SS", "..").replace("layer 2", "layer ¶2"), "1 row", "as many rows as its first"),
    Mistake("CKT607", built("SS", "../..").replace("layer 2", "layer ¶2"), "2 rows", "as many rows as its first"),
    Mistake(
        "CKT608",
        built("SS", "..").replace("layer 2", "layer 3").replace("drawing", "¶drawing"),
        "layer 2",
        "if only of air",
    ),
    Mistake(
        "CKT608", built("SS").replace("layer 1", "layer 2").replace("drawing", "¶drawing"), "layer 1 is not", "if only"
    ),
    Mistake("CKT608", built("SS", "..").replace("layer 2", "layer ¶1"), "layer 1 is drawn twice", "keep one"),
    Mistake("CKT608", built("SS", "..").replace("layer 2", "layer ¶1 to 3"), "layer 1 is drawn twice", "keep one"),
    Mistake(
        "CKT608", built("SS").replace("layer 1", "layer 2 to ¶1"), "layer 1 lies below layer 2", "from the bottom up"
    ),
    Mistake("CKT608", built("SS").replace("layer 1", "layer ¶0"), "0 is out of range", "from 1 to 256"),
    Mistake("CKT608", built("SS").replace("layer 1", "layer 1 to ¶257"), "257 is out of range", "from 1 to 256"),
    Mistake("CKT608", f"{LEGEND}¶drawing\nend\n", "no layer is drawn", "add 'layer 1'"),
    Mistake("CKT608", built("SS, 2 ¶tims"), "'tims' can't stand here", "4 times"),
    Mistake("CKT608", built("SS, ¶0 times"), "0 is out of range", "from 1 to 256"),
]

NAMED = "at layer 2 row 1 column"
PLACES = [
    Mistake(
        "CKT202",
        "legend\n  S  block\n  a  lever  named pond\n  T  torch  named ¶pond\nend\n" + drawing("SS", "aT"),
        "'pond' is the name of a lever and a torch",
        "otherwise",
    ),
    Mistake("CKT609", built("SS", "a-", rest="named pond at layer ¶3 row 1 column 1"), "outside", "2 layers, 1 row"),
    Mistake("CKT609", built("SS", "a-", rest="named pond at layer ¶1 row 1 column 3"), "outside", "2 columns"),
    Mistake("CKT609", built("SS", "a.", rest=f"named ¶pond {NAMED} 2"), "is air, which has no signal", "another place"),
    Mistake(
        "CKT609",
        built("SS", "aG", rest=f"named ¶pond {NAMED} 2"),
        "is a clear block, which has no signal",
        "another place",
    ),
    Mistake(
        "CKT609",
        built("SS", "a-", rest="named pond at layer 2 ¶rows 1 column 1"),
        "'rows' can't stand",
        "layer 2 row 3",
    ),
    Mistake(
        "CKT609",
        built("SS", "a-", rest="named pond at layer 2 row 1 ¶lane 1"),
        "'lane' can't stand here",
        "layer 2 row 3",
    ),
    Mistake(
        "CKT608", built("SS", "a-", rest="named pond at layer 2 row 1 column ¶0"), "0 is out of range", "from 1 to"
    ),
    Mistake("CKT301", built("SS", "a-", rest=f"named line {NAMED} 2 starts ¶on"), "takes no 'starts'", "leave it out"),
    Mistake("CKT309", built("SS", "a-", rest=f"named pond {NAMED} 1 starts ¶3"), "can't start 3", "on or off"),
    Mistake("CKT202", built("SS", "a-", rest=f"named ¶rope {NAMED} 2"), "'rope' is named twice", "another name"),
    Mistake("CKT202", built("SS", "T-", rest=f"named ¶torch_2_1_1 {NAMED} 2"), "'torch_2_1_1'", "another name"),
    Mistake(
        "CKT202",
        "legend\n  .  air\n  S  block\n  ]  piston  facing east\n  a  lever  named ¶piston_2_1_2.block\nend\n"
        + drawing("SSS", "a]."),
        "'piston_2_1_2.block'",
        "another",
    ),
    Mistake("CKT202", built("SSS", "a].", rest=f"named ¶paddle.block {NAMED} 1"), "'paddle.block'", "another name"),
    Mistake(
        "CKT202",
        built("SS", "a-", rest=f"named line {NAMED} 2\n  named ¶row {NAMED} 2"),
        "what is at layer 2, row 1, column 2 has a name already, 'line'",
        "keep one",
    ),
    Mistake("CKT203", built("SS", "a-", rest=f"named ¶line.* {NAMED} 2"), "'line.*'", ""),
    Mistake("CKT203", entry("  -  dust  named ¶line.*"), "'line.*'", ""),
    Mistake(
        "CKT201",
        f"legend\n.  air\n~  water  when pond\nend\n{drawing('¶~.')}",
        "nothing drawn is called 'pond'",
        "name",
    ),
]

PIECES = [
    Mistake(
        "CKT610",
        built("...", pieces=arch(), rest="put ¶arc at layer 1 row 1 column 1"),
        "'arc'",
        "did you mean 'arch'?",
    ),
    Mistake(
        "CKT610", built("...", rest="put ¶arch at layer 1 row 1 column 1"), "no piece is called 'arch'", "piece arch"
    ),
    Mistake(
        "CKT610", built(".S.", pieces=arch(), rest="put arch at layer ¶1 row 1 column 1"), "falls on", "leave room"
    ),
    Mistake(
        "CKT610",
        built("...", pieces=arch(), rest=f"{PUT} 1\nput arch at layer ¶1 row 1 column 2"),
        "the piece falls on a solid block at layer 1, row 1, column 2",
        "leave room",
    ),
    Mistake(
        "CKT610",
        built("...", pieces=arch(), rest="put arch at layer ¶1 row 1 column 3"),
        "out of the drawing",
        "move it",
    ),
    Mistake(
        "CKT610",
        built("...", pieces=arch(), rest="put arch at layer ¶1 row 1 column 1, turned right"),
        "out of",
        "move",
    ),
    Mistake(
        "CKT610", built("...", pieces=arch(f"put ¶{PUT[4:]} 1"), rest=f"{PUT} 1"), "'arch' contains itself", "circle"
    ),
    Mistake(
        "CKT610",
        built("...", pieces=arch(), rest=f"{PUT} 1, turned ¶up"),
        "'up' does not say how to turn",
        "turned right",
    ),
    Mistake(
        "CKT610", built("...", pieces=arch(), rest=f"{PUT} 1, ¶spun"), "'spun' does not say how to turn", "or mirrored"
    ),
    Mistake(
        "CKT202",
        built("...", pieces=arch() + arch().replace("piece ", "piece ¶")),
        "'arch' is made twice",
        "another name",
    ),
    Mistake(
        "CKT611", built("S") + drawing("S").replace("drawing", "¶drawing"), "the circuit is drawn twice", "keep one"
    ),
    Mistake(
        "CKT611",
        "define mill (a) gives b\n  torch b from a\nend\n"
        + built("S").replace("drawing", "drawing of mill")
        + drawing("S").replace("drawing", "¶drawing of mill"),
        "'mill' is drawn twice",
        "keep one",
    ),
    Mistake("CKT611", built("S" * 257).replace("layer 1", "layer ¶1"), "a side over 256", "in smaller pieces"),
    Mistake(
        "CKT611", built("S" * 40 + ", 40 times").replace("layer 1", "layer ¶1 to 200"), "300,000 places", "smaller"
    ),
    Mistake(
        "CKT205", built("S").replace("drawing", "drawing of ¶mill"), "nothing called 'mill' is defined", "without 'of'"
    ),
]

COMING = "".join(
    f"  {number}  lever  named pond_{number}\n  {letter}  water  when pond_{number}\n"
    for number, letter in enumerate("tuvwxyz")
)
MANY = [
    Mistake(
        "CKT602",
        f"legend\n  .  air\n  S  block\n  m  sensor  fades\n{COMING}end\n"
        + drawing("SSSSSSSm", "0123456.", *(f".......{letter}" for letter in "tuvwxyz")).replace("drawing", "¶drawing"),
        "things come and go with 7 parts, and the program follows 6 at most",
        "there all the time",
    ),
    Mistake(
        "CKT602",
        built("SSSSS/SS¶mSS/SSSSS", "TTTT./T..TT/.TT.."),
        "depends on more than 8 parts",
        "shut lamps and torches off",
    ),
]
NO_SAY = f"legend\n  .  air\n  S  block\n  m  sensor  fades\n{COMING}end\n" + drawing(
    "SSSSSSSm", "0123456.", "........", "tuvwxyz."
)
"""Seven waters beside the way of the sky's full light to the cell."""
MISTAKES = [*STANDING, *LETTERS, *ROWS, *PLACES, *PIECES, *MANY]


# Slips after which much else would look wrong
SLIPS = [
    Mistake("CKT101", built("SS¶,", "a-"), "the line ends too early", "S.S, 4 times"),
    Mistake("CKT101", built("SS/SS¶,", "a-/.."), "says how often the row comes", "S.S, 4 times"),
    Mistake("CKT101", built("SS", "a-").replace("drawing", "¶Drawing"), "no line begins with 'Drawing'", "'drawing'"),
    Mistake("CKT101", built("SS", "a-").replace("drawing", "¶drawin"), "no line begins with 'drawin'", "'drawing'"),
    Mistake("CKT101", built("SS", "a-").replace("legend", "¶Legend"), "no line begins with 'Legend'", "'legend'"),
    Mistake("CKT101", built("SS", "a-").replace("layer 1", "¶Layer 1"), "'Layer' can't stand here", "'layer'"),
    Mistake(
        "CKT101",
        f'{LEGEND}check "x"\n  ¶layer 1\n    SS\n    SS\n  end\n  until 5t\nend\n',
        "'layer' can't stand here",
        "expected 'at'",
    ),
    Mistake(
        "CKT205",
        built("SS", "a-").replace("drawing", "drawing of ¶mill") + 'check "x"\n  at 1t pond on\nend\n',
        "nothing called 'mill' is defined",
        "without 'of'",
    ),
    Mistake("CKT608", built("SS", "a-").replace("a-\n", "").replace("layer 2", "layer ¶2"), "has no rows", "draw it"),
    Mistake("CKT608", built("SS, ¶0 times", "a-/.."), "0 is out of range", "from 1 to 256"),
    Mistake("CKT608", built("SS", "a-").replace("layer 1", "layer ¶0"), "0 is out of range", "from 1 to 256"),
    Mistake(
        "CKT608", built("SS", "a-").replace("layer 2", "layer 3 to ¶2"), "layer 2 lies below", "from the bottom up"
    ),
]


def told(text: str) -> tuple[Diagnostic, ...]:
    loaded = load_text(text)
    assert loaded.valid is not bool(loaded.diagnostics)
    assert not (loaded.diagnostics and loaded.studies)
    return loaded.diagnostics


@pytest.mark.parametrize("mistake", MISTAKES, ids=lambda each: f"{each.code} {each.says or each.text[-40:]!r}")
def test_a_mistake_is_reported_with_its_letter_and_its_mend(mistake: Mistake) -> None:
    """Common practice, no source; the language reference, "Drawings" and "Mistakes and how to fix them"."""
    before, mark, _ = mistake.text.partition(MARK)
    assert mark
    diagnostics = told(mistake.text.replace(MARK, ""))
    assert diagnostics, "nothing is told"
    first = diagnostics[0]
    line, column = before.count("\n") + 1, len(before) - before.rfind("\n")
    assert (first.code, first.span.line, first.span.column) == (mistake.code, line, column), first
    assert mistake.says in first.message, first
    assert mistake.hint in first.hint, first
    assert first.hint
    assert {each.code for each in diagnostics} == {mistake.code}, diagnostics


@pytest.mark.parametrize("mistake", LETTERS, ids=lambda each: f"{each.code} {each.says}")
def test_a_letter_that_is_said_wrongly_is_no_more_than_told_where_it_is_drawn(mistake: Mistake) -> None:
    """Common practice, no source; the language reference, "Mistakes and how to fix them"."""
    (line,) = [each for each in mistake.text.splitlines() if MARK in each]
    letter = line.replace(MARK, "").strip()[0].replace(",", ".")
    legend = ["legend", "  .  air", "  &  block", line.replace(MARK, ""), "end"]
    diagnostics = told("\n".join([*legend, drawing("&&&/&&&/&&&", f".../.{letter}./...")]))
    assert mistake.code in [each.code for each in diagnostics] or "twice" in mistake.says


def test_every_code_of_drawings_is_among_these() -> None:
    """The language reference's table goes from CKT601 to CKT611."""
    assert {each.code for each in MISTAKES} >= {f"CKT6{number:02}" for number in range(1, 12)}


def test_pieces_that_contain_each_other_are_reported_where_the_circle_closes() -> None:
    """The language reference, CKT610: at one of the two lines that make the circle, whichever is followed first."""
    one = "piece arch\nlayer 1\n..\nend\nput vault at layer 1 row 1 column 1\nend\n"
    other = one.replace("vault", "?").replace("arch", "vault").replace("?", "arch")
    text = built("...", pieces=one + other, rest=f"{PUT} 1")
    lines = [number for number, line in enumerate(text.splitlines(), 1) if line.startswith("put")][:2]
    diagnostics = told(text)
    assert {each.code for each in diagnostics} == {"CKT610"}
    for each in diagnostics:
        assert each.span.line in lines
        assert each.span.column == len("put ") + 1
        assert "contains itself" in each.message
        assert "circle" in each.hint


def test_several_mistakes_are_reported_together() -> None:
    """The language reference, "Mistakes and how to fix them": each with its place."""
    text = built("SSSS", "X.Y.", rest="put vault at layer 1 row 1 column 1\nnamed pond at layer 9 row 1 column 1")
    assert [each.code for each in told(text)] == ["CKT606", "CKT606", "CKT610", "CKT609"]
    assert [each.code for each in told(built("S.S.", "--.-"))] == ["CKT601", "CKT601"]


@pytest.mark.parametrize("mistake", SLIPS, ids=lambda each: each.text[-40:])
def test_one_slip_is_reported_once_however_much_depends_on_it(mistake: Mistake) -> None:
    before, _, behind = mistake.text.partition(MARK)
    (found,) = told(before + behind)
    assert (found.code, found.span.line) == (mistake.code, before.count("\n") + 1)
    assert found.span.column == len(before.rpartition("\n")[2]) + 1
    assert mistake.says in found.message
    assert mistake.hint in found.hint


UNHELD = f"{LEGEND}legend\n  l  leaf  when bell\n  ?  leaf  when bells\nend\n"
"""Leaves that come and go with a lamp, and with one that is nowhere drawn."""


def test_what_comes_and_goes_with_a_part_is_no_second_mistake_where_another_thing_can_not_stand() -> None:
    """The language reference, CKT601: one slip is reported once; the lamp 'bell' is drawn."""
    layers = ("SSS..l", "a-O.¶-.")
    (found,) = told(f"{UNHELD}{drawing(*(layer.replace(MARK, '') for layer in layers))}")
    assert (found.code, found.span.column) == ("CKT601", layers[1].index(MARK) + 1)


def test_what_comes_and_goes_with_a_part_that_is_not_drawn_is_reported_once_all_can_stand() -> None:
    """The language reference, CKT201."""
    (found,) = told(f"{UNHELD}{drawing('SSS?..', 'a-O...')}")
    assert (found.code, "'bells'" in found.message, "'bell'" in found.hint) == ("CKT201", True, True)


@pytest.mark.parametrize(
    "text",
    [
        f'{drawing("SSS.", "a-O-")}output low from bell\ncheck "pull"\n  at 1t rope on\nend\n',
        f"define arch (rope) gives bell\n  output low from bell\nend\n{drawing('SSS.', 'a-O-')}",
        f"define arch (rope) given wait 2t from 2t to 4t gives bell\nend\n{drawing('SSS.', 'a-O-')}",
    ],
    ids=["output", "definition", "definition with a value"],
)
def test_names_of_a_drawing_that_can_not_stand_are_no_second_mistake(text: str) -> None:
    """The language reference, CKT601: what a drawing would name is not known while it can't be read."""
    of = "drawing of arch" if "define" in text else "drawing"
    (found,) = told(LEGEND + text.replace("drawing", of))
    assert (found.code, found.span.column) == ("CKT601", 4)


def test_what_comes_and_goes_without_a_say_in_the_light_at_a_cell_is_not_counted() -> None:
    """Rules G1, G2: the cell has the sky's full light whatever the seven waters do."""
    loaded = load_text(NO_SAY)
    assert loaded.diagnostics == ()
    (place,) = loaded.studies[0].circuit.places
    assert place.parts == ()
    assert [path.source for path in place.paths] == ["sky"]
