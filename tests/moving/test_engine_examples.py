"""The worked examples and tables of the rules, which the plain stepper is held to, run by the program itself.

Common practice, from memory, no source: each example names its rules where it stands.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable, Iterator
from types import ModuleType

import pytest

from . import engine_runs, test_plain_examples, test_plain_rearm, test_plain_strokes, test_plain_water

MODULES = (test_plain_examples, test_plain_rearm, test_plain_strokes, test_plain_water)


def examples() -> Iterator[tuple[ModuleType, str, dict[str, object]]]:
    """Every test of the plain stepper, with each set of its parameters."""
    for module in MODULES:
        for name, test in vars(module).items():
            if name.startswith("test_") and inspect.isfunction(test) and runs_boxes(test):
                for values in parameters(test):
                    yield module, name, values


def runs_boxes(test: Callable[..., None]) -> bool:
    """Whether a test runs boxes, and does not look at a single rule of the stepper."""
    return any(each in inspect.getsource(test) for each in ("histories(", "run(", "one_history("))


def parameters(test: Callable[..., None]) -> Iterator[dict[str, object]]:
    marks = [mark for mark in getattr(test, "pytestmark", ()) if mark.name == "parametrize"]
    if not marks:
        yield {}
        return
    (mark,) = marks
    names, rows = mark.args
    names = [each.strip() for each in names.split(",")] if isinstance(names, str) else list(names)
    for row in rows:
        yield dict(zip(names, row if len(names) > 1 else (row,), strict=True))


BY_HAND, FLOWS = "a cell that changes by hand", "water that is not at rest at the start"
NOT_READ = {
    "test_under_landings_as_waits_the_bell_is_off_longer": BY_HAND,
    "test_the_bell_that_rings_itself_gets_its_pulses": BY_HAND,
    "test_updates_while_it_is_out_and_powered_deaf_or_unarmed_are_lost": BY_HAND,
    "test_an_update_between_the_loss_and_the_landing_makes_it_let_go": BY_HAND,
    "test_a_loss_2t_later_that_it_does_not_hear_makes_two_states": BY_HAND,
    "test_water_that_comes_is_an_update_to_a_stuck_piston_and_to_a_detector": FLOWS,
    "test_water_that_reaches_dust_is_refused": FLOWS,
}
"""What the program can't be asked, and why: its cells are drawn, not thrown."""

CASES = list(examples())


@pytest.mark.parametrize(
    ("module", "name", "values"), CASES, ids=[f"{name}-{place}" for place, (_, name, _) in enumerate(CASES)]
)
def test_the_program_runs_it_as_the_rules_say(
    module: ModuleType, name: str, values: dict[str, object], monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = []

    def by_the_program(*of: object, **more: object) -> object:
        asked.append(of)
        return engine_runs.histories(*of, **more)  # type: ignore[arg-type]

    def one_by_the_program(*of: object, **more: object) -> object:
        asked.append(of)
        return engine_runs.one_history(*of, **more)  # type: ignore[arg-type]

    for name_of, does in (("histories", by_the_program), ("one_history", one_by_the_program)):
        if hasattr(module, name_of):
            monkeypatch.setattr(module, name_of, does)
    unread = ""
    try:
        getattr(module, name)(**values)
    except engine_runs.Unread as why:
        unread = str(why)
    assert unread in ("", NOT_READ.get(name, ""))
    assert asked, "it runs nothing"
