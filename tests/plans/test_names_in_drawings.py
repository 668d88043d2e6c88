"""Names in legends, pieces and drawings, as an editor knows them: which name it is, and changed everywhere it stands.

No source; README (Drawings): a name in a legend or by place is that of the part, a piece's name stands before it.
"""

from __future__ import annotations

import pytest

from circuitcheck.editor.analysis import analyse
from circuitcheck.editor.renaming import renamed
from circuitcheck.language.mentions import PART, PIECE, Mention
from circuitcheck.verify import verify_text

from .drawings import file_of

PATH = "/mill/drawn.circuit"
CHECK = 'check "it rings"\n  at 1s  rope on\n  at 1s  expect bell\nend\n'
WORDS = "lever rope\nlamp bell from rope\n"
DRAWN = """language 1
legend
  S  block
  a  lever  named rope
  O  lamp   named bell
  ~  water  when rope off
  .  air
end
drawing
  layer 1
    SSS
  end
  layer 2
    aO~
  end
end
"""
BY_PLACE = file_of("SSS", "a-O", names="rope 2 1 1, bell 2 1 3")
ARCHES = """language 1
legend
  .  air
  S  block
  W  torch  on west  named lit
  e  lever  on east  named feed
end
piece arch
  layer 1
    SSS
  end
  layer 2
    eSW
  end
end
drawing
  layer 1
    ......, 2 times
  end
  layer 2
    ......, 2 times
  end
  put arch named left at layer 1 row 1 column 1
  put arch named right at layer 1 row 2 column 4
end
check "each has its own"
  at 1t  left.feed on
  at 4t  expect left.lit off and right.lit on
end
"""
DEFINED = """language 1
define wire (a) gives line
  dust  line  from a  length 2
  lamp  bell  from line
end
legend
  S  block
  i  lever  named a
  -  dust
  x  dust   named line
  O  lamp   named bell
end
drawing of wire
  layer 1
    SSSS
  end
  layer 2
    i-xO
  end
end
"""


def mentions_of(text: str, name: str) -> list[Mention]:
    return [each for each in analyse(text, PATH).mentions if each.key.name == name]


def rename(text: str, mention: Mention, new: str) -> str:
    """The text with a name changed everywhere it stands."""
    spans = renamed(mention, new, [analyse(text, PATH)])
    rows = text.split("\n")
    for span in sorted(spans, key=lambda each: (each.line, each.column), reverse=True):
        row = rows[span.line - 1]
        rows[span.line - 1] = row[: span.column - 1] + new + row[span.end_column - 1 :]
    return "\n".join(rows)


def judged(text: str) -> list[tuple[str, str]]:
    report = verify_text(text)
    assert report.diagnostics == (), report.diagnostics
    return [(each.title, each.verdict.value) for each in report.outcomes]


def test_a_name_in_a_legend_declares_the_part_where_the_file_names_none_otherwise() -> None:
    found = mentions_of(DRAWN + CHECK, "rope")
    assert [(each.what, each.span.line) for each in found if each.declares] == [("lever", 4)]
    assert [each.span.line for each in found if not each.declares] == [6, 18]
    assert {(each.key.space, each.key.definition) for each in found} == {(PART, "")}


def test_a_name_by_place_declares_the_part_as_well() -> None:
    found = mentions_of(BY_PLACE + CHECK, "rope")
    assert [each.what for each in found if each.declares] == ["drawn part"]


@pytest.mark.parametrize("text", [DRAWN, BY_PLACE], ids=["in the legend", "by place"])
def test_beside_words_a_drawing_only_mentions_the_name_that_the_words_declare(text: str) -> None:
    found = mentions_of(text + WORDS + CHECK, "bell")
    assert [each.what for each in found if each.declares] == ["lamp"]
    assert len({each.key for each in found}) == 1


def test_a_piece_has_a_name_of_its_own_space_and_gives_first_names() -> None:
    piece = mentions_of(ARCHES, "arch")
    assert [(each.declares, each.key.space) for each in piece] == [(True, PIECE), (False, PIECE), (False, PIECE)]
    left = mentions_of(ARCHES, "left")
    assert [(each.what, each.declares) for each in left] == [("the piece arch", True), ("", False), ("", False)]


def test_a_drawing_of_a_definition_mentions_it() -> None:
    assert [(each.what, each.declares) for each in mentions_of(DEFINED, "wire")] == [("definition", True), ("", False)]


RENAMINGS = [
    ("a name in a legend", DRAWN + CHECK, "rope"),
    ("the same beside words", DRAWN + WORDS + CHECK, "rope"),
    ("a name by place", BY_PLACE + CHECK, "bell"),
    ("the same beside words", BY_PLACE + WORDS + CHECK, "bell"),
    ("a piece", ARCHES, "arch"),
    ("a first name", ARCHES, "left"),
    ("a name within a piece", ARCHES, "feed"),
    ("another name within a piece", ARCHES, "lit"),
    ("a definition that is drawn", DEFINED, "wire"),
    ("what a definition gives out", DEFINED, "line"),
    ("a port of a definition that is drawn", DEFINED, "a"),
]


@pytest.mark.parametrize(("says", "text", "name"), RENAMINGS)
def test_a_name_that_is_changed_everywhere_changes_no_verdict(says: str, text: str, name: str) -> None:
    before = judged(text)
    mention = next(each for each in mentions_of(text, name) if each.declares)
    after = rename(text, mention, "other")
    assert judged(after) == before, says
    assert [each for each in analyse(after, PATH).mentions if each.key.name == name] == []


@pytest.mark.parametrize(("says", "text", "name"), RENAMINGS)
def test_every_place_where_a_name_stands_leads_to_one_declaration(says: str, text: str, name: str) -> None:
    found = mentions_of(text, name)
    assert len({each.key for each in found}) == 1, says
    assert sum(each.declares for each in found) == 1
