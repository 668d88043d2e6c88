"""What dust, torches, repeaters, comparators, detectors, levers and buttons give to in drawings (W4 to W7).

Common practice, no source: each case names the rule that it was calculated by hand from.
"""

from __future__ import annotations

import pytest

from .building import Case, check_case, on_floor, side

DUST = [
    Case("W4", "dust powers the block under it", side("a-.", "SKW"), {"stone": "rope", "flame": "block rope"}),
    Case("W4", "and the block that it points into", side("a-KW", "SSSS"), {"stone": "rope", "flame": "block rope"}),
    Case("W4", "but none beside it that it does not point into", on_floor("a-./.SW"), {"flame": ""}),
    Case("W4", "and none above it", side(".KW", "a-.", "SSS"), {"stone": "", "flame": ""}),
    Case("W4", "what it powers counts its levels", side("a---S}", "SSSSSS"), {"scale": "back rope 2"}),
    Case("W4", "it drives a lamp that it points into", side("a-O", "SSS"), {"bell": "power rope"}),
    Case("W4", "but none that it runs by", on_floor("a--/.O."), {"bell": ""}),
    Case("W4", "it lights a lamp that it lies on", side("a-", "SO"), {"bell": "power rope"}),
    Case("W4", "but none above it", side(".O", "a-", "SS"), {"bell": ""}),
    Case("W4", "it drives a piston that it points into", side("a-]", "SSS"), {"paddle": "power rope"}),
    Case("W4", "but none that it runs by", on_floor("a--/.?."), {"paddle": ""}),
    Case("W4", "it drives a repeater from behind", side("a-»", "SSS"), {"pulley": "back rope"}),
    Case("W4", "a repeater is a join, so a line gives to one behind it", on_floor("a--/.↓."), {"pulley": "back rope"}),
    Case("W4", "not from its side", side("a-↑", "SSS"), {"pulley": ""}),
    Case("W4", "not from in front", side("a-«", "SSS"), {"pulley": ""}),
    Case("W4", "it drives a comparator from behind", side("a--}", "SSSS"), {"scale": "back rope 1"}),
    Case("W4", "and from its side", side("a--M", "SSSS"), {"scale": "side rope 1"}),
    Case("W4", "not from in front", side("a--{", "SSSS"), {"scale": ""}),
    Case(
        "W4",
        "from behind and from the side",
        on_floor("a--}/...-/...b"),
        {"scale": "back rope 1, side pond"},
    ),
    Case("W4", "it gives nothing to a torch beside it", side("a-T", "SSS"), {"flame": ""}),
    Case("W4", "a comparator is a join, so a line gives to its side", on_floor("a--/.}."), {"scale": "side rope"}),
]

HOLDERS = [
    Case("W5", "a torch on top", side("..T", "a>S", "SSS"), {"flame": "block winch"}),
    Case("W5", "a torch on its east", side("a>SW", "SSSS"), {"flame": "block winch"}),
    Case("W5", "a torch on its north", on_floor("..Z/a>S"), {"flame": "block winch"}),
    Case("W5", "a torch on its south", on_floor("a>S/..N"), {"flame": "block winch"}),
    Case("W5", "a torch on its west", on_floor("..a/..V/.ES"), {"flame": "block winch"}),
    Case("W5", "one beside it that stands on the floor", side("a>ST", "SSSS"), {"flame": ""}),
    Case("W5", "one beside it that hangs on another block", side("a>SES", "SSSSS"), {"flame": ""}),
    Case("W5", "one above it that hangs on another block", side("..ES", "a>S.", "SSS."), {"flame": ""}),
    Case("W5", "a torch on a lamp that is powered", side("a>OW", "SSS."), {"flame": "block winch"}),
    Case("W5", "a torch on a lamp that is only lit", side("aOW", "SS."), {"flame": "", "bell": "power rope"}),
]
TORCHES = [
    Case("W5", "a torch lights dust beside it", side("Tx", "SS"), {"wire": "flame"}),
    Case("W5", "a lamp", side("TO", "SS"), {"bell": "power flame"}),
    Case("W5", "a piston", side("T]", "SS"), {"paddle": "power flame"}),
    Case("W5", "a repeater before it", side("T»", "SS"), {"pulley": "back flame"}),
    Case("W5", "no repeater that it stands beside", side("T↑", "SS"), {"pulley": ""}),
    Case("W5", "no repeater that faces it", side("T«", "SS"), {"pulley": ""}),
    Case("W5", "a comparator before it", side("T}", "SS"), {"scale": "back flame"}),
    Case("W5", "a lamp above it", side("O", "T", "S"), {"bell": "power flame"}),
    Case("W5", "a piston above it", side("]", "T", "S"), {"paddle": "power flame"}),
    Case("W5", "dust below it", side("SW", ".x", ".S"), {"wire": "flame"}),
    Case("W5", "a lamp below it", side("SW", ".O"), {"bell": "power flame"}),
    Case("W5", "it powers the block above it", side("K", "T", "S"), {"stone": "flame"}),
    Case("W5", "strongly, so that dust on that is lit", side("x", "S", "T", "S"), {"wire": "flame"}),
    Case("W5", "and dust beside that", side("Sx", "TS", "S."), {"wire": "flame"}),
    Case("W5", "one that hangs as well", side(".K", "SW", ".."), {"stone": "flame"}),
    Case("W5", "it powers no block beside it", side("TK", "SS"), {"stone": ""}),
    Case("W5", "so that nothing comes of it behind", side("TS»", "SSS"), {"pulley": ""}),
    Case("W5", "not even in a torch there", side("TSW", "SSS"), {"flame.1": "", "flame.2": ""}),
    Case("W5", "nor on a lamp's far side", side("TO»", "SSS"), {"bell": "power flame", "pulley": ""}),
    Case("W5", "it powers no block below it", side("SW", ".K"), {"stone": ""}),
    Case("W5", "nor the lamp that holds it", side("T", "O"), {"bell": "", "flame": ""}),
    Case("W5", "nothing a step away", on_floor("T./.O"), {"bell": ""}),
]

BEHIND = {
    "a": "rope",
    "B": "knock",
    "T": "flame",
    "a-": "rope",
    "a>": "winch",
    "aD": "ripple",
    "a>S": "winch",
    "a-S": "rope",
    "a>Q": "winch",
    "aQ": "",
    "aS": "",
    "TS": "",
    "b>SS": "",
    "b>G": "",
    "b>.": "",
    "a<": "",
    "ad": "",
    "a[": "",
}
"""What stands in a row behind a repeater or comparator, and what it takes from there (rules W5 to W8)."""


@pytest.mark.parametrize(("row", "source"), BEHIND.items())
def test_repeaters_and_comparators_take_from_the_place_behind_them(row: str, source: str) -> None:
    """Common practice, no source; rule W6."""
    fed = f"back {source}" if source else ""
    check_case(Case("W6", row, on_floor(f"{row}»"), {"pulley": fed}))
    check_case(Case("W6", row, on_floor(f"{row}}}"), {"scale": fed}))


AT_SIDES = {
    "a>": ("winch", "winch"),
    "aD": ("ripple", ""),
    "a-": ("rope", ""),
    "a": ("", ""),
    "B": ("", ""),
    "T": ("", ""),
    "a>S": ("", ""),
    "a-S": ("", ""),
    "a>Q": ("", ""),
    "TS": ("", ""),
    "a<": ("", ""),
    "ad": ("", ""),
    "aA": ("", ""),
}
"""What stands in a row beside a comparator or repeater, what the one takes there, and what locks the other (W6)."""


@pytest.mark.parametrize(("row", "takes"), AT_SIDES.items())
def test_sides_of_comparators_and_repeaters_take_only_what_points_into_them(row: str, takes: tuple[str, str]) -> None:
    """Common practice, no source; rule W6: of dust, a comparator alone; from either side, whichever way they face."""
    by_comparator, by_repeater = (f"side {source}" if source else "" for source in takes)
    for facing in "MY":
        check_case(Case("W6", row, on_floor(row + facing), {"scale": by_comparator}))
    for facing in "↑↓":
        check_case(Case("W6", row, on_floor(row + facing), {"pulley": by_repeater}))


LOCKS = [
    Case("W6", "a comparator locks a repeater", on_floor("a}↑"), {"pulley": "side scale"}),
    Case("W6", "a comparator feeds another's side", on_floor("a}M"), {"scale.2": "side scale.1"}),
    Case("W6", "a comparator feeds another's back", on_floor("a}}"), {"scale.2": "back scale.1"}),
    Case("W6", "two lock a repeater, one at each side", on_floor("a>↑<b"), {"pulley": "side winch.1, side winch.2"}),
    Case("W6", "dust at both sides of a comparator", on_floor("a--M-b"), {"scale": "side rope 1, side pond"}),
    Case("W6", "nothing goes into a repeater's front", on_floor("a>«."), {"pulley": ""}),
    Case("W6", "nor into a comparator's", on_floor("a>{."), {"scale": ""}),
    Case("W6", "back and side at once", on_floor("a>»/..A/..b"), {"pulley": "back winch.1, side winch.2"}),
]
GIVES = [
    Case("W6", "a repeater lights dust in front", on_floor("a>x"), {"wire": "winch"}),
    Case("W6", "a lamp", on_floor("a>O"), {"bell": "power winch"}),
    Case("W6", "a piston", on_floor("a>]"), {"paddle": "power winch"}),
    Case("W6", "no torch", on_floor("a>T"), {"flame": ""}),
    Case("W6", "a block, strongly, so that dust behind is lit", on_floor("a>Sx"), {"wire": "winch"}),
    Case("W6", "a lamp is such a block", on_floor("a>Ox"), {"wire": "winch", "bell": "power winch"}),
    Case("W6", "nothing beside itself", on_floor(".O./b>./.O."), {"bell.1": "", "bell.2": ""}),
    Case("W6", "nothing behind itself", on_floor("O>."), {"bell": ""}),
    Case("W6", "nothing above itself", side(".O", "a>", "SS"), {"bell": ""}),
    Case("W6", "not the block under itself", side("b>.", "SKW"), {"stone": "", "flame": ""}),
    Case("W6", "nothing two steps ahead", on_floor("b>.O"), {"bell": ""}),
    Case("W6", "a comparator as well", on_floor("a}x"), {"wire": "scale"}),
    Case("W6", "into a block strongly", on_floor("a}Sx"), {"wire": "scale"}),
    Case("W6", "what is above a repeater feeds nothing in", side("S", "v", "»", "S"), {"pulley": ""}),
    Case("W6", "nor what is below", side("»", "S", "v"), {"pulley": ""}),
    Case("W6", "a detector gives in front", on_floor("aDx"), {"wire": "ripple", "ripple": "watched rope"}),
    Case("W6", "into a block strongly", on_floor("aDSx"), {"wire": "ripple"}),
    Case("W6", "not beside itself", on_floor(".O./bD./.O."), {"bell.1": "", "bell.2": ""}),
    Case("W6", "upwards", side("O", "⇑", "a", "S"), {"bell": "power ripple", "ripple": "watched rope"}),
    Case("W6", "downwards", side("S", "v", "⇓", "O"), {"bell": "power ripple", "ripple": "watched rope"}),
    Case("W6", "it watches a lamp", on_floor("aOD"), {"ripple": "watched bell"}),
    Case("W6", "it watches dust", on_floor("a--D"), {"ripple": "watched rope"}),
    Case("W6", "even if it watches nothing", on_floor(".Dx"), {"wire": "ripple", "ripple": ""}),
    Case("W6", "each level of it", on_floor("a}--D"), {"ripple": "watched scale 1"}),
]

HANDS = [
    Case("W7", "a lever powers the block under it", side("a", "K"), {"stone": "rope"}),
    Case("W7", "the block to its west", on_floor("Kw"), {"stone": "rope"}),
    Case("W7", "to its east", on_floor("eK"), {"stone": "rope"}),
    Case("W7", "to its north", on_floor("K/n"), {"stone": "rope"}),
    Case("W7", "to its south", on_floor("s/K"), {"stone": "rope"}),
    Case("W7", "above it", side("K", "v"), {"stone": "rope"}),
    Case("W7", "a button that below it", side("B", "K"), {"stone": "knock"}),
    Case("W7", "a button that beside it", on_floor("Kk"), {"stone": "knock"}),
    Case("W7", "a button that above it", side("K", "y"), {"stone": "knock"}),
    Case("W7", "strongly, so that dust beside that is lit", side("a.", "Sx", ".S"), {"wire": "rope"}),
    Case("W7", "and dust on it", side("x", "S", "v"), {"wire": "rope"}),
    Case("W7", "and a torch on it is its inverter", on_floor("EKw"), {"flame": "block rope"}),
    Case("W7", "a lamp that holds it", on_floor("«Ow"), {"bell": "power rope", "pulley": "back rope"}),
    Case("W7", "it lights dust beside it", on_floor("ax"), {"wire": "rope"}),
    Case("W7", "a lamp", on_floor("aO"), {"bell": "power rope"}),
    Case("W7", "a piston", on_floor("a]"), {"paddle": "power rope"}),
    Case("W7", "a lamp above it", side("O", "a", "S"), {"bell": "power rope"}),
    Case("W7", "a lamp below it", side("Sw", ".O"), {"bell": "power rope"}),
    Case("W7", "dust below it", side("Sw", ".x", ".S"), {"wire": "rope"}),
    Case("W7", "no other block beside it", on_floor("aK"), {"stone": ""}),
    Case("W7", "none above it", side("K", "a", "S"), {"stone": ""}),
    Case("W7", "none below it", side("Sw", ".K"), {"stone": ""}),
    Case("W7", "none across from its own", on_floor("SwK"), {"stone": ""}),
    Case("W7", "a button no other block", on_floor("BK/.."), {"stone": ""}),
    Case("W7", "a button gives to parts beside it", on_floor("OB»"), {"bell": "power knock", "pulley": "back knock"}),
    Case("W7", "a lamp beside it is lit and powers nothing", on_floor("aO»"), {"bell": "power rope", "pulley": ""}),
]
CASES = [*DUST, *HOLDERS, *TORCHES, *LOCKS, *GIVES, *HANDS]


@pytest.mark.parametrize("case", CASES, ids=lambda case: f"{case.rule}: {case.says}")
def test_parts_give_so(case: Case) -> None:
    """Common practice, no source; the rule that each case names."""
    check_case(case)
