"""What a recording says of each change: when, why, and since when it was waited for (rules C2 and C3)."""

from __future__ import annotations

from circuitcheck.engine.record import Change, Recording, edges_at

from .driving import Act, gap, pulse
from .test_notes import DROP, recorded


def changes(recording: Recording) -> list[tuple[int, str, int]]:
    """Every change in the order in which it happened: the gt, the part, the level it went to."""
    return [(change.at, recording.program.names[change.device], change.level) for change in recording.changes]


def of(recording: Recording, name: str) -> list[Change]:
    """The changes of one part."""
    return [change for change in recording.changes if recording.program.names[change.device] == name]


CHAIN = "analogue pond\nrepeater mill from pond delay 2t\nlamp open from mill\n"


def test_a_change_by_hand_has_no_cause_and_no_wait() -> None:
    """Common practice, no source; rule C2."""
    recording = recorded(CHAIN, [(10, "pond", "9"), (30, "pond", "4")])
    first, second = of(recording, "pond")
    assert (first.at, first.before, first.level, first.began, first.cause, first.by_hand) == (10, 0, 9, 10, None, True)
    assert (second.at, second.before, second.level, second.began, second.by_hand) == (30, 9, 4, 30, True)


def test_a_change_after_a_wait_is_caused_by_what_called_it() -> None:
    """Common practice, no source; rule C3: called at 10, it goes on at 14."""
    recording = recorded(CHAIN, [(10, "pond", "9")])
    (cause,), (change,) = of(recording, "pond"), of(recording, "mill")
    assert (change.at, change.began, change.cause, change.by_hand) == (14, 10, cause.number, False)
    assert recording.changes[cause.number] is cause


def test_a_change_at_once_is_caused_in_the_same_gt() -> None:
    """Common practice, no source; rules C3 and O2: the lamp is lit while it is updated."""
    recording = recorded(CHAIN, [(10, "pond", "9")])
    (cause,), (change,) = of(recording, "mill"), of(recording, "open")
    assert (change.at, change.began, change.cause, change.by_hand) == (14, 14, cause.number, False)


def test_a_part_called_at_the_start_has_waited_since_gt_zero_for_no_cause() -> None:
    """Common practice, no source; rule C6."""
    (change,) = recorded("lever pond\nrepeater mill from pond delay 3t starts on\n", []).changes
    assert (change.at, change.began, change.cause, change.by_hand) == (6, 0, None, False)


def test_the_end_of_a_pulse_goes_back_to_its_beginning() -> None:
    """Common practice, no source; rules D1 and R2: a wait that a part begins while it acts is caused by itself."""
    recording = recorded(
        "lever pond\ndetector ripple watches pond pulse 3gt\nrepeater mill from pond delay 2t\n", pulse("pond", 10, 1)
    )
    for name, off in (("ripple", 15), ("mill", 18)):
        on, end = of(recording, name)
        assert (end.at, end.began, end.cause) == (off, on.at, on.number)


def test_a_part_that_begins_again_after_its_own_wait_goes_back_to_its_new_call() -> None:
    """Common practice, no source; rules R2 and C4: a second pulse is caused by the lever, not by the first pulse."""
    recording = recorded("lever pond\nrepeater mill from pond\n", [*pulse("pond", 10, 1), *pulse("pond", 30, 5)])
    levers, mills = of(recording, "pond"), of(recording, "mill")
    assert [(each.at, each.began) for each in mills] == [(12, 10), (14, 12), (32, 30), (37, 35)]
    assert [each.cause for each in mills] == [levers[0].number, mills[0].number, levers[2].number, levers[3].number]


def test_a_pushed_block_is_moved_by_its_piston() -> None:
    """Common practice, no source; rule O3: both change at 13; the piston was called at 10, its block moved at once."""
    recording = recorded("lever pond\nrepeater rope from pond\npiston gate from rope\n", [(8, "pond", "on")])
    (gate,), (block,) = of(recording, "gate"), of(recording, "gate.block")
    assert gate.at == block.at == 13


def test_levels_are_those_of_the_end_of_a_gt() -> None:
    """Common practice, no source; rules C2 and R1."""
    recording = recorded(CHAIN, [(10, "pond", "9"), (12, "pond", "3")])
    assert [list(recording.levels_at(at)) for at in (0, 9, 10, 11, 12, 13, 14, 60)] == [
        [0, 0, 0],
        [0, 0, 0],
        [9, 0, 0],
        [9, 0, 0],
        [3, 0, 0],
        [3, 0, 0],
        [3, 15, 15],
        [3, 15, 15],
    ]


def test_edges_are_seen_at_the_ends_of_gt() -> None:
    """Common practice, no source; rules C3 and P5: a drop within gt 12 is no edge, one of a whole gt is two."""
    acts: list[Act] = [(10, "pond", "off"), (10, "race", "on"), *gap("race", 30, 3)]
    recording = recorded(DROP, acts)
    assert edges_at(recording, recording.program.probe("row")) == [(32, 0), (35, 15)]
    assert edges_at(recording, recording.program.probe("rope")) == [(12, 0)]
    back: list[Act] = [(10, "pond", "off"), (20, "race", "on"), (30, "pond", "on")]
    recording = recorded(DROP, back)
    assert edges_at(recording, recording.program.probe("row")) == [(12, 0), (22, 15)]


def test_a_recording_ends_with_the_gt_asked_for() -> None:
    """Common practice, no source; rule C2: what is due in that gt is in it, what is done or due later is not."""
    acts: list[Act] = [(10, "pond", "9"), (15, "pond", "0")]
    until_14 = recorded(CHAIN, acts, 14)
    assert (until_14.until, changes(until_14)) == (14, [(10, "pond", 9), (14, "mill", 15), (14, "open", 15)])
    assert changes(recorded(CHAIN, acts, 13)) == changes(recorded(CHAIN, acts, 10)) == [(10, "pond", 9)]
    assert changes(recorded(CHAIN, acts, 9)) == []


def test_hands_that_come_first_come_first_in_a_recording_too() -> None:
    """Common practice, no source; rules C2 and T3: the pulse of 10–12 is gone when the torch looks at 12."""
    body = "lever pond\ntorch mill from pond\n"
    assert changes(recorded(body, pulse("pond", 10, 2))) == [
        (10, "pond", 15),
        (12, "mill", 0),
        (12, "pond", 0),
        (14, "mill", 15),
    ]
    first = recorded("setting outside_first yes\n" + body, pulse("pond", 10, 2))
    assert changes(first) == [(10, "pond", 15), (12, "pond", 0)]


def test_where_an_order_is_open_a_recording_goes_one_way() -> None:
    """Common practice, no source; rule C5: the first where no choice is given, and else the one that is."""
    body = "lever pond\ntorch rope from pond\ntorch bell from pond\ncomparator mill from rope side bell\n"
    first = [(10, "pond", 15), (12, "rope", 0), (12, "bell", 0)]
    assert changes(recorded(body, [(10, "pond", "on")]))[:3] == first
    chosen = recorded(body, [(10, "pond", "on")], orders=(("bell", "rope"),))
    assert changes(chosen)[:3] == [first[0], first[2], first[1]]


def test_where_the_order_of_hands_is_open_a_recording_goes_one_way() -> None:
    """Common practice, no source; rule C5: likewise with the two levers of one gt, and then the choices after it."""
    body = (
        "lever pond\nlever race\ntorch rope from pond\ntorch bell from race\ncomparator mill from rope side bell\n"
        "torch yard from pond\ncomparator wheel from yard side rope\n"
    )
    acts: list[Act] = [(10, "pond", "on"), (10, "race", "on")]
    assert [name for _, name, _ in changes(recorded(body, acts))[:5]] == ["pond", "race", "rope", "yard", "bell"]
    chosen = recorded(body, acts, orders=(("race", "pond"), ("yard", "rope")))
    assert [name for _, name, _ in changes(chosen)[:5]] == ["race", "pond", "bell", "yard", "rope"]
