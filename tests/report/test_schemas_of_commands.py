"""What every command writes with `--json` is as its shipped schema says (JSON Schema 2020-12), and no more."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from circuitcheck.chance.days.calendar import CASES
from circuitcheck.chance.light.budget import COLUMNS
from circuitcheck.commands import MODULES
from circuitcheck.model.claims import EDGES
from circuitcheck.model.light import PHASES

from .calling import BROKEN, call, told, write
from .schemas import SCHEMAS, faults

CIRCUITS = Path(__file__).parents[2] / "circuits"
NIGHT = str(CIRCUITS / "lampkeeper.circuit")
SLUICE = str(CIRCUITS / "sluice.circuit")
HOPPER = str(CIRCUITS / "hopper.circuit")
SMALL = """\
lever     rope
repeater  winch  from rope  delay 2t
torch     slack  from winch
lamp      bell   from slack

check "pull"
  at 1s   rope on
  by 2s   expect bell off
end
always "one of both" slack or winch
never "it is dark" bell off
always "at rest" possible rest
"""
LEAST = """lever rope
junction idle
assume at most 1 changes within 12t
always "idle" idle inverts rope, settled within 1t
"""
CONTRADICTING = LEAST + 'always "lit" idle\n'
INVERTER = "lever rope\ntorch shut from rope\n"
CALLS = {
    "light": ["light", NIGHT],
    "light of a layer": ["light", NIGHT, "--layer", "2"],
    "response": ["response", NIGHT, "dusk", "dark", "--over", "40s"],
    "responses that are claimed": ["response", NIGHT, "--brief"],
    "days": ["days", NIGHT, "--days", "20"],
    "days that begin faded": ["days", NIGHT, "--days", "10", "--case", "faded"],
    "rules": ["rules", "small.circuit"],
    "explain": ["explain", "small.circuit"],
    "explain an output": ["explain", "small.circuit", "bell"],
    "explain why": ["explain", "small.circuit", "--why", "bell", "--at", "2s"],
    "explain a machine that moves": ["explain", HOPPER],
    "explain an output of a machine that moves": ["explain", HOPPER, "door"],
    "prove": ["prove", "small.circuit"],
    "least": ["least", "least.circuit"],
    "least that is none": ["least", "least.circuit", "--most", "0"],
    "least of what contradicts itself": ["least", "contradicting.circuit"],
    "least by steps": ["least", "holding.circuit", "--by-steps"],
    "least, the same by steps": ["least", "holding.circuit", "--by-steps", "--same", "--shift", "2"],
    "least, the same": ["least", "inverter.circuit", "--same", "--shift", "2"],
    "draw": ["draw", "inverter.circuit", "--moves", "2000"],
    "draw the least": ["draw", "inverter.circuit", "--least"],
    "draw where nothing is found": ["draw", "small.circuit", "--moves", "1"],
    "compact": ["compact", str(CIRCUITS / "gates.circuit"), "--define", "and_gate", "--moves", "500"],
    "compact to less": [
        "compact",
        str(CIRCUITS / "gates.circuit"),
        "--define",
        "and_gate",
        "--least",
        "--box",
        "3x1x3",
    ],
    "sheets": ["sheets", NIGHT],
    "sheets since": ["sheets", NIGHT, "--since", SLUICE],
    "hears": ["hears", NIGHT],
    "tile": ["tile", NIGHT, "--east", "3"],
    "tile where it may stand": ["tile", SLUICE, "--east", "40"],
    "cure": ["cure", "failing.circuit"],
    "cure where nothing fails": ["cure", "holding.circuit"],
    "sweep": ["sweep", "small.circuit"],
    "sweep by faults": ["sweep", "holding.circuit", "--faults"],
}
MISTAKEN = (
    "light",
    "response",
    "days",
    "rules",
    "prove",
    "sheets",
    "hears",
    "tile --east 3",
    "sweep",
    "explain",
    "cure",
    "least",
    "draw",
    "compact",
)


@pytest.mark.parametrize("name", CALLS)
def test_a_report_is_as_the_schema_of_its_command_says(name: str, tmp_path: Path) -> None:
    words = CALLS[name]
    holding = SMALL.partition("always")[0]
    failing = holding.replace("from winch", "from rope, winch")
    write(tmp_path, small=SMALL, inverter=INVERTER, least=LEAST, contradicting=CONTRADICTING)
    write(tmp_path, holding=holding, failing=failing)
    data = json.loads(told(call(*words, "--json", folder=tmp_path)))
    assert "diagnostics" not in data
    assert data["path"] == words[1]
    assert faults(words[0], data) == []


@pytest.mark.parametrize("words", MISTAKEN)
def test_mistakes_are_reported_as_the_schema_says(words: str, tmp_path: Path) -> None:
    data = json.loads(told(call(*words.split(), *write(tmp_path, broken=BROKEN), "--json")))
    assert [each["code"] for each in data["diagnostics"]] == ["CKT201"]
    assert faults("mistakes", data) == []
    assert faults(words.split()[0], data) == []


def test_every_command_that_writes_json_has_a_schema() -> None:
    writes = {name for name in MODULES if "--json" in told(call(name, "--help"))}
    assert set(SCHEMAS) == writes | {"mistakes"}


@pytest.mark.parametrize("name", SCHEMAS)
def test_each_schema_is_sound_and_refuses_what_is_otherwise(name: str) -> None:
    Draft202012Validator.check_schema(SCHEMAS[name])
    assert faults(name, {"schema_version": 3, "path": "mill.circuit"}, closed=False)


def test_the_schemas_know_every_word_that_the_program_chooses_from() -> None:
    response, days, light = (SCHEMAS[each]["$defs"] for each in ("response", "days", "light"))
    assert response["response"]["properties"]["phase"]["enum"] == list(PHASES)
    assert set(response["response"]["properties"]["edge"]["enum"]) == {each.value for each in EDGES}
    (lived, _) = SCHEMAS["days"]["anyOf"]
    assert lived["properties"]["case"]["enum"] == list(CASES)
    assert days["day"]["type"] == "object"
    assert light["margin"]["properties"]["sky"]["enum"] == [name for name, _ in COLUMNS]
