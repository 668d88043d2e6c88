"""Cells are taken together only where they are alike: machines that look more alike than they are, told apart plainly.

The rules are common practice, no source: X1, X3 and X5 for cells, G1 for light, C2 for the order within a gt.
"""

from __future__ import annotations

import pytest

from circuitcheck.chance.first_edge.response import respond
from circuitcheck.model.claims import Atom, Test

from .plain import circuit_of, enumerated
from .test_against_plain import compare, of_days_left

ALL_NIGHT = "cycle 122gt day 2gt, dusk 0t, night 60gt, dawn 60gt\n"
HALF_AND_HALF = "cycle 120gt day 60gt, dusk 0t, night 60gt, dawn 0t\n"

TURNED = """setting draw_chance 1/1
place bank gets standing_light
sensor rim cells 2 at bank
sensor turf.1 at bank grows from rim.2 starts off
sensor turf.2 at bank grows from rim.1 starts off
detector d.1 watches turf.1
detector d.2 watches turf.2
junction row joins d.1, d.2
"""
BOTH_OF_A_PAIR = """place bank gets standing_light
sensor rim cells 2 at bank becomes off chance 1/4
sensor turf.* at bank grows from rim.* becomes off chance 1/4
detector d.* watches turf.*
detector e.* watches rim.*
comparator c.* from d.* side e.* subtract
junction row joins c.*
"""
PAIRS_THAT_GROW = """setting draw_chance 1/2
place bank gets standing_light
sensor rim cells 2 at bank becomes off chance 1/3
sensor turf.* at bank grows from rim.* starts off becomes on chance 1/9
detector d.* watches turf.*
detector e.* watches rim.*
comparator c.* from d.* side e.* subtract
junction row joins c.*
"""
SAID_OF_ONE_ONLY = """sensor turf.1
sensor turf.2 becomes off chance 1/20
detector d.1 watches turf.1
detector d.2 watches turf.2
junction row joins d.1, d.2
"""
AT_PLACES_OF_THEIR_OWN = """setting draw_chance 1/20
place sun gets sky through leaf
place dark gets sky through leaf, water
sensor turf.1 at sun fades
sensor turf.2 at dark fades
detector d.1 watches turf.1
detector d.2 watches turf.2
junction row joins d.1, d.2
"""
ONE_OF_THEM_LIGHTS_A_PLACE = """setting draw_chance 1/2
place bed gets sky through water when half
sensor turf cells 2 becomes off chance 1/20
detector d.* watches turf.*
junction half joins d.1
junction all joins d.*
lamp sign from all
sensor weed at bed fades
detector row watches weed
"""
ALL_BUT_THEIR_OWN = """setting draw_chance 1/2
place bank gets standing_light
sensor rim.1 at bank becomes off chance 1/7
sensor rim.2 at bank becomes off chance 1/7
sensor turf.1 at bank grows from rim.2 starts off becomes on chance 1/9
sensor turf.2 at bank grows from rim.1 starts off becomes on chance 1/9
detector d.1 watches turf.1
detector d.2 watches turf.2
detector e.1 watches rim.1
detector e.2 watches rim.2
comparator c.1 from d.1 side e.1 subtract
comparator c.2 from d.2 side e.2 subtract
junction row joins c.1, c.2
"""
ALIKE_AT_LAST = """setting draw_chance 1/3
place bank gets standing_light
sensor rim cells 2 at bank becomes off chance 1/5
sensor turf cells 2 at bank grows from rim.*, turf.* starts off
detector d.* watches turf.*
junction row joins d.*
"""
MACHINES = {
    "sources turned round": ALL_NIGHT + TURNED,
    "both of a pair change": ALL_NIGHT + BOTH_OF_A_PAIR,
    "pairs that grow": ALL_NIGHT + PAIRS_THAT_GROW,
    "said of one only": HALF_AND_HALF + SAID_OF_ONE_ONLY,
    "at places of their own": HALF_AND_HALF + AT_PLACES_OF_THEIR_OWN,
    "one of them lights a place": ALL_NIGHT + ONE_OF_THEM_LIGHTS_A_PLACE,
    "all but their own": ALL_NIGHT + ALL_BUT_THEIR_OWN,
    "alike at last": ALL_NIGHT + ALIKE_AT_LAST,
}


@pytest.mark.parametrize("edge", [Test.RISES, Test.CHANGES], ids=["rises", "changes"])
@pytest.mark.parametrize("name", MACHINES)
def test_cells_that_only_look_alike_are_distinguished(name: str, edge: Test) -> None:
    circuit = circuit_of(MACHINES[name])
    asked = Atom("row", edge)
    plain = enumerated(circuit, "night", asked)
    found = respond(circuit, "night", asked)
    compare(found, plain, of_days_left(found) + 2.0 * found.open, circuit.cycle.whole)


def test_the_false_alarms_of_one_cell_that_changes_once_are_not_those_of_two() -> None:
    """X1: a cell that can go off once, and never on again, is felt once at most."""
    circuit = circuit_of(HALF_AND_HALF + SAID_OF_ONE_ONLY)
    assert respond(circuit, "night", Atom("row", Test.RISES)).false_alarms <= 1.0
