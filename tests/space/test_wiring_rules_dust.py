"""Dust in drawings: on what it lies, what it joins, where it points, how far it carries (W1, W2, W3, P2).

Common practice, no source: each case names the rule that it was calculated by hand from.
"""

from __future__ import annotations

import pytest

from .building import Case, check_case, codes_of, drawn, on_floor, side

CARRIERS = ["S", "C", "O", "G", "^", "_", "]", "d", "%", "~", "."]
"""Solid block, cell, lamp, clear block, upper and lower half block, piston, detector, leaf, water, air."""
SOLID = set("SCO")
UNDER_DUST = {"older": {*SOLID, "^"}, "newer": {*SOLID, "^", "G"}, "newest": {*SOLID, "^", "G"}}
"""What dust, repeaters and comparators lie on (rule W1)."""


@pytest.mark.parametrize("rules", ["older", "newer", "newest"])
@pytest.mark.parametrize("thing", ["-", ">", "M"])
def test_dust_repeaters_and_comparators_lie_on_solid_and_upper_half_blocks(thing: str, rules: str) -> None:
    """Common practice, no source; rule W1. On clear blocks under newer rules only (setting `dust_on_clear`)."""
    lies = {below for below in CARRIERS if codes_of(drawn(side(thing, below), f"rules {rules}")) != ["CKT601"]}
    assert lies == UNDER_DUST[rules]


@pytest.mark.parametrize(("setting", "lies"), [("yes", True), ("no", False)])
def test_a_setting_says_whether_dust_lies_on_clear_blocks(setting: str, lies: bool) -> None:
    """Common practice, no source; rule W1."""
    for rules in ("older", "newer"):
        head = f"rules {rules}\nsetting dust_on_clear {setting}"
        assert codes_of(drawn(side("-", "G"), head)) == ([] if lies else ["CKT601"])


@pytest.mark.parametrize("thing", ["T", "a", "B"])
def test_torches_levers_and_buttons_stand_on_solid_blocks(thing: str) -> None:
    """Common practice, no source; rule W1."""
    for rules in ("older", "newer", "newest"):
        stands = {below for below in CARRIERS if not codes_of(drawn(side(thing, below), f"rules {rules}"))}
        assert stands == SOLID


@pytest.mark.parametrize(
    ("thing", "row"), [("W", "{}W."), ("E", ".E{}"), ("w", "{}w."), ("e", ".e{}"), ("k", "{}k."), ("v", "v/{}")]
)
def test_torches_levers_and_buttons_are_attached_to_solid_blocks(thing: str, row: str) -> None:
    """Common practice, no source; rule W1: on the side of one, and levers and buttons below one as well."""
    lines = [each.format for each in row.split("/")]
    hangs = {holder for holder in CARRIERS if not codes_of(drawn(tuple(line(holder) for line in lines)))}
    assert hangs == SOLID, thing


@pytest.mark.parametrize(("rules", "codes"), [("older", ["CKT601"]), ("newer", []), ("newest", [])])
def test_dust_is_set_to_a_dot_under_newer_rules_only(rules: str, codes: list[str]) -> None:
    """Common practice, no source; rule W3, setting `dust_dots`."""
    assert codes_of(drawn(side("o", "S"), f"rules {rules}")) == codes
    changed = "no" if rules != "older" else "yes"
    head = f"rules {rules}\nsetting dust_dots {changed}"
    assert codes_of(drawn(side("o", "S"), head)) == ([] if changed == "yes" else ["CKT601"])


POWERED = [
    Case("W1", "a solid block is powered and passes it on", side(".a>SO", "SSS.."), {"bell": "power winch"}),
    Case("W1", "a lamp is powered and passes it on", side(".a>Q»O", "SSSSS."), {"pulley": "back winch"}),
    Case("W1", "a cell is powered and passes it on", side(".a>C»O", "SSSSS."), {"pulley": "back winch"}),
    Case("W1", "a clear block is never powered", side("a>GO", "SS.."), {"bell": ""}),
    Case("W1", "an upper half block is never powered", side("a>^O", "SS.."), {"bell": ""}),
    Case("W1", "a lower half block is never powered", side("a>_O", "SS.."), {"bell": ""}),
    Case("W1", "a piston takes power and carries none", side("a>]O", "SS.."), {"paddle": "power winch", "bell": ""}),
    Case("W1", "a detector carries none", side("a>DO", "SS.."), {"ripple": "watched winch", "bell": "power ripple"}),
    Case("W1", "water carries none", side("a>~O", "SS.."), {"bell": ""}),
    Case("W1", "leaves carry none", side("a>%O", "SS.."), {"bell": ""}),
    Case("W1", "dust powers no clear block under it", side("a-", "SG", ".O"), {"bell": ""}),
]

STEPS = [
    Case("W2", "dust joins dust beside it", side("a-x", "SSS"), {"wire": "rope 1"}),
    Case("W2", "dust does not join across a corner", on_floor("a-./..x"), {"wire": ""}),
    Case("W2", "dust joins round a corner", on_floor("a-./.-x"), {"wire": "rope 2"}),
    Case("W2", "power climbs a step", side("..x", "a-S", "SSS"), {"wire": "rope 1"}),
    Case("W2", "power climbs two steps", side("...x", "..-S", "a-SS", "SSSS"), {"wire": "rope 2"}),
    Case("W2", "power comes down a step", side("a-.", "SSx", "..S"), {"wire": "rope 1"}),
    Case("W2", "power comes down two steps", side("a-..", "SS-.", "..Sx", "...S"), {"wire": "rope 2"}),
    Case("W2", "a lamp is a step both ways", side("a-...", "SQ-.x", "..S-Q", "...S."), {"wire": "rope 3"}),
    Case("W2", "two layers are no step", side("..x", "..S", "a-S", "SSS"), {"wire": ""}),
    Case("W2", "power climbs a step of glass", side("..x", "a-G", "SS."), {"wire": "rope 1"}),
    Case("W2", "power climbs a step of upper half blocks", side("..x", "a-^", "SS."), {"wire": "rope 1"}),
    Case("W2", "power does not come down a step of glass", side("a-.", "SGx", "..S"), {"wire": ""}),
    Case("W2", "power does not come down a step of half blocks", side("a-.", "S^x", "..S"), {"wire": ""}),
    Case("W2", "it is what the upper dust lies on that counts", side("a-.", "SSx", "..G"), {"wire": "rope 1"}),
    Case("W2", "a solid block above the lower dust cuts a step up", side(".Sx", "a-S", "SSS"), {"wire": ""}),
    Case("W2", "a lamp above the lower dust cuts a step up", side(".Qx", "a-S", "SSS"), {"wire": ""}),
    Case("W2", "a solid block above the lower dust cuts a step down", side("a-S", "SSx", "..S"), {"wire": ""}),
    Case("W2", "a cell above the lower dust cuts a step down", side("a-C", "SSx", "..S"), {"wire": ""}),
    Case("W2", "glass above the lower dust does not cut a step up", side(".Gx", "a-S", "SSS"), {"wire": "rope 1"}),
    Case("W2", "half blocks above it do not cut a step up", side(".^x", "a-S", "SSS"), {"wire": "rope 1"}),
    Case("W2", "glass above the lower dust does not cut a step down", side("a-G", "SSx", "..S"), {"wire": "rope 1"}),
    Case("W2", "a block above the upper dust cuts nothing", side("..S", "..x", "a-S", "SSS"), {"wire": "rope 1"}),
    Case("W2", "of two ways the shorter counts", on_floor("a---/.-.-/.-x-/...."), {"wire": "rope 3"}),
]

CARRIED = [
    Case("P2", "fifteen dust carry a full signal", side("a" + "-" * 14 + "x", "S" * 16), {"wire": "rope 14"}),
    Case("P2", "the sixteenth is dead", side("a" + "-" * 15 + "x", "S" * 17), {"wire": ""}),
    Case("P2", "a lamp behind fifteen is lit", side("a" + "-" * 15 + "O", "S" * 17), {"bell": "power rope"}),
    Case("P2", "a lamp behind sixteen is not", side("a" + "-" * 16 + "O", "S" * 18), {"bell": ""}),
    Case("P2", "a comparator feels how many", side("a----}", "SSSSSS"), {"scale": "back rope 3"}),
    Case("P2", "steps lose a level a dust as well", side("...x", "..-S", "a-S.", "SS.."), {"wire": "rope 2"}),
    Case("P5", "two that meet both arrive", side("a--x-b", "SSSSSS"), {"wire": "rope 2, pond 1"}),
    Case("P5", "power flows back", on_floor("a-x/..-/..b"), {"wire": "rope 1, pond 1"}),
    Case("P2", "a lever off the line's end feeds the line", on_floor(".a./x--"), {"wire": "rope 1"}),
]


@pytest.mark.parametrize("case", [*POWERED, *STEPS, *CARRIED], ids=lambda case: f"{case.rule}: {case.says}")
def test_power_goes_so(case: Case) -> None:
    """Common practice, no source; the rule that each case names."""
    check_case(case)


@pytest.mark.parametrize(("up", "down"), [("S", True), ("O", True), ("C", True), ("G", False), ("^", False)])
def test_a_step_lets_power_up_always_and_down_from_solid_blocks(up: str, down: bool) -> None:
    """Common practice, no source; rule W2: one step, fed once from below and once from above."""
    check_case(Case("W2", up, side("..x", f"a-{up}", "SS."), {"wire": "rope 1"}))
    check_case(Case("W2", up, side("a-.", f"S{up}x", "..S"), {"wire": "rope 1" if down else ""}))


# Where dust points: it is lit by a lever under the block that it lies on, and a lamp stands to its north.

JOINED = {
    "-": True,
    "T": True,
    "b": True,
    "B": True,
    ">": True,
    "<": True,
    "A": False,
    "V": False,
    "}": True,
    "{": True,
    "M": True,
    "Y": True,
    "d": False,
    "h": False,
    "Q": False,
    "]": False,
    "[": False,
    "S": False,
    "G": False,
    "^": False,
    "C": False,
    "~": False,
    "%": False,
    "*": False,
    ".": False,
}
"""For what stands west of dust, whether the dust counts it as a join (rule W3)."""
LIT_FROM_BELOW = (".../.v./...", "SSS/SSS/SSS")


@pytest.mark.parametrize(("thing", "joined"), JOINED.items())
def test_dust_that_counts_a_join_to_its_west_points_north_no_more(thing: str, joined: bool) -> None:
    """Common practice, no source; rule W3: alone it points all four ways, joined to the west east and west only."""
    check_case(Case("W3", thing, (*LIT_FROM_BELOW, f".O./{thing}-./..."), {"bell": "" if joined else "power rope"}))


def test_the_giving_side_of_a_detector_is_a_join() -> None:
    """Common practice, no source; rule W3: it watches a lever behind it and gives into the dust."""
    layers = ("..../..v./....", "SSSS/SSSS/SSSS", "..O./bD-./....")
    check_case(Case("W3", "facing the dust", layers, {"bell": "", "ripple": "watched pond"}))
    check_case(Case("W3", "alone", (*layers[:2], "..O./b.-./...."), {"bell": "power rope"}))


@pytest.mark.parametrize("row", [0, 1, 2])
@pytest.mark.parametrize("column", [0, 1, 2])
@pytest.mark.parametrize("dust", ["-", "o"])
def test_dust_alone_points_all_four_ways_and_a_dot_nowhere(dust: str, row: int, column: int) -> None:
    """Common practice, no source; rule W3."""
    if (row, column) == (1, 1):
        return
    places = [["."] * 3 for _ in range(3)]
    places[1][1], places[row][column] = dust, "O"
    beside = row == 1 or column == 1
    layers = (*LIT_FROM_BELOW, "/".join("".join(line) for line in places))
    check_case(Case("W3", dust, layers, {"bell": "power rope" if beside and dust == "-" else ""}))


UP_WEST = (".../.v./...", "SSS/SSS/SSS", ".O./S-./...")
DOWN_WEST = (".../Sv./...", ".S./-S./.S.", ".O./{}-./...")
POINTS = [
    Case("W3", "on one axis both ways", side("a-O", "SSS"), {"bell": "power rope"}),
    Case("W3", "not to the side of its axis", on_floor("a-/.O"), {"bell": ""}),
    Case("W3", "across, where a second join is across", on_floor(".O/a-/.-"), {"bell": ""}),
    Case("W3", "not straight on behind a corner", on_floor("a-O/.-."), {"bell": ""}),
    Case("W3", "not where nothing is joined", on_floor(".O./a-O/.-."), {"bell.1": "", "bell.2": ""}),
    Case(
        "W3",
        "into all three that are joined",
        on_floor("a->O/.V../.O.."),
        {"winch.1": "back rope", "winch.2": "back rope", "bell.1": "power winch.1", "bell.2": "power winch.2"},
    ),
    Case("W3", "not to the side where a line ends", on_floor(".../a--/..O"), {"bell": ""}),
    Case("W3", "a step up is a join", (*UP_WEST, ".../-../..."), {"bell": ""}),
    Case("W3", "a step up that is cut is none", (*UP_WEST, ".../-S./..."), {"bell": "power rope"}),
    Case("W3", "a step down is a join", (*DOWN_WEST[:2], DOWN_WEST[2].format(".")), {"bell": ""}),
    Case("W3", "a step down that is cut is none", (*DOWN_WEST[:2], DOWN_WEST[2].format("S")), {"bell": "power rope"}),
    Case("W3", "a dot with a join points like any dust", side("aoO", "SSS"), {"bell": "power rope"}),
    Case("W3", "a dot powers the block under it", side("a>SoO", "SSSKS"), {"bell": "", "stone": "winch"}),
    Case("W3", "plain dust there reaches the lamp", side("a>S-O", "SSSKS"), {"bell": "power winch", "stone": "winch"}),
]


@pytest.mark.parametrize("case", POINTS, ids=lambda case: f"{case.rule}: {case.says}")
def test_dust_points_so(case: Case) -> None:
    """Common practice, no source; rule W3."""
    check_case(case)


def test_a_step_of_glass_is_a_join_though_no_power_comes_down_it() -> None:
    """Common practice, no source; rules W2 and W3: the upper dust takes from the lower, and points along its axis.

    The lower dust is lit by a lever. The upper lies on glass to the east of it; its lamps stand north and east of it.
    """
    layers = ("S../SS./S..", ".../b-G/...", "..O/..x/...")
    check_case(Case("W3", "lamp to the side", layers, {"wire": "pond 1", "bell": ""}))
    straight = ("S.../SS../S...", "..../b-G./....", "..../..xO/....")
    check_case(Case("W3", "lamp straight on", straight, {"wire": "pond 1", "bell": "power pond"}))
