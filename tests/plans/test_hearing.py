"""What else can it hear? Detectors and stuck pistons of a drawing, with a circuit in words beside it and without.

Common practice, no source; rules W10 (who is updated), D1 (detectors), D2 (stuck pistons), W9 (power above a piston),
Z8 (water).
"""

from __future__ import annotations

import pytest

from circuitcheck.model.drawing import At
from circuitcheck.plans.hearing import Listener, listeners
from circuitcheck.verify import verify_text

from .drawings import drawn_of, file_of, side, study_of


def heard_in(text: str) -> dict[str, Listener]:
    """All that listens in a file, by name."""
    study = study_of(text)
    drawn = study.drawn or study.circuit
    assert drawn.drawing is not None
    meant = study.circuit if study.drawn is not None else None
    return {each.name: each for each in listeners(drawn, drawn.drawing, meant)}


def heard_by(name: str, *layers: str, names: str, rest: str = "", head: str = "") -> dict[At, bool | None]:
    """The places whose changes something hears, and of each whether it is meant to be heard."""
    listener = heard_in(file_of(*layers, names=names, rest=rest, head=head))[name]
    return {each.place: each.wanted for each in listener.heard}


def is_the_circuit(text: str) -> bool:
    """Whether the drawing of a file is the circuit that its words say."""
    return [each.verdict.value for each in verify_text(text).outcomes] == ["holds"]


# Who is updated, by W10. A lever two places above the piston arms it, and can't be heard there.

WIDE = "/".join(["SSSSSSS"] * 7)
ARMED = (
    ".......",
    "/".join(["......."] * 3 + ["...u..."] + ["......."] * 3),
    "/".join(["......."] * 3 + ["...S..."] + ["......."] * 3),
)
NOTHING = "/".join(["......."] * 7)


def armed(plan: str) -> tuple[str, ...]:
    return (WIDE, plan, NOTHING, *ARMED[1:])


WEDGE = "wedge 2 4 4, race 4 4 4"


def test_a_lamp_and_a_cell_beside_it_dust_and_a_torch_two_steps_off_and_a_repeater_into_the_air_there_are_heard() -> (
    None
):
    plan = "......./...T.../....-../..OP.<T/...m.../..A..../...-..."
    found = heard_by("wedge", *armed(plan), names=WEDGE)
    assert set(found) == {(2, 4, 3), (2, 5, 4), (2, 2, 4), (2, 3, 5), (2, 4, 6)}
    assert set(found.values()) == {None}  # nothing says what is meant


def test_dust_and_torches_three_steps_off_and_a_repeater_that_gives_elsewhere_are_not_heard() -> None:
    plan = "...T.../......./......./-..P..T/......./..A..../...-..."
    assert heard_by("wedge", *armed(plan), names=WEDGE) == {}


def test_pistons_that_come_there_a_comparator_a_detector_and_water_that_comes_and_goes_are_heard() -> None:
    plan = "......./......./..}..../]S.P.[./.OD≈.../......./......a"
    found = heard_by("wedge", *armed(plan), names=f"{WEDGE}, pond 2 7 7")
    assert set(found) == {(2, 4, 1), (2, 4, 6), (2, 3, 3), (2, 5, 3), (2, 5, 4)}


def test_a_lamp_two_steps_off_is_not_heard() -> None:
    plan = "......./......./......./.O.P.O./......./...O.../......."
    assert heard_by("wedge", *armed(plan), names=WEDGE) == {}


STUCK = side("..S...", "..u...", "......", "OdP.<a", "....SS")
NAMES = "race 4 1 3, pond 2 1 6, wedge 2 1 3, ripple 2 1 2, bell 2 1 1, winch 2 1 5"
WORDS = """lever     race
lever     pond
repeater  winch   from pond
detector  wedge   arming race  hears winch
detector  ripple  watches wedge
lamp      bell    from ripple
"""


def test_a_piston_that_only_the_place_above_it_powers_is_reported_as_stuck() -> None:
    found = heard_in(file_of(*STUCK, names=NAMES))
    assert {name: (each.word, each.stuck, each.place) for name, each in found.items()} == {
        "wedge": ("piston", True, (2, 1, 3)),
        "ripple": ("detector", False, (2, 1, 2)),
    }


def test_a_piston_with_power_of_its_own_and_some_above_listens_and_is_not_stuck() -> None:
    found = heard_in(file_of(*side("S..", "u..", "...", "PSw"), names="wedge 1 1 1"))
    assert (found["wedge"].word, found["wedge"].stuck) == ("piston", False)


@pytest.mark.parametrize("head", ["", "setting power_above_piston no"])
def test_a_piston_that_nothing_powers_from_above_has_nothing_to_listen_for(head: str) -> None:
    """W9: it feels its own power, and a set of rules without power above a piston knows no other."""
    plain = file_of("SSS", "a>]", names="paddle 2 1 3", head=head)
    assert heard_in(plain) == {}
    if head:
        assert "wedge" not in heard_in(file_of(*STUCK, names=NAMES, head=head))


# With words beside the drawing


def test_what_the_words_name_is_meant_to_be_heard() -> None:
    assert is_the_circuit(file_of(*STUCK, names=NAMES, rest=WORDS))
    assert heard_by("wedge", *STUCK, names=NAMES, rest=WORDS) == {(2, 1, 5): True}
    assert heard_by("ripple", *STUCK, names=NAMES, rest=WORDS) == {(2, 1, 3): True}


def test_a_second_repeater_that_the_words_do_not_name_is_heard_and_not_meant() -> None:
    layers = ("...SSS/...SS.", "OdP.<a/...Ai.", "....../......", "..u.../......", "..S.../......")
    names = f"{NAMES}, pulley 2 2 4, hold 2 2 5"
    words = WORDS + "lever hold starts on\nrepeater pulley from hold\n"
    assert heard_by("wedge", *layers, names=names, rest=words) == {(2, 1, 5): True, (2, 2, 4): False}
    assert not is_the_circuit(file_of(*layers, names=names, rest=words))


def test_a_detector_that_watches_another_thing_than_the_words_say_hears_what_is_not_meant() -> None:
    layers, names = ("SSSS", "aODO"), "rope 2 1 1, bell 2 1 2, ripple 2 1 3, sign 2 1 4"
    words = "lever rope\nlamp bell from rope\ndetector ripple watches {}\nlamp sign from ripple\n"
    assert heard_by("ripple", *layers, names=names) == {(2, 1, 2): None}
    assert heard_by("ripple", *layers, names=names, rest=words.format("bell")) == {(2, 1, 2): True}
    assert heard_by("ripple", *layers, names=names, rest=words.format("rope")) == {(2, 1, 2): False}


UNNAMED = [
    (
        "the repeater that it hears has no name in the drawing",
        STUCK,
        NAMES.removesuffix(", winch 2 1 5"),
        WORDS,
        "wedge",
        {(2, 1, 5)},
    ),
    (
        "dust leads on the lever's changes",
        side("..S.....", "..u.....", "........", "..P.---a", "....SSSS"),
        "race 4 1 3, pond 2 1 8, wedge 2 1 3",
        "lever race\nlever pond\ndetector wedge arming race hears pond\n",
        "wedge",
        {(2, 1, 5)},
    ),
    (
        "water beside it comes and goes with the lever",
        side("..S...", "..u...", "......", "..P≈.a", ".....S"),
        "race 4 1 3, pond 2 1 6, wedge 2 1 3",
        "lever race\nlever pond\ndetector wedge arming race hears pond\n",
        "wedge",
        {(2, 1, 4)},
    ),
    (
        "water that is watched comes and goes with the lever",
        side("≈DO.a", "....S"),
        "ripple 2 1 2, pond 2 1 5, bell 2 1 3",
        "lever pond\ndetector ripple watches pond\nlamp bell from ripple\n",
        "ripple",
        {(2, 1, 1)},
    ),
]


@pytest.mark.parametrize(("says", "layers", "names", "words", "name", "places"), UNNAMED, ids=[e[0] for e in UNNAMED])
def test_where_the_drawing_is_the_circuit_nothing_is_heard_that_is_not_meant(
    says: str, layers: tuple[str, ...], names: str, words: str, name: str, places: set[At]
) -> None:
    """A drawing is its circuit up to what parts are called (README, Drawing and circuit)."""
    assert is_the_circuit(file_of(*layers, names=names, rest=words)), says
    found = heard_by(name, *layers, names=names, rest=words)
    assert set(found) == places
    assert False not in found.values()


# What a detector watches


@pytest.mark.parametrize(
    ("row", "detector", "heard"),
    [
        ("aODO", (2, 1, 3), {(2, 1, 2)}),
        ("a-DO", (2, 1, 3), {(2, 1, 2)}),
        ("DO.m", (2, 1, 1), set()),
        (".DO.", (2, 1, 2), set()),
        ("SDO.", (2, 1, 2), set()),
        ("GDO.", (2, 1, 2), set()),
    ],
)
def test_a_detector_hears_only_the_one_thing_behind_it_that_has_a_state(row: str, detector: At, heard: set[At]) -> None:
    """D1: the level of dust or the light of a lamp is a state; a block, glass and air have none."""
    circuit, drawing = drawn_of("S" * len(row), row)
    (found,) = [each for each in listeners(circuit, drawing, None) if each.place == detector]
    assert {each.place for each in found.heard} == heard


@pytest.mark.parametrize(
    ("row", "comes"),
    [("a>].DO", True), ("a>]S.DO", True), ("a>]G.DO", True), ("a>]..DO", False), ("a>]SS.DO", True), ("a>]SSDO", True)],
    ids=[
        "its head",
        "its block",
        "its clear block",
        "no block to move",
        "the end of a row",
        "a row with the detector in it",
    ],
)
def test_a_detector_hears_a_piston_whose_head_or_block_comes_before_it(row: str, comes: bool) -> None:
    """M1, M10: all that is before a piston is moved one place on as one row, and a detector feels being moved."""
    circuit, drawing = drawn_of("S" * len(row), row, names="paddle 2 1 3")
    (found,) = listeners(circuit, drawing, None)
    assert ("paddle" in {each.what for each in found.heard}) is comes


def test_why_a_change_is_heard_is_reported_in_words() -> None:
    """W10: dust is heard within two steps, a repeater beside the place it gives to."""
    plan = "......./......./....-../...P.<./......./......./......."
    (found,) = heard_in(file_of(*armed(plan), names=WEDGE)).values()
    assert {each.why for each in found.heard} == {"dust, within two steps", "repeater, beside what it changes"}


def test_dust_that_two_parts_feed_is_meant_where_the_words_name_it() -> None:
    """Rules W10, D3: what the file names is the dust, be it fed by one lever or by two."""
    layers = (
        "SSS.../SSS.SS/SSS...",
        ".a..../.-.[../.a....",
        "....../....../......",
        "....../...S../......",
        "....../...a../......",
    )
    names = "rope 2 1 2, pond 2 3 2, wire 2 2 2, wedge 2 2 4, race 5 2 4"
    words = "lever race\nlever pond\nlever rope\ndust wire from pond, rope\ndetector wedge arming race hears wire\n"
    text = file_of(*layers, names=names, head=words)
    assert [each.verdict.name for each in verify_text(text).outcomes] == ["HOLDS"]
    study = study_of(text)
    assert study.drawn is not None
    assert study.drawn.drawing is not None
    (found,) = listeners(study.drawn, study.drawn.drawing, study.circuit)
    assert [(each.what, each.wanted) for each in found.heard] == [("wire", True)]


# Water that strokes can change (Z8). In a channel below a paddle water flows east and falls down a shaft.


def channel(foot: str, paddle: str = "P") -> dict[str, Listener]:
    """What listens at the foot of the shaft: a layer of it, with what stands in the shaft at column 4."""
    letters = "legend\n  .  air\n  S  block\n  W  water\n  >  detector  facing east  named float\n"
    letters += "  P  piston  facing below  named paddle\n  q  piston  facing east  named warden\n  i  lever\nend\n"
    layers = ["SSSSSSS, 3 times", f"SSSSSSS\n{foot}\nSSSSSSS", "SSSSSSS\nSW..SSS\nSSSSSSS"]
    layers += [f".......\n.S{paddle}....\n.......", ".......\n.i.....\n......."]
    drawn = "".join(f"layer {number}\n{rows}\nend\n" for number, rows in enumerate(layers, 1))
    return heard_in(f"language 1\ncircuit channel\nrules newest\n{letters}drawing\n{drawn}end\n")


def test_a_detector_hears_the_water_that_it_watches_if_a_stroke_can_change_it() -> None:
    found = channel("SSS.>.S")["float"].heard
    assert [(each.place, each.what, each.wanted) for each in found] == [((2, 2, 4), "water_2_2_4", None)]


def test_water_that_no_stroke_can_change_is_not_heard() -> None:
    assert channel("SSS.>.S", paddle="S")["float"].heard == ()
