"""Each form of claim and of expectation holds and breaks in exactly the right gt."""

from __future__ import annotations

import pytest

from circuitcheck.model.duration import show
from circuitcheck.report.wording import happened

from .judging import broken_at, outcome, verdict

PARTS = """lever one
lever two
analogue depth
torch slack from one starts on
latch gate set one reset two starts reset
lamp lit from slack
"""
HELD = "  at 10gt one on\n  at 30gt one off\n"
"""One is on in gt 10 to 29; the torch off in 12 to 31; the lamp dark in 16 to 31; the latch on from 14."""

CLAIMS: list[tuple[str, str, int | None]] = [
    # A plain condition, of every gt.
    ("one or slack", HELD, 30),
    ("one off or two off", HELD, None),
    ("depth at most 8", "  at 7gt depth is 8\n  at 9gt depth is 9\n", 9),
    ("not (gate rises)", HELD, 14),
    ("gate off or slack off", HELD, 32),
    # When … then, in the same gt.
    ("when one then slack off", HELD, 10),
    ("when lit off then slack off", HELD, None),
    # … within T: the last gt in which the answer may come is T after the trigger, and at its end the claim is broken.
    ("when one rises then gate set within 4gt", HELD, None),
    ("when one rises then gate set within 3gt", HELD, 13),
    ("when one then two within 5gt", HELD, 15),
    ("when one rises then two within 5gt", HELD + "  at 15gt two on\n", None),
    ("when one rises then two within 5gt", HELD + "  at 16gt two on\n", 15),
    # An answer settles every trigger; a second trigger extends nothing.
    ("when one changes then two within 25gt", HELD, 35),
    # … unless: forgiven in the trigger's gt or in any until the answer.
    ("when one rises then two within 5gt unless depth", HELD + "  at 14gt depth is 1\n", None),
    ("when one rises then two within 5gt unless depth", HELD + "  at 15gt depth is 1\n", None),
    ("when one rises then two within 5gt unless depth", HELD + "  at 16gt depth is 1\n", 15),
    ("when one rises then two within 5gt unless slack", HELD, None),
    # … until: from the trigger's gt up to the release, which need not come.
    ("when one rises then one until two", HELD, 30),
    ("when one rises then one until two", HELD + "  at 30gt two on\n", None),
    ("when one rises then one until two", HELD + "  at 29gt two on\n", None),
    ("when one rises then one until two", HELD + "  at 31gt two on\n", 30),
    ("when gate rises then gate until two", HELD + "  until 60gt\n", None),
    ("when one rises then slack until two", HELD, 12),
    # … stable for T: in the T after the trigger's gt.
    ("when one rises then one stable for 19gt", HELD, None),
    ("when one rises then one stable for 20gt", HELD, 30),
    ("when one rises then slack stable for 1gt", HELD, None),
    ("when one rises then slack stable for 2gt", HELD, 12),
    ("when two rises then depth stable for 3gt", "  at 5gt two on, depth is 3\n  at 8gt depth is 4\n", 8),
    ("when two rises then depth stable for 2gt", "  at 5gt two on, depth is 3\n  at 8gt depth is 4\n", None),
    # Inverts and follows: wrong for no more than T at a stretch.
    ("slack inverts one, settled within 2gt", HELD, None),
    ("slack inverts one, settled within 1gt", HELD, 11),
    ("slack inverts one settled within 0gt", HELD, 10),
    ("lit follows slack, settled within 4gt", HELD, None),
    ("lit follows slack, settled within 3gt", HELD, 15),
    # Pulses and gaps.
    ("every pulse of one lasts 20gt", HELD, None),
    ("every pulse of one lasts at least 21gt", HELD, 30),
    ("every pulse of one lasts at most 19gt", HELD, 29),
    ("every pulse of one lasts 19gt", HELD, 29),
    ("every pulse of one lasts 21gt", HELD, 30),
    ("every pulse of one lasts 18gt to 20gt", HELD, None),
    ("every pulse of one lasts 21gt to 25gt", HELD, 30),
    ("every pulse of one lasts 1gt to 19gt", HELD, 29),
    ("every gap of slack lasts 20gt", HELD, None),
    ("every gap of slack lasts at most 19gt", HELD, 31),
    ("every gap of slack lasts at least 21gt", HELD, 32),
    # One that was there at the start is held to the upper bound only.
    ("every pulse of slack lasts at most 11gt", HELD, 11),
    ("every gap of one lasts at most 10gt", HELD, 40),
    ("every gap of one lasts at most 9gt", HELD, 9),
    # From one edge to another: broken in the first gt in which it has taken too long. A period's last rise, in gt 40,
    # is a first edge again.
    ("from one rises to gate rises takes 4gt", HELD, None),
    ("from one rises to gate rises takes 5gt", HELD, 14),
    ("from one rises to gate rises takes 3gt", HELD, 13),
    ("from one rises to gate rises takes at least 5gt", HELD, 14),
    ("from one rises to gate rises takes at most 3gt", HELD, 13),
    ("from one rises to gate rises takes 3gt to 5gt", HELD, None),
    ("from one changes to slack changes takes 2gt", HELD, None),
    ("from one falls to two rises takes at most 7gt", HELD, 37),
    ("from one rises to one rises takes 30gt", HELD + "  at 40gt one on\n", 70),
    ("from one rises to one rises takes 29gt", HELD + "  at 40gt one on\n", 39),
    ("from one rises to one rises takes at least 31gt", HELD + "  at 40gt one on\n", 40),
    ("from one rises to depth changes takes 0gt", "  at 10gt one on, depth is 4\n", None),
    ("from one rises to depth changes takes at least 1gt", "  at 10gt one on, depth is 4\n", 10),
]


def scene(lines: str) -> str:
    return f'{PARTS}check "scene"\n{lines}  until 60gt\nend\n'


@pytest.mark.parametrize(("body", "lines", "at"), CLAIMS)
def test_a_claim_breaks_in_this_gt_or_not_at_all(body: str, lines: str, at: int | None) -> None:
    text = scene(lines) + f'always "claim" {body}\n'
    assert verdict(text, "claim") == ("UNBROKEN" if at is None else "FAILS")
    assert broken_at(text, "claim") == at


def test_a_least_length_is_not_called_into_question_by_a_pulse_that_has_not_ended() -> None:
    text = scene(HELD) + 'always "claim" every pulse of slack lasts at least 50gt\n'
    assert verdict(text, "claim") == "NOT_MET"


@pytest.mark.parametrize(("body", "lines", "at"), CLAIMS)
def test_the_same_body_after_throughout_breaks_in_the_same_gt(body: str, lines: str, at: int | None) -> None:
    text = scene(lines + f"  throughout {body}\n")
    assert verdict(text, "scene") == ("HOLDS" if at is None else "FAILS")
    assert broken_at(text, "scene") == at


@pytest.mark.parametrize(("condition", "at"), [("gate forbidden", 12), ("gate set and two", None), ("two rises", 12)])
def test_never_is_broken_by_the_first_gt_in_which_it_holds(condition: str, at: int | None) -> None:
    text = scene("  at 10gt one on\n  at 12gt two on\n") + f'never "claim" {condition}\n'
    assert broken_at(text, "claim") == at


@pytest.mark.parametrize(
    ("line", "at"),
    [
        ("at 9gt expect one off", None),
        ("at 10gt expect one", None),
        ("at 9gt expect one", 9),
        ("at 10gt expect one off", 10),
        ("at 0gt expect slack and lit", None),
        ("from 10gt to 30gt expect one", None),
        ("from 9gt to 30gt expect one", 9),
        ("from 10gt to 31gt expect one", 30),
        ("from 12gt to 32gt expect slack off", None),
        ("by 35gt expect slack", None),
        ("by 31gt expect slack", 31),
        ("by 32gt expect slack", None),
        ("by 40gt expect one", 40),
    ],
)
def test_an_expectation_breaks_in_this_gt_or_not_at_all(line: str, at: int | None) -> None:
    """`by` looks from the latest action above on, gt 30, so that what was before does not count."""
    assert broken_at(scene(HELD + f"  {line}\n"), "scene") == at


def test_by_without_an_action_above_looks_from_the_start() -> None:
    assert broken_at(scene("  by 5gt expect slack\n" + HELD), "scene") is None


@pytest.mark.parametrize(
    ("condition", "at"),
    [("set", 14), ("reset", 0), ("forbidden", 40), ("on", 14), ("off", 0)],
)
def test_the_states_of_a_latch_come_up_in_this_gt(condition: str, at: int) -> None:
    """Set by one in gt 10, its inverse off in 12, its own side on in 14; forbidden in 40 while both levers are on."""
    text = scene("  at 10gt one on\n  at 40gt two on\n") + f'never "claim" gate {condition}\n'
    assert broken_at(text, "claim") == at


def test_a_latch_is_in_no_state_while_both_sides_are_off() -> None:
    lines = "  at 10gt one on\n  from 12gt to 14gt expect not (gate set or gate reset or gate forbidden)\n"
    assert verdict(scene(lines), "scene") == "HOLDS"


OPEN = "lever one\nlever two\nlatch gate set one reset two\nlamp open from gate\n"


def test_an_undeclared_latch_is_unknown_until_it_is_set() -> None:
    text = OPEN + 'check "scene"\n  at 9gt expect gate unknown\n  at 10gt one on\n  at 14gt expect gate set\nend\n'
    assert verdict(text, "scene") == "HOLDS"


@pytest.mark.parametrize("at", [14, 20])
def test_a_latch_that_has_been_set_is_not_unknown(at: int) -> None:
    text = OPEN + f'check "scene"\n  at 10gt one on\n  at {at}gt expect gate unknown\nend\n'
    assert (verdict(text, "scene"), broken_at(text, "scene")) == ("FAILS", at)


def test_a_declared_latch_is_not_unknown() -> None:
    text = OPEN.replace("reset two", "reset two starts set") + 'check "scene"\n  at 3gt expect gate unknown\nend\n'
    assert (verdict(text, "scene"), broken_at(text, "scene")) == ("FAILS", 3)


def test_a_claim_for_each_of_a_row_is_one_claim_a_member() -> None:
    text = (
        "lever pond.1 to pond.2\nlamp lit.* from pond.*\n"
        'check "scene"\n  at 10gt pond.2 on\n  until 20gt\nend\nalways "dry" for each pond: pond off\n'
    )
    assert (broken_at(text, "dry, pond.1"), broken_at(text, "dry, pond.2")) == (None, 10)


WORKED = "lever a\nlever b\n" + 'check "scene"\n{}end\nalways "claim" from a rises to b rises takes at most 10t\n'


@pytest.mark.parametrize(
    ("acts", "since"),
    [
        # The rise of a at 14 comes in the gt of the answer to the one before: it is the next to be answered.
        (((10, "a on"), (12, "a off"), (14, "a on, b on"), (16, "a off"), (18, "a on")), 14),
        # Here nothing was owed, so the rise of b answers that of its own gt, and the next to be answered is at 14.
        (((10, "a on, b on"), (12, "a off"), (14, "a on"), (16, "a off"), (18, "a on")), 14),
        (((10, "a on"), (12, "a off"), (14, "a on")), 10),
        # An answer that comes with a rise answers the first that is owed.
        (((10, "a on"), (12, "a off"), (30, "a on, b on"), (32, "a off"), (34, "a on")), 30),
    ],
    ids=["in the gt of an answer", "answered at once", "two before an answer", "answered on the bound"],
)
def test_a_late_answer_is_counted_from_the_edge_that_was_not_answered(
    acts: tuple[tuple[int, str], ...], since: int
) -> None:
    found = outcome(WORKED.format("".join(f"  at {at}gt {what}\n" for at, what in acts)), "claim")
    assert found.failure is not None
    assert (found.failure.since, found.failure.at) == (since, since + 20)
    assert f"rose at {show(since)}," in happened(found.failure)


def test_an_answer_too_soon_is_counted_from_the_edge_it_answers() -> None:
    text = WORKED.replace("takes at most 10t", "takes at least 5t")
    found = outcome(text.format("  at 10gt a on\n  at 12gt a off\n  at 14gt a on\n  at 16gt b on\n"), "claim")
    assert found.failure is not None
    assert (found.failure.since, found.failure.at) == (10, 16)
