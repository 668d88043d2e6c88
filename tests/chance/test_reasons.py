"""Why a sensor never changes (V4), and why a response never comes: the reason that is reported is the one there is.

What light comes where, and what cells take, is common practice, no source: rules G1, G2, X1, X2 and X3.
"""

from __future__ import annotations

import pytest

from circuitcheck.chance.days.calendar import Calendar
from circuitcheck.chance.first_edge.reasons import why_never
from circuitcheck.chance.first_edge.response import Response, respond
from circuitcheck.checks.finding import Finding
from circuitcheck.checks.sensing import still
from circuitcheck.language.load import load_text
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.claims import Atom, Test

CYCLE = "cycle 120s day 60s, dusk 0s, night 60s, dawn 0s\n"
FELT = "detector stir.* watches turf.*\njunction row joins stir.*\n"


def circuit(text: str) -> Circuit:
    loaded = load_text(CYCLE + text)
    assert loaded.diagnostics == ()
    return loaded.studies[0].circuit


def findings(text: str) -> list[Finding]:
    return list(still(circuit(text)))


def response(text: str, phase: str = "night") -> Response:
    return respond(circuit(text + FELT), phase, Atom("row", Test("rises")))


def never(text: str, phase: str) -> list[str]:
    made = circuit(text)
    calendar = Calendar(made.cycle, 1)
    return list(why_never(made, calendar, next(calendar.windows(phase)), Atom("turf.1", Test("changes"))))


STILL = {
    # G1: 14 at the light, a block of air and one of water: 14 - 1 - 3 = 10; X2 takes light below 4.
    "too bright to fade": (
        "place bed gets standing_light through air, water\nsensor turf cells 2 at bed fades\n",
        ["X2", "fade", "the light at 'bed' is 10 or more, and it takes 3 or less"],
    ),
    # G1, G2: a torch gives 7 and air takes 1: 6 at most; X3 takes 4 here and 9 where the cell is that grows over.
    "too dark to be grown over": (
        "lever rope\ntorch ember from rope\nplace bed gets ember through 4 air\nplace bank gets sky\n"
        "sensor rim cells 2 at bank\nsensor turf cells 2 at bed grows from rim.* starts off\n",
        ["X3", "be grown over", "the light at 'bed' is 3 or less, and it takes 4 or more"],
    ),
    # G2: 15 less a leaf.
    "too dark to thaw": (
        "place bed gets sky through leaf\nsensor turf cells 2 at bed becomes off chance 1/9 above 14\n",
        ["X1", "become off", "the light at 'bed' is 14 or less, and it takes 15 or more"],
    ),
    # X2 takes a block above that holds light back; air does not, though 4 - 3 = 1 is dark enough at night.
    "nothing holds light back": (
        "place bed gets sky through 3 leaf, air\nsensor turf cells 2 at bed fades\n",
        ["X2", "fade", "nothing above it at 'bed' holds light back"],
    ),
    # X3 takes nothing above that holds light back; by day there is light enough, 15 - 3 = 12.
    "water holds light back": (
        "place bed gets sky through water\nplace bank gets sky\nsensor rim cells 2 at bank\n"
        "sensor turf cells 2 at bed grows from rim.* starts off\n",
        ["X3", "be grown over", "what is above it at 'bed' holds light back"],
    ),
    "nothing is drawn": (
        "setting draw_chance 0/1\nplace bed gets sky through leaf, water\nsensor turf cells 2 at bed fades\n",
        ["X2", "fade", "nothing is ever drawn: the chance is 0"],
    ),
    "a change of no chance": (
        'place bed gets sky\nsensor turf cells 2 at bed becomes off "freezes" chance 0/5\n',
        ["X1", "freezes", "its chance is 0"],
    ),
    # G1, G2: 14 - 6 = 8 and X3 takes 9 where the cell is that grows over.
    "sources in the dark": (
        "place bed gets sky\nplace bank gets standing_light through 6 aside\nsensor rim cells 2 at bank\n"
        "sensor turf cells 2 at bed grows from rim.* starts off\n",
        ["X3", "what could grow over it can't", "the light at 'bank' is 8 or less, and it takes 9 or more"],
    ),
    "bare and can't grow": (
        "place bed gets sky through leaf, water\nsensor turf cells 2 at bed fades starts off\n",
        ["its cells are bare from the start, and nothing grows them"],
    ),
    "grown and only grows": (
        "place bed gets sky\nplace bank gets sky\nsensor rim cells 2 at bank\n"
        "sensor turf cells 2 at bed grows from rim.*\n",
        ["its cells are grown from the start, and can only grow: add 'starts off'"],
    ),
}
"""What is the matter: the lines, and what is reported."""


@pytest.mark.parametrize("name", STILL)
def test_a_sensor_that_never_changes_is_a_finding_with_its_reason(name: str) -> None:
    text, words = STILL[name]
    (found,) = findings(text)
    assert (found.rule, found.part) == ("V4", "turf.1")
    assert found.message.startswith("the sensor 'turf' never changes: ")
    assert [word for word in words if word not in found.message] == []
    assert "light" in found.hint


@pytest.mark.parametrize("name", STILL)
def test_no_reason_is_reported_beside_the_one_there_is(name: str) -> None:
    (found,) = findings(STILL[name][0])
    reasons = [
        *("or more, and it takes", "or less, and it takes", "nothing above it", "what is above it"),
        *("nothing is ever drawn", "can't: ", "are bare from the start", "are grown from the start"),
    ]
    (own,) = STILL[name][1][-1:]
    others = [each for each in reasons if each in found.message and each not in own]
    assert others == (["can't: "] if name == "sources in the dark" else [])


HINDERED = [name for name in STILL if not STILL[name][1][-1].startswith("its cells are")]


@pytest.mark.parametrize("name", HINDERED)
def test_a_response_of_such_a_sensor_never_comes_for_the_same_reason(name: str) -> None:
    text, words = STILL[name]
    # What is reported is about the phase: the full sun of that bed, 14, there is by day only.
    found = response(text, "day" if name == "too dark to thaw" else "night")
    assert (found.distribution.comes, found.distribution.missed, found.distribution.mean) == (0.0, 1.0, None)
    assert any(all(word in why for word in words) for why in found.never)


@pytest.mark.parametrize(("name", "phase"), [("bare and can't grow", "night"), ("grown and only grows", "day")])
def test_where_cells_start_at_the_end_of_what_they_can_do_that_is_the_reason(name: str, phase: str) -> None:
    text, (words,) = STILL[name]
    assert any(words in why for why in response(text, phase).never)


def test_a_sensor_of_which_nothing_is_said_is_a_finding_but_not_one_that_others_grow_from() -> None:
    (found,) = findings("place bed gets sky\nsensor turf cells 2 at bed\n")
    assert "the file does not say how its cells can change" in found.message
    assert "fades" in found.hint
    assert findings(LIVING["grown over by day"]) == []


LIVING = {
    "fades at night": "place bed gets sky through leaf, water\nsensor turf cells 2 at bed fades\n",
    "grown over by day": (
        "place bed gets sky\nplace bank gets sky\nsensor rim cells 2 at bank\n"
        "sensor turf cells 2 at bed grows from rim.* starts off\n"
    ),
    # Drawing is one thing, a chance of one's own another (X1).
    "its own chance": "setting draw_chance 0/1\nsensor turf cells 2 becomes off chance 1/9\n",
    "while a flap is home": (
        "lever rope\nplace bed gets sky through leaf, water when rope off\nsensor turf cells 2 at bed fades\n"
    ),
    "while a flap is out": (
        "lever rope\nplace bed gets sky through leaf, water when rope\nsensor turf cells 2 at bed fades\n"
    ),
    # Under newest the light makes no difference (setting change_needs_light).
    "newest": "rules newest\nplace bed gets sky through water\nsensor turf cells 2 at bed fades\n",
}


@pytest.mark.parametrize("name", LIVING)
def test_a_sensor_that_can_change_or_is_not_meant_to_is_no_finding(name: str) -> None:
    assert findings(LIVING[name]) == []


def test_three_levels_of_light_at_night_are_dark_enough_and_four_are_not() -> None:
    # G1, X2: night gives 4 from the sky; a half block that lets light by takes 1, so there are 3 or, lit besides, 4.
    bed = "setting half_blocks_stop_light no\nplace bed gets sky through half{}\nsensor turf cells 2 at bed fades\n"
    assert findings(bed.format("")) == []
    (found,) = findings(bed.format(" or standing_light through 9 aside, half"))
    assert "the light at 'bed' is 4 or more, and it takes 3 or less" in found.message


def test_both_things_a_sensor_could_do_are_reported_each_with_its_own_reason() -> None:
    text = (
        "place bed gets standing_light through water\nplace bank gets sky\nsensor rim cells 2 at bank\n"
        "sensor turf cells 2 at bed fades grows from rim.*\n"
    )
    (found,) = findings(text)
    # G2: 14 - 3 = 11.
    assert "it can't fade (X2): the light at 'bed' is 11 or more, and it takes 3 or less" in found.message
    assert "it can't be grown over (X3): what is above it at 'bed' holds light back" in found.message


def test_what_can_happen_in_one_phase_is_reported_as_hindered_in_the_other() -> None:
    # G1, G2, X2: by day 15 - 1 - 3 = 11, at night 0; below 4 turf fades.
    turf = LIVING["fades at night"]
    assert never(turf, "day") == [
        "'turf' does not change then: it can't fade (X2): the light at 'bed' is 11 or more, and it takes 3 or less",
    ]
    (why,) = never(turf, "night")
    assert why.startswith("'turf' can fade, but")


def test_a_phase_of_no_length_is_reported() -> None:
    loaded = load_text("cycle 60s day 60s, dusk 0s, night 0s, dawn 0s\n" + LIVING["fades at night"] + FELT)
    found = respond(loaded.studies[0].circuit, "night", Atom("row", Test("rises")))
    assert any("the phase has no length" in why for why in found.never)
