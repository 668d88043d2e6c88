"""Every kind of part says what it is in drawings; one that does not, or says what can't be, is refused.

Source: none; what a kind must say is this program's own. The rules that its answers stand for are W1 to W10 and M1.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from circuitcheck.diagnostics import NOWHERE
from circuitcheck.model.block_type import OPEN, BlockType, Gives, Joins, Placed, Read, Reads, Tells, Wiring, unanswered
from circuitcheck.model.directions import BELOW, Facing
from circuitcheck.model.drawing import INERT, MATTERS
from circuitcheck.model.parts import KINDS, block, detector, dust, lamp, lever, repeater, sensor, torch
from circuitcheck.model.parts.block import Block
from circuitcheck.model.parts.kinds import Kind, Option, Takes
from circuitcheck.model.parts.lamp import Lamp
from circuitcheck.model.parts.questions import KindError, table_of

QUESTIONS = sorted(unanswered(BlockType("x", "nothing")))


def refused(kind: Kind) -> str:
    """What a table says that is given this kind."""
    with pytest.raises(KindError) as wrong:
        table_of([kind])
    assert f"'{kind.word}'" in str(wrong.value)
    return str(wrong.value)


def said_otherwise(kind: Kind, **answers: Any) -> Kind:
    """A kind with other answers about drawings."""
    assert kind.block_type is not None
    return replace(kind, block_type=replace(kind.block_type, **answers))


def test_there_are_fifteen_questions_and_no_answer_to_fall_back_on() -> None:
    assert len(QUESTIONS) == 15


@pytest.mark.parametrize("question", QUESTIONS)
def test_a_kind_that_leaves_a_question_open_is_refused_and_the_question_named(question: str) -> None:
    assert f"('{question}')" in refused(said_otherwise(lamp.KIND, **{question: OPEN}))


def test_a_kind_that_does_not_say_whether_it_can_be_drawn_is_refused() -> None:
    given = {name: getattr(lamp.KIND, name) for name in ("word", "summary", "options", "build", "samples")}
    assert "'block_type'" in refused(Kind(**given))


def test_a_kind_that_does_not_say_what_it_is_is_refused() -> None:
    assert "'summary'" in refused(replace(lamp.KIND, summary=""))


@pytest.mark.parametrize("word", INERT)
def test_what_is_no_part_answers_everything_too(word: str) -> None:
    assert unanswered(MATTERS[word]) == {}


@pytest.mark.parametrize("question", ["solid", "gives", "tells", "pushed", "ground", "reads"])
def test_an_answer_of_another_sort_is_refused(question: str) -> None:
    assert f"'{question}'" in refused(said_otherwise(lamp.KIND, **{question: "yes"}))


WRONG: dict[str, tuple[Kind, dict[str, Any], str]] = {
    "another word": (lamp.KIND, {"word": "lantern"}, "lantern"),
    "light meets nothing such": (lamp.KIND, {"light": "fog"}, "'light'"),
    "held and lying": (lever.KIND, {"lies": True}, "'lies'"),
    "placed by itself and held": (torch.KIND, {"placed": Placed.BY_ITSELF}, "'placed'"),
    "in front of what faces no way": (lever.KIND, {"gives": Gives.FRONT}, "'facing'"),
    "into a holder that it has not": (repeater.KIND, {"gives": Gives.AROUND_AND_HOLDER}, "'held'"),
    "told in front of what faces no way": (lamp.KIND, {"tells": Tells.FRONT}, "'facing'"),
    "dust joins the ends of what has none": (lever.KIND, {"joins": Joins.ENDS}, "'joins'"),
    "a part that is wiring": (lamp.KIND, {"wiring": Wiring.BLOCK}, "'wiring'"),
    "a state that tells nobody": (lamp.KIND, {"tells": Tells.NOBODY}, "'tells'"),
    "no state, and tells": (block.KIND, {"tells": Tells.BESIDE}, "'tells'"),
    "points, and does not": (repeater.KIND, {"directed": False}, "'directed'"),
    "conducts as a block and is none": (lamp.KIND, {"solid": False}, "'solid'"),
    "gives a level to nothing": (lever.KIND, {"gives": Gives.NOTHING}, "'gives'"),
    "gives a level that it has not": (sensor.KIND, {"gives": Gives.AROUND_AND_ABOVE}, "'gives'"),
    "looked at and never seen": (lamp.KIND, {"shows": False}, "'shows'"),
    "wiring that is not made": (block.KIND, {"as_wiring": None}, "'as_wiring'"),
    "dust that is made a block": (
        dust.LINE,
        {"as_wiring": lambda name, span, comes: Block(name=name, span=span, feeds=tuple(comes))},
        "'as_wiring'",
    ),
    "an option that it has not": (lamp.KIND, {"reads": (Read("lit", Reads.AS_BLOCK, "power"),)}, "'lit'"),
    "a port that it has not": (lamp.KIND, {"reads": (Read("from", Reads.AS_BLOCK, "heat"),)}, "'heat'"),
    "an option read twice": (lamp.KIND, {"reads": (Read("from", Reads.AS_BLOCK, "power"),) * 2}, "twice"),
    "an option that is needed and not read": (lamp.KIND, {"reads": ()}, "'from'"),
    "read from behind what faces no way": (lamp.KIND, {"reads": (Read("from", Reads.BEHIND, "power"),)}, "'facing'"),
    "read from a holder that it has not": (lamp.KIND, {"reads": (Read("from", Reads.HOLDER, "power"),)}, "'held'"),
    "a place read as power": (sensor.KIND, {"reads": (Read("at", Reads.GROWN),)}, "'at'"),
    "a detector that faces no way": (detector.KIND, {"facing": Facing.NONE}, "'facing'"),
    "a lamp that hangs and stands by itself": (lamp.KIND, {"held": (BELOW,)}, "'placed'"),
}


@pytest.mark.parametrize("case", WRONG)
def test_an_answer_that_can_not_be_is_refused(case: str) -> None:
    kind, answers, named = WRONG[case]
    assert named in refused(said_otherwise(kind, **answers))


def test_what_is_drawn_by_chance_and_says_nothing_of_it_is_refused() -> None:
    silent = type("Silent", (type(sensor.KIND.samples[0]),), {"cell": None})
    sample = silent(name="x", span=NOWHERE, row="x", place="", fades=False, grows=(), becomes=())
    assert "'cell'" in refused(replace(sensor.KIND, samples=(sample,)))


def test_a_kind_can_say_that_it_is_never_drawn() -> None:
    kind = replace(lamp.KIND, word="lantern", block_type=None)
    assert table_of([kind])["lantern"].samples == (Lamp(name="x", span=NOWHERE, feeds=("y",)),)


def test_a_new_option_that_is_needed_has_to_be_read_from_somewhere() -> None:
    more = (*lamp.KIND.options, Option("oil", Takes.SOURCES, "what keeps it burning", required=True))
    assert "'oil'" in refused(replace(lamp.KIND, options=more))


def test_what_can_be_drawn_is_what_the_kinds_say() -> None:
    drawn = {word for word, kind in KINDS.items() if kind.block_type is not None}
    assert set(MATTERS) == drawn | set(INERT)
    assert {"plate", "analogue", "latch", "junction"} == set(KINDS) - drawn
