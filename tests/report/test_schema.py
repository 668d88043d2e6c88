"""What `verify --json` writes is as the shipped schema says (JSON Schema 2020-12, read by jsonschema), and no more."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

import circuitcheck
from circuitcheck.checks.outcome import Verdict
from circuitcheck.report.exchange.data import SCHEMA_VERSION, document

from .calling import BROKEN, FAILING, GOOD, OPEN
from .schemas import SCHEMAS, faults

SCHEMA = SCHEMAS["verify"]
SLUICE = (Path(__file__).parents[2] / "circuits" / "sluice.circuit").read_text(encoding="utf-8")
RACE = (
    "lever one\nlever other\nlatch gate set one reset other starts reset\nlamp open from gate\n"
    'check "both let go"\n  at 1s one on, other on\n  at 2s one off, other off\n  by 3s expect gate set\nend\n'
)
START = 'lever one\nlever other\nlatch gate set one reset other\ncheck "set"\n  at 1s expect gate set\nend\n'
SKIPPED = GOOD.replace('"pull"', '"pull" skipped because "the rope is not laid"')
BURNING = 'lever rope\ntorch slack from rope\nforbid T4\nnever "it burns" slack burnt\nalways "rest" possible rest\n'
CLAIMS = """lever pond
lever race
detector opening watches pond
detector closing watches race
latch gate set opening reset closing starts reset
torch slack from gate
lamp open from gate
output done from open
assume at most 2 changes within 2t
always "it opens" when pond rises then open within 3t
never  "it opens" open
never  "an order decides" gate races
always "it may rest" possible rest
always "it is held" every pulse of open lasts at least 1s
always "it shuts" from race rises to open falls takes at most 4t
"""
TEXTS = {
    "good": GOOD,
    "failing": FAILING,
    "broken": BROKEN,
    "open": OPEN,
    "sluice": SLUICE,
    "broken claims": CLAIMS,
    "race": RACE,
    "start": START,
    "skipped": SKIPPED,
    "burning": BURNING,
}


@pytest.mark.parametrize("name", TEXTS)
def test_every_kind_of_report_is_as_the_schema_says(name: str) -> None:
    data = json.loads(json.dumps(document([circuitcheck.verify_text(TEXTS[name])], ["other.circuit"])))
    assert [each.message for each in Draft202012Validator(SCHEMA).iter_errors(data)] == []
    assert faults("verify", data) == []


def test_the_schema_refuses_what_is_otherwise() -> None:
    data = document([circuitcheck.verify_text(FAILING)])
    data["files"][0]["circuits"][0]["outcomes"][0]["failure"]["at"] = "soon"
    assert [each.message for each in Draft202012Validator(SCHEMA).iter_errors(data)] != []


def test_the_schema_is_sound_and_knows_every_verdict() -> None:
    Draft202012Validator.check_schema(SCHEMA)
    assert SCHEMA["properties"]["schema_version"] == {"const": SCHEMA_VERSION}
    listed = SCHEMA["$defs"]["verdict"]["enum"]
    assert sorted(listed) == sorted(each.name.lower() for each in Verdict)
