"""`verify --json`: what it says of findings and of files left out, and of names that are no text."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from .calling import GOOD, write
from .logs import FORBIDDEN, NOTED, SILENCED, WARNED, as_json


@pytest.fixture(autouse=True)
def _in_the_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


@pytest.mark.parametrize(
    ("text", "level", "silenced", "forbidden"),
    [
        (WARNED, "warning", "", False),
        (FORBIDDEN, "error", "", True),
        (NOTED, "note", "", False),
        (SILENCED, "warning", "the next mill & <its> rope → wired later", False),
    ],
    ids=["warned", "forbidden", "noted", "silenced"],
)
def test_a_finding_has_its_level(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], text: str, level: str, silenced: str, forbidden: bool
) -> None:
    write(tmp_path, a=text)
    document, code, _ = as_json(capsys, "a.circuit")
    assert code == int(forbidden)
    findings = document["files"][0]["findings"]
    assert {(each["level"], each["silenced"], each["forbidden"]) for each in findings} == {(level, silenced, forbidden)}


def test_what_was_left_out_is_named(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    write(tmp_path, b=GOOD, a=GOOD)
    assert as_json(capsys, "a.circuit")[0]["unchanged"] == []
    assert as_json(capsys, "--changed", "a.circuit")[0]["unchanged"] == []
    document, code, _ = as_json(capsys, "--changed", "b.circuit", "a.circuit")
    assert (code, document["unchanged"]) == (0, ["a.circuit"])
    assert [each["path"] for each in document["files"]] == ["b.circuit"]
    document, code, _ = as_json(capsys, "--changed", "b.circuit", "a.circuit")
    assert (code, sorted(document["unchanged"]), document["files"]) == (0, ["a.circuit", "b.circuit"], [])


@pytest.mark.parametrize("encoding", ["utf-8", "ascii", "latin-1", "utf-8:surrogateescape"])
def test_a_name_that_is_no_text_is_still_json_that_strict_readers_take(tmp_path: Path, encoding: str) -> None:
    """RFC 8259: JSON is UTF-8 (8.1); what halves of letters come to is not predictable (8.2)."""
    path = os.fsdecode(b"m\xfchle.circuit")
    (tmp_path / path).write_text(GOOD)
    environment = {**os.environ, "PYTHONIOENCODING": encoding}
    words = [sys.executable, "-m", "circuitcheck", "verify", "--json", path]
    run = subprocess.run(words, cwd=tmp_path, capture_output=True, env=environment, timeout=60, check=False)
    assert (run.returncode, run.stderr) == (0, b"")
    document = json.loads(run.stdout.decode("utf-8"))
    document["files"][0]["path"].encode("utf-8")  # raises for halves of letters
