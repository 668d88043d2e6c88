"""Harmful flashing in the runs of checks (rule S1): how it is counted, of what, when, and what would mend it.

Published source: WCAG 2.2 (W3C Recommendation, October 2023), success criterion 2.3.1 "Three Flashes or Below
Threshold": nothing "flashes more than three times in any one second period"; a general flash is "a pair of opposing
changes in relative luminance". When lamps change was calculated by hand (O2: common practice, no source).
"""

from __future__ import annotations

import itertools
import random

import pytest

from circuitcheck.checks.finding import Finding
from circuitcheck.checks.flashing import BOTH, DARK, LIT, Change, most_flashes

from .judging import judged

TWO = "lever rope.1 to rope.2\nlamp bell.* from rope.*\n"


def check(title: str, *acts: tuple[int, str]) -> str:
    rows = "".join(f"  at {at}gt {what}\n" for at, what in sorted(acts))
    return f'check "{title}"\n{rows}  until 10s\nend\n'


def pulses(name: str, first: int, period: int, count: int) -> list[tuple[int, str]]:
    """A lever thrown for one gt, over and over: a lamp on it is lit for 5 gt each time (O2)."""
    times = [first + period * number for number in range(count)]
    return [(at, f"{name} on") for at in times] + [(at + 1, f"{name} off") for at in times]


def cautions(text: str) -> list[Finding]:
    return [each for each in judged(text).findings if each.rule == "S1"]


def only(text: str) -> Finding:
    (found,) = cautions(text)
    assert found.flashing is not None
    return found


def test_the_message_says_whom_it_can_harm() -> None:
    found = only(TWO + check("quick", *pulses("rope.1", 10, 6, 5)))
    assert "photosensitive epilepsy" in found.message


def test_a_flash_is_a_pair_of_opposing_changes_so_seven_changes_are_three_flashes() -> None:
    # Every 7 gt: lit at 10, 17, 24, dark at 15, 22, 29: in 20 gt at most seven changes. Every 6 gt: eight (15 to 34).
    assert cautions(TWO + check("slow", *pulses("rope.1", 10, 7, 9))) == []
    found = only(TWO + check("quick", *pulses("rope.1", 10, 6, 9))).flashing
    assert found is not None
    assert (found.count, found.begins, found.ends) == (4, 15, 34)


def test_changes_to_dark_count_as_those_to_light_do() -> None:
    # Eight changes from 15 (dark) to 34 (lit), only four of them to light, the first of which is at 16.
    found = only(TWO + check("quick", *pulses("rope.1", 10, 6, 5))).flashing
    assert found is not None
    assert (found.count, found.begins) == (4, 15)


def test_two_lamps_in_turn_are_counted_together() -> None:
    # Each every 8 gt (2.5 a second), the other 4 gt later: lit at 10, 14, 18, …, dark at 15, 19, 23, …: in turn.
    acts = [*pulses("rope.1", 10, 8, 6), *pulses("rope.2", 14, 8, 6)]
    for alone in ("rope.1", "rope.2"):
        assert cautions(TWO + check("alone", *(act for act in acts if act[1].startswith(alone)))) == []
    found = only(TWO + check("in turn", *acts))
    assert found.flashing is not None
    assert (found.flashing.count, sorted(found.flashing.lamps)) == (5, ["bell.1", "bell.2"])
    assert "all lamps count together" in found.message


def test_two_lamps_that_change_as_one_are_one() -> None:
    acts = [*pulses("rope.1", 10, 8, 6), *pulses("rope.2", 10, 8, 6)]
    assert cautions(TWO + check("as one", *acts)) == []


def test_lamps_that_light_one_after_the_other_and_go_dark_so_flash_once() -> None:
    row = "lever rope\nrepeater step.1 from rope\nrepeater step.2 from step.1\nrepeater step.3 from step.2\n"
    text = row + "lamp bar.1 to bar.3 from step.*\n" + check("up and down", (10, "rope on"), (18, "rope off"))
    assert cautions(text) == []


def test_a_lamp_that_is_dark_for_no_time_shows_nothing() -> None:
    # On for 2 gt, off for 4: the lamp looks in the very gt in which power comes back, and is lit again within it.
    acts = [(10 + 6 * n, "rope.1 on") for n in range(6)] + [(12 + 6 * n, "rope.1 off") for n in range(6)]
    assert cautions(TWO + check("steady", *acts)) == []


def test_the_worst_second_is_reported_and_not_the_first() -> None:
    first = pulses("rope.1", 10, 6, 5)  # four flashes from gt 15 on
    later = [*pulses("rope.1", 100, 8, 6), *pulses("rope.2", 104, 8, 6)]  # five
    found = only(TWO + check("both", *first, *later)).flashing
    assert found is not None
    # Lit at 104, dark at 105, 109, 113, …, lit at 108, 112, …: ten in turn from 104 on.
    assert (found.count, found.begins) == (5, 104)


def test_of_several_checks_the_worst_is_reported() -> None:
    mild = check("mild", *pulses("rope.1", 10, 6, 5))
    worse = check("worse", *pulses("rope.1", 10, 6, 9), *pulses("rope.2", 13, 6, 9))
    for text in (mild + worse, worse + mild):
        found = only(TWO + text)
        assert found.flashing is not None
        assert found.flashing.count == 7  # dark at 15, 18, 21, …, lit at 16, 19, 22, …: fourteen in turn to 34
        assert '"worse"' in found.message


def test_a_check_that_must_fail_is_counted_as_well() -> None:
    text = TWO + check("quick", *pulses("rope.1", 10, 6, 5)).replace('"\n', '" fails because O2\n', 1)
    text = text.replace("  until 10s\n", "  at 60gt expect bell.1\n  until 10s\n")
    assert only(text).part == "bell.1"


def test_the_mend_is_the_least_change_that_brings_it_to_three() -> None:
    # Four flashes take 19 gt (15 to 34): 1 gt more is enough, as every 7 gt shows.
    found = only(TWO + check("quick", *pulses("rope.1", 10, 6, 9)))
    assert found.flashing is not None
    assert found.flashing.quickest == 19
    assert "1gt" in found.hint


def test_a_silence_for_one_lamp_says_nothing_of_what_is_seen_together() -> None:
    acts = [*pulses("rope.1", 10, 8, 6), *pulses("rope.2", 14, 8, 6)]
    text = TWO + check("in turn", *acts)
    assert only(text + 'silence S1 for bell.1 because "small"\n').silenced == ""
    assert only(text + 'silence S1 for bell.1, bell.2 because "small"\n').silenced == "small"


def plainly(changes: list[Change]) -> int:
    """The most flashes of any second, by trying every choice of changes: independent of how the program counts."""
    best = 0
    for start in range(changes[0].at - 1, changes[-1].at + 1) if changes else ():
        window = [each for each in changes if start <= each.at < start + 20]
        single = {LIT: ["u"], DARK: ["d"], BOTH: ["ud", "du", "u", "d"]}
        ends = {"": 0}
        for change in window:
            longer = dict(ends)
            for end, count in ends.items():
                for word in single[change.kind]:
                    if word[0] != end:
                        longer[word[-1]] = max(longer.get(word[-1], 0), count + len(word))
            ends = longer
        best = max(best, *(count // 2 for count in ends.values()))
    return best


@pytest.mark.parametrize("seed", range(40))
def test_the_count_is_that_of_trying_every_choice(seed: int) -> None:
    chance = random.Random(seed)
    times = sorted(chance.sample(range(60), chance.randint(1, 30)))
    changes = [Change(at, chance.choice((LIT, DARK, BOTH)), (0,)) for at in times]
    assert most_flashes(changes).number == plainly(changes)


def test_more_lamps_never_make_the_count_smaller() -> None:
    chance = random.Random(7)
    for _, size in itertools.product(range(20), (10, 25)):
        times = sorted(chance.sample(range(50), size))
        whole = [Change(at, chance.choice((LIT, DARK)), (0,)) for at in times]
        part = [each for each in whole if chance.random() < 0.6]
        assert most_flashes(part).number <= most_flashes(whole).number
