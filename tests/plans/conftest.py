"""The program to be called, in a folder of the test's own."""

from __future__ import annotations

from pathlib import Path

import pytest

from .calling import Caller


@pytest.fixture
def call(capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Caller:
    monkeypatch.chdir(tmp_path)
    return Caller(capsys)
