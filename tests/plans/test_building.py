"""Plans of building: stages, what must be lit after each, what must not come early, and what to bring.

Common practice, no source; every expected level is reasoned out from the rules named beside it (grammar/RULES.md).
"""

from __future__ import annotations

from typing import Any, NamedTuple

import pytest

from circuitcheck.engine.program import Program
from circuitcheck.engine.start import starts
from circuitcheck.model.drawing import At
from circuitcheck.plans import building
from circuitcheck.plans.building import Built, build_up
from circuitcheck.plans.staging import bill, stages

from .by_hand import Site
from .drawings import drawn_of, file_of, study_of

FLOOR = "/".join(["SSSSS"] * 5)
LATCH = ("SSS/SSS/SSS/SSS/SSS", ".../SW-/-.-/-ES/...")
"""Two torches that hold each other: the upper one hangs west and lights the block of the lower one (L1)."""
SIDES = "gate 2 2 2 starts {}, gate.inverse 2 4 2 starts {}"
DARK = "gate 2 2 2 starts off, gate.inverse 2 4 2 starts on"
RESET = {"gate": 0, "gate.inverse": 15}


def built_of(*layers: str, names: str = "") -> Built:
    circuit, drawing = drawn_of(*layers, names=names)
    return build_up(circuit, drawing, circuit)


# The order of a latch


@pytest.mark.parametrize(("gate", "inverse"), [("off", "on"), ("on", "off")])
def test_a_latch_built_in_the_order_given_stands_as_it_is_to_start(gate: str, inverse: str) -> None:
    circuit, drawing = drawn_of(*LATCH, names=SIDES.format(gate, inverse))
    built = build_up(circuit, drawing, circuit)
    assert built.astray == ()
    assert built.early == ()
    site = Site(circuit, drawing)
    for place in built.order:
        site.place(place)
    assert site.so({"gate": 15 * (gate == "on"), "gate.inverse": 15 * (inverse == "on")})
    last = built.checkpoints[-1]
    assert (last.lit, last.dark) == (("gate",), ("gate.inverse",))[:: 1 if gate == "on" else -1]


@pytest.mark.parametrize(("start", "on"), [("off", False), ("on", True)])
def test_one_side_said_to_start_is_enough_for_the_order_of_a_latch(start: str, on: bool) -> None:
    """Of two torches that hold each other one is lit at rest, so the start of one says that of the other (L1, C6)."""
    built = built_of(*LATCH, names=f"gate 2 2 2 starts {start}, gate.inverse 2 4 2")
    assert built.checkpoints[-1].lit == ("gate" if on else "gate.inverse",)
    assert built.astray == ()


@pytest.mark.parametrize(("said", "lit"), [("set", "gate"), ("reset", "gate.inverse")])
def test_a_latch_in_words_says_in_which_order_its_drawing_is_built(said: str, lit: str) -> None:
    words = f"button pull short\nbutton drop short\nlatch gate set drop reset pull starts {said}"
    layers = (LATCH[0], "k../SW-/-.-/-ES/..b")
    names = "pull 2 1 1, drop 2 5 3, gate 2 2 2, gate.inverse 2 4 2"
    study = study_of(file_of(*layers, names=names, rest=words))
    assert study.drawn is not None
    assert study.drawn.drawing is not None
    built = build_up(study.drawn, study.drawn.drawing, study.circuit)
    assert built.checkpoints[-1].lit == (lit,)
    assert built.astray == ()


# What must not come early


class Upsetting(NamedTuple):
    """A latch that is to stand reset, and a torch that is lit until something above it is placed."""

    says: str
    layers: tuple[str, ...]
    names: str


THROWN = [
    Upsetting(
        "a torch behind a repeater that lights the inverse's block until a lever is there",
        (
            FLOOR,
            "k..../SW-<-/-.-../-ES../.....",
            "....S/....N/...../...../.....",
            "....i/...../...../...../.....",
        ),
        f"{DARK}, flame 3 2 5, hold 4 1 5, drop 2 1 1",
    ),
    Upsetting(
        "a torch in the latch's own layer, dark once a lever is there",
        (FLOOR, "k..../SW-ES/-.-../-ES../.....", "...../....i/...../...../....."),
        f"{DARK}, flame 2 2 4, hold 3 2 5, drop 2 1 1",
    ),
    Upsetting(
        "a torch right above the latch's dust, dark once a lever is there",
        (LATCH[0], "k../SW-/-.-/-ES/...", ".../.../..Z/..S/...", ".../.../.../..i/..."),
        f"{DARK}, flame 3 3 3, hold 4 4 3, drop 2 1 1",
    ),
]
THROWING = pytest.mark.parametrize("case", THROWN, ids=[case.says for case in THROWN])


def thrown(site: Site, order: tuple[At, ...]) -> bool:
    """Whether the latch stood as it is to start, and then no more, while all this was placed."""
    stood, lost = False, False
    for place in order:
        site.place(place)
        lost = lost or (stood and not site.so(RESET))
        stood = site.so(RESET)
    return lost


@THROWING
def test_layer_by_layer_a_torch_placed_too_early_throws_the_latch(case: Upsetting) -> None:
    """Else the next two tests would show nothing (T1, W5)."""
    circuit, drawing = drawn_of(*case.layers, names=case.names)
    plan = stages(drawing, circuit.rules, {"gate": 0, "gate.inverse": 15, "hold": 15})
    site = Site(circuit, drawing)
    assert thrown(site, tuple(place for stage in plan for place in stage.places))
    assert site.so({"gate": 15, "gate.inverse": 0, "flame": 0})


@THROWING
def test_what_throws_a_finished_latch_is_reported_with_a_mend(case: Upsetting) -> None:
    built = built_of(*case.layers, names=case.names)
    assert built.early
    assert {each.upsets for each in built.early} == {"gate"}
    assert all(each.hint for each in built.early)


@THROWING
def test_a_mend_that_is_followed_keeps_the_latch(case: Upsetting) -> None:
    circuit, drawing = drawn_of(*case.layers, names=case.names)
    built = build_up(circuit, drawing, circuit)
    by_hand = any("again" in each.hint for each in built.early)
    site = Site(circuit, drawing)
    lost = thrown(site, built.order)
    if by_hand:
        site.work("drop", "press")
    assert site.so({**RESET, "flame": 0})
    assert by_hand or (not lost and built.astray == ())


def test_a_latch_that_nothing_throws_has_nothing_that_must_not_come_early() -> None:
    built = built_of(*LATCH, names=DARK)
    assert built.early == ()


# The order as such

BUILDS = [
    (LATCH, DARK),
    *((case.layers, case.names) for case in THROWN),
    (("SSS/SSS", "SSS/SwO", "-}-/..."), ""),
    (("SSSS", "S>SO", "-..T", "SSSS"), ""),
    (("SGG/GGS", "-->/O.-", "..%/..~"), ""),
]


@pytest.mark.parametrize(("layers", "names"), BUILDS)
def test_each_thing_is_placed_once_and_never_before_what_carries_or_holds_it(
    layers: tuple[str, ...], names: str
) -> None:
    """Rule W1: dust and repeaters lie on a block, torches, levers and buttons are held by one."""
    circuit, drawing = drawn_of(*layers, names=names)
    built = build_up(circuit, drawing, circuit)
    assert sorted(built.order) == sorted(drawing.things)
    site = Site(circuit, drawing)
    for place in built.order:
        site.place(place)  # which asserts that it can stand


def test_what_is_attached_to_a_block_of_a_higher_layer_waits_for_that_layer() -> None:
    circuit, drawing = drawn_of("SSS", ".u.", ".S.", names="rope 2 1 2")
    plan = stages(drawing, circuit.rules, {})
    assert [stage.layer for stage in plan] == [1, 3]
    assert plan[1].places == ((3, 1, 2), (2, 1, 2))


@pytest.mark.parametrize(("layers", "names"), BUILDS)
def test_what_does_not_stand_as_it_starts_is_reported_and_nothing_else(layers: tuple[str, ...], names: str) -> None:
    """Rule C6: where a circuit has but one start, a build in the order given should come to rest there."""
    circuit, drawing = drawn_of(*layers, names=names)
    built = build_up(circuit, drawing, circuit)
    program = Program(circuit)
    (start,) = starts(program)
    wanted = dict(zip(program.names, start.levels, strict=True))
    site = Site(circuit, drawing)
    for place in built.order:
        site.place(place)
    shown = [part.name for part in circuit.parts if part.word in ("torch", "lamp", "piston")]
    assert set(built.astray) == {name for name in shown if not site.so({name: wanted[name]})}


# Checkpoints


class Checked(NamedTuple):
    """A drawing, and what is lit, dark and may be either after each layer, reasoned out from the rules."""

    says: str
    layers: tuple[str, ...]
    names: str
    after: tuple[tuple[int, str, str, str], ...]


WAITING_FLOOR = "/".join(["SSSSSSSS"] * 5)
CHECKED = [
    Checked(
        "T1, W5: a torch under a block darkens the one that stands on it, and that leaves the third lit",
        ("SS", "T.", "S.", "TO", "S.", "T."),
        "low 2 1 1, mid 4 1 1, bell 4 1 2, high 6 1 1",
        (
            (1, "", "", ""),
            (2, "low", "", ""),
            (3, "low", "", ""),
            (4, "low", "mid bell", ""),
            (5, "low", "mid bell", ""),
            (6, "low high", "mid bell", ""),
        ),
    ),
    Checked(
        "T1, W5, W7, O2: a lamp beside a torch is lit, until a lever above the torch's block is placed",
        ("SSSS", "OSWO", ".i.."),
        "flame 2 1 3, bell 2 1 4, far 2 1 1, rope 3 1 2",
        ((1, "", "", ""), (2, "flame bell", "far", ""), (3, "far", "flame bell", "")),
    ),
    Checked(
        "W5, W8: a torch does not power a lamp beyond the block that it hangs on, but one above the block above it",
        ("SSSS", "OSW.", "..S.", "..O."),
        "flame 2 1 3, far 2 1 1, roof 4 1 3",
        ((1, "", "", ""), (2, "flame", "far", ""), (3, "flame", "far", ""), (4, "flame roof", "far", "")),
    ),
    Checked(
        "L4: a lever placed last takes both inputs of a latch away at once, and which side comes on is a race",
        (
            WAITING_FLOOR,
            "..SW-ESS/..-.-.S./SW-ES.S./S.....S./SSSSSSS.",
            "......-i/......-./-.....-./-.....-./-------.",
        ),
        "gate 2 1 4, gate.inverse 2 3 4, first 2 1 6, second 2 3 2",
        (
            (1, "", "", ""),
            (2, "first second", "gate gate.inverse", ""),
            (3, "", "first second", "gate gate.inverse"),
        ),
    ),
]


@pytest.mark.parametrize("case", CHECKED, ids=[case.says for case in CHECKED])
def test_after_each_stage_that_is_lit_which_the_rules_say(case: Checked) -> None:
    built = built_of(*case.layers, names=case.names)
    found = [
        (each.stage.layer, *(set(names) for names in (each.lit, each.dark, each.either)), each.restless)
        for each in built.checkpoints
    ]
    assert found == [(layer, *(set(words.split()) for words in said), False) for layer, *said in case.after]


@THROWING
def test_a_checkpoint_is_so_once_all_that_its_stage_has_is_placed(case: Upsetting) -> None:
    """Held against the site worked by hand, in the order of the plan itself.

    What is put off counts for the last stage only, which is done once all is.
    """
    circuit, drawing = drawn_of(*case.layers, names=case.names)
    built = build_up(circuit, drawing, circuit)
    site, standing = Site(circuit, drawing), set[At]()
    put_off = {each.place for each in built.early if "again" not in each.hint}
    waiting = list(built.checkpoints)
    needed = {each.stage: set(each.stage.places) - put_off for each in waiting[:-1]}
    needed[waiting[-1].stage] = set(built.order)
    for place in built.order:
        site.place(place)
        standing.add(place)
        for each in [each for each in waiting if standing >= needed[each.stage]]:
            waiting.remove(each)
            assert site.so({**dict.fromkeys(each.lit, 15), **dict.fromkeys(each.dark, 0)}), each
            assert not {*each.either} & {*each.lit, *each.dark}
    assert waiting == []


CLOCK = ("SSS/SSS/SSS", "SW-/-.-/-<-")
"""A torch that a repeater turns off and on: it changes every 2t + 2t (T2, R1)."""


def test_a_clock_does_not_come_to_rest() -> None:
    built = built_of(*CLOCK, names="flame 2 1 2")
    assert [each.restless for each in built.checkpoints] == [False, True]


def test_a_torch_of_a_clock_need_be_neither_lit_nor_dark() -> None:
    """It is on half of the time and off the other half (T1, R1), so a builder who looks sees either."""
    last = built_of(*CLOCK, names="flame 2 1 2").checkpoints[-1]
    assert (last.lit, last.dark, last.either) == ((), (), ("flame",))


def test_a_torch_that_burns_out_comes_to_rest() -> None:
    """Rule T5: on its own block it goes dark for good in gt 30, and nothing calls it again."""
    last = built_of("SSS/SSS/SSS", "SW-/-.-/---", names="flame 2 1 2").checkpoints[-1]
    assert (last.restless, last.lit, last.dark) == (False, (), ("flame",))


def test_light_on_cells_that_are_not_yet_shut_in_leaves_checkpoints_as_they_are() -> None:
    """A torch on a floor that nothing powers is lit (T1), however many lamps shine on a cell before its walls stand."""
    built = built_of(
        "/".join(["SSSSSSSSSSSSSS"] * 3),
        "OOOOO.....OOOO/...........T../.....m........",
        "............../.....S......../....S.S.......",
        "............../............../.....S........",
        names="flame 2 2 12",
    )
    assert [("flame" in each.lit) for each in built.checkpoints] == [False, True, True, True]


def test_a_build_too_large_to_be_simulated_thing_by_thing_is_simulated_by_stages() -> None:
    """Fifteen dust carry a full signal, but the lamp at the near end is lit and the one at the far end is not (P2)."""
    floor = "/".join(["S" * 41] * 11)
    wire = "/".join([f"T{'-' * 39}O", "O" + "." * 40, *["-" * 41] * 9])
    built = built_of(floor, wire, names="flame 2 1 1, far 2 1 41, near 2 2 1")
    assert built.coarse
    assert (built.checkpoints[-1].lit, built.checkpoints[-1].dark) == (("flame", "near"), ("far",))


# What to bring


def test_what_to_bring_is_all_that_is_drawn_the_most_first() -> None:
    _, drawing = drawn_of("SSSSSS/SSSGSS", "a->-SW/~%*O-^", "....T./......")
    found = bill(drawing, tuple(drawing.things))
    assert list(found.values()) == [12, 3, 2, 1, 1, 1, 1, 1, 1, 1, 1]
    assert (found["solid block"], found["dust"], found["torch"]) == (12, 3, 2)
    for word in ("clear block", "half block", "lamp", "leaf", "lever", "repeater", "standing light", "water"):
        assert [count for thing, count in found.items() if word in thing] == [1]


def test_what_to_bring_for_a_stage_is_what_is_placed_in_it() -> None:
    circuit, drawing = drawn_of("SSS", "Tu]", ".S.")
    found = [bill(drawing, stage.places) for stage in stages(drawing, circuit.rules, {})]
    assert found == [{"solid block": 3}, {"piston": 1, "torch": 1}, {"lever": 1, "solid block": 1}]


# What is looked at


def looks(monkeypatch: pytest.MonkeyPatch, *layers: str, names: str = "") -> int:
    """How often it is simulated what stands so far."""
    found, as_it_is = [], building._Site._at_rest

    def at_rest(site: building._Site, *asked: Any) -> Any:
        found.append(asked)
        return as_it_is(site, *asked)

    monkeypatch.setattr(building._Site, "_at_rest", at_rest)
    built_of(*layers, names=names)
    monkeypatch.undo()
    return len(found)


def test_blocks_beside_no_wiring_change_nothing_and_are_not_looked_at(monkeypatch: pytest.MonkeyPatch) -> None:
    """Rules W2, W5 and W6: what a block carries, holds, passes on or cuts lies right beside it."""
    few, many = (looks(monkeypatch, "SSSSSSSS", f"aO..{wall}") for wall in ("...S", "SSSS"))
    assert few == many
    assert looks(monkeypatch, "SSSSSSSS", "aOSSSSSS") == few + 1


def test_a_block_before_a_piston_is_looked_at(monkeypatch: pytest.MonkeyPatch) -> None:
    """Rule M1: twelve may be pushed as one."""
    away, before = (
        looks(monkeypatch, "SSSSSSSS/SSSSSSSS", rows) for rows in ("a]....../......S.", "a]....S./........")
    )
    assert before == away + 1


def test_an_order_that_goes_astray_by_whole_stages_is_not_gone_through_thing_by_thing(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A torch that is lit and is said to start off never ends so, whichever of the other torches comes last."""
    torches = ("S" * 19, "ST" * 9 + "S")
    found = looks(monkeypatch, *torches, names="glow 2 1 2 starts off")
    through = looks(monkeypatch, *torches)
    assert found <= through + 9 * 2  # two stages, for each of nine torches
