"""What an editor gets for a text that is being written: offers, outline, names, and renamings that are refused."""

from __future__ import annotations

from pathlib import Path

import pytest

from circuitcheck.editor.analysis import Analysis, analyse, outline
from circuitcheck.editor.completion import offers
from circuitcheck.editor.hover import hover
from circuitcheck.editor.renaming import CannotRename, renamed
from circuitcheck.language.mentions import Mention

HEAD = (
    "define box (a, b) given k 2t from 2t to 4t gives o\n  repeater o from a, b delay k\nend\n"
    "lever r.1 to r.3\nlever s\ngiven w 2t\nlatch gate set s reset r.1 starts reset\nbox one (a s, b r.1)\n"
)
PARTS = ["r.1", "r.3", "s", "gate", "gate.inverse", "one.o", "r.*"]
OFFERED = {
    "box two (": ["a", "b"],
    "box two (a s, ": ["b"],
    "box two (a s, b ": PARTS,
    "box two (a s, b s) given ": ["k"],
    "box two (a s, b s) given k ": ["w"],
    "box ": [],
    "lever ": [],
    "lever t.1 to ": [],
    "output ": [],
    "given ": [],
    "define d (p) gives ": [],
    "define d (": [],
    "silence T3 for ": PARTS,
    "assume s stable for ": ["w"],
    "define e (q) gives t\n  torch t from ": ["q"],
    "define e (q) gives t\n  lever z\n  torch t from q\nend\nlamp l from ": PARTS,
    "lever q starts ": ["on", "off"],
    "lamp x from ": PARTS,
    "lamp x from on": PARTS,
    'check "x" given ': ["w"],
    "for n in ": ["w"],
    'always "x" for each ': ["r"],
    "rules ": ["older", "newer", "newest"],
    "lamp x # from ": [],
    'check "lamp x from ': [],
}


def at_end(text: str) -> list[str]:
    """What is offered behind a text."""
    line = text.count("\n") + 1
    column = len(text.rpartition("\n")[2]) + 1
    return [each.text for each in offers(analyse(text, "/mill/sluice.circuit"), line, column)]


@pytest.mark.parametrize("begun", OFFERED)
def test_what_may_come_next_is_offered_and_nothing_else(begun: str) -> None:
    assert at_end(HEAD + begun) == OFFERED[begun]


@pytest.mark.parametrize(
    "text", ["", "# nothing yet\n", "lever", "define", "for n in 1t, 2t\nend\n", "\n\n\n", "check"]
)
def test_a_text_without_anything_has_an_empty_outline(text: str) -> None:
    assert outline(analyse(text, "/mill/sluice.circuit")) == []


def test_an_empty_definition_has_an_outline_without_lines() -> None:
    (entry,) = outline(analyse("define d (a) gives o\nend\n", "/mill/sluice.circuit"))
    assert (entry.name, entry.inner) == ("d", ())


def mention_of(analysis: Analysis, name: str) -> Mention:
    return next(each for each in analysis.mentions if each.key.name == name)


def test_a_delay_that_depends_on_a_value_is_reported_with_the_value() -> None:
    analysis = analyse(HEAD, "/mill/sluice.circuit")
    (repeater,) = [each for each in analysis.mentions if each.what == "repeater"]
    assert "delay: 2t (in box, k 2t)" in hover(analysis, repeater)


def test_a_definition_that_is_called_as_the_circuit_is_another() -> None:
    text = "circuit d\nlever s\nrepeater t from s delay 4t\ndefine d (p) gives t\n  torch t from p\nend\nd one (p s)\n"
    analysis = analyse(text, "/mill/sluice.circuit")
    (torch,) = [each for each in analysis.mentions if each.what == "torch"]
    assert "delay: 1t" in hover(analysis, torch)
    assert "settled: not p" in hover(analysis, torch)


def files(folder: Path, **texts: str) -> list[Analysis]:
    """Files of a folder, analysed after all have been written."""
    for name, text in texts.items():
        (folder / f"{name}.circuit").write_text(text, encoding="utf-8")
    return [analyse(text, str(folder / f"{name}.circuit")) for name, text in texts.items()]


LIB = "define gate (a) gives o\n  torch o from a\nend\n"
USER = 'use "lib.circuit"\nlever s\ngate g (a s)\nlamp l from g.o\n'


def test_a_definition_is_not_given_the_name_of_another_that_a_user_of_it_has(tmp_path: Path) -> None:
    other = LIB.replace("gate", "door")
    analyses = files(tmp_path, lib=LIB, lib2=other, user=USER.replace("\n", '\nuse "lib2.circuit"\n', 1))
    with pytest.raises(CannotRename, match="something else"):
        renamed(mention_of(analyses[0], "gate"), "door", analyses)


def test_a_file_that_can_not_use_what_it_names_holds_a_renaming_up(tmp_path: Path) -> None:
    """Alone it has the mistake CKT505; used from above, it has none, and the name in it is that of the definition."""
    (tmp_path / "sub").mkdir()
    lib, *_ = files(tmp_path, lib=LIB)
    (user,) = files(tmp_path / "sub", user=USER.replace("lib", "../lib"))
    with pytest.raises(CannotRename, match="fix them first"):
        renamed(mention_of(lib, "gate"), "weir", [lib, user])


def test_what_was_once_known_of_a_text_is_not_renamed_in_what_it_is_now(tmp_path: Path) -> None:
    before = analyse(LIB, str(tmp_path / "lib.circuit"))
    mention = mention_of(before, "gate")
    prose = "".join(f"the gate of the mill, line {number}\n" for number in range(200))
    now = analyse(prose, before.path, before=before)
    assert now.file is None
    assert now.mentions == before.mentions
    with pytest.raises(CannotRename, match="fix them first"):
        renamed(mention, "weir", [now])


def test_only_the_last_text_that_could_be_read_is_remembered() -> None:
    known = None
    for number in range(50):
        known = analyse(f"lever s{number}\n", "/mill/sluice.circuit", before=known)
        assert len(known.mentions) == 1
        depth, each = 0, known
        while each.before is not None:
            depth, each = depth + 1, each.before
        assert depth <= 2


def test_what_a_lamp_of_a_machine_that_moves_computes_is_told_over_all_its_rests() -> None:
    path = Path(__file__).parents[2] / "circuits" / "hopper.circuit"
    analysis = analyse(path.read_text(encoding="utf-8"), str(path))
    door = next(each for each in analysis.mentions if each.whole == "door")
    assert "settled: chain" in hover(analysis, door)
