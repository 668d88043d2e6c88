"""Every command answers about random drawings in which things move and water flows.

`python tests/fuzz/machines.py --machines 1000` does the same of as many as it is asked for.
"""

from __future__ import annotations

from collections import Counter

import pytest

from circuitcheck import cli

from . import machines


@pytest.mark.parametrize("seed", range(3))
def test_every_command_answers_about_a_machine_that_moves(seed: int) -> None:
    codes: Counter[str] = Counter()
    assert list(machines.failures(seed, codes)) == []
    assert sum(codes.values()) == 10


def test_a_command_that_raises_is_reported(monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(words: list[str]) -> None:
        raise KeyError("broken on purpose")

    monkeypatch.setattr(cli, "main", broken)
    found = [what for _, what in machines.failures(1, Counter())]
    assert len(found) == 10
    assert all(what.startswith("KeyError") for what in found)


def test_a_command_with_an_unknown_exit_code_is_reported(monkeypatch: pytest.MonkeyPatch) -> None:
    def odd(words: list[str]) -> None:
        raise SystemExit(7)

    monkeypatch.setattr(cli, "main", odd)
    assert {what for _, what in machines.failures(1, Counter())} == {"the exit code is 7"}


def test_machines_move_have_water_and_grow() -> None:
    texts = [machines.machine(seed) for seed in range(60)]
    assert all("piston" in text for text in texts)
    assert sum("water" in text for text in texts) > 10
    assert sum("grows" in text for text in texts) > 3
    assert len(set(texts)) == 60
