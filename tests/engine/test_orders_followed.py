"""Which open orders are followed and which are one and the same (common practice, no source; rule C5).

A lever tells two parts in one gt, whose waits end together in one class. Two orders are followed if the order can
matter, and one if it can't. What is counted are the choices named by the outcomes of that gt.
"""

from __future__ import annotations

import pytest

from circuitcheck.engine.machine import Machine
from circuitcheck.engine.step import Action, Outcome, step

from .test_waits import at_rest

TORCHES = "torch rope from pond\ntorch bell from pond\n"
REPEATERS = "repeater rope from pond\nrepeater bell from pond\n"


def thrown(body: str, *levers: str) -> tuple[Machine, tuple[Outcome, ...]]:
    """What can follow when these levers are thrown in one gt, at rest before."""
    machine, state = at_rest(body)
    return machine, step(machine, state, [Action(machine.number[name], "throw") for name in levers])


def names(machine: Machine, devices: tuple[int, ...]) -> tuple[str, ...]:
    """The names of some parts."""
    return tuple(machine.names[each] for each in devices)


def followed(body: str, *levers: str) -> list[list[tuple[str, ...]]]:
    """The choices on the way to each outcome, as names of parts in the order taken."""
    machine, outcomes = thrown(body, *levers)
    return [[names(machine, order.devices) for order in outcome.orders] for outcome in outcomes]


ONE_WAY: list[list[tuple[str, ...]]] = [[]]
"""Nothing had to be chosen."""

BOTH_WAYS = [[("rope", "bell")], [("bell", "rope")]]


@pytest.mark.parametrize(
    "readers",
    [
        "",
        "lamp mill from rope\nlamp open from bell",
        "repeater mill from rope\nrepeater wheel from bell",
        "torch mill from rope\ntorch wheel from bell\nlamp open from wheel",
    ],
)
@pytest.mark.parametrize("told", [TORCHES, REPEATERS])
def test_parts_that_no_one_reads_together_are_followed_in_one_order(told: str, readers: str) -> None:
    """Common practice, no source; rule C5: neither reads the other, they share no reader, and so on down the line."""
    assert followed(f"lever pond\n{told}{readers}\n", "pond") == ONE_WAY


@pytest.mark.parametrize("reader", ["torch", "repeater", "lamp", "piston"])
@pytest.mark.parametrize("starts", ["on", "off"])
def test_two_alike_at_one_port_that_feels_only_power_are_followed_in_one_order(starts: str, reader: str) -> None:
    """Common practice, no source; rule C5: it is told by the first to come on or the last to go off, whichever it is.

    Under older rules, where a torch that goes off begins no wait of its own in any case (T4).
    """
    body = f"rules older\nlever pond starts {starts}\n{TORCHES}junction row joins rope, bell\n{reader} mill from row\n"
    assert followed(body, "pond") == ONE_WAY


@pytest.mark.parametrize(
    "reader",
    [
        "comparator mill from rope side bell",
        "comparator mill from row",
        "analogue race starts 9\ncomparator mill from race side row",
        "detector mill watches row",
        "lever race\ndetector mill arming race hears row",
        "lever race\ndetector mill arming race hears rope, bell",
        "repeater bolt from bell\nrepeater mill from rope locked by bolt starts on\ncomparator wheel from bolt, rope",
        "torch mill from rope\ntorch wheel from bell\ndetector ripple watches any\njunction any joins mill, wheel",
        "lamp open from rope\ndetector ripple watches open\ndetector knock watches bell\n"
        "comparator mill from ripple side knock",
    ],
)
def test_two_whose_order_a_reader_can_feel_are_followed_both_ways(reader: str) -> None:
    """Common practice, no source; rule C5: what is between the two changes is felt, there or down the line."""
    body = f"rules older\nlever pond\n{TORCHES}junction row joins rope, bell\n{reader}\n"
    assert sorted(followed(body, "pond")) == sorted(BOTH_WAYS)


def test_two_that_read_each_other_are_followed_both_ways() -> None:
    """Common practice, no source; rules C5 and L4: the torches of a latch, both inputs let go by one lever."""
    body = "rules older\nlever pond starts on\ntorch rope from bell, pond\ntorch bell from rope, pond\n"
    assert sorted(followed(body, "pond")) == sorted(BOTH_WAYS)


def test_one_that_reads_the_other_is_followed_both_ways() -> None:
    """Common practice, no source; rule C5: the bell's change is waited for while the rope changes what it reads."""
    body = "rules older\nlever pond\ntorch rope from pond\ncomparator bell from rope side pond subtract\n"
    assert sorted(followed(body, "pond")) == sorted(BOTH_WAYS)


def test_lamps_lit_by_one_change_tell_of_it_in_both_orders() -> None:
    """Common practice, no source; rules C5 and O2: they are lit at once; a detector each begins to wait in turn."""
    body = (
        "lever pond\nlamp rope from pond\nlamp bell from pond\ndetector ripple watches rope\n"
        "detector knock watches bell\ncomparator mill from ripple side knock\n"
    )
    assert sorted(followed(body, "pond")) == sorted(BOTH_WAYS)
    machine, outcomes = thrown(body, "pond")
    assert [[names(machine, wait[2]) for wait in each.state.waits] for each in outcomes] in (
        [[("ripple", "knock")], [("knock", "ripple")]],
        [[("knock", "ripple")], [("ripple", "knock")]],
    )


def test_lamps_that_nobody_watches_together_tell_in_one_order() -> None:
    """Common practice, no source; rules C5 and O2."""
    body = "lever pond\nlamp rope from pond\nlamp bell from pond\ndetector ripple watches rope\n"
    assert followed(body, "pond") == ONE_WAY


@pytest.mark.parametrize("reader", ["torch", "repeater", "lamp"])
def test_two_levers_that_go_opposite_ways_at_one_port_have_two_orders(reader: str) -> None:
    """Common practice, no source; rule C5: power is gone for a moment, or there twice, and the reader feels it."""
    body = f"lever pond\nlever race starts on\n{reader} mill from pond, race\n"
    assert sorted(followed(body, "pond", "race")) == [[("pond", "race")], [("race", "pond")]]


def test_two_that_go_opposite_ways_at_one_port_are_followed_both_ways() -> None:
    """Common practice, no source; rule C5: one torch goes off, one comes on; who was called first acts first."""
    body = "lever pond\nlever race starts on\ntorch rope from pond\ntorch bell from race\ntorch mill from rope, bell\n"
    assert sorted(followed(body, "pond", "race")) == [[("pond", "race")], [("race", "pond")]]


def test_two_levers_that_go_the_same_way_at_one_port_have_one_order() -> None:
    """Common practice, no source; rule C5."""
    assert followed("lever pond\nlever race\ntorch mill from pond, race\n", "pond", "race") == ONE_WAY
    body = "lever pond starts on\nlever race starts on\ntorch mill from pond, race\n"
    assert followed(body, "pond", "race") == ONE_WAY


def test_a_lever_that_stays_as_it_is_has_no_place_in_an_order() -> None:
    """Common practice, no source; rule C5: set to what it is already, it changes nothing."""
    machine, state = at_rest("lever pond\nlever race starts on\ncomparator mill from pond side race\n")
    acts = [Action(machine.number[name], "on") for name in ("pond", "race")]
    (outcome,) = step(machine, state, acts)
    assert outcome.orders == ()


def test_two_levers_whose_readers_can_feel_the_order_have_two() -> None:
    """Common practice, no source; rule C5: what is called first acts first, and the comparator reads both."""
    body = "lever pond\nlever race\ntorch rope from pond\ntorch bell from race\ncomparator mill from rope side bell\n"
    assert sorted(followed(body, "pond", "race")) == [[("pond", "race")], [("race", "pond")]]


def test_three_that_all_matter_to_each_other_have_six_orders() -> None:
    """Common practice, no source; rule C5."""
    body = (
        "lever pond\ntorch rope from pond\ntorch bell from pond\ntorch rain from pond\n"
        "junction row joins rope, bell, rain\ndetector ripple watches row\n"
    )
    found = followed(body, "pond")
    assert len(found) == 6
    assert {tuple(sorted(order)) for (order,) in found} == {("bell", "rain", "rope")}
    assert len({order for (order,) in found}) == 6


def test_only_those_of_three_that_matter_to_each_other_change_places() -> None:
    """Common practice, no source; rule C5: the third has a reader of its own."""
    body = (
        "lever pond\ntorch rope from pond\ntorch rain from pond\ntorch bell from pond\n"
        "comparator mill from rope side bell\nlamp open from rain\n"
    )
    found = followed(body, "pond")
    assert len(found) == 2
    assert {order.index("rope") < order.index("bell") for (order,) in found} == {True, False}


@pytest.mark.parametrize(
    ("body", "levers", "choices"),
    [
        (f"{TORCHES}comparator mill from rope side bell\n", ("pond",), 1),
        (
            "lamp rope from pond\nlamp bell from pond\ndetector ripple watches rope\ndetector knock watches bell\n"
            "comparator mill from ripple side knock\n",
            ("pond",),
            1,
        ),
        (
            f"lever race\n{TORCHES}torch rain from race\ncomparator mill from rope, rain side bell\n",
            ("pond", "race"),
            2,
        ),
    ],
)
def test_the_choices_of_an_outcome_lead_there_again(body: str, levers: tuple[str, ...], choices: int) -> None:
    """Common practice, no source; rule C5: a known way can be gone once more, and ends where it ended."""
    machine, state = at_rest(f"lever pond\n{body}")
    acts = [Action(machine.number[name], "throw") for name in levers]
    outcomes = step(machine, state, acts)
    assert len(outcomes) > 1
    for outcome in outcomes:
        assert [order.game_tick for order in outcome.orders] == [1] * choices
        assert step(machine, state, acts, [order.devices for order in outcome.orders]) == (outcome,)
