"""The build in three dimensions on a bench: what stands where at a moment, and that a changed picture is a new one.

What stands where is held against the drawing as the rules of strokes leave it (M1, M4: `scene`), read again as a whole.
A picture that is changed piece by piece is held against one that is drawn whole. No source for the looks: our own.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from lxml import etree

from circuitcheck.bench.calls import answered
from circuitcheck.bench.workbench import Known, Workbench
from circuitcheck.bench.worked import Stopped
from circuitcheck.model.block_type import Form
from circuitcheck.model.drawing import At
from circuitcheck.plans.solids import Solid, solids
from circuitcheck.space.scene import displacement, scene

from .test_worked import LINE, session

SVG = "{http://www.w3.org/2000/svg}"
PUSHED = """language 1
circuit sluice_board
legend
  .  air
  S  block
  -  dust
  a  lever   named pond
  P  piston  facing east  sticky  named ram
end
drawing
  layer 1
    SSSSSSS
    SSSSSSS
  end
  layer 2
    aPS.--.
    ....-..
  end
end
"""
VIEWS: list[dict[str, str]] = [
    {},
    {"corner": "north-west", "apart": "2", "letters": "1"},
    {"corner": "south-west", "layer": "5", "row": "3"},
]


def standing(bench: Workbench) -> dict[At, Solid]:
    """The solids on a bench now."""
    now = bench.seen.standing(bench.worked.state)
    assert now is not None
    return bench.seen.standings.all_solids(now)


def painted(root: Any) -> list[tuple[str | None, ...]]:
    """The things of a picture in the order in which they are painted, each with the outlines of its shape."""
    shapes = {each.get("id"): each for each in root.iter(f"{SVG}g") if each.get("id")}
    found = []
    for each in root.iter(f"{SVG}g"):
        if each.get("data-at"):
            shape = shapes[each.find(f"{SVG}use").get("href").removeprefix("#")]
            paths = [path.get("d") + path.get("fill") for path in shape.iter(f"{SVG}path")]
            words = (
                each.findtext(f"{SVG}title"),
                each.findtext(f"{SVG}text") or "",
                shape.get("stroke-dasharray") or "",
            )
            found.append((each.get("data-at"), each.get("transform"), *words, *paths))
    return found


def changed(picture: Any, told: dict[str, Any]) -> None:
    """Changes a picture as a page does."""
    groups = {each.get("data-at"): each for each in picture.iter(f"{SVG}g") if each.get("data-at")}
    for at in told["gone"]:
        groups[at].getparent().remove(groups[at])
    pieces = list(etree.fromstring(told["svg"].encode("utf-8"))) if told["put"] else []
    defs = picture.find(f"{SVG}defs")
    known = {each.get("id") for each in defs}
    defs.extend([each for each in pieces if each.get("id") and each.get("id") not in known])
    new = {each.get("data-at"): each for each in pieces if each.get("data-at")}
    for at, before in told["put"]:
        if at in groups and at not in told["gone"]:
            groups[at].getparent().remove(groups[at])
        layer = next(each for each in picture.iter(f"{SVG}g") if each.get("aria-label") == f"layer {at.split(',')[0]}")
        if before:
            groups[before].addprevious(new[at])
        else:
            layer.append(new[at])
        groups[at] = new[at]


@pytest.mark.parametrize("asked", VIEWS)
def test_a_picture_that_is_changed_as_things_move_is_the_one_that_would_be_drawn(asked: dict[str, str]) -> None:
    bench, fresh = Workbench("circuits/paddles.circuit"), Workbench("circuits/paddles.circuit")
    first = bench.build(asked)
    picture, known, differed = etree.fromstring(first["svg"].encode("utf-8")), first["standing"], 0
    for act in ("on", "off"):
        for each in (bench, fresh):
            answered(each, {"do": "act", "name": "gear", "verb": act})
        for _ in range(14):
            for each in (bench, fresh):
                answered(each, {"do": "step", "number": 1})
            told = bench.build({**asked, "since": str(known)})
            known, differed = told["standing"], differed + len(told["put"])
            changed(picture, told)
            whole = etree.fromstring(fresh.build(asked)["svg"].encode("utf-8"))
            assert painted(picture) == painted(whole)
    assert differed >= 4


def test_what_stands_where_is_what_the_strokes_leave(tmp_path: Path) -> None:
    """Rules M1, M4 and W3: what is pushed lands a place further on, and dust beside it points as it is joined then."""
    bench = session(tmp_path, PUSHED)
    drawing, rules = bench.seen.drawing, bench.worked.program.rules
    assert drawing is not None
    seen = set()
    for act in ("on", "off"):
        answered(bench, {"do": "act", "name": "pond", "verb": act})
        for _ in range(12):
            answered(bench, {"do": "step", "number": 1})
            now = bench.worked.state.configuration
            if now is None or now.moving:
                continue
            there = solids(scene(drawing, displacement(drawing, now)), rules)
            found = standing(bench)
            plates = {at for at, solid in found.items() if solid.form is Form.PLATE}
            assert {at: solid for at, solid in found.items() if not (at in plates or solid.out)} == {
                at: solid for at, solid in there.items() if at in found and not (at in plates or found[at].out)
            }
            assert found.keys() == there.keys()
            seen.add((found[2, 1, 2].out, (2, 1, 4) in found))
    assert seen == {(False, False), (True, True)}


def test_what_is_on_its_way_is_drawn_with_broken_lines_and_a_head_that_is_out_has_left_its_piston(
    tmp_path: Path,
) -> None:
    """Rule M6, common practice, no source: a stroke takes a while, in which what moves is nowhere."""
    bench = session(tmp_path, PUSHED)
    answered(bench, {"do": "act", "name": "pond", "verb": "on"})
    while not standing(bench)[2, 1, 2].out:
        answered(bench, {"do": "step", "number": 1})
    found = standing(bench)
    assert (found[2, 1, 3].form, found[2, 1, 3].comes_and_goes, found[2, 1, 4].comes_and_goes) == (
        Form.PLATE,
        True,
        True,
    )
    answered(bench, {"do": "step", "number": 5})
    found = standing(bench)
    assert (found[2, 1, 3].comes_and_goes, found[2, 1, 3].sticky, found[2, 1, 4].form) == (False, True, Form.BLOCK)


def test_water_stands_as_deep_as_its_level_and_goes_with_it() -> None:
    """Rules Z1 to Z7, as `paddles` has them: its heads cut the water off the falls."""
    bench = Workbench("circuits/paddles.circuit")
    wet = {at: solid.depth for at, solid in standing(bench).items() if solid.form is Form.POOL}
    assert set(wet.values()) >= {8, 7}
    answered(bench, {"do": "act", "name": "gear", "verb": "on"})
    answered(bench, {"do": "step", "number": 60})
    dry = {at for at, solid in standing(bench).items() if solid.form is Form.POOL}
    assert dry < set(wet)


def test_the_number_of_a_standing_is_told_once_the_build_was_looked_at(tmp_path: Path) -> None:
    bench = session(tmp_path, PUSHED)
    assert bench.since(Known())[0]["standing"] == 0
    first = bench.build({})["standing"]
    assert bench.since(Known())[0]["standing"] == first > 0
    answered(bench, {"do": "act", "name": "pond", "verb": "on"})
    answered(bench, {"do": "step", "number": 9})
    second = bench.since(Known())[0]["standing"]
    answered(bench, {"do": "back", "number": 0})
    assert bench.since(Known())[0]["standing"] == first != second


@pytest.mark.parametrize(
    "asked",
    [
        {"corner": "above"},
        {"apart": "51"},
        {"apart": "-1"},
        {"apart": "٣"},
        {"layer": "3"},
        {"row": "999999999999"},
        {"column": "x"},
    ],
)
def test_a_way_of_looking_that_is_none_is_refused(tmp_path: Path, asked: dict[str, str]) -> None:
    bench = session(tmp_path, PUSHED)
    with pytest.raises(Stopped):
        bench.build(asked)


def test_of_what_is_not_drawn_there_is_no_build_and_of_what_is_unknown_the_whole(tmp_path: Path) -> None:
    with pytest.raises(Stopped):
        session(tmp_path, LINE).build({})
    bench = session(tmp_path, PUSHED)
    assert "svg" in bench.build({"since": "77"})
    assert re.search(r"<use", bench.build({"since": "x"})["svg"])


def test_what_many_ways_of_looking_and_standing_are_kept_of_is_bounded(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from circuitcheck.bench import build as builds
    from circuitcheck.plans import solids_at_a_moment as standings

    monkeypatch.setattr(builds, "MOST_SEEN", 2)
    monkeypatch.setattr(standings, "MOST_STANDINGS", 3)
    bench = session(tmp_path, PUSHED)
    for column in range(1, 8):
        bench.build({"column": str(column)})
    for act in ("on", "off", "on"):
        answered(bench, {"do": "act", "name": "pond", "verb": act})
        for _ in range(8):
            answered(bench, {"do": "step", "number": 1})
            told = bench.build({})
            assert bench.build({"since": str(told["standing"])})["put"] == []
    assert bench._build is not None
    assert len(bench._build._views) == builds.MOST_VIEWS
    assert all(len(each.seen) <= 2 for each in bench._build._views.values())
    assert len(bench.seen.standings._found) <= 3


def gone(bench: Workbench) -> list[Any]:
    """What is seen in each gt while the lever is worked."""
    found: list[Any] = []
    for act in ("on", "off", "on"):
        answered(bench, {"do": "act", "name": "pond", "verb": act})
        for _ in range(8):
            before = bench.worked.state
            answered(bench, {"do": "step", "number": 1})
            after = bench.worked.state
            found.append((bench.seen.differences(before, after), bench.seen.places(after), standing(bench)))
    return found


def test_what_is_seen_stays_true_after_more_ways_of_standing_than_are_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Held against a bench that forgets none of the ways in which its drawing has stood."""
    from circuitcheck.bench import seen

    keeps = session(tmp_path, PUSHED)
    kept = gone(keeps)
    monkeypatch.setattr(seen, "MOST_STANDS", 3)
    forgets = session(tmp_path, PUSHED)
    assert gone(forgets) == kept
    assert keeps.seen._stands is not None
    assert forgets.seen._stands is not None
    assert len(forgets.seen._stands.found) <= 3 < len(keeps.seen._stands.found)


def test_a_thing_that_is_only_called_otherwise_is_put_in_although_what_was_seen_before_is_forgotten(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Rule M4: of three blocks in a row the second comes to stand where the third stood, with the same sides seen."""
    from circuitcheck.bench import build as builds

    monkeypatch.setattr(builds, "MOST_VIEWS", 2)
    monkeypatch.setattr(builds, "MOST_SEEN", 1)
    row = PUSHED.replace("aPS.--.", "aPSST..").replace("....-..", ".......").replace("-  dust", "T  block  named stone")
    bench, mine, other = session(tmp_path, row), {"corner": "north-west"}, {"corner": "south-east"}
    bench.build(mine)
    answered(bench, {"do": "act", "name": "pond", "verb": "on"})
    answered(bench, {"do": "step", "number": 9})
    pushed = bench.build(mine)["standing"]
    answered(bench, {"do": "back", "number": 2})
    bench.build(other)
    answered(bench, {"do": "back", "number": 0})
    picture = etree.fromstring(bench.build({**mine, "since": str(pushed)})["svg"].encode("utf-8"))
    titles = {each.get("data-at"): each.findtext(f"{SVG}title") for each in picture.iter(f"{SVG}g")}
    assert "stone" in str(titles.get("2,1,5"))


def test_a_build_too_large_to_be_drawn_says_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from circuitcheck.report.solid import from_a_corner

    monkeypatch.setattr(from_a_corner, "MOST_SHOWN", 5)
    with pytest.raises(Stopped, match="cut"):
        session(tmp_path, PUSHED).build({})
