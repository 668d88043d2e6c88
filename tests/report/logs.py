"""Circuits of a water mill that come to every verdict there is, verified in this process, for the tests of logs."""

from __future__ import annotations

import gc
import json
from pathlib import Path
from typing import Any

import pytest

from circuitcheck.cli import main
from circuitcheck.verify import FileReport, verify_file

from .calling import BROKEN, FAILING, GOOD, OPEN

LATCH = "lever one\nlever other\nlatch gate set one reset other{start}\nlamp open from gate\n"
RACE = LATCH.format(start=" starts reset") + (
    'check "both let go"\n  at 1s one on, other on\n  at 2s one off, other off\n  by 3s expect gate set\nend\n'
)
START = LATCH.format(start="") + 'check "nobody pulled"\n  at 1s expect gate set\nend\n'
AGAINST_WORD = GOOD.replace('"pull"', '"pull" fails because T3')
OTHERWISE = FAILING.replace('"pull"', '"pull" fails because T3')
WARNED = GOOD + "torch idle from rope\n"
SILENCED = WARNED + 'silence V1 for idle because "the next mill & <its> rope \u2192 wired later"\n'
FORBIDDEN = WARNED + "forbid V1\n"
NOTED = (
    "lever mill_rope\nlever house_rope\ndust mill_line from mill_rope length 3\ndust house_line from house_rope\n"
    "junction meet joins mill_line, house_line\nlamp mill from mill_line\nlamp bell from meet\n"
    'check "back"\n  at 1s house_rope on\n  at 1s expect bell and mill\nend\n'
)
NOT_MET = GOOD + 'always "a second pull" when rope falls then bell off within 2t\n'
SKIPPED = GOOD.replace('"pull"', '"pull" skipped because "no rope is laid yet"')
USING = 'use "{used}"\nlever rope\nhold sluice (opens rope)\nlamp bell from sluice.out\n' + (
    'check "pull"\n  at 1s rope on\n  by 2s expect bell\nend\n'
)
USED = "define hold (opens) gives out\n  repeater out from opens\nend\n"

KINDS = {
    "good": GOOD, "fails": FAILING, "race": RACE, "start": START, "against": AGAINST_WORD, "otherwise": OTHERWISE,
    "warned": WARNED, "silenced": SILENCED, "forbidden": FORBIDDEN, "noted": NOTED, "vacuous": OPEN,
    "not_met": NOT_MET, "skipped": SKIPPED, "wrong_name": BROKEN, "wrong_form": "lever rope;\nlamp\n",
    "unclosed": 'lever rope\ncheck "without an end"\n  at 1s rope on\n', "empty": "", "remark": "# nothing\n",
    "uses_none": USING.format(used="none.circuit"), "uses_outside": USING.format(used="../none.circuit"),
}  # fmt: skip
"""A file for each way in which one can come out."""


def verified(folder: Path, name: str, text: str | bytes, states: int = 1_000) -> FileReport:
    """The report on a file of this name, which is written first."""
    path = folder / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return verify_file(name, states=states)


def called(*words: str) -> int:
    """The program called in this process. Returns its exit code."""
    before = gc.get_threshold()
    try:
        with pytest.raises(SystemExit) as end:
            main(words)
    finally:
        gc.set_threshold(*before)
    assert isinstance(end.value.code, int)
    return end.value.code


def as_json(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[dict[str, Any], int, str]:
    """What `verify --json` says in this process: the document, the exit code, and what stood on standard error."""
    capsys.readouterr()
    code = called("verify", "--json", *words)
    out, err = capsys.readouterr()
    document: dict[str, Any] = json.loads(out)
    return document, code, err
