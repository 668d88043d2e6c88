"""The build in three dimensions: `sheets --solid`. What is drawn where, what hides what, and what a cut leaves out.

No source for the looks, which are our own. What hides what is held against rays: a line of sight meets the things that
it passes, and the first of them must be the last one painted there. Contrast: WCAG 2.2, success criterion 1.4.11,
and its definition of relative luminance.
"""

from __future__ import annotations

import random
import re
from collections.abc import Iterator
from math import sqrt
from pathlib import Path
from typing import NamedTuple

import pytest
from lxml import etree

from circuitcheck.commands.drawing_options import CORNERS
from circuitcheck.model.block_type import Form
from circuitcheck.model.drawing import ABOVE, AROUND, BELOW, MATTERS, At, Drawing, said
from circuitcheck.model.rules import NEWER
from circuitcheck.plans.solids import Cut, Solid, bounds, solids
from circuitcheck.report.solid import from_a_corner
from circuitcheck.report.solid.bodies import Tone, normal
from circuitcheck.report.solid.from_a_corner import EDGE, Asked, TooMuchToShow, solid_svg
from circuitcheck.report.solid.shapes import bodies_of
from circuitcheck.report.solid.view import Corner, Kept, shown, shown_in

from .calling import MILL, Caller, written
from .drawings import drawn_of, file_of

SVG = "{http://www.w3.org/2000/svg}"
FLOOR = "S" * 12
EVERYTHING = (
    "/".join([FLOOR] * 7),
    "T.>.}.-.a].D/............/ESW.eSw.SSS./........nNb./m.g.^._.~~%./*.O.o.P.A.V-/..........-S",
    "............/............/............/............/............/............/...........-",
)
"""A thing of each kind, held on each side."""


class Painted(NamedTuple):
    """A thing as it stands in a picture."""

    at: At
    title: str
    where: str
    paths: list[tuple[str, list[list[tuple[float, float]]]]]
    """Each with its fill, and the outlines that it paints, on the sheet."""
    letter: str


def read(text: str) -> list[Painted]:
    """The things of a picture in the order in which they are painted."""
    root = etree.fromstring(text.encode("utf-8"), etree.XMLParser(resolve_entities=False))
    assert root.tag == f"{SVG}svg"
    shapes = {each.get("id"): each for each in root.find(f"{SVG}defs")}
    found = []
    for group in root.iter(f"{SVG}g"):
        if group.get("data-at") is None:
            continue
        layer, row, column = map(int, group.get("data-at").split(","))
        x, y = map(float, re.findall(r"[-\d.]+", group.get("transform")))
        shape = shapes[group.find(f"{SVG}use").get("href").removeprefix("#")]
        paths = [(path.get("fill"), list(outlines(path.get("d"), x, y))) for path in shape.iter(f"{SVG}path")]
        letter = group.findtext(f"{SVG}text") or ""
        title, where = group.findtext(f"{SVG}title"), group.findtext(f"{SVG}desc")
        found.append(Painted((layer, row, column), title, where, paths, letter))
    return found


def outlines(path: str, x: float, y: float) -> Iterator[list[tuple[float, float]]]:
    for outline in filter(None, path.split("z")):
        numbers = list(map(float, re.findall(r"-?[\d.]+", outline)))
        yield [(a + x, b + y) for a, b in zip(numbers[::2], numbers[1::2], strict=True)]


def painted(drawing: Drawing, asked: Asked = Asked()) -> list[Painted]:  # noqa: B008
    return read(solid_svg(drawing, solids(drawing, NEWER), "mill", asked))


def places(drawing: Drawing, **asked: object) -> set[At]:
    return {each.at for each in painted(drawing, Asked(**asked))}  # type: ignore[arg-type]


# What stands where


def test_each_thing_that_is_seen_has_its_kind_its_name_and_its_place_in_words(call: Caller) -> None:
    call.good("sheets", written("mill", MILL), "--solid", "mill.svg")
    found = {each.at: each for each in read(Path("mill.svg").read_text(encoding="utf-8"))}
    lamp = found[2, 1, 3]
    assert ("lamp" in lamp.title, "bell" in lamp.title, lamp.where) == (True, True, said((2, 1, 3)))
    assert {at for at, each in found.items() if "torch" in each.title} == {(2, 2, 1)}


def test_the_picture_itself_says_what_it_shows(call: Caller) -> None:
    call.good("sheets", written("mill", MILL), "--solid", "mill.svg", "--corner", "north-west", "--apart", "2")
    root = etree.parse("mill.svg").getroot()
    title, about = root.findtext(f"{SVG}title"), root.findtext(f"{SVG}desc")
    assert ("mill" in title, "north-west" in title) == (True, True)
    assert "10 things" in about
    layers = [each.get("aria-label") for each in root.iter(f"{SVG}g") if each.get("role") == "graphics-object"]
    assert layers == ["layer 1", "layer 2"]


def test_every_kind_of_thing_has_a_shape_of_its_own_but_for_none() -> None:
    forms = [each.drawn_as for word, each in MATTERS.items() if word != "air"]
    assert len(set(forms)) == len(forms)


def test_every_form_can_be_drawn_and_stays_within_its_place() -> None:
    for form in Form:
        for way in (ABOVE, BELOW, *AROUND):
            for solid in (Solid(form, way), Solid(form, way, frozenset(AROUND), frozenset(AROUND), True, True, True)):
                bodies = bodies_of(solid)
                corners = [point for each in bodies for point in each.points]
                assert bodies, form
                assert max(abs(each) for point in corners for each in point) <= 0.5 + 1e-9
                assert len(set(corners)) == len(corners), f"bodies of a {form} share a corner"


def test_every_face_looks_outward() -> None:
    """A body is convex: all its corners lie on or behind the plane of each of its faces."""
    circuit, drawing = drawn_of(*EVERYTHING)
    for solid in set(solids(drawing, circuit.rules).values()):
        for body in bodies_of(solid):
            for face in body.faces:
                way, first = normal([body.points[each] for each in face]), body.points[face[0]]
                for point in body.points:
                    assert sum(n * (p - f) for n, p, f in zip(way, point, first, strict=True)) < 1e-9


def test_dust_has_an_arm_on_each_side_to_which_it_points_and_climbs_to_dust_that_lies_higher() -> None:
    circuit, drawing = drawn_of("SSS", "--S", "..-")
    found = solids(drawing, circuit.rules)
    assert {each.word for each in found[2, 1, 2].arms} == {"east", "west"}
    assert {each.word for each in found[2, 1, 2].climbs} == {"east"}
    assert {each.word for each in found[3, 1, 3].arms} == {"east", "west"}
    assert not found[3, 1, 3].climbs


def test_a_thing_looks_the_way_it_faces_and_away_from_what_holds_it() -> None:
    circuit, drawing = drawn_of(*EVERYTHING)
    found = solids(drawing, circuit.rules)
    assert found[2, 6, 9].way.word == "north"  # a repeater facing north
    assert found[2, 1, 1].way.word == "above"  # a torch on the block below it
    assert found[2, 3, 3].way.word == "east"  # a torch on the block to its west


# Hidden, or not


def test_what_is_walled_in_on_all_seen_sides_is_left_out_and_counted() -> None:
    circuit, drawing = drawn_of(*["SSS/SSS/SSS"] * 3)
    assert len(drawing.things) == 27
    for corner in Corner:
        assert len(painted(drawing, Asked(corner))) == 19  # 27 less the 2 × 2 × 2 behind the three sides
    text = solid_svg(drawing, solids(drawing, circuit.rules), "mill", Asked())
    assert "8 more hidden" in (etree.fromstring(text.encode()).findtext(f"{SVG}desc") or "")


def test_of_a_cube_only_the_faces_that_are_seen_are_drawn() -> None:
    _, drawing = drawn_of(*["SSS/SSS/SSS"] * 3)
    count = sum(len(each) for one in painted(drawing) for _, each in one.paths)
    assert count == 27  # nine on each of the three sides


def random_build(seed: int, letters: str) -> Drawing:
    """A build of letters on a floor, in which nothing needs a hold."""
    draw = random.Random(seed)
    layers = ["/".join(["SSSS"] * 4)]
    layers += ["/".join("".join(draw.choice(letters) for _ in range(4)) for _ in range(4)) for _ in range(3)]
    return drawn_of(*layers)[1]


def inside(point: tuple[float, float], outline: list[tuple[float, float]]) -> bool | None:
    """Whether a point lies in a convex outline; None so near its rim that rounding could decide."""
    if not all(min(each) <= here <= max(each) for here, each in zip(point, zip(*outline, strict=True), strict=True)):
        return False
    near, signs = False, set()
    for (ax, ay), (bx, by) in zip(outline, outline[1:] + outline[:1], strict=True):
        length = sqrt((bx - ax) ** 2 + (by - ay) ** 2)
        if length < 0.5:
            continue
        off = ((bx - ax) * (point[1] - ay) - (by - ay) * (point[0] - ax)) / length
        near |= abs(off) < 0.4
        signs.add(off > 0)
    return None if near and len(signs) < 2 else len(signs) == 1


def nearest(drawing: Drawing, asked: Asked, kept: Kept, x: float, y: float) -> At | None:
    """What a line of sight meets first: the thing whose bodies it enters nearest to who looks.

    The line is worked out again from the angles of an isometric drawing, and cut with the planes of all faces.
    """
    across, down = x / EDGE / (sqrt(3) / 2), y / EDGE * 2
    start = (0.0, (across + down) / 2, (down - across) / 2)  # up, right, left; it goes on by (1, 1, 1)
    best: tuple[float, At | None] = (float("-inf"), None)
    for at, solid in solids(drawing, NEWER).items():
        up, a, b = kept.seat(at)
        for body in bodies_of(solid):
            low, high = float("-inf"), float("inf")
            for face in body.faces:
                points = [asked.corner.seen(body.points[each]) for each in face]
                way = asked.corner.seen(normal([body.points[each] for each in face]))
                first = (points[0][0] + up + 0.5, points[0][1] + a + 0.5, points[0][2] + b + 0.5)
                slope, off = sum(way), sum(n * (f - s) for n, f, s in zip(way, first, start, strict=True))
                if abs(slope) < 1e-9:
                    low = float("inf") if off < 0 else low
                elif slope > 0:
                    high = min(high, off / slope)
                else:
                    low = max(low, off / slope)
            if low < high and high > best[0]:
                best = (high, at)
    return best[1]


def compared(drawing: Drawing, asked: Asked, points: int) -> int:
    """Compares what is painted last with what is met first at random points. Returns at how many there was anything."""
    kept = Kept(bounds(drawing.size, asked.cut, asked.corner.value), asked.corner, asked.apart)
    sheet, draw, found, count = from_a_corner._Sheet(kept), random.Random(5), painted(drawing, asked), 0
    origin = sheet.at((0.0, 0.0, 0.0))
    middles = [sheet.at(tuple(each + 0.5 for each in kept.seat(at))) for at in sorted(drawing.things)]  # type: ignore[arg-type]
    for _ in range(points):
        x, y = (each + draw.uniform(-EDGE, EDGE) for each in draw.choice(middles))
        hits = [(each.at, inside((x, y), outline)) for each in found for _, lines in each.paths for outline in lines]
        if all(hit is not None for _, hit in hits):
            last = next((at for at, hit in reversed(hits) if hit), None)
            assert last == nearest(drawing, asked, kept, x - origin[0], y - origin[1]), (x, y)
            count += last is not None
    return count


@pytest.mark.parametrize("corner", list(Corner))
@pytest.mark.parametrize("apart", [0, 1])
def test_what_is_painted_last_is_what_a_line_of_sight_meets_first(corner: Corner, apart: int) -> None:
    assert compared(random_build(11 + apart, "S.......D^_%Om"), Asked(corner, apart), 40) > 20


@pytest.mark.parametrize("corner", list(Corner))
def test_small_things_and_their_parts_are_painted_in_the_order_of_sight_as_well(corner: Corner) -> None:
    _, drawing = drawn_of(*(layer.replace("~", ".") for layer in EVERYTHING))
    assert compared(drawing, Asked(corner), 40) > 20


def test_a_row_of_water_is_drawn_as_one_without_walls_between() -> None:
    _, drawing = drawn_of("SSS", "~~~")
    water = [each for each in painted(drawing) if "water" in each.title]
    assert [sum(len(lines) for _, lines in each.paths) for each in water] == [2, 2, 3]


# Turned, apart, cut


def test_quarter_turns_and_layers_apart_keep_the_set_of_things() -> None:
    _, drawing = drawn_of(*EVERYTHING)
    for corner in Corner:
        assert places(drawing, corner=corner, apart=20) == set(drawing.things)


def test_who_stands_in_another_corner_sees_other_sides() -> None:
    """A wall stands before a torch only for who looks from the wall's side."""
    _, drawing = drawn_of("SSSS/SSSS/SSSS", "..../.T../..SS", "..../..../.SSS", "..../..../SSSS")
    torch = {each: (2, 2, 2) in places(drawing, corner=each) for each in Corner}
    assert (torch[Corner.NORTH_WEST], torch[Corner.NORTH_EAST]) == (True, True)


@pytest.mark.parametrize("corner", list(Corner))
def test_a_cut_leaves_out_what_stands_before_it_and_nothing_else(corner: Corner) -> None:
    _, drawing = drawn_of("-.S.S/S.S.S/S.-.S".replace("-", "S"), "S.S.S/S.S.S/S.S.S")
    south, east = "south" in corner.word, "east" in corner.word
    for row in (1, 2, 3):
        left = {at for at in drawing.things if (at[1] <= row if south else at[1] >= row)}
        assert places(drawing, corner=corner, apart=9, cut=Cut(row=row)) == left
    for column in (1, 3, 5):
        left = {at for at in drawing.things if (at[2] <= column if east else at[2] >= column)}
        assert places(drawing, corner=corner, apart=9, cut=Cut(column=column)) == left
    assert places(drawing, corner=corner, apart=9, cut=Cut(layer=1)) == {at for at in drawing.things if at[0] == 1}


def test_cuts_several_ways_leave_what_each_of_them_leaves(call: Caller) -> None:
    path = written("block", file_of(*["SSS/SSS/SSS"] * 3))
    call.good("sheets", path, "--solid", "o.svg", "--apart", "9", "--cut", "layer 2 row 1 column 2")
    found = {each.at for each in read(Path("o.svg").read_text(encoding="utf-8"))}
    assert found == {(layer, 1, column) for layer in (1, 2) for column in (1, 2)}


def test_a_cut_shows_what_was_hidden() -> None:
    _, drawing = drawn_of("SSS/SSS/SSS", "SSS/S-S/SSS", "SSS/SSS/SSS")
    assert (2, 2, 2) not in places(drawing)
    assert (2, 2, 2) in places(drawing, cut=Cut(layer=2))
    assert (2, 2, 2) in places(drawing, cut=Cut(row=2, column=2))


def test_letters_are_written_only_where_they_are_asked_for(call: Caller) -> None:
    path = written("mill", MILL)
    call.good("sheets", path, "--solid", "plain.svg")
    call.good("sheets", path, "--solid", "lettered.svg", "--letters")
    assert {each.letter for each in read(Path("plain.svg").read_text(encoding="utf-8"))} == {""}
    lettered = {each.at: each.letter for each in read(Path("lettered.svg").read_text(encoding="utf-8"))}
    assert (lettered[2, 1, 1], lettered[2, 1, 3]) == ("a", "O")


# Looks


def luminance(colour: str) -> float:
    channels = [int(colour[each : each + 2], 16) / 255 for each in (1, 3, 5)]
    linear = [each / 12.92 if each <= 0.04045 else ((each + 0.055) / 1.055) ** 2.4 for each in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_lines_stand_out_from_every_face_and_from_the_paper() -> None:
    """But for arrows, which are dark all over, and stand out from what they lie on."""
    _, drawing = drawn_of(*EVERYTHING)
    text = solid_svg(drawing, solids(drawing, NEWER), "mill", Asked())
    dark = {from_a_corner.shade(Tone.DARK, (share / 20, 0.0, 0.0)) for share in range(21)}
    fills = {fill for each in read(text) for fill, _ in each.paths}
    assert len(fills - dark) > 20
    assert min(contrast("#000000", each) for each in fills - dark) >= 3
    assert min(contrast(arrow, from_a_corner.shade(Tone.PALE, way)) for arrow in dark for way in SIDES) >= 3
    drawn = set(re.findall(r'stroke="(#\w+)"', text)) | {from_a_corner.FAINT}
    assert "#000000" in drawn
    assert min(contrast("#ffffff", each) for each in drawn) >= 3


SIDES = [(1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)]


def test_a_face_is_never_darker_than_its_colour() -> None:
    for tone in Tone:
        for way in [*SIDES, (0.6, -0.6, 0.5)]:
            assert luminance(from_a_corner.shade(tone, way)) >= luminance(tone.value)


# Hostile names, bad input


def test_names_and_letters_of_an_author_are_text_and_never_markup(call: Caller) -> None:
    text = file_of("SS", "O.", names="script 2 1 1").replace("O  lamp", "<  lamp").replace("O.", "<.")
    call.good("sheets", written("hostile", text), "--solid", "o.svg", "--letters")
    found = {each.at: each for each in read(Path("o.svg").read_text(encoding="utf-8"))}
    assert (found[2, 1, 1].letter, "script" in found[2, 1, 1].title) == ("<", True)


@pytest.mark.parametrize(
    ("words", "said_of_it"),
    [
        (("--solid", "o.svg", "--cut", "row 9"), "2 rows"),
        (("--solid", "o.svg", "--cut", "layer 3 column 1"), "2 layers"),
        (("--solid", "nowhere/o.svg"), "nowhere/o.svg"),
        (("--solid", "mill.circuit"), "mill.circuit"),
        (("--solid", "o.svg", "--svg", "o.svg"), "o.svg"),
        (("--solid", "o.svg", "--since", "mill.circuit"), "--solid"),
        (("--cut", "row 1"), "--solid"),
        (("--corner", "north-east"), "--solid"),
        (("--apart", "0"), "--solid"),
        (("--letters",), "--solid"),
    ],
)
def test_a_call_that_cannot_be_done_is_one_line_and_writes_nothing(
    call: Caller, words: tuple[str, ...], said_of_it: str
) -> None:
    path = written("mill", MILL)
    assert said_of_it in call.refused("sheets", path, *words)
    assert [each.name for each in Path().iterdir()] == ["mill.circuit"]


@pytest.mark.parametrize(
    "cut", ["", "row", "row 0", "row x", "brook 2", "row 1 row 2", "row 1 layer", "2 row", "row -1"]
)
def test_a_cut_that_is_no_place_is_refused_as_it_is_read(call: Caller, cut: str) -> None:
    run = call("sheets", written("mill", MILL), "--solid", "o.svg", "--cut", cut)
    assert (run.code, run.out, "--cut" in run.err) == (2, "", True)
    assert not Path("o.svg").exists()


def test_a_file_that_draws_nothing_has_no_build_to_show(call: Caller) -> None:
    path = written("words", "language 1\ncircuit mill\nlever rope\n")
    assert "draws nothing" in call.refused("sheets", path, "--solid", "o.svg")


def test_of_more_things_than_can_be_drawn_it_says_how_many_and_how_to_see_some(monkeypatch: pytest.MonkeyPatch) -> None:
    _, drawing = drawn_of(*["SSS/SSS/SSS"] * 3)
    monkeypatch.setattr(from_a_corner, "MOST_SHOWN", 18)
    with pytest.raises(TooMuchToShow, match=r"19 things.*--cut"):
        painted(drawing)
    assert len(painted(drawing, Asked(cut=Cut(layer=1)))) == 9


def test_of_the_largest_solid_build_only_its_outside_is_drawn() -> None:
    block = Solid(Form.BLOCK, ABOVE)
    solid = {(layer, row, column): block for layer in range(1, 17) for row in range(1, 65) for column in range(1, 65)}
    assert len(solid) == 65_536
    seen, hidden = shown(solid, Kept((range(1, 17), range(1, 65), range(1, 65)), Corner.SOUTH_EAST))
    assert len(seen) == 64 * 64 + 15 * (64 + 63)
    assert len(seen) + hidden == 65_536


def test_the_corners_of_the_call_are_those_of_the_picture() -> None:
    assert tuple(each.word for each in Corner) == CORNERS


@pytest.mark.parametrize("corner", Corner)
def test_one_picture_of_several_states_shows_each_of_them_as_a_picture_of_its_own_would(corner: Corner) -> None:
    """Some things of a build taken out of it at random, as if they had moved: what is left is seen, in its order."""
    _, drawing = drawn_of(*EVERYTHING)
    home = solids(drawing, NEWER)
    chance = random.Random(5)
    states = [home, *({at: each for at, each in home.items() if chance.random() < 0.8} for _ in range(4))]
    kept = Kept(bounds(drawing.size, Cut(), corner.value), corner)
    together = shown_in(states, kept)
    for number, state in enumerate(states):
        assert [each for each, found in together if number in found] == shown(state, kept)[0]


@pytest.mark.parametrize(
    ("numbers", "said_so"), [([0], "0"), ([0, 1, 2], "0-2"), ([1, 3, 4, 9], "1 3-4 9"), ([2, 3], "2-3")]
)
def test_states_are_said_in_spans(numbers: list[int], said_so: str) -> None:
    assert from_a_corner.in_spans(numbers) == said_so
