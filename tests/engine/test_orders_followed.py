"""Which open orders are followed and which are one and the same (common practice, no source; rule C5).

A lever tells two parts in one gt, whose waits end together in one class. Two orders are followed if the order can
matter, and one if it can't. An order stays open until it matters, so the circuit runs on for a while; what is counted
are the choices of that first gt on each way it can go.
"""

from __future__ import annotations

import pytest

from circuitcheck.engine.program import Program
from circuitcheck.engine.simulator import Simulator, restore
from circuitcheck.engine.state import Order
from circuitcheck.engine.step import Action, Outcome, choices, run_game_tick, step

from .test_waits import at_rest

TORCHES = "torch rope from pond\ntorch bell from pond\n"
REPEATERS = "repeater rope from pond\nrepeater bell from pond\n"


def thrown(body: str, *levers: str) -> tuple[Program, tuple[Outcome, ...]]:
    """What can follow when these levers are thrown in one gt, at rest before."""
    program, state = at_rest(body)
    return program, step(program, state, [Action(program.number[name], "throw") for name in levers])


def names(program: Program, devices: tuple[int, ...]) -> tuple[str, ...]:
    """The names of some parts."""
    return tuple(program.names[each] for each in devices)


UNTIL = 14


def ends(body: str, levers: tuple[str, ...], script: tuple[Order, ...] = ()) -> tuple[Program, list[Simulator]]:
    """All that can be at gt 14 when these levers are thrown in gt 1, at rest before; no two merged on the way."""
    program, state = at_rest(body)
    simulators = [restore(program, state)]
    simulators[0].script = [order.devices for order in script]
    for at in range(1, UNTIL + 1):
        for simulator in simulators:
            simulator.now = at
        simulators = run_game_tick(simulators, [Action(program.number[name], "throw") for name in levers if at == 1])
    return program, simulators


def followed(body: str, *levers: str) -> list[list[tuple[str, ...]]]:
    """The choices of the gt in which levers are thrown, on each way, as names of parts in the order taken."""
    program, simulators = ends(body, levers)
    ways = [[names(program, each.devices) for each in choices(one.log) if each.game_tick == 1] for one in simulators]
    return [way for place, way in enumerate(ways) if way not in ways[:place]]


COMPARED = "comparator {0}_{1} from {0} side {1}\n"
"""Feels which of two was first."""

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
    """Common practice, no source; rule C5: the first to come on or the last to go off updates it, whichever it is.

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
        "torch mill from rope\ntorch wheel from bell\ndetector ripple watches any\njunction any joins mill, wheel",
    ],
)
def test_two_whose_order_a_reader_can_feel_are_followed_both_ways(reader: str) -> None:
    """Common practice, no source; rule C5: what is between the two changes is felt, there or down the line."""
    body = f"rules older\nlever pond\n{TORCHES}junction row joins rope, bell\n{reader}\n"
    assert sorted(followed(body, "pond")) == sorted(BOTH_WAYS)


@pytest.mark.parametrize(
    "reader",
    [
        "repeater bolt from bell\nrepeater mill from rope locked by bolt starts {}\ncomparator wheel from bolt, rope",
        "lamp open from rope\ndetector ripple watches open\ndetector knock watches bell\n"
        "comparator mill from ripple side knock",
    ],
)
def test_an_order_that_is_felt_only_on_the_way_up_is_followed_only_there(reader: str) -> None:
    """Common practice, no source; rules C5, R5 and O2: an open lock holds nothing, and a lamp goes dark 2t late.

    On the way up a lock may close before or behind what it holds, and a lamp is lit at once.
    """
    up, down = reader.format("off"), reader.format("on")
    assert sorted(followed(f"rules older\nlever pond starts on\n{TORCHES}{up}\n", "pond")) == sorted(BOTH_WAYS)
    assert followed(f"rules older\nlever pond\n{TORCHES}{down}\n", "pond") == ONE_WAY


def test_torches_that_come_on_alike_are_followed_in_one_order_under_every_set_of_rules() -> None:
    """Common practice, no source; rules C5 and T4: only one that goes off can burn out, and begin a wait of its own."""
    body = f"rules newer\nlever pond starts on\n{TORCHES}junction row joins rope, bell\nlamp open from row\n"
    assert followed(body, "pond") == ONE_WAY


def test_the_same_two_are_judged_afresh_when_they_go_other_ways() -> None:
    """Common practice, no source; rule C5: alike at one port they have one order, in opposite ways two."""
    program, state = at_rest(f"rules older\nlever pond\n{TORCHES}junction row joins rope, bell\nlamp open from row\n")
    rope, bell = program.number["rope"], program.number["bell"]
    for dark, orders in (((), 1), ((bell,), 2), ((rope,), 2), ((rope, bell), 1)):
        levels = [0 if number in dark else level for number, level in enumerate(state.levels)]
        assert len(program.orders.representative_orders((rope, bell), levels)) == orders


def test_whose_readers_begin_waits_of_different_classes_are_followed_in_one_order() -> None:
    """Common practice, no source; rules C5 and C3: one repeater is called off and one on."""
    body = (
        "rules older\nlever pond\ntorch rope from pond\ndetector bell watches pond\nrepeater mill from rope\n"
        "repeater wheel from bell\ndust row from mill\ndust sill from wheel\ncomparator yard from row side sill\n"
    )
    assert followed(body, "pond") == ONE_WAY


def test_whose_readers_begin_waits_of_one_class_are_followed_both_ways() -> None:
    """Common practice, no source; rules C5 and C3: both repeaters are called off, in the order of the torches."""
    body = (
        f"rules older\nlever pond\n{TORCHES}repeater mill from rope\nrepeater wheel from bell\ndust row from mill\n"
        "dust sill from wheel\ncomparator yard from row side sill\n"
    )
    assert sorted(followed(body, "pond")) == sorted(BOTH_WAYS)


def test_a_reader_of_another_delay_does_not_hide_one_of_the_same() -> None:
    """Common practice, no source; rule C5: the bell calls a slow repeater too, which ties with nothing."""
    body = (
        f"rules older\nlever pond\n{TORCHES}repeater mill from rope\nrepeater slow from bell delay 2t\n"
        "repeater wheel from bell\ndust row from mill\ndust sill from wheel\ncomparator yard from row side sill\n"
    )
    assert sorted(followed(body, "pond")) == sorted(BOTH_WAYS)


def test_one_behind_a_repeater_and_one_at_its_side_are_followed_both_ways() -> None:
    """Common practice, no source; rules C5 and R5: alike as they go, they are felt at two places."""
    body = "rules older\nlever pond starts on\n" + REPEATERS + "repeater mill from rope locked by bell starts on\n"
    assert sorted(followed(body, "pond")) == sorted(BOTH_WAYS)


@pytest.mark.parametrize("middle", ["rope", "bell", "yard"])
def test_one_of_three_that_matters_to_the_two_others_has_four_orders(middle: str) -> None:
    """Common practice, no source; rule C5: it is before both, between them, either way, or after both."""
    one, other = (name for name in ("rope", "bell", "yard") if name != middle)
    body = (
        f"lever pond\n{TORCHES}torch yard from pond\n" + COMPARED.format(one, middle) + COMPARED.format(middle, other)
    )
    found = followed(body, "pond")
    assert len(found) == 4
    places = {(order.index(one) < order.index(middle), order.index(other) < order.index(middle)) for (order,) in found}
    assert len(places) == 4


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
    program, outcomes = thrown(body, "pond")
    assert [[names(program, wait[2]) for wait in each.state.waits] for each in outcomes] in (
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


@pytest.mark.parametrize(("verb", "starts"), [("on", "on"), ("off", "off")])
def test_a_lever_that_stays_as_it_is_has_no_place_in_an_order(verb: str, starts: str) -> None:
    """Common practice, no source; rule C5: set to what it is already, it changes nothing."""
    program, state = at_rest(f"lever pond\nlever race starts {starts}\ncomparator mill from pond side race subtract\n")
    (outcome,) = step(program, state, [Action(program.number["race"], verb), Action(program.number["pond"], "on")])
    assert outcome.orders == ()


@pytest.mark.parametrize(
    ("inputs", "verb"), [("button rain short", "press"), ("plate rain", "on"), ("lever rain", "on")]
)
def test_hands_at_inputs_of_every_kind_have_two_orders_where_a_reader_can_feel_it(inputs: str, verb: str) -> None:
    """Common practice, no source; rules C5 and O1: one torch each, compared."""
    body = f"lever pond\n{inputs}\ntorch rope from pond\ntorch bell from rain\n" + COMPARED.format("rope", "bell")
    program, state = at_rest(body)
    outcomes = step(program, state, [Action(program.number["pond"], "on"), Action(program.number["rain"], verb)])
    orders = [names(program, order.devices) for each in outcomes for order in each.orders]
    assert sorted(orders) == [("pond", "rain"), ("rain", "pond")]


def test_three_hands_have_six_orders_and_each_can_be_gone_again() -> None:
    """Common practice, no source; rule C5: who is first, and then who is next."""
    body = "lever pond\nlever race\nlever rain\ntorch rope from pond\ntorch bell from race\ntorch yard from rain\n"
    body += COMPARED.format("rope", "bell") + COMPARED.format("bell", "yard") + COMPARED.format("yard", "rope")
    program, state = at_rest(body)
    acts = [Action(program.number[name], "on") for name in ("pond", "race", "rain")]
    outcomes = step(program, state, acts)
    assert len(outcomes) == 6
    for outcome in outcomes:
        first, second = (names(program, order.devices) for order in outcome.orders)
        assert set(first) == {"pond", "race", "rain"}
        assert set(second) == set(first) - {first[0]}
        assert step(program, state, acts, [order.devices for order in outcome.orders]) == (outcome,)


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
    ("body", "levers", "number"),
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
def test_the_choices_on_a_way_lead_there_again(body: str, levers: tuple[str, ...], number: int) -> None:
    """Common practice, no source; rule C5: a known way can be gone once more, and ends where it ended."""
    _, simulators = ends(f"lever pond\n{body}", levers)
    assert len(simulators) > 1
    for simulator in simulators:
        orders = choices(simulator.log)
        assert [order.game_tick for order in orders] == [1] * number
        _, (again,) = ends(f"lever pond\n{body}", levers, orders)
        assert again.snapshot() == simulator.snapshot()


def test_two_ties_of_one_gt_are_followed_in_all_their_orders() -> None:
    """Common practice, no source; rule C5: two repeaters tell two torches each, so there are two times two orders."""
    body = (
        "lever pond\nrepeater mill from pond\nrepeater wheel from pond\ntorch rope from mill\ntorch bell from mill\n"
        "torch rain from wheel\ntorch yard from wheel\n"
        + COMPARED.format("rope", "bell")
        + COMPARED.format("rain", "yard")
    )
    program, simulators = ends(body, ("pond",))
    assert len(simulators) == 4
    found = {frozenset(names(program, order.devices) for order in choices(each.log)) for each in simulators}
    assert found == {
        frozenset({one, two})
        for one in (("rope", "bell"), ("bell", "rope"))
        for two in (("rain", "yard"), ("yard", "rain"))
    }


@pytest.mark.parametrize(
    "pairs",
    [[("rope", "bell")], [("rope", "bell"), ("rain", "yard")], [("rope", "bell"), ("rain", "yard"), ("sill", "row")]],
)
def test_ties_of_one_change_that_have_nothing_to_do_with_each_other_multiply(pairs: list[tuple[str, str]]) -> None:
    """Common practice, no source; rule C5: each pair has two orders, whatever the others do."""
    body = "lever pond\n" + "".join(
        f"torch {one} from pond\ntorch {two} from pond\n{COMPARED.format(one, two)}" for one, two in pairs
    )
    assert len(followed(body, "pond")) == 2 ** len(pairs)


def test_lamps_and_torches_told_by_one_change_have_all_their_orders() -> None:
    """Common practice, no source; rules C5 and O2: two torches begin to wait, two lamps are lit: two times two."""
    body = (
        "lever pond\ntorch rope from pond\ntorch bell from pond\n"
        + COMPARED.format("rope", "bell")
        + "lamp open from pond\nlamp shut from pond\ndetector ripple watches open\ndetector knock watches shut\n"
        + COMPARED.format("ripple", "knock")
    )
    found = followed(body, "pond")
    assert len(found) == 4
    assert {frozenset(order) for order in found} == {
        frozenset({one, two})
        for one in (("rope", "bell"), ("bell", "rope"))
        for two in (("open", "shut"), ("shut", "open"))
    }


def test_hands_and_what_they_call_are_followed_in_all_their_orders() -> None:
    """Common practice, no source; rule C5: one lever calls two torches, another a third that is compared with both."""
    body = (
        "lever pond\nlever race\ntorch rope from pond\ntorch bell from pond\ntorch rain from race\n"
        + COMPARED.format("rope", "bell")
        + COMPARED.format("bell", "rain")
        + COMPARED.format("rope", "rain")
    )
    found = followed(body, "pond", "race")
    assert len(found) == 4
    assert {order[0] for order in found} == {("pond", "race"), ("race", "pond")}
    assert {order[1] for order in found} == {("rope", "bell"), ("bell", "rope")}


def test_one_input_worked_twice_in_one_gt_may_end_either_way() -> None:
    """Common practice, no source; rule C5: the last hand decides, and nobody knows which that is."""
    program, state = at_rest("lever pond\ntorch mill from pond\n")
    pond = program.number["pond"]
    outcomes = step(program, state, [Action(pond, "on"), Action(pond, "off")])
    assert {outcome.state.levels[pond] for outcome in outcomes} == {0, 15}


def test_analogue_inputs_of_one_gt_go_to_their_levels_in_every_order() -> None:
    """Common practice, no source; rules C5 and P1: a comparator that reads both may be called, or not."""
    program, state = at_rest(
        "analogue pond starts 4\nanalogue race starts 2\ncomparator mill from pond side race subtract\n"
    )
    acts = [Action(program.number["pond"], "is", 9), Action(program.number["race"], "is", 7)]
    outcomes = step(program, state, acts)
    assert {tuple(outcome.state.levels) for outcome in outcomes} == {(9, 7, 2)}
    assert [len(outcome.orders) for outcome in outcomes] == [1]
