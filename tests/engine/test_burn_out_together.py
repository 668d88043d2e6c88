"""Torches that burn out in one gt (common practice, no source; rules T4 and C2)."""

from __future__ import annotations

from .driving import drive, edges, offs, pulse
from .test_burn_out import after_seven


def test_two_torches_of_one_lever_burn_out_and_relight_in_the_same_gt() -> None:
    """Common practice, no source; rules T4 and C2: every wait that is over in a gt is acted out in it, 72 and 232."""
    body = "lever pond\ntorch rope from pond\ntorch bell from pond\n"
    run = drive(body, after_seven(70, (80, "pond", "off")), 400)
    assert offs(run, "rope")[7:] == offs(run, "bell")[7:] == [(72, 232)]


def test_what_else_is_due_in_the_gt_of_a_burn_out_still_happens_in_it() -> None:
    """Common practice, no source; rules T4, C2 and O3: a repeater on at 72 before, a piston starting at 72 after."""
    body = (
        "lever pond\nlever race\ntorch rope from pond\nrepeater mill from race\npiston gate from mill\n"
        "torch bell from pond\nlamp open from bell\n"
    )
    run = drive(body, after_seven(70, (70, "race", "on"), (80, "pond", "off")), 200)
    assert offs(run, "rope")[7] == offs(run, "bell")[7] == (72, None)
    assert edges(run, "mill") == [(72, 15)]
    assert edges(run, "gate") == [(75, 15)]
    assert edges(run, "open")[-1] == (76, 0)


def test_under_older_rules_two_torches_stay_dark_together() -> None:
    """Common practice, no source; rule T4: neither looks by itself."""
    body = "rules older\nlever pond\ntorch rope from pond\ntorch bell from pond\n"
    run = drive(body, after_seven(70, (80, "pond", "off")), 1000)
    assert offs(run, "rope")[7:] == offs(run, "bell")[7:] == [(72, None)]


def test_an_off_long_ago_does_not_save_a_torch() -> None:
    """Common practice, no source; rule T4: one off at 12, then eight by 1072: the last burns it out till 1232."""
    later = [(at + 1000, name, verb) for at, name, verb in after_seven(70, (80, "pond", "off"))]
    run = drive("lever pond\ntorch rope from pond\n", [*pulse("pond", 10, 4), *later], 1300)
    assert offs(run, "rope")[0] == (12, 16)
    assert offs(run, "rope")[8] == (1072, 1232)
