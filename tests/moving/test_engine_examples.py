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
    try:
        getattr(module, name)(**values)
    except engine_runs.Unread as unread:
        pytest.skip(str(unread))
    assert asked, "it runs nothing"
