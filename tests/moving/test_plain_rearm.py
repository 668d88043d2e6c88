"""The plain stepper, held to the table of a stuck piston that its own block arms again.

Common practice, from memory, no source: M12, with M5, M9 and W9 to W10. The update is a cell beside the piston, drawn
in gt 10 (as a part that acts in gt 10) or changed by hand in gt 10, after which the piston starts in gt 11.
"""

from __future__ import annotations

from .plain.runs import History, Shot, histories, only
from .plain.sketch import sketch
from .plain.things import Action, Box, Settings, Thing

NAMES = {"turf": (2, 5, 1), "flap": (2, 5, 2), "stone": (2, 5, 3), "rep": (2, 4, 3)}
GROUND = ".... SSSS SSSS SSSS SS/S SSSS SSSS"
"""Under the block's home stands a torch that is always on."""


def silent(delay: int = 2, first: str = "-", name: str = "A", line: str = "-") -> Box:
    """The loss reaches the place above through a repeater, then over dust three steps away from the piston."""
    rows = f".... .S-. .S{first}. ..{name}{line} cPS. ...B ...I"
    more = {
        "A": Thing("repeater", facing="north", delay=delay, level=15),
        "B": Thing("repeater", facing="north", level=15),
        "R": Thing("repeater", facing="north", level=15),
        "c": Thing("soil", level=1),
    }
    return sketch([GROUND, rows, ".... .-.. .-S. .S.. .... .... ...."], more, NAMES)


def heard(delay: int) -> Box:
    """The repeater's dust passes within two steps of the piston."""
    rows = ".... .... ---. S.A- cPS. ...B ...I"
    more = {
        "A": Thing("repeater", facing="north", delay=delay, level=15),
        "B": Thing("repeater", facing="north", level=15),
    }
    return sketch([GROUND, rows, ".... .... .... -... S... .... ...."], more, NAMES)


def draws(*gts: int, hand: bool = False) -> list[Action]:
    return [Action(gt, "turf", at % 2, drawn=not hand) for at, gt in enumerate(gts)]


def motion(history: History) -> list[tuple[int, object]]:
    """Where the block is: at home, out, under way, or gone from home with the piston home."""

    def where(shot: Shot) -> str:
        if shot.at((2, 5, 3)) == "stone":
            return "home"
        return "out" if shot.at((2, 5, 4)) == "stone" else "moves"

    return history.where(where)


def test_a_loss_at_once_makes_a_clock_of_6_gt() -> None:
    """M12, row 1: starts 10, lands 12, starts home 13, home 15, starts again 16."""
    found = only(histories(silent(name="-", line="."), draws(10), 30))
    assert motion(found) == [
        (0, "home"),
        *(
            (gt + 6 * lap, what)
            for lap in range(3)
            for gt, what in [(10, "moves"), (12, "out"), (13, "moves"), (15, "home")]
        ),
        (28, "moves"),
        (30, "out"),
    ]


def test_a_loss_1t_later_makes_one_clean_stroke() -> None:
    """M12, row 2: lands 12, starts home 13, home 15, armed again 17, in silence."""
    found = only(histories(silent(), draws(10), 40))
    assert motion(found) == [(0, "home"), (10, "moves"), (12, "out"), (13, "moves"), (15, "home")]
    assert found.where(lambda shot: shot.level("rep")) == [(0, 15), (12, 0), (17, 15)]


def test_the_bell_that_rings_itself_gets_its_pulses() -> None:
    """Example 5: a hand in gt 10, so all is a gt later; the line on 13 to 14, the repeater off 13 to 18."""
    found = only(histories(silent(), draws(10, hand=True), 40))
    assert motion(found) == [(0, "home"), (11, "moves"), (13, "out"), (14, "moves"), (16, "home")]
    assert found.where(lambda shot: shot.level("rep")) == [(0, 15), (13, 0), (18, 15)]
    assert found.where(lambda shot: shot.dust_at((2, 4, 4)) > 0) == [(0, False), (13, True), (14, False)]


def test_updates_while_it_is_out_and_powered_deaf_or_unarmed_are_lost() -> None:
    """Example 5."""
    for lost in (11, 12, 14, 15, 16, 17):
        found = only(histories(silent(), [*draws(10, hand=True), Action(lost, "turf", 1, drawn=True)], 40))
        assert motion(found) == [(0, "home"), (11, "moves"), (13, "out"), (14, "moves"), (16, "home")]
    again = only(histories(silent(), [*draws(10, hand=True), Action(18, "turf", 1, drawn=True)], 40))
    assert (18, "moves") in motion(again)


def test_an_update_between_the_loss_and_the_landing_makes_it_let_go() -> None:
    """Example 5 and M12, row 2: in gt 13 after the repeater has gone off, before moment 4."""
    found = only(histories(silent(), [*draws(10, hand=True), Action(13, "turf", 1, drawn=True)], 40))
    assert motion(found) == [(0, "home"), (11, "moves"), (13, "out")]
    assert found.shots[15].at((2, 5, 3)) == ""


def test_a_loss_1t_later_that_it_hears_loses_the_block() -> None:
    """M12, row 3: told in gt 12 moment 1, it starts home in gt 12 and lets go; it is never armed again."""
    found = only(histories(heard(2), draws(10, 30, 40), 60))
    assert motion(found) == [(0, "home"), (10, "moves"), (12, "out")]
    assert found.where(lambda shot: shot.level("rep")) == [(0, 15), (12, 0)]


def test_a_loss_2t_later_that_it_does_not_hear_makes_two_states() -> None:
    """M12, row 4, and example 6: each update toggles it."""
    build = silent(first="R")
    found = only(histories(build, draws(10, 60, 100, hand=True), 120))
    assert motion(found)[:5] == [(0, "home"), (11, "moves"), (13, "out"), (61, "moves"), (63, "home")]
    assert motion(found)[5:] == [(101, "moves"), (103, "out")]
    assert found.where(lambda shot: shot.dust_at((2, 2, 3)) > 0)[:3] == [(0, True), (15, False), (67, True)]


def test_a_loss_2t_later_that_it_hears_makes_a_clock() -> None:
    """M12, row 5: home-start 14, home 16, armed again 20 and heard."""
    found = only(histories(heard(4), draws(10), 40))
    assert motion(found)[:6] == [(0, "home"), (10, "moves"), (12, "out"), (14, "moves"), (16, "home"), (20, "moves")]


def test_a_loss_2t_later_heard_by_the_heads_place_makes_one_stroke() -> None:
    """M12, row 6: home-start 14, home 16, armed again 20, in silence."""
    found = only(histories(silent(4), draws(10, 26), 40))
    assert motion(found)[:5] == [(0, "home"), (10, "moves"), (12, "out"), (14, "moves"), (16, "home")]
    assert motion(found)[5:7] == [(26, "moves"), (28, "out")]


def test_under_landings_as_waits_the_bell_is_off_longer() -> None:
    """Example 5 under `piston_lands wait`: the repeater is on again in gt 19."""
    found = only(histories(silent(), draws(10, hand=True), 40, Settings("wait")))
    assert found.where(lambda shot: shot.level("rep")) == [(0, 15), (13, 0), (19, 15)]


def test_a_torch_on_the_line_through_the_out_place_makes_a_clock_of_7_gt() -> None:
    """M3, the drawn clock, called in gt 0: out 2, torch off 4, home-start 4, torch on 6, home 6, start 7, out 9."""
    build = sketch(
        ["SSSSS SSSSS SSSSS SSSSS SSSSS SSSSS", "..... ----- -...- S/PS. ....B ....I"],
        names={"flap": (2, 4, 3), "gate": (2, 4, 2), "stone": (2, 4, 4)},
        more={"B": Thing("repeater", facing="north", level=15)},
    )
    found = only(histories(build, [], 20))
    assert found.where(lambda shot: shot.level("flap"))[:5] == [(0, 0), (2, 15), (6, 0), (9, 15), (13, 0)]
    assert found.where(lambda shot: shot.level("gate"))[:5] == [(0, 15), (4, 0), (6, 15), (11, 0), (13, 15)]
    assert found.where(lambda shot: shot.dust_at((2, 3, 5)) > 0)[:5] == [
        (0, False),
        (2, True),
        (4, False),
        (9, True),
        (11, False),
    ]
