"""Every finding is found where it is, and only there; silenced it keeps the reason, forbidden it is a failure."""

from __future__ import annotations

from typing import NamedTuple

import pytest

from .judging import judged, rules_found


class Case(NamedTuple):
    """A rule, the part it is found at, a file with the mistake, and what makes it good: two texts to exchange."""

    rule: str
    part: str
    text: str
    bad: str
    good: str


def check(*lines: str) -> str:
    return 'check "scene"\n' + "".join(f"  {line}\n" for line in (*lines, "until 3s")) + "end\n"


TORCH = "lever rope\ntorch slack from rope starts on\nlamp calm from slack\n"
LATCH = "lever one\nlever two\nlatch gate set one reset two starts reset\nlamp open from gate\n"
# O2: lit in gt 10, 16, …, dark 4 gt after each off. Dark at 15, lit at 16, …, lit at 34 are eight changes within 20 gt.
FLASHES = "lever rope\nlamp bell from rope\n" + check(
    *(f"at {10 + 6 * n}gt rope on" for n in range(5)), *(f"at {11 + 6 * n}gt rope off" for n in range(4))
)
OFFS = [f"at {10 + 7 * n}gt rope on" for n in range(8)] + [f"at {13 + 7 * n}gt rope off" for n in range(8)]

CASES = [
    Case("P2", "line", "lever rope\ndust line from rope length 16\nlamp bell from line\n", "16", "15"),
    Case("P4", "next", "lever rope\ndust line from rope\nblock stone from line\ndust next from stone\n"
         "lamp bell from next\n", "from line\n", "from rope\n"),
    Case("P5", "mill", "lever one\nlever two\ndust a from one length 3\ndust b from two length 3\n"
         "junction meet joins a, b\nlamp mill from a\nlamp bell from meet\n", "mill from a", "mill from one"),
    Case("T3", "slack", TORCH + check("at 10gt rope on", "at 11gt rope off"), "11gt", "13gt"),
    Case("T4", "slack", TORCH + check(*OFFS), "at 59gt rope on", "at 59gt rope off"),
    Case("K1", "head", "lever rope\ncomparator head from rope\nlamp bell from head\n"
         + check("at 10gt rope on", "at 11gt rope off"), "11gt", "15gt"),
    Case("R4", "winch", "lever rope\nrepeater winch from rope delay 2t\nlamp bell from winch\n"
         + check("at 10gt rope on", "at 20gt rope off", "at 23gt rope on"), "23gt", "25gt"),
    Case("D1", "rise", "lever rope\ndetector rise watches rope\nlamp bell from rise\n"
         + check("at 10gt rope on", "at 11gt rope off"), "11gt", "20gt"),
    Case("D2", "wedge", "lever ready\nlever knock\ndetector wedge arming ready hears knock\nlamp bell from wedge\n"
         + check("at 5gt ready on", "at 10gt knock on", "at 12gt knock off"), "12gt", "20gt"),
    Case("L2", "gate", LATCH + check("at 10gt one on", "at 20gt two on"), "at 20gt two on", "at 20gt one off"),
    Case("L5", "gate", LATCH.replace(" starts reset", ""), "reset two", "reset two starts reset"),
    Case("C5", "one", LATCH + check("at 10gt one on", "at 15gt two on", "at 20gt one off, two off"),
         "at 20gt one off, two off", "at 20gt one off"),
    Case("V1", "idle", "lever rope\ntorch idle from rope\n", "torch", "lamp"),
    Case("V2", "light", "torch light\nlamp bell from light\n", "torch light", "lever light"),
    Case("V3", "slack", "lever one starts on\nlever two\ntorch slack from one, two starts off\nlamp calm from slack\n"
         + check("at 10gt one off, two on"), "at 10gt one off, two on", "at 8gt two on\n  at 10gt one off"),
    Case("S1", "bell", FLASHES, "at 34gt rope on", "at 35gt rope on"),
]  # fmt: skip
IDS = [case.rule for case in CASES]


@pytest.mark.parametrize("case", CASES, ids=IDS)
def test_a_finding_is_found_at_its_part_and_harms_nothing(case: Case) -> None:
    report = judged(case.text)
    assert (case.rule, case.part) in [(each.rule, each.part) for each in report.findings]
    assert int(report.exit) == 0
    assert all(each.hint and each.message for each in report.findings)


@pytest.mark.parametrize("case", CASES, ids=IDS)
def test_a_finding_is_not_found_where_its_cause_is_mended(case: Case) -> None:
    assert case.bad in case.text
    assert case.rule not in rules_found(case.text.replace(case.bad, case.good))


@pytest.mark.parametrize("case", CASES, ids=IDS)
def test_a_silenced_finding_keeps_its_reason(case: Case) -> None:
    for about in ("", f" for {case.part}"):
        report = judged(case.text + f'silence {case.rule}{about} because "judged by the miller"\n')
        found = [each for each in report.findings if each.rule == case.rule and each.part == case.part]
        assert [each.silenced for each in found] == ["judged by the miller"]


@pytest.mark.parametrize("case", CASES, ids=IDS)
def test_a_forbidden_finding_is_a_failure(case: Case) -> None:
    report = judged(case.text + f"forbid {case.rule}\n")
    assert int(report.exit) == 1
    assert [each.forbidden for each in report.findings if each.part == case.part and each.rule == case.rule] == [True]


@pytest.mark.parametrize("case", CASES, ids=IDS)
def test_a_forbidden_finding_that_is_silenced_is_no_failure(case: Case) -> None:
    assert int(judged(case.text + f'forbid {case.rule}\nsilence {case.rule} because "so"\n').exit) == 0


def test_a_silence_for_another_part_silences_nothing() -> None:
    case = CASES[IDS.index("T3")]
    report = judged(case.text + 'silence T3 for calm because "so"\n')
    assert [each.silenced for each in report.findings if each.rule == "T3"] == [""]


def test_a_silence_in_a_definition_goes_with_it_into_its_instances() -> None:
    text = (
        'define weir (a) gives b\n  torch b from a\n  torch idle from a\n  silence V1 for idle because "spare"\nend\n'
        "lever rope\nweir left (a rope)\nlamp bell from left.b\n"
    )
    found = [(each.part, each.silenced) for each in judged(text).findings if each.rule == "V1"]
    assert ("left.idle", "spare") in found
    assert all(reason == "spare" for _, reason in found)


def test_every_finding_of_the_reference_is_tried() -> None:
    assert sorted(IDS) == [
        *["C5", "D1", "D2", "K1", "L2", "L5", "P2", "P4", "P5", "R4"],
        *["S1", "T3", "T4", "V1", "V2", "V3"],
    ]


TOGETHER = (
    "lever pond starts on\nlever race\nrepeater rope from pond\nrepeater bell from race\n"
    "junction row joins rope, bell\ntorch mill from row\nlamp turns from mill\n" + check("at 10gt race on, pond off")
)
"""The row is dark for a moment in gt 12: the repeater that goes off acts before the one that comes on (rule C3)."""


def test_a_gap_of_no_width_names_the_two_parts_that_make_it() -> None:
    """Common practice, no source; rules C3 and V3."""
    (found,) = [each for each in judged(TOGETHER).findings if each.rule == "V3"]
    assert found.part == "mill"
    assert "'rope' goes off" in found.message
    assert "'bell' comes on" in found.message
    assert "'rope'" in found.hint
    assert "'bell'" in found.hint


@pytest.mark.parametrize("delayed", ["rope", "bell"])
def test_a_repeater_behind_either_part_of_a_gap_of_no_width_parts_them(delayed: str) -> None:
    """Rules C3 and V3: behind the first there is no gap, behind the second it has a width."""
    parted = TOGETHER.replace("joins rope, bell", "joins rope, bell".replace(delayed, "later"))
    parted = parted.replace("junction", f"repeater later from {delayed}\njunction")
    assert "V3" not in rules_found(parted)


def test_where_hands_work_both_inputs_it_is_said_to_work_them_apart() -> None:
    case = CASES[IDS.index("V3")]
    (found,) = [each for each in judged(case.text).findings if each.rule == "V3"]
    assert "'one'" in found.hint
    assert "'two'" in found.hint
    assert "different gt" in found.hint


def test_a_gap_of_no_width_that_nothing_reads_is_no_finding() -> None:
    """What gives its level to no part, no output and no check can't pass a gap on."""
    assert "V3" not in rules_found(TOGETHER.replace("lamp turns from mill\n", ""))
    asked = TOGETHER.replace("lamp turns from mill\n", "").replace("  until", "  at 1s expect mill off\n  until")
    assert "V3" in rules_found(asked)


FOLLOWING: dict[str, tuple[str, list[tuple[str, str]]]] = {
    # name: a circuit with one slip, and what is found; common practice, no source: rules P2 and P4.
    "a weak block, and one dust behind it": (
        "lever rope\ndust up from rope\nblock stone from up\ndust far from stone\nlamp bell from far\n",
        [("P4", "far")],
    ),
    "a weak block, and two lines behind it": (
        "lever rope\ndust up from rope\nblock stone from up\ndust far from stone\ndust on_it from far length 3\n"
        "lamp bell from far\nlamp sign from on_it\n",
        [("P4", "far")],
    ),
    "a line too long, and another behind it": (
        "lever rope\ndust line from rope length 16\ndust far from line length 3\nlamp bell from far\n",
        [("P2", "line")],
    ),
    "lines too long together, read by several": (
        "lever rope\ndust line from rope length 9\ndust far from line length 9\ndust end_of_it from far\n"
        "lamp bell from far\nlamp sign from far\nlamp last from end_of_it\n",
        [("P2", "bell")],
    ),
    "two lines that are too long apart from each other": (
        "lever rope\ndust line from rope length 9\ndust one from line length 9\ndust other from line length 9\n"
        "lamp bell from one\nlamp sign from other\n",
        [("P2", "bell"), ("P2", "sign")],
    ),
}


@pytest.mark.parametrize(("text", "found"), FOLLOWING.values(), ids=FOLLOWING)
def test_what_follows_from_a_slip_is_not_told_beside_it(text: str, found: list[tuple[str, str]]) -> None:
    report = judged(text + check("at 10gt rope on", "at 20gt expect bell off"))
    assert [(each.rule, each.part) for each in report.findings] == found
