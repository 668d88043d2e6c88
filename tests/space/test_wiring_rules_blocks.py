"""Powered blocks and pistons in drawings (W8, W9), and drawings held against circuits of named parts (W1 to W9).

Common practice, no source: each case names the rule that it was calculated by hand from.
"""

from __future__ import annotations

from typing import NamedTuple

import pytest

import circuitcheck
from circuitcheck.checks.outcome import Verdict

from .building import Case, built, check_case, drawn, on_floor, side

STRONG = [
    Case("W8", "a strong block lights dust beside it", on_floor("a>Sx"), {"wire": "winch"}),
    Case("W8", "dust on it", side("..x", "a>S", "SS."), {"wire": "winch"}),
    Case("W8", "dust under it", side("a>S", "SSx", "..S"), {"wire": "winch"}),
    Case("W8", "a lamp beside it", on_floor("a>SO"), {"bell": "power winch"}),
    Case("W8", "a lamp above it", side("..O", "a>S", "SS."), {"bell": "power winch"}),
    Case("W8", "a lamp below it", side("a>S", "SSO"), {"bell": "power winch"}),
    Case("W8", "a piston below it", side("a", "S", "]"), {"paddle": "power rope"}),
    Case("W8", "a repeater before it", on_floor("a>S»"), {"pulley": "back winch"}),
    Case("W8", "no repeater beside it", on_floor("a>S↑"), {"pulley": ""}),
    Case("W8", "a comparator before it", on_floor("a>S}"), {"scale": "back winch"}),
    Case("W8", "no comparator's side", on_floor("a>SM"), {"scale": ""}),
    Case("W8", "nothing a step away", on_floor("a>S.O"), {"bell": ""}),
    Case("W8", "no other block", on_floor("a>SSO"), {"bell": ""}),
    Case("W8", "no lamp's power, only its light", on_floor("a>SO»"), {"bell": "power winch", "pulley": ""}),
    Case("W8", "no block above it", side("..KW", "a>S.", "SS.."), {"stone": "", "flame": ""}),
]
WEAK = [
    Case("W8", "a weak block lights no dust beside it", on_floor("a-Sx"), {"wire": ""}),
    Case("W8", "nor dust on it", side("..-x", "a-SS", "SS.."), {"wire": "rope 2"}),
    Case("W8", "nor dust under it", side("a-S", "SSx", "..S"), {"wire": ""}),
    Case("W8", "nor dust beside the block under dust", side("a-.", "SSS", "..x", "..S"), {"wire": ""}),
    Case("W8", "a lamp beside it", on_floor("a-SO"), {"bell": "power rope"}),
    Case("W8", "a lamp above it", side("..O", "a-S", "SS."), {"bell": "power rope"}),
    Case("W8", "a lamp below it", side("a-S", "SSO"), {"bell": "power rope"}),
    Case("W8", "a piston beside it", on_floor("a-S]"), {"paddle": "power rope"}),
    Case("W8", "a torch on it", on_floor("a-SW"), {"flame": "block rope"}),
    Case("W8", "a repeater before it", on_floor("a-S»"), {"pulley": "back rope"}),
    Case("W8", "a comparator before it, with what is left", on_floor("a--S}"), {"scale": "back rope 1"}),
    Case("W8", "the block under dust gives to a lamp below", side("a-", "SS", ".O"), {"bell": "power rope"}),
    Case("W8", "no other block", on_floor("a-SSO"), {"bell": ""}),
    Case("W8", "strong and weak at once, to dust", on_floor("a>Sx/..-./..b."), {"wire": "winch"}),
    Case("W8", "and to a lamp", on_floor("a>SO/..-./..b."), {"bell": "power winch, power pond"}),
    Case("W8", "of two weak ways the stronger is felt", on_floor("---./-.-./a-S}"), {"scale": "back rope"}),
]

# A piston between six blocks of which one is powered by a lever on its far side, above and below by one under or on it.

FACINGS = {"]": "east", "[": "west", "!": "north", "?": "south", "+": "above", "=": "below"}
NO_POWER_ABOVE = "setting power_above_piston no"


def around_piston(piston: str, toward: str) -> tuple[str, ...]:
    """A piston, a block beside it, and on the far side of that a lever."""
    steps = {"east": (0, 0, 1), "west": (0, 0, -1), "north": (0, -1, 0), "south": (0, 1, 0)}
    step = {**steps, "above": (1, 0, 0), "below": (-1, 0, 0)}[toward]
    levers = {"east": "w", "west": "e", "north": "s", "south": "n", "above": "a", "below": "v"}
    things = {(0, 0, 0): piston, step: "S", (2 * step[0], 2 * step[1], 2 * step[2]): levers[toward]}
    return built(things)


@pytest.mark.parametrize("toward", FACINGS.values())
@pytest.mark.parametrize("piston", FACINGS)
@pytest.mark.parametrize("above", [True, False])
def test_a_piston_answers_to_power_through_every_side_but_the_one_it_faces(
    piston: str, toward: str, above: bool
) -> None:
    """Common practice, no source; rule W9: here nothing would power the place above it but what is there already."""
    fed = "power rope" if FACINGS[piston] != toward else ""
    head = "" if above else NO_POWER_ABOVE
    check_case(Case("W9", toward, around_piston(piston, toward), {"paddle": fed}, head))


# What stands over a piston on glass, which lets nothing down to the piston itself; the last column is the piston's.

OVER = {
    "dust that points into the place above": (side("a-.", "SG{}"), "rope"),
    "dust beyond the place above": (side(".-a", "{}GS"), "rope"),
    "dust that runs by the place above": (("SGG/.{}.", "a--/..."), ""),
    "a repeater into the place above": (side("a>.", "SG{}"), "winch"),
    "a torch beside the place above": (side(".ES", "{}.."), "flame"),
    "a lever above the place above": (side("S", "v", ".", "{}"), "rope"),
    "a strong block above the place above": (side("a", "S", ".", "{}"), "rope"),
    "a strong block beside the place above": (side("a>S.", "SG.{}"), "winch"),
    "a weak block beside the place above": (side("a-S.", "SG.{}"), "rope"),
    "a lever a step further": (side("S", "v", ".", ".", "{}"), ""),
    "a repeater that runs by": (("SG./..{}", "a>./..."), ""),
    "an unpowered block beside the place above": (side("S.", ".{}"), ""),
}
"""What is over a piston, and what powers it so."""


@pytest.mark.parametrize("piston", FACINGS)
@pytest.mark.parametrize("over", OVER)
def test_a_piston_answers_to_what_would_power_the_place_above_it_too(over: str, piston: str) -> None:
    """Common practice, no source; rules W9 and D2: a piston powered only so is stuck, so its input is its arming.

    With the setting `power_above_piston no` it feels nothing of it.
    """
    layers, source = OVER[over]
    here = tuple(layer.format(piston) for layer in layers)
    check_case(Case("W9", over, here, {"paddle": f"arming {source}" if source else ""}))
    check_case(Case("W9", over, here, {"paddle": ""}, NO_POWER_ABOVE))


ABOVE_TOO = [
    Case("W9", "from above and of its own", side("a-..", "SG[b", "...S"), {"paddle": "power pond, above rope"}),
    Case("W9", "from above what it has of its own", side("a-.", "SS]"), {"paddle": "power rope"}),
    Case("W9", "a block on it that is powered", side("a>S", "SG]"), {"paddle": "power winch"}),
    Case("W9", "a block before its head that is powered", side("a>S", "SG+"), {"paddle": "arming winch"}),
    Case("W9", "a lamp that is only lit gives nothing", side(".S", "Ov", "..", "]."), {"paddle": ""}),
    Case("W9", "nor does what powers the place below", side("].", "..", "aS", "S."), {"paddle": ""}),
]


@pytest.mark.parametrize("case", [*STRONG, *WEAK, *ABOVE_TOO], ids=lambda case: f"{case.rule}: {case.says}")
def test_blocks_and_pistons_take_so(case: Case) -> None:
    """Common practice, no source; the rule that each case names."""
    check_case(case)


# Drawings held against circuits of named parts: the drawing is the circuit, up to names.


class Pair(NamedTuple):
    """A circuit in words, and the build that it is or is not. `rule` is the id of the rule that it shows."""

    rule: str
    words: str
    layers: tuple[str, ...]
    alike: bool = True


PAIRS = [
    Pair("W2", "lever a\ndust d from a length 3\ncomparator c from d", side("...-}", "..-SS", "a-SSS", "SSSSS")),
    Pair("W2", "lever a\ndust d from a length 2\ncomparator c from d", side("...-}", "..-SS", "a-SSS", "SSSSS"), False),
    Pair("W3", "lever a\ndust d from a\nlamp e from d\nlamp f from d", on_floor("..O/a-./..O"), False),
    Pair("W3", "lever a\nlamp e from a\nlamp f from a", (".../.v./...", "SSS/SSS/SSS", ".O./O-./...")),
    Pair("W4", "lever a\ndust d from a\nblock k from d\ntorch t from k\nlamp l from t", side("a-SWO", "SSSSS")),
    Pair("W5", "lever a\nblock k from a\ntorch t from k\nlamp l from t", side(".a.", ".SW", "..O")),
    Pair("W5", "torch t\nblock k from t\nrepeater r from k\nlamp l from r", on_floor("TS»O"), False),
    Pair("W5", "torch t\nblock k from t\nrepeater r from k\nlamp l from r", side("S»O", "TSS", "S..")),
    Pair("W6", "lever a\nrepeater r from a\nrepeater p from r\nlamp l from p", on_floor("a>»O")),
    Pair("W6", "lever a\nrepeater r from a\ndust d from r\nrepeater p from d\nlamp l from p", on_floor("a>-»O")),
    Pair("W6", "lever a\nrepeater r from a\ndust d from r\nrepeater p from d\nlamp l from p", on_floor("a>»O"), False),
    Pair(
        "W6",
        "lever a\nlever b\nrepeater r from a\nrepeater p from b locked by r\nlamp l from p",
        on_floor("..O/a>↑/..b"),
    ),
    Pair("W6", "lever a\nlever b\ndetector r watches a\nrepeater p from b\nlamp l from p", on_floor("..O/aD↑/..b")),
    Pair(
        "W6",
        "lever a\nlever b\ndust d from a length 2\ncomparator c from d side b\nlamp l from c",
        on_floor("a--}O/...b."),
        False,
    ),
    Pair(
        "W6",
        "lever a\nlever b\ndust d from a length 2\ndust e from b\ncomparator c from d side e\nlamp l from c",
        on_floor("a--}O/...-./...b."),
    ),
    Pair("W7", "lever a\nblock k from a\ndust d from k\nlamp l from d", side("a..", "S-O", ".S.")),
    Pair("W7", "button a short\ntorch t from a\nlamp l from t", on_floor("OEKk")),
    Pair("W8", "lever a\nrepeater r from a\nblock k from r\ndust d from k\nlamp l from d", on_floor("a>S-O")),
    Pair("W8", "lever a\nrepeater r from a\nlamp m from r\nlamp l from r", on_floor("a>SO/..O.")),
    Pair("W8", "lever a\nrepeater r from a\nlamp m from r\nlamp l from r", on_floor("a>OO")),
    Pair("W8", "lever a\nrepeater r from a\nlamp m from r\nlamp l from r\nlamp o from r", on_floor("a>OOO"), False),
    Pair("W9", "lever a\ndust d from a\npiston p from d", on_floor("a-]")),
    Pair("W9", "lever a\ndust d from a\npiston p from d", on_floor("a-["), False),
    Pair("W9", "lever a\ndust d from a\npiston p from d", side("a-.", "SG]"), False),
    Pair("W9", "lever a\ndust d from a\ndetector p arming d hears d", side("a-.", "SG]")),
    Pair("W9", "lever a\nrepeater r from a\nblock k from r\npiston p from k", side("a>S", "SG]")),
]


@pytest.mark.parametrize("pair", PAIRS, ids=lambda pair: f"{pair.rule}: {'/'.join(pair.layers)}")
def test_a_drawing_is_the_circuit_that_it_is_by_the_rules(pair: Pair) -> None:
    """Common practice, no source; the rule that each pair names.

    In the last a piston lies under a block that a repeater powers: what would power the place above is the same
    repeater that powers the piston itself, so that there is nothing more for it to answer to.
    """
    report = circuitcheck.verify_text(drawn(pair.layers, rest=pair.words))
    assert report.diagnostics == ()
    (outcome,) = [each for each in report.outcomes if each.title == "the drawing is the circuit"]
    assert outcome.verdict is (Verdict.HOLDS if pair.alike else Verdict.FAILS), outcome.differences
    assert bool(outcome.differences) is not pair.alike


ROPE_IS_LATE = on_floor("a>O/..b")
"""A rope lights the bell through a repeater, and a pond beside it."""
ROPE_AND_POND = on_floor("aO.bQ")
"""A rope lights the bell, and a pond the lantern."""
GIVEN_OUT = "lever rope\ndust wire from rope length 2\noutput reading from wire\n"
NAMED = [
    ("the same names", "lever rope\nlever pond\nrepeater r from rope\nlamp l from r, pond", ROPE_IS_LATE, True),
    ("other names", "lever one\nlever other\nrepeater r from other\nlamp l from r, one", ROPE_IS_LATE, True),
    ("inputs exchanged", "lever rope\nlever pond\nrepeater r from pond\nlamp l from r, rope", ROPE_IS_LATE, False),
    ("one input is another", "lever pond\nlever one\nrepeater r from pond\nlamp l from r, one", ROPE_IS_LATE, False),
    ("a repeater goes by any name", "lever a\nlever b\nrepeater bell from b\nlamp l from bell, a", ROPE_IS_LATE, True),
    ("lamps", "lever a\nlever b\nlamp bell from a\nlamp lantern from b", ROPE_AND_POND, True),
    ("lamps are held", "lever rope\nlever pond\nlamp bell from pond\nlamp lantern from rope", ROPE_AND_POND, False),
    ("dust given out", GIVEN_OUT, on_floor("a-x"), True),
    ("dust given out without its name", GIVEN_OUT, on_floor("a--"), False),
    ("dust given out somewhere else", GIVEN_OUT, on_floor("a-./..x"), False),
]


@pytest.mark.parametrize(("says", "words", "layers", "alike"), NAMED, ids=[each[0] for each in NAMED])
def test_inputs_and_lamps_are_held_to_names_that_both_give_them(
    says: str, words: str, layers: tuple[str, ...], alike: bool
) -> None:
    """Common practice, no source; the language reference, "Drawing and circuit"."""
    report = circuitcheck.verify_text(drawn(layers, rest=words))
    assert report.diagnostics == ()
    (outcome,) = report.outcomes
    assert bool(outcome.differences) is not alike, (says, outcome.differences)


CROSSED = ("SSS/SSS/SSS/SSS/SSS", "s../SW-/-.-/-ES/..n")
"""Two torches, each of which powers the block that the other is attached to, and a lever on each of the blocks."""
GATE = ("named gate at layer 2 row 2 column 2", "named gate.inverse at layer 2 row 4 column 2")
ASKED = """check "set and reset"
  at 1t   rope.2 on
  by 4t   expect gate set
  at 10t  rope.2 off
  at 20t  rope.1 on
  by 24t  expect gate reset
  at 30t  rope.2 on
  by 34t  expect gate forbidden
end
"""


def test_two_torches_that_hold_each_other_are_a_latch_by_their_names() -> None:
    """Common practice, no source; rules L1 and L2; the language reference, "What drawn parts are called"."""
    report = circuitcheck.verify_text(drawn(CROSSED, rest=ASKED, names=GATE))
    assert report.diagnostics == ()
    assert [each.verdict for each in report.outcomes] == [Verdict.HOLDS]
    for names in (GATE[:1], (GATE[0], GATE[1].replace("inverse", "other"))):
        codes = {each.code for each in circuitcheck.verify_text(drawn(CROSSED, rest=ASKED, names=names)).diagnostics}
        assert codes == {"CKT402"}
    apart = (CROSSED[0], CROSSED[1].replace("-.-", "...", 1))
    assert {each.code for each in circuitcheck.verify_text(drawn(apart, rest=ASKED, names=GATE)).diagnostics} == {
        "CKT402"
    }


def test_asked_of_torches_that_do_not_hold_each_other_the_missing_way_is_reported() -> None:
    """Rule L1: what keeps the two from being a latch comes before what can't be asked of them."""
    apart = (CROSSED[0], CROSSED[1].replace("-.-", "...", 1))
    told = circuitcheck.verify_text(drawn(apart, rest=ASKED, names=GATE)).diagnostics
    assert {each.code for each in told} == {"CKT402"}
    for each in told:
        assert "'gate' and 'gate.inverse' are not a latch" in each.message
        assert "(L1)" in each.message
        assert "the block of the other" in each.hint
    unasked = circuitcheck.verify_text(drawn(apart, names=GATE))
    assert [(each.rule, each.part) for each in unasked.findings if each.rule == "L1"] == [("L1", "gate")]
    assert told[0].message.removesuffix(" (L1)") in {each.message for each in unasked.findings}
